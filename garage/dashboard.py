"""Today: one sheet in ink. What is late, what rusts, what can go on tonight, how far the car is.

A composition root: it may look into the other rooms, and nothing imports it.
"""

from dataclasses import dataclass
from datetime import date, datetime
from typing import Any

from django.db import models
from django.http import HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_safe

from garage.http import page
from garage.models import Car, System
from garage.panels import panels_for
from parts.models import DropOff, Event, Kind, Piece, Reminder, Snag
from parts.statuses import FITTED, IN_WORK, Status

# Marks of the gauge: how tall one part stands, by how near it is to being done (of 24).
HEIGHTS = {"fitted": 24, "ready": 17, "in work": 11, "off": 6, "still on the car": 2}


@dataclass(frozen=True, slots=True)
class Need:
    """One line under "Needs you": a stamp or a count, the link, and the rest of the sentence."""

    words: str
    url: str
    rest: str = ""
    count: int | None = None
    stamp: str = ""


@dataclass(frozen=True, slots=True)
class Gauge:
    """One system as a steel rule: a mark for each part, the tallest first."""

    system: System
    counts: dict[str, int]

    @property
    def total(self) -> int:
        return sum(self.counts.values())

    @property
    def fitted(self) -> int:
        return self.counts["fitted"]

    @property
    def marks(self) -> str:
        """The marks as one SVG path in a box as wide as the system has parts, 24 high."""
        heights = [HEIGHTS[name] for name in HEIGHTS for _ in range(self.counts[name])]
        return "".join(f"M{place}.2 24h.55v-{height}h-.55z" for place, height in enumerate(heights))

    @property
    def says(self) -> str:
        told = ", ".join(f"{self.counts[name]} {name}" for name in HEIGHTS)
        return f"{self.system.name}: {told}"


@require_safe
def today(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    now, on = timezone.now(), timezone.localdate()
    context = {
        "on": on,
        "needs": needs(car, on, now),
        "out": DropOff.objects.of(car).out().with_counts().select_related("finisher"),
        "events": Event.objects.of(car).for_lines()[:8],
        "panels": panels_for("today", car),
        "today": on,
        **progress(car),
    }
    return page(request, "garage/today.html", context)


@require_safe
def systems(request: HttpRequest) -> HttpResponse:
    """The gauges alone, for a page that only wants to know how far the car is."""
    car = request.user.car
    if car is None:
        return redirect("cars")
    return page(request, "garage/today.html#gauges", progress(car))


def needs(car: Car, on: date, now: datetime) -> list[Need]:
    """What asks for somebody, worst first."""
    return [*_late(car, on), *_bare(car, now), *_due_soon(car, on), *_counts(car, on)]


def _late(car: Car, on: date) -> list[Need]:
    late = DropOff.objects.of(car).overdue(on).with_counts().select_related("finisher")
    return [
        Need(
            words=f"{dropoff}, {dropoff.finisher}",
            url=reverse("count", args=[dropoff.number]),
            rest=f": {_pieces(dropoff.pieces_left)} still out.",
            stamp=_days_late((on - dropoff.due_on).days),
        )
        for dropoff in late.order_by("due_on")
    ]


def _bare(car: Car, now: datetime) -> list[Need]:
    bare = Piece.objects.of(car).kept().bare().select_related("part").order_by("bare_since")[:5]
    return [
        Need(
            words=str(piece),
            url=piece.get_absolute_url(),
            rest=": blasted, with nothing on it yet. It rusts tonight.",
            stamp=f"Bare {_hours(now - piece.bare_since)}",
        )
        for piece in bare
    ]


def _due_soon(car: Car, on: date) -> list[Need]:
    reminders = Reminder.objects.of(car).due(on).select_related("part")[:6]
    return [
        Need(
            words=str(reminder.part) if reminder.part else str(reminder),
            url=reverse("reminders"),
            rest=f": {reminder.get_when_display().lower()}." if reminder.part else "",
            stamp="Reminder",
        )
        for reminder in reminders
    ]


def _counts(car: Car, on: date) -> list[Need]:
    kept = Piece.objects.of(car).kept().to_fit()
    back = Piece.objects.of(car).kept().not_counted().count()
    parts = reverse("parts")
    judged = kept.to_be_judged()
    oldest = judged.exclude(off_at=None).select_related("part").order_by("off_at").first()
    lines = [
        Need("back, not counted", f"{reverse('out')}", ": count them before the boxes mix.", back),
        Need("can go on the car now", reverse("refit"), "", kept.clear_to_go_on().count()),
        Need(
            "to prepare",
            f"{parts}?next=prepare",
            ": threads to chase, earths to clear.",
            kept.next_is(Kind.PREPARE).count(),
        ),
        Need(
            "to be judged",
            f"{parts}?next=judge",
            f"; the oldest is {oldest}." if oldest else "",
            judged.count(),
        ),
        Need(
            "doubted",
            f"{parts}?kind=doubted",
            ": is it the right part for this car?",
            kept.doubted().count(),
        ),
        Need("missing", f"{parts}?where=missing", "", kept.missing().count()),
        Need(
            "snags written down", reverse("snags"), "", Snag.objects.of(car).snags().to_do().count()
        ),
    ]
    return [line for line in lines if line.count]


def progress(car: Car) -> dict[str, Any]:
    """The gauges of the car's systems and what stands above them, in two queries."""
    rows = (
        Piece.objects.of(car)
        .kept()
        .to_fit()
        .order_by()
        .values("part__system", "status")
        .annotate(total=models.Count("pk"))
    )
    counts: dict[int, dict[str, int]] = {}
    for row in rows:
        by_height = counts.setdefault(row["part__system"], dict.fromkeys(HEIGHTS, 0))
        by_height[_height_of(row["status"])] += row["total"]
    gauges = [
        Gauge(system, counts[system.pk]) for system in car.systems.all() if system.pk in counts
    ]
    # A rule at least 40 long, so that a mark is a mark and not a block.
    longest = max([40, *(gauge.total for gauge in gauges)])
    total = sum(gauge.total for gauge in gauges)
    return {
        "gauges": gauges,
        "longest": longest,
        "ticks": range(0, longest, 10 if longest <= 60 else 50),
        "total": total,
        "fitted": sum(gauge.fitted for gauge in gauges),
        "keys": list(HEIGHTS.items()),
    }


def _height_of(status: str) -> str:
    if status in FITTED:
        return "fitted"
    if status == Status.READY:
        return "ready"
    if status in IN_WORK:
        return "in work"
    return "still on the car" if status == Status.ON_CAR else "off"


def _pieces(count: int) -> str:
    return "1 piece" if count == 1 else f"{count} pieces"


def _days_late(days: int) -> str:
    return "1 day late" if days == 1 else f"{days} days late"


def _hours(since: Any) -> str:
    hours = int(since.total_seconds() // 3_600)
    return f"{hours} h" if hours < 48 else f"{hours // 24} days"
