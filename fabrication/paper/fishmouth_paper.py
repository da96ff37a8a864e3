"""The wrap template of a branch that sits on a main tube, as a drawing and on paper."""

from dataclasses import dataclass
from datetime import datetime

from fabrication.bench_figures import BenchFigures
from fabrication.core.drawing import Figure
from fabrication.core.fishmouth import WrapPoint, saddle_template
from fabrication.core.wrap_strip import saddle_strip
from fabrication.models import Printer
from fabrication.paper.papers import strip_leaves, true_size_pdf
from garage.models import Garage, Person

POINTS = 721  # every half degree: chords stray by less than 0.002 mm
SQUARE_DEG = 90.0


@dataclass(frozen=True, slots=True)
class Fishmouth:
    """A branch and what it sits on; the offset is positive to the left.

    Left as seen along the branch towards the main tube, the acute side on top.
    """

    branch_od_mm: float
    main_od_mm: float
    angle_deg: float
    offset_mm: float = 0.0
    wall_mm: float | None = None


def points_of(fishmouth: Fishmouth) -> tuple[WrapPoint, ...]:
    """The cut line once round the branch.

    Raises
    ------
    fabrication.core.errors.OutOfRange
        When the branch would miss the main tube.
    """
    bore_mm = None if fishmouth.wall_mm is None else fishmouth.branch_od_mm - 2 * fishmouth.wall_mm
    return saddle_template(
        branch_od_mm=fishmouth.branch_od_mm,
        header_od_mm=fishmouth.main_od_mm,
        angle_deg=fishmouth.angle_deg,
        offset_mm=fishmouth.offset_mm,
        bore_mm=bore_mm,
        points=POINTS,
    )


def figure_of(fishmouth: Fishmouth) -> Figure:
    """The strip to cut out."""
    square = fishmouth.angle_deg == SQUARE_DEG
    ahead, behind = ("top", "bottom") if square else ("acute side", "blunt side")
    labels = (ahead, "left", behind, "right")
    return saddle_strip(points_of(fishmouth), labels=labels)


def words_of(fishmouth: Fishmouth, says: BenchFigures) -> str:
    """The fishmouth in a line."""
    branch, main = says.bare(fishmouth.branch_od_mm, 0.1), says.length(fishmouth.main_od_mm, 0.1)
    said = f"Branch {branch} on {main}, {says.angle(fishmouth.angle_deg)}"
    if fishmouth.offset_mm:
        side = "left" if fishmouth.offset_mm > 0 else "right"
        said += f", offset {says.length(abs(fishmouth.offset_mm), 0.1)} to the {side}"
    if fishmouth.wall_mm is not None:
        said += f", wall {says.length(fishmouth.wall_mm, 0.1)}, closed inside"
    return said


def fishmouth_pdf(
    fishmouth: Fishmouth,
    *,
    by: Person,
    now: datetime,
    paper_size: str = "",
    printer: Printer | None = None,
) -> bytes:
    """The template as a PDF.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    fabrication.core.errors.CoreError
        When the branch would miss the main tube, or the strip takes too much paper.
    """
    size = paper_size or Garage.here().paper
    said = words_of(fishmouth, BenchFigures.of(by))
    words = (
        "Cut out along the curve. Wind it round the branch, print outside, the curve towards the "
        "main tube; scribe, cut, file to fit. Left and right: looking down the branch at the main "
        "tube, acute side or top away from you."
    )
    leaves = strip_leaves(figure_of(fishmouth), size, words=words, says=f"Fishmouth. {said}")
    return true_size_pdf(
        leaves,
        title="Fishmouth template",
        about=said,
        by=by,
        now=now,
        paper_size=size,
        printer=printer,
        subtitle=said,
    )
