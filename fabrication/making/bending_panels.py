"""What the bending shows on the pages of other rooms: the pipes that are half made."""

from typing import Any

from fabrication.models import Making
from garage import panels
from garage.models import Car

AT_MOST = 6


def register() -> None:
    panels.register("bench", panels.Panel("Being bent", "fabrication/panel_makings.html", on_bench))


def on_bench(car: Car) -> dict[str, Any] | None:
    """The pipes being bent for a car, newest first; nothing when there are none."""
    found = list(Making.objects.of_car(car).under_way().for_page().newest_first()[:AT_MOST])
    return {"makings": found} if found else None
