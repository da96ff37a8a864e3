"""Brackets of the demo: a strap with a joggle and a hole, and a clip round the bypass pipe."""

from decimal import Decimal
from uuid import uuid4

from fabrication.bracket import brackets
from fabrication.bracket.bracket_inputs import (
    SADDLE,
    BracketInputs,
    ClipRow,
    EndRow,
    FlangeRow,
    HoleRow,
)
from fabrication.models import PipeSheet, SheetStock
from garage.demo.bench import BYPASS, mm
from garage.demo.story import Demo

BRACKET = "Bracket, bypass pipe"

JOGGLED = BracketInputs(
    radius=mm(3),
    rows=(
        FlangeRow(mm(24), mm(25), 90.0, "up"),
        FlangeRow(mm(35), None, 90.0, "down"),
        FlangeRow(mm(32)),
    ),
    right=EndRow("round"),
    holes=(HoleRow(1, mm(10), mm(6.6)), HoleRow(3, mm(12.5), mm(6.6), from_end=True)),
)
SADDLE_CLIP = BracketInputs(
    form=SADDLE,
    left=EndRow("round"),
    right=EndRow("round"),
    clip=ClipRow(
        liner=mm(1.5),
        ear=mm(22),
        ear_radius=mm(3),
        width=mm(17),
        hole=mm(5.5),
        hole_from_upright=mm(12),
    ),
)


def make_brackets(demo: Demo) -> None:
    """Both sheets, the steel they are cut from, and a strip of it bent to measure it."""
    stock = _sheet_at_hand(demo)
    bypass = PipeSheet.objects.get(part=demo.piece(BYPASS).part)
    for title, name, bracket, pipe in (
        (BRACKET, BRACKET, JOGGLED, None),
        ("Saddle clip, bypass pipe", BYPASS, SADDLE_CLIP, bypass),
    ):
        brackets.begin_sheet(
            key=uuid4(),
            car=demo.car,
            part=demo.piece(name).part,
            head={"title": title, "stock": stock, "strip": None, "pipe": pipe},
            bracket=bracket,
            by=demo.wren,
            now=demo.ago(days=3),
        )


def _sheet_at_hand(demo: Demo) -> SheetStock:
    stock = brackets.add_sheet_stock(
        key=uuid4(),
        values={
            "material": SheetStock.Material.STEEL,
            "grade": "DC01",
            "thickness_mm": 2.0,
            "coating": "oiled",
            "offcuts": [[300.0, 120.0], [180.0, 60.0]],
            "price": Decimal("14.00"),
            "supplier": "Weirbridge Steel",
        },
    )
    brackets.add_strip(
        key=uuid4(),
        stock=stock,
        values={
            "tool": "Vice and bars",
            "blank_mm": 66.5,
            "leg_a_mm": 40.0,
            "leg_b_mm": 30.0,
            "radius_mm": 2.0,
        },
        by=demo.ade,
        now=demo.ago(days=15),
    )
    return stock
