"""Putting pieces back on the car: loose, then tight, and tried before they are coated."""

from collections.abc import Mapping
from datetime import date, datetime
from uuid import UUID, uuid4, uuid5

from django.db import transaction

from garage.models import Person
from garage.units import format_torque
from parts import plan
from parts.models import Event, Hole, Kind, Piece, Progress, Step, TorqueUsed
from parts.refit_list import must_be_on_first
from parts.reminders import remind
from parts.statuses import Move, Status

# A torque further off than this is asked about once more. Our figure: the error of a click wrench
# and of reading it is smaller, a slip of the unit is larger.
ALLOWED_OFF = 0.10


class FitRefused(Exception):
    """The piece cannot be fitted like that; says why."""


def asks_torque(piece: Piece) -> bool:
    """Whether the torque used is asked: the system says so, or a hole has a figure."""
    return piece.part.system.asks_torque or any(hole.torque_nm for hole in piece.part.holes.all())


def holes_asked(piece: Piece) -> list[Hole]:
    """The holes to ask about: all in a system that asks, else those with a figure."""
    every = piece.part.system.asks_torque
    return [hole for hole in piece.part.holes.all() if every or hole.torque_nm]


def is_far_off(*, wanted_nm: float, used_nm: float) -> bool:
    """Whether the torque used is more than a tenth off the one wanted.

    >>> is_far_off(wanted_nm=20.0, used_nm=22.0), is_far_off(wanted_nm=20.0, used_nm=22.1)
    (False, True)
    """
    return abs(used_nm - wanted_nm) > ALLOWED_OFF * wanted_nm * (1 + 1e-9)


def torques_used(piece: Piece) -> dict[int, float]:
    """The torque by hole since the piece went on, the last one where there are several. [N m]"""
    if not piece.is_fitted or piece.fitted_at is None:
        return {}
    rows = piece.torques.filter(at__gte=piece.fitted_at).order_by("at")
    return dict(rows.values_list("hole_id", "torque_nm"))


def fit_loose(
    *,
    piece: Piece,
    by: Person,
    now: datetime,
    key: UUID | None = None,
    reminders: Mapping[str, date | None] | None = None,
) -> Event:
    """The event of the piece being on the car, fasteners in and not yet tight.

    Its key takes back all of it: the Refit step, the reminders.

    Raises
    ------
    FitRefused
        When a part that must be on first is not, or ``key`` belongs to another deed.
    MoveNotAllowed
        When the piece is not ready.
    """
    return _fit(piece, Move.FIT_LOOSE, key or uuid4(), by, now, reminders or {})


def fit_tight(
    *,
    piece: Piece,
    by: Person,
    now: datetime,
    key: UUID | None = None,
    torques: Mapping[int, float] | None = None,
    because: str = "",
    reminders: Mapping[str, date | None] | None = None,
) -> Event:
    """The event of the piece being on and tight, with the torque used on each hole. [N m]

    ``because`` is the sentence written where no torque is. Raises what ``fit_loose`` raises.
    """
    key = key or uuid4()
    with transaction.atomic():
        fresh = not Event.objects.filter(key=key).exists()
        event = _fit(piece, Move.TIGHTEN, key, by, now, reminders or {}, note=because)
        if fresh and torques:
            _write_torques(piece, torques, by, now, batch=key)
    return event


def slacken(*, piece: Piece, by: Person, now: datetime, key: UUID | None = None) -> Event:
    """The event of a tight piece being loose again; the same ``key`` does it once."""
    with transaction.atomic():
        if again := _done_before(key, piece, Move.SLACKEN):
            return again
        return piece.move(Move.SLACKEN, by=by, now=now, key=key or uuid4())


def trial_fit_done(
    *, step: Step, fits: bool, by: Person, now: datetime, because: str = ""
) -> Event | None:
    """The event of a trial fit: the step is done, or the work before it is open again.

    With no step before it a repair is put there, and there is no one event to take back.
    """
    if fits:
        return plan.finish(step=step, by=by, now=now, note=because or "It fits.")
    with transaction.atomic():
        closed = step.piece.steps.filter(progress__in=(Progress.DONE, Progress.LEFT))
        if before := closed.filter(position__lt=step.position).last():
            return plan.reopen(step=before, by=by, now=now, why=because)
        mend = {"kind": Kind.REPAIR, "what": because, "before": step}
        plan.add_step(piece=step.piece, key=uuid4(), by=by, now=now, **mend)
    return None


def _fit(
    piece: Piece,
    move: Move,
    key: UUID,
    by: Person,
    now: datetime,
    reminders: Mapping[str, date | None],
    note: str = "",
) -> Event:
    with transaction.atomic():
        locked = Piece.objects.select_for_update().get(pk=piece.pk)
        if again := _done_before(key, locked, move):
            return again
        missing = [first.part.tag for first in must_be_on_first(locked.part) if not first.is_on]
        if locked.state is Status.READY and missing:
            raise FitRefused(f"{' and '.join(missing)} must be on before {locked.tag}.")
        event = piece.move(move, by=by, now=now, note=note, key=key, batch=key)
        for one in (piece, *piece.joined.all()):
            refit = one.steps.to_do().filter(kind=Kind.REFIT).first()
            if refit and one.is_fitted:
                plan.finish(step=refit, by=by, now=now, batch=key)
        for when, day in reminders.items():
            remind(
                key=uuid5(key, when),
                car=piece.part.car,
                part=piece.part,
                when=when,
                due_on=day,
                by=by,
                now=now,
                batch=key,
            )
    piece.refresh_from_db()
    return event


def _done_before(key: UUID | None, piece: Piece, move: Move) -> Event | None:
    """The event ``key`` made already, when the same form comes in twice."""
    again = Event.objects.filter(key=key).first() if key else None
    if again and (again.piece_id != piece.pk or again.kind != str(move)):
        raise FitRefused(f"This form was used already: {again.kind}. Look at what stands here now.")
    return again


def _write_torques(
    piece: Piece, torques: Mapping[int, float], by: Person, now: datetime, *, batch: UUID
) -> None:
    holes = piece.part.holes.in_bulk(list(torques))
    if unknown := set(torques) - set(holes):
        raise FitRefused(f"{len(unknown)} of the holes are not on {piece.tag}. Reload the page.")
    changes, said = {}, []
    for pk, used_nm in torques.items():
        row = TorqueUsed.objects.create(
            hole=holes[pk], piece=piece, torque_nm=used_nm, at=now, by=by
        )
        said.append(f"hole {holes[pk].number} {format_torque(used_nm, decimal_mark='.')}")
        changes[f"torque {row.pk}"] = [None, used_nm]
    Event.objects.write(
        piece=piece,
        kind="torque used",
        text=", ".join(said),
        changes=changes,
        by=by,
        at=now,
        batch=batch,
    )
