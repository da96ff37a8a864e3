"""What of a pipe goes on paper and into files at true size, beside its make-up sheet."""

from collections.abc import Callable, Sequence
from dataclasses import dataclass
from datetime import datetime
from typing import Any

from fabrication.bench_figures import BenchFigures
from fabrication.core.drawing import Figure
from fabrication.core.errors import CoreError
from fabrication.core.plan_view import Post
from fabrication.core.tube_table import BendTable
from fabrication.drawn import pipe_drawings
from fabrication.models import PipeSheet, Printer
from fabrication.paper.exports import csv_of
from fabrication.paper.leaves import (
    FIELDS_MM,
    NARROW_MM,
    Leaf,
    fewest,
    grid_map,
    laid,
    leaf,
    packed,
    short_leaf,
    tiles,
    window_mm,
)
from fabrication.pipe.freezing import figures_of
from fabrication.pipe.ways import of_sheet
from fabrication.pipe.worked import WorkedOut
from garage import paper
from garage.models import Garage, Person

BENDS, PLAN, STRIP = "bends", "plan", "strip"
TITLES = {
    BENDS: "Bend templates",
    PLAN: "Plan at full size",
    STRIP: "Wrap strip",
}
BEND_TURN_DEG, PLAN_TURN_DEG = 5, 15
POSTS_A_COLUMN = 10


class NothingToDraw(Exception):
    """The pipe has no such drawing; says why."""


@dataclass(frozen=True, slots=True)
class Pipe:
    """A sheet with all that its drawings are made from."""

    sheet: PipeSheet
    found: WorkedOut
    table: BendTable
    od_mm: float
    guessed_mm: tuple[float, float] = (0.0, 0.0)

    @classmethod
    def of(cls, sheet: PipeSheet) -> "Pipe":
        """The pipe of a sheet.

        Raises
        ------
        NothingToDraw
            When it cannot be as it is typed.
        fabrication.pipe.inputs.UnknownSchema
            When a newer version wrote the sheet.
        """
        figures = figures_of(sheet)
        worked = of_sheet(sheet, frozen=figures)
        found = worked.found
        if found.table is None:
            raise NothingToDraw(found.said[0].text if found.said else "Its rows cannot be drawn.")
        od_mm = sheet.stock.od_mm if figures is None else figures.od_mm
        return cls(sheet, found, found.table, od_mm, worked.guessed_mm)


def worked_out(sheet: PipeSheet) -> WorkedOut:
    """All that follows from a sheet, by the figures it is held to."""
    return of_sheet(sheet, frozen=figures_of(sheet)).found


# ---- drawings -----------------------------------------------------------------------------


def figure_of(pipe: Pipe, drawing: str, *, says: BenchFigures) -> Figure:
    """A drawing whole, as it goes into a file.

    Raises
    ------
    NothingToDraw
        When a straight pipe is asked for its bends.
    """
    if drawing == PLAN:
        return pipe_drawings.plan(
            pipe.table, od_mm=pipe.od_mm, says=says, guessed_mm=pipe.guessed_mm
        )
    _has_bends(pipe)
    if drawing == STRIP:
        return pipe_drawings.strip(pipe.table, od_mm=pipe.od_mm)
    sheets = pipe_drawings.bend_sheets(pipe.table, od_mm=pipe.od_mm, says=says)
    return pipe_drawings.beside([one.labelled for one in sheets])


def leaves_of(pipe: Pipe, drawing: str, *, paper_size: str, says: BenchFigures) -> list[Leaf]:
    """The sheets of paper of a drawing.

    Raises
    ------
    NothingToDraw
        When a straight pipe is asked for its bends, or a drawing takes too much paper.
    """
    make: Callable[[Pipe, str, BenchFigures], list[Leaf]] = {
        BENDS: _bend_leaves,
        PLAN: _plan_leaves,
        STRIP: _strip_leaves,
    }[drawing]
    try:
        return make(pipe, paper_size, says)
    except CoreError as refused:
        raise NothingToDraw(refused.message) from None


def _has_bends(pipe: Pipe) -> None:
    if not pipe.table.bends:
        raise NothingToDraw("This pipe has no bends.")


def _bend_leaves(pipe: Pipe, paper_size: str, says: BenchFigures) -> list[Leaf]:
    _has_bends(pipe)
    window = dict(zip(("width_mm", "height_mm"), window_mm(paper_size), strict=True))
    fitting, too_large = [], []
    drawn = [
        pipe_drawings.bend_sheets(pipe.table, od_mm=pipe.od_mm, says=says, leg_mm=leg_mm)
        for leg_mm in pipe_drawings.LEGS_MM
    ]
    for with_legs in zip(*drawn, strict=True):
        found = (laid(one.labelled_at, **window, step_deg=BEND_TURN_DEG) for one in with_legs)
        fits = next((one for one in found if one.fits), None)
        if fits is not None:
            fitting.append(fits.figure)
        else:
            too_large.append(with_legs[0])
    words = "Lay each bend on its lines, end A towards A. It fits where both legs lie between them."
    leaves = [
        leaf(paper_size, figure, words=words, says=f"Bends of {pipe.sheet.title} at full size")
        for figure in packed(fitting, **window)
    ]
    for one in too_large:
        leaves += _tile_leaves(one.labelled_at, paper_size, name=f"bend {one.number}")
    return leaves


def _plan_leaves(pipe: Pipe, paper_size: str, says: BenchFigures) -> list[Leaf]:
    return _tile_leaves(
        lambda turn_deg: pipe_drawings.plan(
            pipe.table,
            od_mm=pipe.od_mm,
            says=says,
            guessed_mm=pipe.guessed_mm,
            turn_deg=turn_deg,
        ),
        paper_size,
        name="the pipe from above",
        is_whole=True,
    )


def _tile_leaves(
    drawn: Callable[[float], Figure], paper_size: str, *, name: str, is_whole: bool = False
) -> list[Leaf]:
    width_mm, height_mm = window_mm(paper_size)
    figure, tiling = fewest(drawn, width_mm=width_mm, height_mm=height_mm, step_deg=PLAN_TURN_DEG)
    many = len(tiling.tiles) > 1
    leaves = []
    if many or is_whole:
        sheets = f"{len(tiling.tiles)} sheets" if many else "one sheet"
        words = (
            f"Map of {name} on {sheets}. Lay crosses of one number over each other, with a pin or "
            "against a window, and tape."
        )
        leaves.append(
            short_leaf(
                grid_map(figure, tiling),
                words=words,
                says=f"Map of the sheets of {name}",
                width_mm=FIELDS_MM[paper_size][0],
            )
        )
    for place, shown in tiles(figure, tiling):
        words = f"Sheet {place} of {name}." if many else f"{name[0].upper()}{name[1:]}."
        says = f"{name[0].upper()}{name[1:]} at full size, sheet {place}"
        leaves.append(leaf(paper_size, shown, words=words, says=says))
    return leaves


def _strip_leaves(pipe: Pipe, paper_size: str, says: BenchFigures) -> list[Leaf]:
    _has_bends(pipe)
    strip = pipe_drawings.strip(pipe.table, od_mm=pipe.od_mm)
    words = (
        "Cut out. Wind it round the tube, print outside, the arrow towards end A, its start on the "
        "scribed line of bend 1."
    )
    return strip_leaves(strip, paper_size, words=words, says=f"Wrap strip of {pipe.sheet.title}")


def strip_leaves(strip: Figure, paper_size: str, *, words: str, says: str) -> list[Leaf]:
    """A strip on one sheet, upright if it is too long for its width; else over several."""
    width_mm, height_mm = window_mm(paper_size)
    found = laid(strip.turned, width_mm=width_mm, height_mm=height_mm, step_deg=90)
    if not found.fits:
        return _tile_leaves(strip.turned, paper_size, name="the strip")
    is_upright = found.figure.bounds.height_mm > found.figure.bounds.width_mm
    wide_mm = NARROW_MM - 1.0 if is_upright else FIELDS_MM[paper_size][0]
    return [short_leaf(found.figure, words=words, says=says, width_mm=wide_mm)]


# ---- paper --------------------------------------------------------------------------------


def pipe_pdf(
    sheet: PipeSheet,
    drawing: str,
    *,
    by: Person,
    now: datetime,
    paper_size: str = "",
    printer: Printer | None = None,
) -> bytes:
    """The PDF of a drawing of a pipe.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    NothingToDraw, fabrication.pipe.inputs.UnknownSchema
        As of `Pipe.of` and `leaves_of`.
    """
    says = BenchFigures.of(by)
    pipe = Pipe.of(sheet)
    size = paper_size or Garage.here().paper
    more: dict[str, Any] = {}
    if drawing == PLAN:
        more["is_guessed"] = any(pipe.guessed_mm)
        more["posts"] = _in_columns(pipe_drawings.posts_of(pipe.table, od_mm=pipe.od_mm))
    if drawing == STRIP:
        more["ticks"] = pipe_drawings.ticks(pipe.table, od_mm=pipe.od_mm)
    return true_size_pdf(
        leaves_of(pipe, drawing, paper_size=size, says=says),
        title=f"{TITLES[drawing]}: {sheet.title}",
        about=f"Pipe sheet {sheet}, revision {sheet.version}. {sheet.stock}, {sheet.former}",
        by=by,
        now=now,
        paper_size=size,
        printer=printer,
        **more,
    )


def _in_columns(posts: Sequence[Post]) -> list[list[tuple[str, Post]]]:
    """Rows of one post, or of two where there are many, with their names."""
    named = [(f"P{number}", post) for number, post in enumerate(posts, start=1)]
    if len(named) <= POSTS_A_COLUMN:
        return [[one] for one in named]
    half = (len(named) + 1) // 2
    return [[named[at], *named[at + half : at + half + 1]] for at in range(half)]


def true_size_pdf(
    leaves: Sequence[Leaf],
    *,
    title: str,
    about: str,
    by: Person,
    now: datetime,
    paper_size: str,
    printer: Printer | None = None,
    **more: Any,
) -> bytes:
    """The PDF of sheets at true size, stretched for a printer if there is one.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    """
    return paper.render(
        "print/true_size.html",
        {
            "leaves": [(one, one.svg(printer)) for one in leaves],
            "heading": title,
            "about": about,
            "printer": printer,
            "garage": Garage.here(),
            "by": by,
            "now": now,
            "region": by.region,
            "unit": by.units,
            **more,
        },
        paper=paper_size,
        name=title,
        true_size=True,
    )


def check_pdf(
    *, by: Person, now: datetime, paper_size: str = "", printer: Printer | None = None
) -> bytes:
    """The test page of a printer: nothing but the two bars.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    """
    size = paper_size or Garage.here().paper
    words = (
        "Measure both bars with a steel rule, from the first tick to the last."
        if printer is None
        else "Printed with its correction: both bars must measure 100 mm now."
    )
    only = Leaf(words, Figure(), *FIELDS_MM[size], "Two measuring bars of 100 mm")
    return true_size_pdf(
        [only],
        title="Printer test page",
        about="Printer test page",
        by=by,
        now=now,
        paper_size=size,
        printer=printer,
        test=True,
    )


# ---- table --------------------------------------------------------------------------------

COLUMNS = (
    "bend",
    "straight_before_mm",
    "twist_deg",
    "bend_deg",
    "radius_mm",
    "order",
    "start_from_raw_end_a_mm",
    "line_up_from_raw_end_a_mm",
    "hook_at",
    "turn_end_for_end_first",
    "clock_deg",
    "clock",
    "wrap_mm",
    "pull_to_deg",
)


def table_csv(pipe: Pipe) -> bytes:
    """Bends and marks in millimetres and degrees, unrounded; the last row is the last straight."""
    marks = {mark.bend: mark for mark in pipe.found.marks}
    rows: list[list[object]] = []
    straights = pipe.table.straights_mm
    for number, (straight_mm, bend) in enumerate(
        zip(straights, pipe.table.bends, strict=False), start=1
    ):
        row: list[object] = [
            number,
            straight_mm,
            bend.rotation_deg,
            bend.angle_deg,
            bend.radius_mm,
        ]
        if mark := marks.get(number):
            row += [
                mark.order,
                mark.start_mm,
                mark.line_up_mm,
                mark.hook_at,
                "yes" if mark.turned else "no",
                mark.clock_deg,
                mark.clock,
                mark.wrap_mm,
                mark.pull_deg,
            ]
        rows.append(row + [""] * (len(COLUMNS) - len(row)))
    rows.append(["", straights[-1], *[""] * (len(COLUMNS) - 2)])
    return csv_of(COLUMNS, rows)
