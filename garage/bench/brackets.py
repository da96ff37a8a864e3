"""What a bracket of eight bends costs: its flat, all that follows, and its sheet on paper."""

from dataclasses import dataclass
from datetime import datetime
from uuid import uuid4

from fabrication.bracket.bracket_inputs import (
    BracketInputs,
    FlangeRow,
    HoleRow,
    Length,
    read_bracket,
)
from fabrication.bracket.bracket_papers import bracket_pdf
from fabrication.bracket.bracket_solid import bracket_solid
from fabrication.bracket.bracket_work import work_out_bracket
from fabrication.bracket.brackets import begin_sheet
from fabrication.core.flat_pattern import flat_pattern
from fabrication.models import BracketSheet, SheetStock
from garage import paper
from garage.bench import measure
from garage.models import Car, Person

BENDS = 8


@dataclass(frozen=True, slots=True)
class Weighed:
    """The cost of the flat alone, of all that follows, of the view in space, and of the paper."""

    flat: measure.Timed
    worked: measure.Timed
    solid: measure.Timed
    pdf: measure.Timed
    bare_pdf: measure.Timed


def make(*, car: Car, by: Person, now: datetime) -> BracketSheet:
    """A zigzag of eight bends with a hole in every other flange."""

    def mm(value: float) -> Length:
        return Length(value, f"{value:g}")

    rows = tuple(
        FlangeRow(mm(26.0), mm(25.0), 60.0, "up" if number % 2 else "down")
        for number in range(BENDS)
    )
    bracket = BracketInputs(
        radius=mm(2.5),
        rows=(*rows, FlangeRow(mm(26.0))),
        holes=tuple(HoleRow(n, mm(13.0), mm(5.0)) for n in range(1, BENDS + 2, 2)),
    )
    stock = SheetStock.objects.filter(thickness_mm=1.5).first()
    head = {"title": "Bench bracket", "stock": stock, "pipe": None, "strip": None}
    return begin_sheet(key=uuid4(), car=car, part=None, head=head, bracket=bracket, by=by, now=now)


def weigh(sheet: BracketSheet, *, by: Person, now: datetime) -> Weighed:
    """Each part of the work timed, and a PDF of as many pages without a design beside it."""
    bracket = read_bracket(sheet.inputs)
    found = work_out_bracket(bracket, stock=sheet.stock)
    folds = [zone.fold for zone in found.pattern.zones]
    lengths = [row.length.mm for row in bracket.rows]

    def flat() -> object:
        return flat_pattern(lengths_mm=lengths, folds=folds, thickness_mm=sheet.stock.thickness_mm)

    def pdf() -> bytes:
        return bracket_pdf(sheet, bracket, found, by=by, now=now, paper_size="a4")

    flat_ms, worked_ms, solid_ms = measure.in_turn(
        flat,
        lambda: work_out_bracket(bracket, stock=sheet.stock),
        lambda: bracket_solid(found),
        runs=15,
    )
    bare = "<p>1</p><p style='break-before: page'>2</p>"
    pdf_ms, bare_ms = measure.in_turn(pdf, lambda: paper.plain(bare), runs=5)
    return Weighed(flat_ms, worked_ms, solid_ms, pdf_ms, bare_ms)


def lines_of(found: Weighed) -> list[str]:
    """What the bench prints."""
    return [
        f"Bracket of {BENDS} bends: flat pattern {found.flat}; all that follows {found.worked}",
        f"  view in space {found.solid}; sheet and template as PDF {found.pdf};"
        f" a bare PDF of two pages {found.bare_pdf}",
    ]
