"""What bonds, coats and clocks show on the pages of other rooms."""

from typing import Any

from django.utils import timezone

from fabrication.curing import faces, trusted_time
from fabrication.curing.trusted_time import machine_now
from fabrication.models import Bond, Clock, PipeSheet
from fabrication.pipe import duties
from garage import panels
from garage.models import Car
from parts.models import Kind, Part, Progress, Step

AT_MOST = 6
GLUED_AT = (Kind.REPAIR, Kind.REMAKE)


def register_clocks() -> None:
    panels.register("today", panels.Panel("Curing", "fabrication/panel_clocks.html", on_today))


def register() -> None:
    panels.register("part", panels.Panel("Glue and coats", "fabrication/panel_bonds.html", on_part))
    panels.register("bench", panels.Panel("Glue", "fabrication/panel_bench_bonds.html", on_bench))


def on_today(car: Car) -> dict[str, Any] | None:
    """The running clocks of a car; nothing when none runs."""
    now = timezone.now()
    found = faces.running(car, now=now, machine=machine_now(now))
    return {"faces": found} if found else None


def on_part(part: Part) -> dict[str, Any] | None:
    """The bonds of a part and its clocks; without any, a way to begin where the plan has work
    that is glued or painted here. A pipe that is never glued is not offered glue.
    """
    bonds = list(Bond.objects.of_part(part).for_rows().newest_first()[:AT_MOST])
    open_steps = Step.objects.filter(
        progress__in=(Progress.OPEN, Progress.DOING),
        piece__part=part,
        kind__in=(*GLUED_AT, Kind.FINISH_HOME),
    )
    kinds = set(open_steps.values_list("kind", flat=True))
    if not bonds and not kinds:
        return None
    carried = PipeSheet.objects.of_part(part).values_list("duty", flat=True)
    is_glued = not any(duties.is_guarded(duty) for duty in carried)
    if not bonds and not is_glued and Kind.FINISH_HOME not in kinds:
        return None
    return {
        "piece": part.fitted_piece,
        "bonds": bonds,
        "faces": _faces_of(part),
        "finish": Kind.FINISH_HOME in kinds,
        "is_glued": is_glued,
    }


def on_bench(car: Car) -> dict[str, Any]:
    bonds = list(Bond.objects.of_car(car).for_rows().newest_first()[:AT_MOST])
    return {"bonds": bonds}


def _faces_of(part: Part) -> list[faces.Face]:
    now = timezone.now()
    clocks = list(Clock.objects.of_part(part).running().for_page().oldest_first())
    doubt = trusted_time.doubt(now=now, machine=machine_now(now)) if clocks else ""
    return [faces.face_of(clock, now=now, doubt=doubt) for clock in clocks]
