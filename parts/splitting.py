"""Several alike that part company, and come together again.

A piece of four hubs is one row with quantity 4. When two come back good and two stay out, the two
good ones remain the piece that is to be fitted (K7M, quantity 2) and the others become a further
piece (K7M b, quantity 2, purpose spare, ``split_from`` K7M) that takes the status, the finisher
and its own copy of the step on. When those are good as well they are *put together*: K7M counts 4
again, and K7M b is joined into K7M, so that it goes wherever K7M goes and keeps its history.

Why a spare: only one piece of a part may be the one to be fitted. Why joined and not deleted: its
events and lines are history. Its ``split_from`` and ``joined_into`` being the same tells it from a
bracket that was really bonded on.
"""

from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from garage.models import Person
from parts import plan
from parts.models import Event, Kind, Part, Piece, Progress, Purpose, Step
from parts.statuses import IN_THE_GARAGE, Status

LETTERS = "abcdefghijklmnopqrstuvwxyz"
TOGETHER = "counted with the others again"


class SplitRefused(Exception):
    """The piece cannot be divided like that; says why."""


def split(
    *, piece: Piece, count: int, by: Person, now: datetime, step: Step | None = None, why: str = ""
) -> Piece:
    """The further piece that ``count`` of ``piece`` have become; the rest stays ``piece``.

    It stands where ``piece`` stands, with a copy of ``step``.

    Raises
    ------
    SplitRefused
        When fewer than one would be left on either side, or the letters are used up.
    """
    with transaction.atomic():
        piece = Piece.objects.select_for_update().select_related("part").get(pk=piece.pk)
        if not 0 < count < piece.quantity:
            raise SplitRefused(
                f"{piece.tag} is {piece.quantity} alike: {count} cannot be taken from it."
            )
        further = _further(piece, count)
        if step is not None:
            _copy_step(step, further)
        batch = uuid4()
        Event.objects.write(
            piece=further,
            kind="split off",
            text=further.notes,
            after=further.status,
            by=by,
            at=now,
            batch=batch,
        )
        left = piece.quantity - count
        _recount(piece, left, kind="split", why=why, by=by, now=now, batch=batch)
    return further


def _further(piece: Piece, count: int) -> Piece:
    """A saved piece of ``count``, like ``piece`` in everything that is known of it."""
    root = piece.split_from or piece
    return Piece.objects.create(
        part=piece.part,
        letter=next_letter(piece.part),
        purpose=Purpose.SPARE,
        status=piece.status,
        quantity=count,
        place=piece.place,
        finisher=piece.finisher,
        material=piece.material,
        condition=piece.condition,
        cover=piece.cover,
        notes=f"Belongs to {root.tag}, {count} of {piece.quantity}.",
        off_at=piece.off_at,
        bare_since=piece.bare_since,
        split_from=root,
    )


def put_together(*, piece: Piece, by: Person, now: datetime) -> list[Piece]:
    """The pieces split from ``piece`` that were counted into it again: those whose work is done.

    Nothing happens while ``piece`` itself is out, missing or on the car.
    """
    with transaction.atomic():
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
        if piece.state not in IN_THE_GARAGE:
            return []
        back = [one for one in piece.split_off.select_related("part") if _is_good(one)]
        for further in back:
            _rejoin(piece, further, by, now)
    return back


def _rejoin(piece: Piece, further: Piece, by: Person, now: datetime) -> None:
    batch = uuid4()
    whole = piece.quantity + further.quantity
    _recount(piece, whole, kind="put together", by=by, now=now, batch=batch)
    for step in further.steps.to_do():
        plan.leave(step=step, because=TOGETHER, by=by, now=now)
    further.refresh_from_db()
    changes = {"joined_into": piece, "joined_how": TOGETHER, "place": piece.place}
    changed = further.change({**changes, "bare_since": None})
    Event.objects.write(
        piece=further,
        kind="put together",
        text=piece.tag,
        changes=changed,
        by=by,
        at=now,
        batch=batch,
    )


def _is_good(further: Piece) -> bool:
    """Off, not joined yet, and its own work done: the last of it neither open nor given up."""
    if further.joined_into_id or further.status not in (Status.OFF, Status.AT_BENCH):
        return False
    work = [step for step in further.steps.all() if step.kind not in (Kind.PREPARE, Kind.REFIT)]
    return bool(work) and work[-1].progress == Progress.DONE


def _recount(
    piece: Piece, quantity: int, *, kind: str, by: Person, now: datetime, batch: UUID, why: str = ""
) -> None:
    was = piece.quantity
    changed = piece.change({"quantity": quantity})
    text = f"{was} are {quantity} now. {why}".strip()
    Event.objects.write(
        piece=piece, kind=kind, text=text, changes=changed, by=by, at=now, batch=batch
    )


def _copy_step(step: Step, piece: Piece) -> None:
    copy = Step.objects.create(
        key=uuid4(),
        piece=piece,
        position=1,
        kind=step.kind,
        progress=step.progress,
        work=step.work,
        what=step.what,
        why=step.why,
        who=step.who,
        done_at=step.done_at,
    )
    if copy.progress in (Progress.OPEN, Progress.DOING):
        piece.next_step = copy
        piece.save(update_fields=["next_step"])


def next_letter(part: Part) -> str:
    """The letter of one more piece of ``part``; ``SplitRefused`` when they are used up."""
    taken = set(part.pieces.values_list("letter", flat=True))
    if len(taken) >= len(LETTERS):
        raise SplitRefused(
            f"{part.tag} has {len(taken)} pieces already: no letter is left for one more."
        )
    # "a" would read like the first piece of all, which has no letter.
    return next(letter for letter in LETTERS[1:] + "a" if letter not in taken)
