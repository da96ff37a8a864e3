"""Snags and next jobs: small things to put right later, kept by system."""

from dataclasses import dataclass, field
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from garage.models import Car, Person, System
from parts.models import Event, Part, Snag


class UsedAlready(Exception):
    """The same form was saved before with something else in it."""

    def __init__(self, snag: Snag) -> None:
        self.snag = snag
        super().__init__(f"This form was saved as “{snag}” already.")


@dataclass(frozen=True, slots=True)
class Lot:
    """The snags and next jobs of one system."""

    system: System
    snags: list[Snag] = field(default_factory=list)
    next_jobs: list[Snag] = field(default_factory=list)


def by_system(car: Car, *, system: int | None = None) -> list[Lot]:
    """What is to be put right, in the order of the car's systems; systems with nothing left out."""
    lots = {one.pk: Lot(one) for one in car.systems.all() if system in (None, one.pk)}
    for snag in Snag.objects.to_do().filter(car=car).select_related("part"):
        if lot := lots.get(snag.system_id):
            (lot.next_jobs if snag.sort == Snag.Sort.NEXT else lot.snags).append(snag)
    return [lot for lot in lots.values() if lot.snags or lot.next_jobs]


def lately_done(car: Car, *, system: int | None = None) -> list[Snag]:
    """The last twenty put right, the newest first."""
    snags = Snag.objects.exclude(done_at=None).filter(car=car).select_related("part", "system")
    return list((snags.filter(system=system) if system else snags).order_by("-done_at")[:20])


def write_down(
    *,
    key: UUID,
    system: System,
    text: str,
    by: Person,
    now: datetime,
    sort: str = Snag.Sort.SNAG,
    part: Part | None = None,
) -> Snag:
    """The snag, written once however often the same ``key`` is sent.

    Raises
    ------
    UsedAlready
        When the key belongs to a snag of another text: somebody went back to a saved form.
    """
    with transaction.atomic():
        snag, made = Snag.objects.get_or_create(
            key=key,
            defaults={
                "car": system.car,
                "system": system,
                "part": part,
                "sort": sort,
                "text": text,
                "created_at": now,
            },
        )
        if not made and snag.text != text:
            raise UsedAlready(snag)
        if made:
            kind = snag.get_sort_display().lower()
            _write(snag, kind, {f"snag {snag.pk}": [None, text]}, by, now)
    return snag


def done(*, snag: Snag, by: Person, now: datetime) -> Event | None:
    """The event of a snag put right; None when somebody had already."""
    return _set_done_at(snag, "snag put right", now, by, now)


def open_again(*, snag: Snag, by: Person, now: datetime) -> Event | None:
    """The event of a snag put back on the list; None when it stands there."""
    return _set_done_at(snag, "snag again", None, by, now)


def change(*, snag: Snag, by: Person, now: datetime, **fields: Any) -> None:
    """Changes what a snag says, its system, its part or its sort."""
    with transaction.atomic():
        for name, value in fields.items():
            setattr(snag, name, value)
        snag.save(update_fields=list(fields))
        _write(snag, "snag changed", {}, by, now)


def _set_done_at(
    snag: Snag, kind: str, at: datetime | None, by: Person, now: datetime
) -> Event | None:
    with transaction.atomic():
        row = Snag.objects.select_for_update().get(pk=snag.pk)
        if (row.done_at is None) == (at is None):
            return None
        was, row.done_at = row.done_at, at
        row.save(update_fields=["done_at"])
        plain = [stamp.isoformat() if stamp else None for stamp in (was, at)]
        return _write(row, kind, {f"snag {row.pk} done_at": plain}, by, now)


def _write(snag: Snag, kind: str, changes: dict[str, Any], by: Person, now: datetime) -> Event:
    return Event.objects.write(
        part=snag.part, car=snag.car, kind=kind, text=snag.text, changes=changes, by=by, at=now
    )
