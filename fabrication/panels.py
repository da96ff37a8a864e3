"""What this room shows on the pages of other rooms."""

from typing import Any

from fabrication.bracket import bracket_panels
from fabrication.curing import cure_panels
from fabrication.making import bending_panels
from fabrication.models import BracketSheet, PipeSheet
from garage import panels
from garage.models import Car
from parts.models import Kind, Part, Progress, Step

AT_MOST = 12


def register() -> None:
    cure_panels.register_clocks()  # first on Today: glue in the pot waits for nobody
    panels.register("part", panels.Panel("Make-up sheets", "fabrication/panel_part.html", on_part))
    bending_panels.register()
    panels.register("bench", panels.Panel("Pipe sheets", "fabrication/panel_bench.html", on_bench))
    bracket_panels.register()
    cure_panels.register()


def on_part(part: Part) -> dict[str, Any] | None:
    """The sheets of a part; without one, a way to make it where the plan says remake."""
    sheets = list(PipeSheet.objects.of_part(part).for_rows().newest_first())
    remake = _is_to_be_remade(part)
    if not sheets and not remake:
        return None
    # Where there are bracket sheets, their own panel begins another.
    has_brackets = BracketSheet.objects.of_part(part).exists()
    return {"part": part, "sheets": sheets, "remake": remake, "has_brackets": has_brackets}


def on_bench(car: Car) -> dict[str, Any]:
    """The sheets begun for a car, newest first; without one, where to begin."""
    sheets = list(PipeSheet.objects.of_car(car).for_rows().newest_first()[: AT_MOST + 1])
    return {"sheets": sheets[:AT_MOST], "more": len(sheets) > AT_MOST}


def _is_to_be_remade(part: Part) -> bool:
    open_steps = Step.objects.filter(progress__in=(Progress.OPEN, Progress.DOING))
    return open_steps.filter(piece__part=part, kind=Kind.REMAKE).exists()
