"""The lines of a drop-off while it is being built: pieces, lots, what to keep bare.

Every change raises the drop-off's version, so that a sheet rendered from older lines is noticed
before anything is handed over.
"""

from collections import Counter
from collections.abc import Iterable, Sequence
from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django.db import models, transaction
from django.db.models import F

from garage.models import Person, Photo
from parts import plan
from parts.models import DropOff, Hole, Kind, Line, Mask, Piece, StackItem, Step

# A sheet of more lines is two sheets: nobody counts them at a counter, and it takes long to print.
MOST_LINES = 100


class DropOffRefused(Exception):
    """The drop-off cannot be changed like that; says which line and why."""


def add_pieces(
    *, dropoff: DropOff, pieces: Iterable[Piece], by: Person, now: datetime
) -> list[Line]:
    """A line for each piece, its work from the plan and its masks from its fasteners.

    A piece that is on this drop-off already keeps its line. A piece whose plan has no sending out
    gets that step, before everything else that is to be done.

    Raises
    ------
    DropOffRefused
        When a piece cannot be sent, naming it; then none is added.
    """
    with transaction.atomic():
        dropoff = being_built(dropoff)
        chosen = (
            Piece.objects.select_for_update(of=("self",))
            .filter(pk__in=[piece.pk for piece in pieces])
            .select_related("part", "joined_into__part")
            .prefetch_related("steps", "part__holes__stack", "lines__dropoff")
        )
        here = set(dropoff.lines.exclude(piece=None).values_list("piece_id", flat=True))
        lines = [_piece_line(dropoff, piece, by, now) for piece in chosen if piece.pk not in here]
        _refuse_too_many(dropoff)
        if lines:
            touch(dropoff)
    return lines


def _piece_line(dropoff: DropOff, piece: Piece, by: Person, now: datetime) -> Line:
    refuse_unless_sendable(piece)
    for line in piece.lines.all():
        if line.dropoff.is_being_built:
            raise DropOffRefused(f"{piece} is on {line.dropoff} already.")
    step = _send_out_step(piece, by, now)
    line = Line.objects.create(
        key=uuid4(),
        dropoff=dropoff,
        position=_next_position(dropoff),
        piece=piece,
        step=step,
        count=piece.quantity,
        work=step.work,
    )
    Mask.objects.bulk_create(
        Mask(line=line, **mask) for mask in suggested_masks(piece.part.holes.all())
    )
    return line


def refuse_unless_sendable(piece: Piece) -> None:
    """Nothing, for a piece that can go to a finisher; the sentence that says why not, else."""
    if piece.joined_into:
        raise DropOffRefused(f"{piece} is joined into {piece.joined_into} and goes with it.")
    if not piece.can(plan.Move.HAND_OVER):
        raise DropOffRefused(f"{piece} cannot be sent: it is {piece.get_status_display().lower()}.")


def _send_out_step(piece: Piece, by: Person, now: datetime) -> Step:
    to_do = [step for step in piece.steps.all() if step.progress in ("open", "doing")]
    for step in to_do:
        if step.kind == Kind.SEND_OUT:
            return step
    first = to_do[0] if to_do else None
    return plan.add_step(piece=piece, key=uuid4(), kind=Kind.SEND_OUT, before=first, by=by, now=now)


def suggested_masks(holes: Iterable[Hole]) -> list[dict[str, Any]]:
    """What the fasteners of a part say about places to keep bare, as fields of ``Mask``.

    A hole whose stack ends without a nut is taken for a threaded one, a stud for a thread outside;
    a hole with a nut is a plain one. A suggestion: the person at the bench knows better.
    """
    found: Counter[tuple[str, str]] = Counter()
    for hole in holes:
        stack = list(hole.stack.all())
        kinds = {item.what for item in stack}
        threads = [item.thread for item in stack if item.is_threaded and item.thread]
        if not threads:
            continue
        if StackItem.What.STUD in kinds:
            found[Mask.What.THREAD_MALE, threads[0]] += hole.count
        elif not kinds & {StackItem.What.NUT, StackItem.What.LOCK_NUT}:
            found[Mask.What.THREAD_FEMALE, threads[0]] += hole.count
    return [
        {
            "what": what,
            "thread": thread,
            "count": count,
            "how": "plug" if what == Mask.What.THREAD_FEMALE else "cap",
        }
        for (what, thread), count in found.items()
    ]


def add_lot(
    *,
    dropoff: DropOff,
    key: UUID,
    lot: str,
    count: int,
    by: Person,
    now: datetime,
    photo: Photo | None = None,
    **fields: Any,
) -> Line:
    """A line for loose fasteners: count, weight, photo. The same ``key`` is one line."""
    with transaction.atomic():
        dropoff = being_built(dropoff)
        line, made = Line.objects.get_or_create(
            key=key,
            defaults={
                "dropoff": dropoff,
                "position": _next_position(dropoff),
                "lot": lot,
                "count": count,
                "photo": photo,
                "tag_stays": False,
                **fields,
            },
        )
        if made:
            _refuse_too_many(dropoff)
            touch(dropoff)
    return line


def change_line(
    *,
    line: Line,
    by: Person,
    now: datetime,
    changes: dict[str, tuple[Any, Any]],
    masks: Sequence[dict[str, Any]] | None = None,
) -> Line:
    """The line with ``changes``, {field: (as seen, as wanted)}, and its masks as in ``masks``.

    Raises
    ------
    DropOffRefused
        When the sheet was handed over, somebody else changed the same field, or more would be
        sent than there are.
    """
    with transaction.atomic():
        dropoff = being_built(line.dropoff)
        line = Line.objects.select_related("piece__part").get(pk=line.pk)
        apply_changes(line, changes)
        if line.piece and line.count > line.piece.quantity:
            raise DropOffRefused(
                f"{line.piece} is {line.piece.quantity} in all: {line.count} cannot be sent."
            )
        if masks is not None:
            line.masks.all().delete()
            Mask.objects.bulk_create(Mask(line=line, **mask) for mask in masks)
        touch(dropoff)
    return line


def apply_changes(row: DropOff | Line, changes: dict[str, tuple[Any, Any]]) -> None:
    """Saves the wanted values, unless a field no longer holds what the person saw.

    Raises
    ------
    DropOffRefused
        With what the field says now.
    """
    for name, (seen, wanted) in changes.items():
        now_it_is = getattr(row, name)
        if now_it_is not in (seen, wanted):
            label = str(row._meta.get_field(name).verbose_name)
            raise DropOffRefused(
                f"{label}: somebody else wrote “{now_it_is}” meanwhile. "
                "Save once more to put yours there."
            )
        setattr(row, name, wanted)
    if changes:
        row.save(update_fields=list(changes))


def take_line_off(*, line: Line, by: Person, now: datetime) -> None:
    """Takes the line off the sheet; the piece waits again as before."""
    with transaction.atomic():
        dropoff = being_built(line.dropoff)
        Line.objects.filter(pk=line.pk).delete()
        touch(dropoff)


def being_built(dropoff: DropOff) -> DropOff:
    """The drop-off locked and as it now stands.

    Raises
    ------
    DropOffRefused
        When it was handed over already: a sheet in the finisher's hands does not change.
    """
    fresh = DropOff.objects.select_for_update().get(pk=dropoff.pk)
    if not fresh.is_being_built:
        raise DropOffRefused(f"{fresh} was handed over: its sheet does not change any more.")
    return fresh


def touch(dropoff: DropOff) -> None:
    """Raises the version: a sheet rendered before this is out of date."""
    DropOff.objects.filter(pk=dropoff.pk).update(version=F("version") + 1)


def _next_position(dropoff: DropOff) -> int:
    return (dropoff.lines.aggregate(last=models.Max("position"))["last"] or 0) + 1


def _refuse_too_many(dropoff: DropOff) -> None:
    if dropoff.lines.count() > MOST_LINES:
        raise DropOffRefused(f"A sheet holds {MOST_LINES} lines. Start another drop-off.")
