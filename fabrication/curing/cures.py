"""Clocks: started, read, struck, stopped. Each verb is one deed at one time of one person."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from fabrication.curing import trusted_time
from fabrication.curing.clockwork import Look, look, model_of_adhesive, model_of_coat
from fabrication.curing.trusted_time import UNKNOWN, Machine
from fabrication.models import Bond, Clock, Coat, TemperatureReading
from garage.models import Person
from parts import joints
from parts.models import Event


class ReadingRefused(Exception):
    """The reading cannot be; says why."""


class UsedAlready(Exception):
    """The same form was saved before with something else in it; says what."""


def start_bond_clock(
    *, key: UUID, bond: Bond, temp_c: float, by: Person, now: datetime, machine: Machine = UNKNOWN
) -> Clock:
    """The clock of a bond that is being mixed at ``now``, with its first reading.

    Raises
    ------
    NoTimes
        When the adhesive's sheet has no full cure.
    TimeDoubted
        When this computer's clock is not believed.
    """
    return _started(
        key=key,
        kind=Clock.Kind.BOND,
        subject={"bond": bond},
        words=f"{bond}, {bond.title}",
        car=bond.piece.part.car,
        model=model_of_adhesive(bond.adhesive),
        temp_c=temp_c,
        by=by,
        now=now,
        machine=machine,
    )


def start_coat_clock(
    *, key: UUID, coat: Coat, temp_c: float, by: Person, now: datetime, machine: Machine = UNKNOWN
) -> Clock:
    """The clock of a coat that was put on at ``now``, with its first reading. Raises as above."""
    return _started(
        key=key,
        kind=Clock.Kind.COAT,
        subject={"coat": coat},
        words=f"{coat}: {coat.piece.part.name}",
        car=coat.piece.part.car,
        model=model_of_coat(coat),
        temp_c=temp_c,
        by=by,
        now=now,
        machine=machine,
    )


def read(
    *,
    clock: Clock,
    key: UUID,
    at: datetime,
    temp_c: float,
    by: Person,
    now: datetime,
    is_lowest: bool = False,
    lowest_before_c: float | None = None,
    machine: Machine = UNKNOWN,
) -> TemperatureReading:
    """The reading, written into the log; the same ``key`` writes it once.

    Raises
    ------
    ReadingRefused
        When the clock is over, or ``at`` is before its start, in the future, or taken.
    UsedAlready
        When ``key`` wrote down another reading.
    TimeDoubted
        When this computer's clock is not believed.
    """
    said = {
        "clock": clock,
        "at": at,
        "temp_c": temp_c,
        "is_lowest": is_lowest,
        "lowest_before_c": lowest_before_c,
    }
    with transaction.atomic():
        clock = Clock.objects.select_for_update(of=("self",)).get(pk=clock.pk)
        if again := TemperatureReading.objects.filter(key=key).first():
            if any(getattr(again, name) != value for name, value in said.items() if name != "at"):
                raise UsedAlready(f"This form was saved already: {again}.")
            return again
        trusted_time.keep(now=now, machine=machine)
        _refuse_reading(clock, at, now)
        reading = TemperatureReading.objects.create(key=key, by=by, written_at=now, **said)
        _tell_joint(clock, by=by, now=now)
    return reading


def strike(*, reading: TemperatureReading, by: Person, now: datetime) -> None:
    """Strikes a wrong reading: it stays readable and counts nothing.

    Raises
    ------
    ReadingRefused
        When it is the only one left: without a temperature nothing can be reckoned.
    """
    with transaction.atomic():
        clock = Clock.objects.select_for_update(of=("self",)).get(pk=reading.clock_id)
        left = clock.readings.filter(struck_at=None).exclude(pk=reading.pk)
        if not left.exists():
            raise ReadingRefused("It is the only reading. Write the right one down first.")
        TemperatureReading.objects.filter(pk=reading.pk, struck_at=None).update(struck_at=now)
        _tell_joint(clock, by=by, now=now)


def stop(*, clock: Clock, because: str, by: Person, now: datetime) -> None:
    """Takes a clock down from the wall; what it said stays in the history of its piece."""
    with transaction.atomic():
        clock = Clock.objects.select_for_update(of=("self",)).get(pk=clock.pk)
        if clock.stopped_at is not None:
            return
        clock.stopped_at, clock.stopped_because = now, because
        clock.save(update_fields=["stopped_at", "stopped_because"])
        piece = clock.piece
        Event.objects.write(
            piece=piece, kind="clock stopped", text=f"{clock}. {because}", by=by, at=now
        )


def settle_time(*, by: Person, now: datetime, machine: Machine = UNKNOWN) -> int:
    """How many readings were struck because they are later than a clock that is right.

    Somebody looked at the computer's clock, and it is right as it is. A clock that was started
    "later than now" starts anew at ``now``: late is safe, early is not. Joints are told what is
    left of their logs.
    """
    with transaction.atomic():
        trusted_time.believe(now=now, machine=machine)
        struck = 0
        for clock in Clock.objects.not_stopped().select_for_update(of=("self",)):
            if clock.started_at > now:
                _start_anew(clock, now)
            late = clock.readings.filter(struck_at=None, at__gt=now).update(struck_at=now)
            struck += late
            _tell_joint(clock, by=by, now=now)
        said = f"Somebody looked, and it is right. Readings struck: {struck}"
        Event.objects.write(car=by.car, kind="computer's clock", text=said, by=by, at=now)
    return struck


def looked_up(clock: Clock) -> Look:
    """A clock's look, from the rows as they are now."""
    return look(Clock.objects.for_page().get(pk=clock.pk))


def _started(
    *,
    key: UUID,
    kind: str,
    subject: dict[str, Any],
    words: str,
    car: Any,
    model: dict[str, Any],
    temp_c: float,
    by: Person,
    now: datetime,
    machine: Machine,
) -> Clock:
    with transaction.atomic():
        if again := Clock.objects.filter(key=key).first():
            return again
        trusted_time.keep(now=now, machine=machine)
        clock = Clock.objects.create(
            key=key,
            kind=kind,
            car=car,
            words=words,
            model=model,
            started_at=now,
            started_by=by,
            **subject,
        )
        TemperatureReading.objects.create(
            key=key, clock=clock, at=now, temp_c=temp_c, by=by, written_at=now
        )
        _tell_joint(clock, by=by, now=now)
    return clock


def _start_anew(clock: Clock, now: datetime) -> None:
    first = clock.readings.filter(struck_at=None).order_by("at").first()
    clock.started_at = now
    clock.save(update_fields=["started_at"])
    if first:
        TemperatureReading.objects.filter(pk=first.pk).update(at=now)
    if clock.bond_id is not None:
        Bond.objects.filter(pk=clock.bond_id).update(mixed_at=now)


def _refuse_reading(clock: Clock, at: datetime, now: datetime) -> None:
    if clock.stopped_at is not None:
        raise ReadingRefused("This clock was stopped. It takes no more readings.")
    if not clock.is_running:
        raise ReadingRefused(f"{clock.over_because}: this clock takes no more readings.")
    if at < clock.started_at:
        raise ReadingRefused("That was before the clock was started.")
    if at > now:
        raise ReadingRefused("That time is still to come, by the clock of this computer.")
    if clock.readings.filter(at=at, struck_at=None).exists():
        raise ReadingRefused("There is a reading of that minute. Strike it first.")


def _tell_joint(clock: Clock, *, by: Person, now: datetime) -> None:
    """Writes what the log says into the joint, for those who decide about heat.

    The last reading is handed on only when the log itself reaches the end: a joint whose time ran
    out by a forecast is not released by it.
    """
    joint = clock.bond.joint if clock.bond else None
    if joint is None or not joint.is_standing:
        return
    found = looked_up(clock)
    proven = found.heat.is_done and found.last is not None
    joints.set_cure(
        joint=joint,
        earliest=found.heat_at,
        last_reading_at=found.last.at if proven else None,
        by=by,
        now=now,
    )
