"""Joints of a piece: made, hardening, called hard, taken apart."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.utils import timezone

from garage.models import Person
from parts.models import Adhesive, Alloy, Event, Joint, Piece


class JointRefused(Exception):
    """The joint cannot be made or changed like that; says why."""


def make_joint(
    *,
    piece: Piece,
    key: UUID,
    how: str,
    by: Person,
    now: datetime,
    adhesive: Adhesive | None = None,
    alloy: Alloy | None = None,
    note: str = "",
) -> Joint:
    """The joint; glue and filler begin as curing, everything else is hard.

    Sent twice with the same ``key`` it is one joint. Its event has the same key, so ``undo`` of
    that key takes it away again.

    Raises
    ------
    JointRefused
        When ``key`` made another joint, or the metal or glue does not go with ``how``.
    """
    how = Joint.How(how)
    _refuse_mixed_up(how, adhesive, alloy)
    wanted = {"piece": piece, "how": how, "adhesive": adhesive, "alloy": alloy, "note": note}
    with transaction.atomic():
        joint, made = Joint.objects.select_related("alloy", "adhesive").get_or_create(
            key=key,
            defaults={
                **wanted,
                "state": Joint.State.CURING if how in Joint.CURES else Joint.State.HARD,
                "made_at": now,
                "made_by": by,
            },
        )
        if not made and any(getattr(joint, name) != value for name, value in wanted.items()):
            raise JointRefused(f"This form was used already: {joint}.")
        if made:
            changes = {f"joint {joint.pk}": [None, how.value]}
            Event.objects.write(
                piece=piece, kind="joint", text=str(joint), changes=changes, by=by, at=now, key=key
            )
    return joint


def _refuse_mixed_up(how: Joint.How, adhesive: Adhesive | None, alloy: Alloy | None) -> None:
    if alloy and how not in (Joint.How.SOLDER, Joint.How.BRAZE):
        raise JointRefused("Only a soldered or brazed joint has a solder or braze.")
    if alloy and alloy.is_soft != (how == Joint.How.SOLDER):
        kind = alloy.get_family_display().lower()
        raise JointRefused(f"{alloy} is a {kind}. Say soldered for soft solder, else brazed.")
    if adhesive and how != Joint.How.GLUE:
        raise JointRefused("Only a glued joint has an adhesive.")


def set_cure(
    *,
    joint: Joint,
    earliest: datetime | None,
    last_reading_at: datetime | None,
    by: Person | None,
    now: datetime,
) -> Joint:
    """The joint with its clock as the readings have it: fit for heat from ``earliest``.

    It is hard for good once the clock has ended while a reading was fresh; ``earliest`` of ``None``
    is a clock that stands still. A joint that somebody looked at and called hard stays hard.
    History names a change: curing or hard, and a clock that stalls or starts; not every reading.

    Raises
    ------
    JointRefused
        When the joint was taken apart.
    """
    with transaction.atomic():
        joint = _standing(joint)
        state, stood_still = joint.state, joint.hard_from is None
        joint.hard_from, joint.last_reading_at = earliest, last_reading_at
        ended = joint.clock_ended(now) and joint.reading_is_fresh(now)
        hard = ended or joint.looked_at is not None
        joint.state = Joint.State.HARD if hard else Joint.State.CURING
        joint.save(update_fields=["state", "hard_from", "last_reading_at"])
        turned = joint.is_curing and (earliest is None) is not stood_still
        if turned or joint.state != state:
            Event.objects.write(
                piece=joint.piece,
                kind="joint hard" if hard else "joint curing",
                text=_clock_in_words(joint),
                by=by,
                at=now,
            )
    return joint


def _clock_in_words(joint: Joint) -> str:
    if not joint.is_curing:
        return str(joint)
    if joint.hard_from is None:
        return f"{joint}; the clock stands still"
    earliest = timezone.localtime(joint.hard_from)
    return f"{joint}; fit for heat from {earliest.day} {earliest:%b %Y, %H:%M} at the earliest"


def call_hard(*, joint: Joint, by: Person, now: datetime) -> Event | None:
    """The event of a person saying "I looked, it is hard".

    A joint that its clock made hard is looked at all the same, and history keeps by whom. None when
    somebody looked before, and of a joint that never cures.

    Raises
    ------
    JointRefused
        When the joint was taken apart.
    """
    with transaction.atomic():
        joint = _standing(joint)
        if joint.looked_at or joint.how not in Joint.CURES:
            return None
        return _change(
            joint,
            {"state": Joint.State.HARD, "looked_at": now, "looked_by": by},
            kind="joint looked at",
            by=by,
            now=now,
        )


def part_joint(*, joint: Joint, by: Person, now: datetime) -> Event:
    """The event of the joint being taken apart; it says nothing about the piece any more.

    Raises
    ------
    JointRefused
        When it was taken apart before.
    """
    with transaction.atomic():
        return _change(_standing(joint), {"parted_at": now}, kind="joint parted", by=by, now=now)


def _standing(joint: Joint) -> Joint:
    fresh = (
        Joint.objects.select_for_update(of=("self",))
        .select_related("piece__part", "alloy", "adhesive")
        .get(pk=joint.pk)
    )
    if not fresh.is_standing:
        raise JointRefused(f"{fresh}: taken apart already.")
    return fresh


def _change(joint: Joint, wanted: dict[str, Any], *, kind: str, by: Person, now: datetime) -> Event:
    """The event of a change that ``undo`` can put back."""
    changes = {}
    for name, value in wanted.items():
        attname = Joint._meta.get_field(name).attname
        before = getattr(joint, attname)
        setattr(joint, name, value)
        changes[f"joint {joint.pk} {attname}"] = [_plain(before), _plain(getattr(joint, attname))]
    joint.save(update_fields=list(wanted))
    key = uuid4()
    return Event.objects.write(
        piece=joint.piece,
        kind=kind,
        text=str(joint),
        changes=changes,
        by=by,
        at=now,
        key=key,
        batch=key,
    )


def _plain(value: Any) -> Any:
    return value.isoformat() if isinstance(value, datetime) else value
