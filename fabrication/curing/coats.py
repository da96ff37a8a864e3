"""Finish at home: coats in their order, each with the times of its tin, on the same clocks."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import models, transaction

from fabrication.curing import cures
from fabrication.curing.trusted_time import UNKNOWN, Machine
from fabrication.models import Clock, Coat
from garage.models import Person
from parts.models import Event, Kind, Piece, Step


class CoatRefused(Exception):
    """The coat cannot be put on or taken away like that; says why."""


class OtherUnderThisKey(Exception):
    """Another coat was written down from the same form before."""

    def __init__(self, coat: Coat) -> None:
        super().__init__(f"{coat} is saved already, from this same form. Save again for one more.")


def plan(*, key: UUID, piece: Piece, values: dict[str, Any], by: Person) -> Coat:
    """The next coat of a piece, or the one that this form wrote down before.

    Raises
    ------
    OtherUnderThisKey
        When ``key`` wrote down another coat.
    """
    with transaction.atomic():
        piece = Piece.objects.select_for_update(of=("self",)).get(pk=piece.pk)
        if again := Coat.objects.filter(key=key).first():
            if again.piece_id != piece.pk or any(
                getattr(again, name) != value for name, value in values.items()
            ):
                raise OtherUnderThisKey(again)
            return again
        last = piece.coats.aggregate(last=models.Max("number"))["last"] or 0
        return Coat.objects.create(key=key, piece=piece, number=last + 1, **values)


def put_on(
    *,
    coat: Coat,
    key: UUID,
    temp_c: float,
    by: Person,
    now: datetime,
    machine: Machine = UNKNOWN,
) -> Clock:
    """The clock of a coat that was put on now; the clock of the coat under it is taken down.

    Raises
    ------
    CoatRefused
        When it is on already, or the coat before it is not.
    NoTimes, TimeDoubted
        When the clock cannot be started.
    """
    with transaction.atomic():
        coat = _locked(coat)
        if clock := Clock.objects.filter(key=key, coat=coat).first():
            return clock
        if coat.put_on_at:
            raise CoatRefused(f"{coat} is on already.")
        before = Coat.objects.of_piece(coat.piece).filter(number__lt=coat.number)
        if waiting := before.filter(put_on_at=None).first():
            raise CoatRefused(f"{waiting} comes first.")
        coat.put_on_at = now
        coat.save(update_fields=["put_on_at"])
        for clock in Clock.objects.running().filter(coat__in=before):
            cures.stop(clock=clock, because=f"{coat} went on", by=by, now=now)
        said = f"{coat}{f', {coat.product}' if coat.product else ''}, at {temp_c:g} °C"
        Event.objects.write(piece=coat.piece, kind="coat put on", text=said, by=by, at=now)
        return cures.start_coat_clock(
            key=key, coat=coat, temp_c=temp_c, by=by, now=now, machine=machine
        )


def take_off_list(*, coat: Coat) -> None:
    """Takes a coat that was never put on off the list.

    Raises
    ------
    CoatRefused
        When it is on: history keeps it.
    """
    with transaction.atomic():
        coat = _locked(coat)
        if coat.put_on_at:
            raise CoatRefused(f"{coat} is on, so it stays on the list.")
        coat.delete()


def step_of(piece: Piece) -> Step | None:
    """The step of the plan that these coats belong to, while it is to do."""
    return piece.steps.to_do().filter(kind=Kind.FINISH_HOME).first()


def _locked(coat: Coat) -> Coat:
    return (
        Coat.objects.select_for_update(of=("self",))
        .select_related("piece__part__car")
        .get(pk=coat.pk)
    )
