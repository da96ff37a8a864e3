"""What the bending shows on the pages of other rooms: the pipes that are half made."""

from typing import Any

from fabrication.models import Making
from fabrication.models.bending import MakingQuerySet
from garage import panels
from garage.models import Car
from parts.models import Part

AT_MOST = 6


def register() -> None:
    for page, query in (("today", on_car), ("part", on_part), ("bench", on_car)):
        panels.register(page, panels.Panel("Being bent", "fabrication/panel_makings.html", query))


def on_car(car: Car) -> dict[str, Any] | None:
    """The pipes being bent for a car, newest first; nothing when there are none."""
    return _under_way(Making.objects.of_car(car))


def on_part(part: Part) -> dict[str, Any] | None:
    """The pipes being bent from the sheets of a part; nothing when there are none."""
    return _under_way(Making.objects.of_part(part))


def _under_way(makings: MakingQuerySet) -> dict[str, Any] | None:
    found = list(makings.under_way().for_page().newest_first()[:AT_MOST])
    return {"makings": found} if found else None
