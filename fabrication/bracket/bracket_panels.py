"""Bracket sheets as other rooms show them."""

from typing import Any

from fabrication.models import BracketSheet
from garage import panels
from garage.models import Car
from parts.models import Part

AT_MOST = 12


def register() -> None:
    part = "fabrication/bracket/panel_part.html"
    panels.register("part", panels.Panel("Bracket sheets", part, on_part))
    bench = "fabrication/bracket/panel_bench.html"
    panels.register("bench", panels.Panel("Bracket sheets", bench, on_bench))


def on_part(part: Part) -> dict[str, Any] | None:
    """The bracket sheets of a part, where there are any."""
    sheets = list(BracketSheet.objects.of_part(part).for_rows().newest_first())
    return {"part": part, "sheets": sheets} if sheets else None


def on_bench(car: Car) -> dict[str, Any]:
    """The sheets begun for a car, newest first; without one, where to begin."""
    sheets = list(BracketSheet.objects.of_car(car).for_rows().newest_first()[: AT_MOST + 1])
    return {"sheets": sheets[:AT_MOST], "more": len(sheets) > AT_MOST}
