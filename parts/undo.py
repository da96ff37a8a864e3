"""Taking back: the last thing done, as long as nothing was done after it.

``Event.changes`` says what to put back. A name is a field of the piece ("status"), or a field of
another row ("step 12 progress"), or a row the event made ("torque 33"), which is taken away again.
"""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import models, transaction

from garage.models import Person
from parts import plan
from parts.models import (
    Event,
    Joint,
    Piece,
    Preparation,
    Reminder,
    Requirement,
    Snag,
    Step,
    TorqueUsed,
)

ROWS: dict[str, type[models.Model]] = {
    "joint": Joint,
    "step": Step,
    "preparation": Preparation,
    "reminder": Reminder,
    "requirement": Requirement,
    "snag": Snag,
    "torque": TorqueUsed,
}


class TooLate(Exception):
    """Something has been done with the piece since; says what."""


def undo(*, key: UUID, by: Person, now: datetime) -> list[Event]:
    """The events that take back the event of ``key``, or every event of the batch ``key``.

    A batch is taken back whole or not at all. The pieces are settled when all of it is back, so
    that a half-way state moves nothing.

    Raises
    ------
    TooLate
        When a field the event set has another value by now, or it was taken back already.
    Event.DoesNotExist
        When there is no such event.
    """
    with transaction.atomic():
        events = list(
            Event.objects.filter(models.Q(key=key) | models.Q(batch=key))
            .select_related("piece")
            .order_by("-pk")
        )
        if not events:
            raise Event.DoesNotExist
        back = [_take_back(event, by, now) for event in events if event.changes]
        for pk in {event.piece_id for event in back if event.piece_id}:
            plan.settle(piece=Piece.objects.get(pk=pk), by=by, now=now)
    return back


def _take_back(event: Event, by: Person, now: datetime) -> Event:
    piece = event.piece_id and Piece.objects.select_for_update().get(pk=event.piece_id)
    if Event.objects.filter(undoes=event).exists():
        raise TooLate("That was taken back already.")
    of_piece: list[str] = []
    for name, (before, after) in event.changes.items():
        if " " in name:
            _put_row_back(name, before, after)
        else:
            _put_back(piece, name, before, after)
            of_piece.append(name)
    if of_piece:
        piece.save(update_fields=of_piece)
    return Event.objects.write(
        piece=piece or None,
        part=event.part,
        car=event.car,
        kind="take back",
        text=event.kind,
        before=event.after,
        after=event.before,
        changes={name: [after, before] for name, (before, after) in event.changes.items()},
        by=by,
        at=now,
        undoes=event,
    )


def _put_row_back(name: str, before: Any, after: Any) -> None:
    table, pk, *field = name.split()
    row = ROWS[table].objects.filter(pk=pk).first()
    if row is None:
        raise TooLate("That is not there any more. Write it down again.")
    if field:
        _put_back(row, field[0], before, after)
        row.save(update_fields=field)
    elif getattr(row, "done_at", None):
        raise TooLate(f"{row}: done since, so it stays.")
    else:
        row.delete()


def _put_back(row: models.Model, name: str, before: Any, after: Any) -> None:
    field = row._meta.get_field(name)
    if getattr(row, name) != field.to_python(after):
        raise TooLate(_said_of(row))
    setattr(row, name, field.to_python(before))


def _said_of(row: models.Model) -> str:
    if isinstance(row, Piece):
        return f"{row.tag} has been moved since. Move it on from where it is."
    return f"“{row}” was changed since. Go on from how it stands now."
