"""A batch of pieces on its way out: started, handed over, taken back, closed.

Handing over is the moment that counts. The sheet is rendered first, from the lines as they are;
its file is settled on the disk under a passing name; then, in one transaction, every piece is
asked again, moved, and the file gets its name. When anything has changed meanwhile nothing is
done at all. Only then are the rows there, so a drop-off that is out has its sheet.
"""

import hashlib
from collections.abc import Iterable
from datetime import date, datetime, timedelta
from pathlib import Path
from statistics import median
from typing import Any
from uuid import UUID, uuid4

from django.conf import settings
from django.db import transaction
from django.db.models import F
from django.utils import timezone

from garage.models import Car, Garage, Person, Photo
from garage.photos import durable
from parts import plan, sheets, splitting
from parts.lines import (
    DropOffRefused,
    add_lot,
    add_pieces,
    apply_changes,
    being_built,
    change_line,
    refuse_unless_sendable,
    take_line_off,
    touch,
)
from parts.models import DropOff, Event, Finisher, Line, Mask, Piece, Place, Progress
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
COPIED = ("work", "grit", "colour", "colour_code", "gloss", "thickness_um", "hang_by", "plug", "tag_stays", "remarks")
TERMS = ("colour", "colour_code", "gloss", "thickness_um", "grit", "quoted", "remarks")


def start(
    *, key: UUID, car: Car, finisher: Finisher, by: Person, now: datetime, pieces: Iterable[Piece] = (), **terms: Any
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
    """Days the finisher really took: the median of the drop-offs that came back, None before the first."""
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


def hand_over(
    *, dropoff: DropOff, on: date, due_on: date | None, count_url: str, by: Person, now: datetime
) -> DropOff:
    """The drop-off, out: its sheet kept, its pieces at the finisher, their steps begun.

    Raises
    ------
    DropOffRefused
        When it was handed over before, is empty, or a line cannot go, naming it.
    garage.paper.PaperNotPossible
        When the sheet cannot be printed on this machine.
    """
    dropoff = DropOff.objects.select_related("finisher", "car").get(pk=dropoff.pk)
    if not dropoff.is_being_built:
        raise DropOffRefused(f"{dropoff} was handed over already.")
    dropoff.hand_over_on, dropoff.due_on = on, due_on
    _refuse_unready(dropoff)
    pdf = sheets.dropoff_sheet(dropoff, count_url=count_url, by=by, now=now)
    name = f"prints/dropoff-{dropoff.number}-{on:%Y%m%d}.pdf"
    part = _settled(pdf)
    try:
        with transaction.atomic():
            fresh = being_built(dropoff)
            if fresh.version != dropoff.version:
                raise DropOffRefused("The sheet was changed meanwhile. Look at it and hand over again.")
            _send(dropoff, by, now)
            durable.move(part, Path(settings.SPLITPIN_DATA) / name)
            dropoff.state, dropoff.handed_over_at = DropOff.State.OUT, now
            dropoff.sheet_file, dropoff.sheet_sha256 = name, hashlib.sha256(pdf).hexdigest()
            dropoff.save(update_fields=["state", "handed_over_at", "hand_over_on", "due_on", "sheet_file", "sheet_sha256"])
            touch(dropoff)
    finally:
        durable.remove([part])
    return dropoff


def _refuse_unready(dropoff: DropOff) -> None:
    lines = list(dropoff.lines.select_related("piece__part", "piece__joined_into__part"))
    if not lines:
        raise DropOffRefused("There is nothing on the sheet yet.")
    for line in lines:
        if line.piece:
            refuse_unless_sendable(line.piece)
        if not line.work:
            raise DropOffRefused(f"{line}: say what work is wanted.")


def _settled(pdf: bytes) -> Path:
    folder = Path(settings.SPLITPIN_DATA) / "prints"
    durable.make_folder(folder)
    part = folder / f"{uuid4().hex}.part"
    durable.write([pdf], part)
    return part


def _send(dropoff: DropOff, by: Person, now: datetime) -> None:
    """Moves every piece and begins its step. The drop-off's key is the batch of these events."""
    for line in dropoff.lines.select_related("piece__part", "step"):
        piece = line.piece
        if piece is None:
            continue
        piece.refresh_from_db()
        refuse_unless_sendable(piece)
        if line.count > piece.quantity:
            raise DropOffRefused(f"{piece} is {piece.quantity} in all: {line.count} cannot be sent.")
        if line.count < piece.quantity:
            splitting.split(
                piece=piece, count=piece.quantity - line.count, step=line.step, by=by, now=now,
                why=f"{line.count} go out on {str(dropoff).lower()}.",
            )
        piece.move(
            Move.HAND_OVER, by=by, now=now, note=f"{dropoff}, {dropoff.finisher}", batch=dropoff.key,
            finisher=dropoff.finisher, place=None,
        )
        if line.step and line.step.progress == Progress.OPEN:
            plan.begin(step=line.step, by=by, now=now)


def take_back(*, dropoff: DropOff, by: Person, now: datetime, because: str = "") -> DropOff:
    """The drop-off, void: the pieces are off again and lie where they lay; number and sheet stay.

    Raises
    ------
    DropOffRefused
        When it is not out, or something of it was counted already.
    """
    with transaction.atomic():
        dropoff = DropOff.objects.select_for_update().get(pk=dropoff.pk)
        if not dropoff.is_out:
            raise DropOffRefused(f"{dropoff} is not out: {dropoff.get_state_display().lower()}.")
        lines = list(dropoff.lines.select_related("piece__part", "step").prefetch_related("counts"))
        if any(line.counted for line in lines):
            raise DropOffRefused("Some of it is counted back already. Count the rest back instead.")
        for line in lines:
            if line.piece:
                _bring_home(dropoff, line, by, now)
        dropoff.state, dropoff.closed_at = DropOff.State.VOID, now
        dropoff.closed_because = because
        dropoff.save(update_fields=["state", "closed_at", "closed_because"])
    return dropoff


def _bring_home(dropoff: DropOff, line: Line, by: Person, now: datetime) -> None:
    piece = line.piece
    if not piece.can(Move.TAKE_BACK):
        raise DropOffRefused(f"{piece} is {piece.get_status_display().lower()}: count it back instead.")
    place = _place_before(dropoff, piece)
    piece.move(Move.TAKE_BACK, by=by, now=now, note=f"{dropoff} taken back", place=place)
    if line.step and line.step.progress == Progress.DOING:
        plan.reopen(step=line.step, by=by, now=now)


def _place_before(dropoff: DropOff, piece: Piece) -> Place | None:
    """Where the piece lay when it was handed over, as the event of that says."""
    sent = Event.objects.filter(batch=dropoff.key, piece=piece, kind=Move.HAND_OVER).first()
    return Place.objects.filter(pk=sent.changes.get("place_id", [None])[0]).first() if sent else None


def start_again(*, dropoff: DropOff, key: UUID, by: Person, now: datetime) -> DropOff:
    """A new drop-off with the lines of one that was taken back, as far as the pieces can go."""
    with transaction.atomic():
        if again := DropOff.objects.filter(key=key).first():
            return again
        terms = {name: getattr(dropoff, name) for name in TERMS}
        new = start(key=key, car=dropoff.car, finisher=dropoff.finisher, by=by, now=now, **terms)
        for line in dropoff.lines.select_related("piece__part").prefetch_related("masks"):
            if line.piece is None:
                copy = add_lot(
                    dropoff=new, key=uuid4(), lot=line.lot, count=line.count, photo=line.photo,
                    weight_g=line.weight_g, by=by, now=now,
                )
            elif line.piece.can(Move.HAND_OVER) and line.piece.joined_into_id is None:
                (copy,) = add_pieces(dropoff=new, pieces=[line.piece], by=by, now=now)
            else:
                continue
            wanted = {name: getattr(line, name) for name in COPIED}
            wanted["count"] = min(line.count, copy.count)
            changes = {name: (getattr(copy, name), value) for name, value in wanted.items()}
            masks = [_fields_of(mask) for mask in line.masks.all()]
            change_line(line=copy, changes=changes, masks=masks, by=by, now=now)
    return new


def _fields_of(mask: Mask) -> dict[str, Any]:
    return {name: getattr(mask, name) for name in ("what", "count", "thread", "how")}


def close(*, dropoff: DropOff, by: Person, now: datetime, because: str = "") -> DropOff:
    """The drop-off, closed. What was never counted stays out, and can still be counted later.

    Raises
    ------
    DropOffRefused
        When it is not out, or something is uncounted and no reason is given.
    """
    with transaction.atomic():
        dropoff = DropOff.objects.select_for_update().get(pk=dropoff.pk)
        if not dropoff.is_out:
            raise DropOffRefused(f"{dropoff} is not out: {dropoff.get_state_display().lower()}.")
        uncounted = sum(line.still_out for line in dropoff.lines.prefetch_related("counts"))
        if uncounted and not because:
            raise DropOffRefused(f"{uncounted} not counted yet. Count them, or say why it is closed without.")
        dropoff.state, dropoff.closed_at, dropoff.closed_because = DropOff.State.CLOSED, now, because
        dropoff.save(update_fields=["state", "closed_at", "closed_because"])
    return dropoff


def kept_sheet(dropoff: DropOff) -> Path | None:
    """The PDF as it was handed over, None before that."""
    return Path(settings.SPLITPIN_DATA) / dropoff.sheet_file if dropoff.sheet_file else None
