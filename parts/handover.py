"""Out of the garage and back: handing over, taking back, closing.

Handing over is the moment that counts. The sheet is rendered first, from the lines as they are;
its file is settled on the disk under a passing name; then, in one transaction, every piece is
asked again, moved, and the file gets its name. When anything has changed meanwhile nothing is
done at all. Only then are the rows there, so a drop-off that is out has its sheet.
"""

import hashlib
from datetime import date, datetime
from pathlib import Path
from uuid import uuid4

from django.conf import settings
from django.db import transaction

from garage.models import Person
from garage.photos import durable
from parts import plan, sheets, splitting
from parts.checking import check_lines, refuse_held
from parts.lines import DropOffRefused, being_built, refuse_unless_sendable, touch
from parts.models import DropOff, Event, Line, Piece, Place, Progress
from parts.statuses import Move


def hand_over(
    *,
    dropoff: DropOff,
    on: date,
    due_on: date | None,
    count_url: str,
    by: Person,
    now: datetime,
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
    _refuse_unready(dropoff, now)
    pdf = sheets.dropoff_sheet(dropoff, count_url=count_url, by=by, now=now)
    part = _settled(pdf)
    try:
        _commit(dropoff, part, hashlib.sha256(pdf).hexdigest(), by, now)
    finally:
        durable.remove([part])
    return dropoff


def _commit(dropoff: DropOff, part: Path, digest: str, by: Person, now: datetime) -> None:
    """Moves the pieces, gives the sheet its name, and marks the drop-off as out: all or nothing."""
    name = f"prints/dropoff-{dropoff.number}-{dropoff.hand_over_on:%Y%m%d}.pdf"
    with transaction.atomic():
        fresh = being_built(dropoff)
        if fresh.version != dropoff.version:
            raise DropOffRefused("The sheet was changed meanwhile. Look at it and hand over again.")
        # Nothing counts as fit that was answered or read otherwise while the sheet was rendered.
        refuse_held(check_lines(fresh, fresh.lines.for_sheet(), now=now))
        _send(dropoff, by, now)
        durable.move(part, Path(settings.SPLITPIN_DATA) / name)
        dropoff.state, dropoff.handed_over_at = DropOff.State.OUT, now
        dropoff.sheet_file, dropoff.sheet_sha256 = name, digest
        settled = [
            "state",
            "handed_over_at",
            "hand_over_on",
            "due_on",
            "sheet_file",
            "sheet_sha256",
        ]
        dropoff.save(update_fields=settled)
        touch(dropoff)


def _refuse_unready(dropoff: DropOff, now: datetime) -> None:
    lines = list(dropoff.lines.for_sheet().select_related("piece__joined_into__part"))
    if not lines:
        raise DropOffRefused("There is nothing on the sheet yet.")
    for line in lines:
        if line.piece:
            refuse_unless_sendable(line.piece)
        if not line.work:
            raise DropOffRefused(f"{line}: say what work is wanted.")
    refuse_held(check_lines(dropoff, lines, now=now))


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
            raise DropOffRefused(
                f"{piece} is {piece.quantity} in all: {line.count} cannot be sent."
            )
        if line.count < piece.quantity:
            splitting.split(
                piece=piece,
                count=piece.quantity - line.count,
                step=line.step,
                by=by,
                now=now,
                why=f"{line.count} go out on {str(dropoff).lower()}.",
            )
        piece.move(
            Move.HAND_OVER,
            by=by,
            now=now,
            note=f"{dropoff}, {dropoff.finisher}",
            batch=dropoff.key,
            finisher=dropoff.finisher,
            place=None,
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
        raise DropOffRefused(
            f"{piece} is {piece.get_status_display().lower()}: count it back instead."
        )
    place = _place_before(dropoff, piece)
    piece.move(Move.TAKE_BACK, by=by, now=now, note=f"{dropoff} taken back", place=place)
    if line.step and line.step.progress == Progress.DOING:
        plan.reopen(step=line.step, by=by, now=now)


def _place_before(dropoff: DropOff, piece: Piece) -> Place | None:
    """Where the piece lay when it was handed over, as the event of that says."""
    sent = Event.objects.filter(batch=dropoff.key, piece=piece, kind=Move.HAND_OVER).first()
    return (
        Place.objects.filter(pk=sent.changes.get("place_id", [None])[0]).first() if sent else None
    )


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
            raise DropOffRefused(
                f"{uncounted} not counted yet. Count them, or say why it is closed without."
            )
        dropoff.state, dropoff.closed_at, dropoff.closed_because = (
            DropOff.State.CLOSED,
            now,
            because,
        )
        dropoff.save(update_fields=["state", "closed_at", "closed_because"])
    return dropoff


def kept_sheet(dropoff: DropOff) -> Path | None:
    """The PDF as it was handed over, None before that."""
    return Path(settings.SPLITPIN_DATA) / dropoff.sheet_file if dropoff.sheet_file else None
