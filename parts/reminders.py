"""Reminders: what is to be looked at again, and from which day on."""

from dataclasses import dataclass
from datetime import date, datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from garage.models import Car, Person
from parts.models import Event, Part, Reminder

# Days until it is worth looking at, offered and changed freely. Our figures, from no table.
AFTER_DAYS = {Reminder.When.RIDE_HEIGHT: 30, Reminder.When.FIRST_HEAT: 14}


class UsedAlready(Exception):
    """The same form was saved before with something else in it."""

    def __init__(self, reminder: Reminder) -> None:
        self.reminder = reminder
        super().__init__(f"This form was saved as “{reminder}” already.")


@dataclass(frozen=True, slots=True)
class ByDay:
    """The reminders of a car: due by today, for later, and the last twenty seen to."""

    due: list[Reminder]
    later: list[Reminder]
    done: list[Reminder]


def by_day(car: Car, *, today: date) -> ByDay:
    """The reminders of the car, in two queries; those without a day are due every day."""
    every = Reminder.objects.filter(car=car).select_related("part")
    to_do = list(every.to_do())
    is_later = [one.due_on is not None and one.due_on > today for one in to_do]
    return ByDay(
        due=[one for one, later in zip(to_do, is_later, strict=True) if not later],
        later=[one for one, later in zip(to_do, is_later, strict=True) if later],
        done=list(every.exclude(done_at=None).order_by("-done_at")[:20]),
    )


def offered_day(when: str, today: date) -> date | None:
    """The day a reminder of this sort is offered for, or None when it has none of its own."""
    days = AFTER_DAYS.get(Reminder.When(when))
    return today + timedelta(days=days) if days else None


def remind(
    *,
    key: UUID,
    car: Car,
    when: str,
    by: Person,
    now: datetime,
    part: Part | None = None,
    text: str = "",
    due_on: date | None = None,
    batch: UUID | None = None,
) -> Reminder:
    """The reminder, written once however often the same ``key`` is sent.

    Raises
    ------
    UsedAlready
        When the key belongs to a reminder of another text: somebody went back to a saved form.
    """
    with transaction.atomic():
        reminder, made = Reminder.objects.get_or_create(
            key=key,
            defaults={
                "car": car,
                "part": part,
                "when": when,
                "text": text,
                "due_on": due_on,
                "created_at": now,
            },
        )
        if not made and (reminder.text, reminder.when) != (text, when):
            raise UsedAlready(reminder)
        if made:
            changes = {f"reminder {reminder.pk}": [None, str(reminder)]}
            _write(reminder, "reminder", changes, by, now, batch=batch)
    return reminder


def done(*, reminder: Reminder, by: Person, now: datetime) -> Event | None:
    """The event of having seen to it; None when somebody had already."""
    return _set_done_at(reminder, "reminder done", now, by=by, now=now)


def open_again(*, reminder: Reminder, by: Person, now: datetime) -> Event | None:
    """The event of a reminder being put back on the list; None when it stands there."""
    return _set_done_at(reminder, "reminder again", None, by=by, now=now)


def change(
    *, reminder: Reminder, text: str, due_on: date | None, by: Person, now: datetime
) -> None:
    """Changes what it says and from which day on it is shown."""
    with transaction.atomic():
        reminder.text, reminder.due_on = text, due_on
        reminder.save(update_fields=["text", "due_on"])
        _write(reminder, "reminder changed", {}, by, now)


def _set_done_at(
    reminder: Reminder, kind: str, at: datetime | None, *, by: Person, now: datetime
) -> Event | None:
    with transaction.atomic():
        row = Reminder.objects.select_for_update().get(pk=reminder.pk)
        if (row.done_at is None) == (at is None):
            return None
        was, row.done_at = row.done_at, at
        row.save(update_fields=["done_at"])
        plain = [stamp.isoformat() if stamp else None for stamp in (was, at)]
        return _write(row, kind, {f"reminder {row.pk} done_at": plain}, by, now)


def _write(
    reminder: Reminder,
    kind: str,
    changes: dict[str, Any],
    by: Person,
    now: datetime,
    *,
    batch: UUID | None = None,
) -> Event:
    day = f", from {reminder.due_on:%Y-%m-%d}" if reminder.due_on else ""
    return Event.objects.write(
        part=reminder.part,
        car=reminder.car,
        kind=kind,
        text=f"{reminder}{day}",
        changes=changes,
        by=by,
        at=now,
        batch=batch,
    )
