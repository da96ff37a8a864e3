"""Formers, tube and sheets to test with: saved, and valid without arguments."""

from typing import Any
from uuid import uuid4

from fabrication.models import Duty, Former, PipeSheet, TubeStock
from fabrication.pipe.inputs import End, Length, PipeInputs, Row, Typed
from fabrication.pipe.pipes import begin_sheet, throw_out
from garage.models import Person
from tests.factories import NOW


def make_former(**fields: Any) -> Former:
    usual = {
        "key": uuid4(),
        "name": "F2",
        "tube_od_mm": 15.0,
        "stamped_radius_mm": 45.0,
        "measured_radius_mm": 45.0,
        "hook_mm": 20.0,
        "guide_mm": 30.0,
    }
    return Former.objects.create(**usual | fields)


def make_stock(**fields: Any) -> TubeStock:
    usual = {"key": uuid4(), "material": "steel", "od_mm": 15.0, "wall_mm": 1.0}
    return TubeStock.objects.create(**usual | fields)


def pipe_of(*rows: tuple[float, float, float], last_mm: float, **ends: End) -> PipeInputs:
    """A pipe of rows of straight, twist and bend."""
    typed = tuple(Row(Length(straight), twist, bend) for straight, twist, bend in rows)
    return PipeInputs(typed, Length(last_mm), **ends)


def make_sheet(
    *, by: Person, pipe: PipeInputs | Typed | None = None, thrown_out: bool = False, **head: Any
) -> PipeSheet:
    part = head.pop("part", None)
    usual = {
        "bead_tool": None,
        "title": "Bypass water pipe",
        "duty": Duty.COOLANT,
        "former": head.get("former") or make_former(),
        "stock": head.get("stock") or make_stock(),
    }
    sheet = begin_sheet(
        key=uuid4(),
        car=by.car,
        part=part,
        head=usual | head,
        pipe=pipe or pipe_of((100, 0, 90), (80, 90, 60), last_mm=120),
        by=by,
        now=NOW,
    )
    if thrown_out:
        throw_out(sheet=sheet, by=by, now=NOW)
    return sheet
