"""Counting back: what came home from a finisher, in what state, and what is still out.

What a count does to the pieces of a line:

=============  ==================================================================================
good           counted in, the sending-out step done, threads and earths put down to be prepared
to be redone   counted in, the sending-out step open again with the reason
missing        reported missing
found unsound  counted in, the rest of the plan left: the piece is to be judged anew
=============  ==================================================================================

A line of several alike can come back with different answers, or in parts. The piece of the line
then keeps the best answer (good before still out before redone before unsound before missing) and
each other answer becomes a further piece (``parts.splitting``). The step counts as done when all
that the piece *now* is came back good; the further pieces carry their own copies of it. What is
still out stands in ``Line.rest`` once the piece itself is home; when it comes back good it is put
together with the others, and the piece has its old quantity.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction

from garage.models import Person, Photo
from parts import invoices, plan, preparing, splitting, takeoff
from parts.lines import DropOffRefused
from parts.models import Count, DropOff, Event, Kind, Line, Moment, Piece, Place, Progress, Step
from parts.models.piece_words import RUSTS_BARE
from parts.statuses import Move, MoveNotAllowed

GOOD, STILL_OUT, REDO, UNSOUND, MISSING = "good", "still out", "redo", "unsound", "missing"
# Which answer the piece of the line keeps when there are several; the others are split off.
KEPT_FIRST = (GOOD, STILL_OUT, REDO, UNSOUND, MISSING)
UNSOUND_SAYS = "found unsound"


class CountedAlready(Exception):
    """The form was saved before with other figures in it."""


@dataclass(frozen=True, slots=True)
class Tally:
    """What somebody counted of one line, just now."""

    line: Line
    key: UUID
    good: int = 0
    redo: int = 0
    missing: int = 0
    unsound: int = 0
    note: str = ""
    photo: Photo | None = None

    @property
    def total(self) -> int:
        return self.good + self.redo + self.missing + self.unsound

    @property
    def numbers(self) -> tuple[int, int, int, int]:
        return self.good, self.redo, self.missing, self.unsound


def collect(*, dropoff: DropOff, by: Person, now: datetime) -> DropOff:
    """Everything still at the finisher is home, not counted yet."""
    with transaction.atomic():
        dropoff = DropOff.objects.select_for_update().get(pk=dropoff.pk)
        if not dropoff.is_out:
            raise DropOffRefused(f"{dropoff} is not out: {dropoff.get_state_display().lower()}.")
        for line in dropoff.lines.select_related("piece", "rest").prefetch_related("counts"):
            piece = line.rest or line.piece
            if piece and line.still_out and piece.can(Move.COLLECT):
                piece.move(Move.COLLECT, by=by, now=now, note=str(dropoff))
        dropoff.collected_at = now
        dropoff.save(update_fields=["collected_at"])
    return dropoff


def count(
    *,
    dropoff: DropOff,
    tallies: Sequence[Tally],
    by: Person,
    now: datetime,
    place: Place | None = None,
    invoiced: Decimal | None = None,
) -> list[Count]:
    """The counts written down, in part or whole. The drop-off closes with the last piece.

    A tally whose key was counted before is left out: the same form sent twice counts once.

    Raises
    ------
    CountedAlready
        When a key was counted before with other figures.
    DropOffRefused
        When more comes back than went, or the drop-off is not out. Nothing is written down then.
    """
    with transaction.atomic():
        dropoff = DropOff.objects.select_for_update().get(pk=dropoff.pk)
        if dropoff.state not in (DropOff.State.OUT, DropOff.State.CLOSED):
            raise DropOffRefused(f"{dropoff} is not out: {dropoff.get_state_display().lower()}.")
        if invoiced is not None and invoiced != dropoff.invoiced:
            dropoff.invoiced = invoiced
            dropoff.save(update_fields=["invoiced"])
        counts = [
            found for tally in tallies if (found := _count_line(dropoff, tally, place, by, now))
        ]
        invoices.share(dropoff=dropoff, by=by, now=now)
        left = sum(line.still_out for line in dropoff.lines.prefetch_related("counts"))
        if not left and dropoff.is_out:
            dropoff.state, dropoff.closed_at = DropOff.State.CLOSED, now
            dropoff.save(update_fields=["state", "closed_at"])
    return counts


def _count_line(
    dropoff: DropOff, tally: Tally, place: Place | None, by: Person, now: datetime
) -> Count | None:
    if again := Count.objects.filter(key=tally.key).first():
        if (again.good, again.redo, again.missing, again.unsound) != tally.numbers:
            raise CountedAlready
        return None
    line = dropoff.lines.select_related("piece__part", "rest__part", "step").get(pk=tally.line.pk)
    if tally.total > line.still_out:
        raise DropOffRefused(f"{line}: {tally.total} counted, but only {line.still_out} still out.")
    found = Count.objects.create(
        key=tally.key,
        line=line,
        at=now,
        by=by,
        good=tally.good,
        redo=tally.redo,
        missing=tally.missing,
        unsound=tally.unsound,
        note=tally.note,
        photo=tally.photo,
    )
    if line.piece:
        try:
            _settle_pieces(line, tally, place, by, now)
        except MoveNotAllowed as refused:
            raise DropOffRefused(
                f"{line}: {refused} Put that right on its own page first."
            ) from None
    elif tally.photo:
        Photo.objects.filter(pk=tally.photo.pk).update(in_use=True)
    return found


def _settle_pieces(
    line: Line, tally: Tally, place: Place | None, by: Person, now: datetime
) -> None:
    """Gives each answer its piece, and does to it what the answer says."""
    holder = line.rest or line.piece
    pieces = _parted(line, holder, tally, by, now)
    if STILL_OUT in pieces and pieces[STILL_OUT] not in (line.rest, line.piece):
        Line.objects.filter(pk=line.pk).update(rest=pieces[STILL_OUT])
    for answer, piece in pieces.items():
        piece.refresh_from_db()
        if answer != STILL_OUT:
            _settle_piece(answer, piece, line, tally, place, by, now)
    if tally.photo:
        takeoff.add_photo(
            piece=pieces.get(REDO) or pieces.get(UNSOUND) or holder,
            photo=tally.photo,
            moment=Moment.BACK,
            caption=tally.note[:120],
            by=by,
            now=now,
        )


def _parted(line: Line, holder: Piece, tally: Tally, by: Person, now: datetime) -> dict[str, Piece]:
    """{answer: the piece it is given to}; all but the first answer are split off ``holder``."""
    numbers = {GOOD: tally.good, REDO: tally.redo, UNSOUND: tally.unsound, MISSING: tally.missing}
    numbers[STILL_OUT] = line.still_out
    given = [answer for answer in KEPT_FIRST if numbers[answer] > 0]
    pieces = {given[0]: holder}
    for answer in given[1:]:
        pieces[answer] = splitting.split(
            piece=holder,
            count=numbers[answer],
            step=_step_of(line, holder),
            why=f"{numbers[answer]} {answer}, drop-off {line.dropoff.number}.",
            by=by,
            now=now,
        )
    return pieces


def _step_of(line: Line, holder: Piece) -> Step | None:
    """The sending-out step of the piece that holds what is out: the line's, or its copy."""
    if holder.pk == line.piece_id:
        return line.step
    return holder.steps.filter(kind=Kind.SEND_OUT).last()


def _settle_piece(
    answer: str,
    piece: Piece,
    line: Line,
    tally: Tally,
    place: Place | None,
    by: Person,
    now: datetime,
) -> None:
    step = _step_of(line, piece)
    note = f"Drop-off {line.dropoff.number}. {tally.note}".strip()
    if answer == MISSING:
        piece.move(Move.LOSE, by=by, now=now, note=note)
        return
    piece.move(
        Move.COUNT_IN, by=by, now=now, note=note, place=place, **_bareness(line, piece, answer, now)
    )
    if answer == GOOD:
        root = piece.split_from or piece
        preparing.put_down(line=line, piece=root, by=by, now=now)
        if step and step.progress != Progress.DONE:
            plan.finish(step=step, by=by, now=now, who=line.dropoff.finisher.name)
        splitting.put_together(piece=root, by=by, now=now)
    elif answer == REDO and step:
        plan.reopen(step=step, by=by, now=now, why=tally.note or "to be redone")
    elif answer == UNSOUND:
        _to_be_judged(piece, tally.note, by, now)


def _bareness(line: Line, piece: Piece, answer: str, now: datetime) -> dict[str, datetime | None]:
    """Whether the clock of bare steel starts, stops, or goes on as it was."""
    if line.comes_back_coated:
        return {"bare_since": None} if answer == GOOD else {}
    if line.comes_back_bare and (not piece.material or piece.material in RUSTS_BARE):
        return {"bare_since": piece.bare_since or now}
    return {}


def _to_be_judged(piece: Piece, note: str, by: Person, now: datetime) -> None:
    """Leaves what the plan still holds, so that the piece asks to be judged."""
    for step in piece.steps.to_do():
        plan.leave(step=step, because=UNSOUND_SAYS, by=by, now=now)
    Event.objects.write(
        piece=piece, kind=UNSOUND_SAYS, text=f"{note} To be judged again.".strip(), by=by, at=now
    )


def likely_matches(dropoff: DropOff) -> list[Line]:
    """Lines with pieces still at this finisher: what a thing without a tag can be.

    This drop-off comes first, then the newest. Each line has its picture; lots are among them.
    """
    lines = (
        Line.objects.filter(
            dropoff__in=DropOff.objects.may_be_counted(), dropoff__finisher=dropoff.finisher_id
        )
        .select_related("piece__part", "piece__cover", "photo", "dropoff")
        .prefetch_related("counts")
    )
    out = [line for line in lines if line.still_out > 0]
    return sorted(
        out, key=lambda line: (line.dropoff_id != dropoff.pk, -line.dropoff.number, line.position)
    )
