"""Between coating and refit: threads chased, earths bright, bores clear, fasteners renewed."""

from collections import Counter
from datetime import datetime
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from garage.models import Person
from parts import plan
from parts.models import Event, Kind, Piece, Preparation, Progress, StackItem, Step
from parts.statuses import IN_THE_GARAGE


class PreparationRefused(Exception):
    """The piece cannot be prepared as it is; says why."""


def tick_preparation(
    *, preparation: Preparation, done: bool, by: Person, now: datetime
) -> Event | None:
    """The event of the line being ticked or unticked; None when it stood like that already.

    The last tick closes the Prepare step, and the piece is ready when only refit is left; an
    untick opens the step again.
    """
    with transaction.atomic():
        piece = _in_the_garage(preparation.piece)
        row = Preparation.objects.get(pk=preparation.pk)
        if (row.done_at is not None) == done:
            return None
        before, row.done_at = row.done_at, now if done else None
        row.save(update_fields=["done_at"])
        key = uuid4()
        event = Event.objects.write(
            piece=piece,
            kind="prepared" if done else "to prepare again",
            text=row.text,
            changes={f"preparation {row.pk} done_at": [_plain(before), _plain(row.done_at)]},
            by=by,
            at=now,
            key=key,
            batch=key,
        )
        if not done:
            _open_again(piece, by, now)
        elif (step := open_step(piece)) and not piece.preparations.to_do().exists():
            plan.finish(step=step, by=by, now=now, batch=key)
    preparation.refresh_from_db()
    return event


def add_preparation(
    *, piece: Piece, key: UUID, what: str, text: str, count: int, by: Person, now: datetime
) -> Preparation:
    """A further line of the checklist; sent twice with one ``key`` it is one line.

    A piece that was prepared already has something to prepare again.
    """
    with transaction.atomic():
        piece = _in_the_garage(piece)
        row, made = Preparation.objects.get_or_create(
            key=key, defaults={"piece": piece, "what": what, "text": text, "count": count}
        )
        if made:
            Event.objects.write(piece=piece, kind="to prepare", text=text, by=by, at=now)
            _open_again(piece, by, now)
    return row


def all_prepared(*, piece: Piece, by: Person, now: datetime) -> Event:
    """The event of the Prepare step closed by hand, when no line is left to tick."""
    with transaction.atomic():
        piece = _in_the_garage(piece)
        if left := piece.preparations.to_do().count():
            raise PreparationRefused(f"{left} on the list still to do. Tick each one off.")
        if (step := open_step(piece)) is None:
            raise PreparationRefused("The plan has nothing to prepare.")
        return plan.finish(step=step, by=by, now=now)


def list_renewals(*, piece: Piece, by: Person, now: datetime) -> list[Preparation]:
    """A line for each sort of fastener of the part that is to be renewed; asked twice, one each."""
    with transaction.atomic():
        step = open_step(_in_the_garage(piece))
        root = step.key if step else piece.part.key
        renew = {"what": Preparation.What.RENEW, "piece": piece, "by": by, "now": now}
        return [
            add_preparation(
                key=uuid5(root, name), text=f"New: {count} × {name}", count=count, **renew
            )
            for name, count in renewals(piece).items()
        ]


def renewals(piece: Piece) -> dict[str, int]:
    """How many of each sort of fastener are marked to be renewed: {"nut M8": 2}."""
    found: Counter[str] = Counter()
    new = StackItem.objects.filter(
        hole__part=piece.part_id, treatment=StackItem.Treatment.RENEW
    ).select_related("hole")
    for thing in new:
        length = f"× {thing.length_typed}" if thing.length_typed else ""
        words = (thing.get_what_display().lower(), thing.thread, length)
        found[" ".join(filter(None, words))] += thing.hole.count
    return dict(found)


def renewals_to_list(piece: Piece, rows: list[Preparation]) -> dict[str, int]:
    """The fasteners to be renewed, as long as no line of the list speaks of renewing."""
    listed = any(row.what == Preparation.What.RENEW for row in rows)
    return {} if listed or not can_be_prepared(piece) else renewals(piece)


def can_be_prepared(piece: Piece) -> bool:
    return piece.state in IN_THE_GARAGE


def open_step(piece: Piece) -> Step | None:
    """The Prepare step of the piece that is still to do."""
    return piece.steps.to_do().filter(kind=Kind.PREPARE).first()


def _in_the_garage(piece: Piece) -> Piece:
    piece = Piece.objects.select_for_update().get(pk=piece.pk)
    if piece.state not in IN_THE_GARAGE:
        raise PreparationRefused(f"{piece.tag} is {piece.state.label.lower()}: nothing to prepare.")
    return piece


def _open_again(piece: Piece, by: Person, now: datetime) -> None:
    """Sees to it that a piece with a line to do has a Prepare step to do."""
    if open_step(piece):
        return
    done = piece.steps.filter(kind=Kind.PREPARE, progress=Progress.DONE).last()
    if done:
        plan.reopen(step=done, by=by, now=now)
    elif piece.next_step_id:
        plan.add_step(piece=piece, key=uuid4(), kind=Kind.PREPARE, by=by, now=now)


def _plain(at: datetime | None) -> str | None:
    return at.isoformat() if at else None
