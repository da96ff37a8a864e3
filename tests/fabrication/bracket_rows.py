"""Sheet, test strips and bracket sheets to test with: saved, and valid without arguments."""

from typing import Any
from uuid import uuid4

from fabrication.bracket.bracket_inputs import (
    CLIP,
    BracketInputs,
    ClipRow,
    EndRow,
    FlangeRow,
    HoleRow,
    Length,
)
from fabrication.bracket.brackets import begin_sheet, throw_out
from fabrication.models import BracketSheet, SheetStock, TestStrip
from garage.models import Person
from tests.factories import NOW


def mm(value: float) -> Length:
    return Length(float(value), f"{value:g}")


def make_sheet_stock(**fields: Any) -> SheetStock:
    usual = {
        "key": uuid4(),
        "material": "steel",
        "grade": "DC01",
        "thickness_mm": 2.0,
        "coating": "bare",
    }
    return SheetStock.objects.create(**usual | fields)


def make_strip(**fields: Any) -> TestStrip:
    """Blank of 66.461 for 40 and 30 at r 2, t 2: a K-factor of 0.42."""
    usual = {
        "key": uuid4(),
        "tool": "vice and bars",
        "blank_mm": 66.461,
        "leg_a_mm": 40.0,
        "leg_b_mm": 30.0,
        "radius_mm": 2.0,
        "made_at": NOW,
    }
    fields.setdefault("stock", None)
    if fields["stock"] is None:
        fields["stock"] = make_sheet_stock()
    return TestStrip.objects.create(**usual | fields)


def joggle(**fields: Any) -> BracketInputs:
    """20, 90 up, 35, 90 down, 30 at r 3, 25 wide: 76.743 long in 2 mm by DIN 6935."""
    usual: dict[str, Any] = {
        "radius": mm(3),
        "rows": (
            FlangeRow(mm(20), mm(25), 90.0, "up"),
            FlangeRow(mm(35), None, 90.0, "down"),
            FlangeRow(mm(30)),
        ),
        "holes": (HoleRow(3, mm(10), mm(6.6), from_end=True),),
    }
    return BracketInputs(**usual | fields)


def clip(form: str = CLIP, **fields: Any) -> BracketInputs:
    """Round 15 mm with a liner of 1.5, ears of 18."""
    usual: dict[str, Any] = {
        "od": mm(15),
        "liner": mm(1.5),
        "ear": mm(18),
        "ear_radius": mm(2),
        "width": mm(16),
        "hole": mm(5.5),
        "hole_from_upright": mm(10),
    }
    return BracketInputs(form=form, clip=ClipRow(**usual | fields), left=EndRow("round"))


def make_bracket_sheet(
    *, by: Person, bracket: BracketInputs | None = None, **head: Any
) -> BracketSheet:
    part, thrown_out = head.pop("part", None), head.pop("thrown_out", False)
    usual = {
        "title": "Heater bracket",
        "stock": head.get("stock") or make_sheet_stock(),
        "pipe": None,
        "strip": None,
    }
    sheet = begin_sheet(
        key=uuid4(),
        car=by.car,
        part=part,
        head=usual | head,
        bracket=bracket or joggle(),
        by=by,
        now=NOW,
    )
    if thrown_out:
        throw_out(sheet=sheet, by=by, now=NOW)
        sheet.refresh_from_db()
    return sheet
