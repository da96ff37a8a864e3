"""Pipes at the bench, readings and comparisons to test with."""

from typing import Any
from uuid import uuid4

from fabrication.making import bending, comparing
from fabrication.making.measured import ANGLES, Measured
from fabrication.models import Comparison, Making, PipeSheet, Reading
from garage.models import Person
from tests.fabrication.pipe_rows import make_sheet
from tests.factories import NOW


def make_making(
    *, by: Person, sheet: PipeSheet | None = None, outcome: str = "", **fields: Any
) -> Making:
    """A pipe begun from a sheet, and ended where it says how."""
    sheet = sheet or make_sheet(by=by, **fields)
    making = bending.begin(key=uuid4(), sheet=sheet, by=by, now=NOW)
    if not outcome:
        return making
    because = "" if outcome == "made" else "kinked"
    return bending.end(making=making, outcome=outcome, because=because, by=by, now=NOW)


def make_reading(
    making: Making, bend: int = 1, pulled: float = 88.0, came: float = 86.0, **how: Any
) -> Reading:
    """One more pull of a bend."""
    last = making.readings.standing().filter(bend=bend).in_turn().last()
    usual = {"key": uuid4(), "seen": str(last.key) if last else "", "by": making.begun_by}
    return bending.write_reading(
        making=making,
        bend=bend,
        pulled_to_deg=pulled,
        came_to_deg=came,
        now=NOW,
        **usual | how,
    )


def make_comparison(making: Making, *angles_deg: float) -> Comparison:
    """The bends of a pipe as read, beside what was wanted of it; 88 and 60 unless said."""
    angles = angles_deg or (88.0, 60.0)
    return comparing.write_down(
        key=uuid4(),
        sheet=making.sheet,
        making=making,
        wanted={
            "revision": making.revision,
            "inputs": making.inputs,
            "figures": making.figures,
        },
        measured=Measured(ANGLES, tuple(range(1, len(angles) + 1)), angles_deg=angles),
        by=making.begun_by,
        now=NOW,
    )
