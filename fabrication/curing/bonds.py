"""Bonds: written down, mixed (which starts the clock and joins the pieces), called hard, parted."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from fabrication.curing import cures
from fabrication.curing.bond_checks import refusal_of, stops
from fabrication.curing.faces import Face, face_of
from fabrication.curing.trusted_time import UNKNOWN, Machine, doubt
from fabrication.models import Bond, Clock
from garage.models import Person
from parts import joints, judging
from parts.models import Event, Joint, Piece

# The pieces and the glue of a bond are fixed once it is mixed; the rest may still be noted.
FIXED = ("onto", "adhesive", "duty", "is_only_fixing", "holds_safety", "found")


class BondRefused(Exception):
    """The bond cannot be made or changed like that; says why."""


class OtherUnderThisKey(Exception):
    """Another bond was written down from the same form before."""

    def __init__(self, bond: Bond) -> None:
        super().__init__(f"{bond} is saved already, from this same form. Save again for one more.")


class Stale(Exception):
    """Somebody saved the bond since this form was opened."""

    def __init__(self, bond: Bond) -> None:
        who = bond.changed_by.name if bond.changed_by else "Somebody"
        super().__init__(f"{who} saved {bond} since you opened it. Look at both, then save again.")
        self.bond = bond


def write_down(
    *, key: UUID, piece: Piece, values: dict[str, Any], by: Person, now: datetime
) -> Bond:
    """The new bond, or the one that this form wrote down before.

    Raises
    ------
    OtherUnderThisKey
        When ``key`` wrote down another bond.
    BondRefused
        When it is glued onto itself, or must not be glued at all.
    """
    if values["onto"].pk == piece.pk:
        raise BondRefused("A piece cannot be glued onto itself.")
    with transaction.atomic():
        bond, is_new = Bond.objects.select_related("piece__part", "adhesive").get_or_create(
            key=key,
            defaults={
                "piece": piece,
                "created_at": now,
                "changed_at": now,
                "changed_by": by,
                **values,
            },
        )
        wanted = {"piece": piece, **values}
        if not is_new and any(getattr(bond, name) != value for name, value in wanted.items()):
            raise OtherUnderThisKey(bond)
        _refuse_what_is_never_glued(bond)
    return bond


def save(*, bond: Bond, seen: int, values: dict[str, Any], by: Person, now: datetime) -> Bond:
    """The bond with what was typed, one version on.

    Raises
    ------
    Stale
        When it was saved since version ``seen``.
    BondRefused
        When it is mixed and the change would make another joint of it, or it is never glued.
    """
    with transaction.atomic():
        bond = _locked(bond)
        if bond.version != seen:
            raise Stale(bond)
        changed = [name for name, value in values.items() if getattr(bond, name) != value]
        if bond.is_mixed and (fixed := [name for name in changed if name in FIXED]):
            words = ", ".join(str(Bond._meta.get_field(name).verbose_name) for name in fixed)
            raise BondRefused(f"{bond} is mixed: {words} cannot change any more.")
        for name, value in values.items():
            setattr(bond, name, value)
        _refuse_what_is_never_glued(bond)
        bond.version += 1
        bond.changed_at, bond.changed_by = now, by
        bond.save(update_fields=[*values, "version", "changed_at", "changed_by"])
    return bond


def mix(
    *,
    bond: Bond,
    key: UUID,
    temp_c: float,
    by: Person,
    now: datetime,
    anyway: str = "",
    machine: Machine = UNKNOWN,
) -> Clock:
    """The clock of a bond that is being mixed now.

    Writes the joint on the piece that is glued onto, joins the two, and starts the clock, all or
    nothing. The same ``key`` mixes once.

    Raises
    ------
    BondRefused
        When it is mixed already, never glued, or something stops it and no reason was given.
    JoinRefused, JointRefused
        When the pieces cannot be joined, such as one of them being at a finisher.
    NoTimes, TimeDoubted
        When the clock cannot be started.
    """
    with transaction.atomic():
        bond = _locked(bond)
        if clock := Clock.objects.filter(key=key, bond=bond).first():
            return clock
        if bond.is_mixed:
            raise BondRefused(f"{bond} is mixed already.")
        _refuse_what_is_never_glued(bond)
        if (found := stops(bond)) and not anyway:
            raise BondRefused(f"{found[0].text} Say why you glue it anyway, or change it.")
        bond.joint = joints.make_joint(
            piece=bond.onto,
            key=key,
            how=Joint.How.GLUE,
            adhesive=bond.adhesive,
            note=f"{bond.piece.tag} {bond.piece.part.name}"[:200],
            by=by,
            now=now,
        )
        if bond.piece.joined_into_id != bond.onto_id:
            judging.join(
                piece=bond.piece, into=bond.onto.part, how=f"Glued, {bond}", by=by, now=now
            )
        bond.mixed_at, bond.mixed_by = now, by
        bond.save(update_fields=["joint", "mixed_at", "mixed_by"])
        said = f"{bond}: {bond.title}, {bond.adhesive}, part at {temp_c:g} °C"
        Event.objects.write(
            piece=bond.piece,
            kind="glue mixed",
            text=f"{said}. Glued anyway, because {anyway}" if anyway else said,
            by=by,
            at=now,
        )
        return cures.start_bond_clock(
            key=key, bond=bond, temp_c=temp_c, by=by, now=now, machine=machine
        )


def call_hard(*, bond: Bond, by: Person, now: datetime, machine: Machine = UNKNOWN) -> None:
    """Somebody looked, and the log says so too: the joint is hard, and its clock is taken down.

    Raises
    ------
    BondRefused
        When the log does not say yet that it carries its load, or the time is not believed.
    """
    with transaction.atomic():
        bond = _locked(bond)
        clock = bond.clocks.running().first()
        if bond.joint is None or clock is None:
            raise BondRefused(f"{bond} has no clock running.")
        face = _face(clock, now, machine)
        if face.doubt:
            raise BondRefused(face.doubt)
        if not face.is_ready:
            raise BondRefused(f"Not cured yet: {face.words.says.lower()}. Keep it clamped.")
        joints.call_hard(joint=bond.joint, by=by, now=now)
        cures.stop(clock=clock, because="Looked at: hard", by=by, now=now)


def part(*, bond: Bond, because: str, by: Person, now: datetime) -> None:
    """Takes the bond apart again: the joint, the joining and the clock, all or nothing.

    Raises
    ------
    BondRefused
        When it was never mixed, or is apart already.
    """
    with transaction.atomic():
        bond = _locked(bond)
        if not bond.is_mixed or bond.is_parted:
            raise BondRefused(f"{bond} is not glued.")
        for clock in bond.clocks.not_stopped():
            cures.stop(clock=clock, because=because or "Taken apart", by=by, now=now)
        if bond.joint and bond.joint.is_standing:
            joints.part_joint(joint=bond.joint, by=by, now=now)
        if bond.piece.joined_into_id == bond.onto_id:
            judging.take_apart(piece=bond.piece, by=by, now=now)
        bond.parted_at = now
        bond.save(update_fields=["parted_at"])


def _face(clock: Clock, now: datetime, machine: Machine) -> Face:
    fresh = Clock.objects.for_page().get(pk=clock.pk)
    return face_of(fresh, now=now, doubt=doubt(now=now, machine=machine))


def _refuse_what_is_never_glued(bond: Bond) -> None:
    if said := refusal_of(bond=bond):
        raise BondRefused(said)


def _locked(bond: Bond) -> Bond:
    fresh: Bond = Bond.objects.select_for_update(of=("self",)).for_rows().get(pk=bond.pk)
    return fresh
