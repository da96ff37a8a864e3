"""What a part is joined to: this end goes to that port."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from garage.models import Person
from parts.fasteners import SavedAlready
from parts.models import Connection, Event, Part


@dataclass(frozen=True, slots=True)
class ConnectionLine:
    """One connection seen from one part: ``end`` is here, ``port`` is over there."""

    connection: Connection
    carries: str
    end: str
    port: str
    other: Part | None


def connection_lines(part: Part) -> list[ConnectionLine]:
    """What is joined to a part, from its own lines and from those of other parts; two queries."""
    own = [
        ConnectionLine(line, line.get_carries_display(), line.end, line.port, line.other)
        for line in part.connections.select_related("other")
    ]
    theirs = part.connected_to.select_related("part").filter(part__thrown_out_at=None)
    return own + [
        ConnectionLine(line, line.get_carries_display(), line.port, line.end, line.part)
        for line in theirs
    ]


def save_connection(
    *,
    part: Part,
    key: UUID,
    fields: dict[str, Any],
    by: Person,
    now: datetime,
    connection: Connection | None = None,
) -> Connection:
    """The connection, new or changed. Sent twice with the same ``key`` it is one.

    Raises
    ------
    SavedAlready
        When ``key`` belongs to a connection with other content.
    """
    with transaction.atomic():
        Part.objects.select_for_update().get(pk=part.pk)
        if connection is None and (again := Connection.objects.filter(key=key).first()):
            if any(getattr(again, name) != fields[name] for name in fields):
                raise SavedAlready(
                    f"This form was saved as “{again}” already. Save once more for another."
                )
            return again
        connection = connection or Connection(part=part, key=key)
        for name, value in fields.items():
            setattr(connection, name, value)
        connection.save()
        text = f"{connection.get_carries_display()}: {connection}"
        Event.objects.write(part=part, kind="connection", text=text, by=by, at=now)
    return connection


def take_out_connection(*, connection: Connection, by: Person, now: datetime) -> None:
    """No such connection any more. Both its ends stand in the history."""
    with transaction.atomic():
        text = f"Taken out: {connection.get_carries_display()}, {connection}"
        Event.objects.write(part=connection.part, kind="connection", text=text, by=by, at=now)
        connection.delete()
