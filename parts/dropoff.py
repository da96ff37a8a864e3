"""A batch of pieces for one finisher: started, agreed, and every verb on it by one name."""

from collections.abc import Iterable
from datetime import date, datetime, timedelta
from statistics import median
from typing import Any
from uuid import UUID, uuid4

from django.db import transaction
from django.db.models import F
from django.utils import timezone

from garage.models import Car, Garage, Person, Photo
from parts import plan
from parts.handover import close, hand_over, kept_sheet, take_back
from parts.lines import (
    DropOffRefused,
    add_lot,
    add_pieces,
    apply_changes,
    being_built,
    change_line,
    take_line_off,
    touch,
)
from parts.models import DropOff, Finisher, Line, Mask, Piece
from parts.splitting import SplitRefused
from parts.statuses import Move, MoveNotAllowed

__all__ = [
    "REFUSALS",
    "DropOffRefused",
    "add_lot",
    "add_pieces",
    "change_line",
    "change_terms",
    "close",
    "due_day",
    "hand_over",
    "kept_sheet",
    "lay_out",
    "really_takes_days",
    "start",
    "start_again",
    "take_back",
    "take_line_off",
]
# Everything that stops a verb of this room with a sentence to show.
REFUSALS = (DropOffRefused, SplitRefused, MoveNotAllowed, plan.StepRefused)
COPIED = (
    "work",
    "grit",
    "colour",
    "colour_code",
    "gloss",
    "thickness_um",
    "hang_by",
    "plug",
    "tag_stays",
    "remarks",
)
TERMS = ("colour", "colour_code", "gloss", "thickness_um", "grit", "quoted", "remarks")


def start(
    *,
    key: UUID,
    car: Car,
    finisher: Finisher,
    by: Person,
    now: datetime,
    pieces: Iterable[Piece] = (),
    **terms: Any,
) -> DropOff:
    """A new drop-off under its number, with a line for each of ``pieces``.

    Sent twice with the same ``key`` it is one drop-off. A number is never given again.
    """
    with transaction.atomic():
        if again := DropOff.objects.filter(key=key).first():
            return again
        garage = Garage.here()
        Garage.objects.filter(id=garage.id).update(dropoffs_numbered=F("dropoffs_numbered") + 1)
        garage.refresh_from_db(fields=["dropoffs_numbered"])
        dropoff = DropOff.objects.create(
            key=key,
            number=garage.dropoffs_numbered,
            car=car,
            finisher=finisher,
            created_at=now,
            created_by=by,
            **terms,
        )
        add_pieces(dropoff=dropoff, pieces=pieces, by=by, now=now)
    return dropoff


def really_takes_days(finisher: Finisher) -> int | None:
    """Days the finisher really took: the median of what came back whole, None before the first."""
    days = [
        (timezone.localtime(one.collected_at or one.closed_at).date() - one.hand_over_on).days
        for one in DropOff.objects.at(finisher).came_back_whole()
    ]
    return round(median(days)) if days else None


def due_day(finisher: Finisher, *, handed_over: date) -> date | None:
    """When to expect it back: by what it really took, else by what was said, else not known."""
    days = really_takes_days(finisher)
    days = finisher.lead_days if days is None else days
    return handed_over + timedelta(days=days) if days is not None else None


def change_terms(
    *, dropoff: DropOff, changes: dict[str, tuple[Any, Any]], by: Person, now: datetime
) -> None:
    """Saves ``changes``, {field: (as the person saw it, as they want it)}, of the whole sheet.

    Raises
    ------
    DropOffRefused
        When somebody else changed one of these fields meanwhile; nothing is saved then.
    """
    with transaction.atomic():
        fresh = being_built(dropoff)
        apply_changes(fresh, changes)
        if changes:
            touch(fresh)


def lay_out(*, dropoff: DropOff, photo: Photo, by: Person, now: datetime) -> None:
    """Puts the photo of everything laid out on the sheet."""
    with transaction.atomic():
        fresh = being_built(dropoff)
        fresh.laid_out = photo
        fresh.save(update_fields=["laid_out"])
        touch(fresh)


def start_again(*, dropoff: DropOff, key: UUID, by: Person, now: datetime) -> DropOff:
    """A new drop-off with the lines of one that was taken back, as far as the pieces can go."""
    with transaction.atomic():
        if again := DropOff.objects.filter(key=key).first():
            return again
        terms = {name: getattr(dropoff, name) for name in TERMS}
        new = start(key=key, car=dropoff.car, finisher=dropoff.finisher, by=by, now=now, **terms)
        for line in dropoff.lines.select_related("piece__part").prefetch_related("masks"):
            if copy := _copied(line, new, by, now):
                wanted = {name: getattr(line, name) for name in COPIED}
                wanted["count"] = min(line.count, copy.count)
                changes = {name: (getattr(copy, name), value) for name, value in wanted.items()}
                masks = [_fields_of(mask) for mask in line.masks.all()]
                change_line(line=copy, changes=changes, masks=masks, by=by, now=now)
    return new


def _copied(line: Line, new: DropOff, by: Person, now: datetime) -> Line | None:
    """The same piece or lot as a plain line of ``new``; None for a piece that cannot go now."""
    if line.piece is None:
        return add_lot(
            dropoff=new,
            key=uuid4(),
            lot=line.lot,
            count=line.count,
            photo=line.photo,
            weight_g=line.weight_g,
            strongest=line.strongest,
            by=by,
            now=now,
        )
    if line.piece.can(Move.HAND_OVER) and line.piece.joined_into_id is None:
        return add_pieces(dropoff=new, pieces=[line.piece], by=by, now=now)[0]
    return None


def _fields_of(mask: Mask) -> dict[str, Any]:
    return {name: getattr(mask, name) for name in ("what", "count", "thread", "how")}
