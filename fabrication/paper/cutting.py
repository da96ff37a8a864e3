"""Pipes of one tube, cut from bars: which piece from which bar, and what is left."""

from collections import Counter
from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime

from fabrication.bench_figures import BenchFigures
from fabrication.core.drawing import Figure, Pen, Polyline, Shape, Text
from fabrication.core.stock import EXACT_PIECES, CuttingPlan, cutting_plan
from fabrication.drawn.previews import on_sheet
from fabrication.models import PipeSheet, TubeStock
from fabrication.paper.papers import worked_out
from fabrication.pipe.inputs import UnknownSchema
from garage import paper
from garage.models import Garage, Person

DRAWN_MM, ROW_MM, TALL_MM = 180.0, 12.0, 7.0
LETTER_MM = 1.75  # of a word 2.6 mm high


@dataclass(frozen=True, slots=True)
class Wanted:
    """A piece to cut: its name and its length."""

    name: str
    length_mm: float


@dataclass(frozen=True, slots=True)
class Bar:
    """A bar: its pieces in order, each with where it starts, and what is left of it."""

    number: int
    length_mm: float
    pieces: tuple[tuple[Wanted, float], ...]
    left_mm: float
    is_bought: bool


@dataclass(frozen=True, slots=True)
class Cutting:
    """What to cut from what."""

    bars: tuple[Bar, ...]
    plan: CuttingPlan
    kerf_mm: float
    trim_mm: float

    @property
    def pieces(self) -> int:
        return sum(len(bar.pieces) for bar in self.bars)

    @property
    def is_exact(self) -> bool:
        """Whether every way of cutting so many pieces was looked at."""
        return self.pieces <= EXACT_PIECES

    @property
    def cut_mm(self) -> float:
        """What becomes pipe."""
        return sum(piece.length_mm for bar in self.bars for piece, _ in bar.pieces)

    @property
    def left_mm(self) -> float:
        """What is left of all bars, offcuts too."""
        return sum(bar.left_mm for bar in self.bars)

    @property
    def lost_mm(self) -> float:
        """What goes into saw cuts and trimmed ends."""
        return sum(bar.length_mm for bar in self.bars) - self.cut_mm - self.left_mm


def tubes_with_sheets() -> list[tuple[TubeStock, int]]:
    """The tubes that pipes are to be made from, with the number of their sheets."""
    counts = Counter(PipeSheet.objects.kept().values_list("stock_id", flat=True))
    return [(stock, counts[stock.pk]) for stock in TubeStock.objects.filter(pk__in=counts)]


def sheets_of(stock: TubeStock) -> list[tuple[PipeSheet, float]]:
    """The sheets of pipes to be made from a tube, with the length to cut for each.

    Those that cannot be made, or that a newer version wrote, are left out.
    """
    found = []
    for sheet in PipeSheet.objects.kept().filter(stock=stock).for_rows().newest_first():
        try:
            cut_mm = worked_out(sheet).cut_mm
        except UnknownSchema:
            continue  # its own page says so
        if cut_mm is not None:
            found.append((sheet, cut_mm))
    return found


def cut(
    *,
    pieces: Sequence[Wanted],
    bars_mm: Sequence[float],
    offcuts_mm: Sequence[float],
    kerf_mm: float,
    trim_mm: float,
) -> Cutting:
    """The plan that buys the least tube.

    Raises
    ------
    fabrication.core.errors.CoreError
        When a piece fits no bar.
    """
    plan = cutting_plan(
        pieces_mm=[piece.length_mm for piece in pieces],
        bar_lengths_mm=bars_mm,
        kerf_mm=kerf_mm,
        end_trim_mm=trim_mm,
        offcuts_mm=offcuts_mm,
    )
    bars = []
    for number, bar in enumerate(plan.bars, start=1):
        placed, reached_mm = [], trim_mm
        for index in bar.pieces:
            placed.append((pieces[index], reached_mm))
            reached_mm += pieces[index].length_mm + kerf_mm
        bars.append(Bar(number, bar.length_mm, tuple(placed), bar.left_mm, bar.bought))
    return Cutting(tuple(bars), plan, kerf_mm, trim_mm)


def figure_of(cutting: Cutting, says: BenchFigures) -> Figure:
    """The bars one below the other, all to one scale, pieces with their names."""
    longest_mm = max(bar.length_mm for bar in cutting.bars)
    share = DRAWN_MM / longest_mm
    shapes: list[Shape] = []
    for row, bar in enumerate(cutting.bars):
        low = -ROW_MM * (row + 1)
        shapes.append(_box(0.0, bar.length_mm * share, low, "dash"))
        for piece, start_mm in bar.pieces:
            left, right = start_mm * share, (start_mm + piece.length_mm) * share
            shapes.append(_box(left, right, low, "cut"))
            words = f"{piece.name}: {says.bare(piece.length_mm)}"
            if len(words) * LETTER_MM > right - left - 1:
                words = piece.name
            if len(words) * LETTER_MM <= right - left:
                shapes.append(Text(((left + right) / 2, low + 2.2), words, 2.6, anchor="middle"))
        shapes.append(Text((0.0, low + TALL_MM + 1.0), _named(bar, says), 2.2))
    return Figure(tuple(shapes))


def _box(left: float, right: float, low: float, pen: Pen) -> Polyline:
    corners = ((left, low), (right, low), (right, low + TALL_MM), (left, low + TALL_MM))
    return Polyline(corners, closed=True, pen=pen)


def _named(bar: Bar, says: BenchFigures) -> str:
    what = "Bar" if bar.is_bought else "Offcut"
    return f"{what} {bar.number}: {says.length(bar.length_mm)}, {says.bare(bar.left_mm)} left"


def cutting_pdf(
    cutting: Cutting, *, stock: TubeStock, by: Person, now: datetime, paper_size: str = ""
) -> bytes:
    """The plan as a PDF.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    """
    garage = Garage.here()
    return paper.render(
        "print/cutting.html",
        {
            "cutting": cutting,
            "stock": stock,
            "garage": garage,
            "by": by,
            "now": now,
            "region": by.region,
            "unit": by.units,
            "figure": on_sheet(
                figure_of(cutting, BenchFigures.of(by)), says="Bars with their pieces"
            ),
        },
        paper=paper_size or garage.paper,
        name=f"Cutting plan, {stock}",
    )
