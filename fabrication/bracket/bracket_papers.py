"""A bracket on paper: the sheet with its lists, then the template at true size."""

from datetime import datetime

from fabrication.bench_figures import BenchFigures
from fabrication.bracket.bracket_figures import flat_figure, folded_figure
from fabrication.bracket.bracket_inputs import BracketInputs
from fabrication.bracket.bracket_worked import BracketWorked
from fabrication.core.drawing import Figure
from fabrication.core.errors import CoreError
from fabrication.drawn.previews import on_sheet
from fabrication.models import BracketSheet, Printer
from fabrication.paper.leaves import (
    FIELDS_MM,
    Leaf,
    fewest,
    grid_map,
    laid,
    leaf,
    short_leaf,
    tiles,
    window_mm,
)
from garage import paper
from garage.models import Garage, Person

FOLDED_MM = (84.0, 56.0)  # room for the folded view beside the lists
TURN_DEG = 15


def template_leaves(
    found: BracketWorked, *, paper_size: str, says: BenchFigures, title: str
) -> list[Leaf]:
    """The flat at true size on one sheet where it fits, turned if need be; else over several."""
    figure = flat_figure(found, says=says)
    width_mm, height_mm = window_mm(paper_size)
    # Turned clockwise, so that words up a bend line come to lie level and never upside down.
    fitted = laid(
        lambda turn_deg: figure.turned(-turn_deg),
        width_mm=width_mm,
        height_mm=height_mm,
        step_deg=TURN_DEG,
    )
    as_it_lies = figure.bounds.width_mm <= width_mm and figure.bounds.height_mm <= height_mm
    words = (
        "Cut out roughly, stick to the sheet, pop the middles of the holes, prick the outline. "
        "Bend lines in pencil, never with a scriber: a scratch on the outside of a bend cracks it."
    )
    if fitted.fits:
        laid_so = figure if as_it_lies else fitted.figure
        box = laid_so.bounds
        placed = laid_so.moved(-box.left_mm, height_mm - box.top_mm)
        return [leaf(paper_size, placed, words=words, says=f"Template of {title} at full size")]
    return _tiled(figure, paper_size, words=words, title=title)


def _tiled(figure: Figure, paper_size: str, *, words: str, title: str) -> list[Leaf]:
    width_mm, height_mm = window_mm(paper_size)
    turned, tiling = fewest(
        lambda turn_deg: figure.turned(-turn_deg),
        width_mm=width_mm,
        height_mm=height_mm,
        step_deg=TURN_DEG,
    )
    count = len(tiling.tiles)
    lay = (
        f"Map of the template on {count} sheets. Lay crosses of one number over each other, with "
        "a pin or against a window, and tape."
    )
    found = [
        short_leaf(
            grid_map(turned, tiling),
            words=lay,
            says=f"Map of the sheets of {title}",
            width_mm=FIELDS_MM[paper_size][0],
        )
    ]
    for place, shown in tiles(turned, tiling):
        says = f"Template of {title} at full size, sheet {place}"
        found.append(leaf(paper_size, shown, words=f"Sheet {place}. {words}", says=says))
    return found


def bracket_pdf(
    sheet: BracketSheet,
    bracket: BracketInputs,
    found: BracketWorked,
    *,
    by: Person,
    now: datetime,
    paper_size: str,
    printer: Printer | None = None,
) -> bytes:
    """The PDF of a bracket sheet.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    """
    says = BenchFigures.of(by)
    leaves, too_large = [], ""
    if found.outline is not None:
        try:
            leaves = template_leaves(found, paper_size=paper_size, says=says, title=sheet.title)
        except CoreError as refused:
            too_large = refused.message
    return paper.render(
        "print/bracket.html",
        {
            "sheet": sheet,
            "bracket": bracket,
            "found": found,
            "folded": _folded(found, bracket),
            "leaves": [(one, one.svg(printer)) for one in leaves],
            "too_large": too_large,
            "printer": printer,
            "garage": Garage.here(),
            "by": by,
            "now": now,
            "region": by.region,
            "unit": by.units,
        },
        paper=paper_size,
        name=f"Bracket sheet {sheet}, {sheet.title}",
        true_size=True,
    )


def _folded(found: BracketWorked, bracket: BracketInputs) -> object:
    """The folded section, small enough for its place on the sheet."""
    if not found.lines:
        return ""
    figure = folded_figure(found, bracket)
    box = figure.bounds
    factor = min(FOLDED_MM[0] / box.width_mm, FOLDED_MM[1] / box.height_mm, 1.0)
    return on_sheet(figure.scaled(factor), says="The section folded up")
