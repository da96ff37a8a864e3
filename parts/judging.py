"""Judging a part: doubts and answers, joining and taking apart, throwing out and bringing back."""

from datetime import datetime, timedelta
from uuid import UUID

from django.db import transaction

from garage.models import Person, Photo
from parts.models import Event, Part, PartPhoto, Piece, Question

# How long the record of a part lies in the bin before it is let go.
BIN_KEEPS = timedelta(days=30)


class JoinRefused(Exception):
    """The piece cannot be joined into that one; says why."""


class DoubtedAlready(Exception):
    """The same form wrote down another doubt before."""

    def __init__(self, asked: Question) -> None:
        super().__init__(f"This form was saved already: {asked}")


class ThrowOutRefused(Exception):
    """The record cannot go into the bin now; says why."""


def doubt(
    *, part: Part, key: UUID, question: str, asked_of: str, by: Person, now: datetime
) -> Question:
    """The question whether this is the right part for the car; the same key asks it once.

    Raises
    ------
    DoubtedAlready
        When ``key`` belongs to another doubt: somebody went back to a saved form.
    """
    with transaction.atomic():
        asked, made = Question.objects.get_or_create(
            key=key,
            defaults={"part": part, "question": question, "asked_of": asked_of, "asked_at": now},
        )
        if made:
            Event.objects.write(part=part, kind="doubt", text=question, by=by, at=now)
    if (asked.part_id, asked.question, asked.asked_of) != (part.pk, question, asked_of):
        raise DoubtedAlready(asked)
    return asked


def answer(*, question: Question, text: str, settled: bool, by: Person, now: datetime) -> None:
    """Writes an answer down; ``settled`` says that the doubt is over."""
    with transaction.atomic():
        question.answer = text
        question.settled_at = now if settled else None
        question.save(update_fields=["answer", "settled_at"])
        Event.objects.write(
            part=question.part,
            kind="doubt settled" if settled else "answer",
            text=f"{question.question} {text}",
            by=by,
            at=now,
        )


def join(*, piece: Piece, into: Part | None, how: str, by: Person, now: datetime) -> None:
    """Joins ``piece`` into the piece of ``into`` that is to be fitted; they travel together."""
    if into is None:
        raise JoinRefused("Give the tag it is joined into")
    with transaction.atomic():
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
        parent = into.pieces.get(purpose="to_fit")
        above: Piece | None = parent
        while above is not None:
            if above.pk == piece.pk:
                raise JoinRefused("A piece cannot be joined into itself.")
            above = above.joined_into
        if parent.status != piece.status:
            raise JoinRefused(
                f"{parent.tag} is {parent.state.label.lower()} and {piece.tag} is"
                f" {piece.state.label.lower()}. Bring them together first."
            )
        changed = piece.change({"joined_into": parent, "joined_how": how, "place": parent.place})
        Event.objects.write(
            piece=piece,
            kind="join",
            text=f"Joined into {parent}. {how}",
            changes=changed,
            by=by,
            at=now,
        )


def take_apart(*, piece: Piece, by: Person, now: datetime) -> None:
    """Takes a joined piece off what it was joined into."""
    with transaction.atomic():
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
        parent = piece.joined_into
        changed = piece.change({"joined_into": None, "joined_how": ""})
        if changed:
            Event.objects.write(
                piece=piece, kind="take apart", text=f"Off {parent}", changes=changed, by=by, at=now
            )


def throw_out(*, part: Part, by: Person, now: datetime) -> None:
    """Puts the record of a part into the bin; it can be brought back for 30 days.

    Raises
    ------
    ThrowOutRefused
        When a piece of it is at a finisher or on a drop-off being built: nobody would count it
        back.
    """
    with transaction.atomic():
        out = Piece.objects.filter(part=part).on_a_dropoff().first()
        if out is not None:
            raise ThrowOutRefused(
                f"{out.tag} is on a drop-off. Count it back or take it off first."
            )
        Part.objects.filter(pk=part.pk, thrown_out_at=None).update(thrown_out_at=now)
        Event.objects.write(part=part, kind="throw out", text=part.name, by=by, at=now)


def bring_back(*, part: Part, by: Person, now: datetime) -> None:
    """Takes the record of a part out of the bin."""
    with transaction.atomic():
        Part.objects.filter(pk=part.pk).update(thrown_out_at=None)
        Event.objects.write(part=part, kind="bring back", text=part.name, by=by, at=now)


def let_go(*, now: datetime) -> int:
    """How many records were let go for good because they lay in the bin for 30 days.

    A part that ever stood on a drop-off stays in the bin, for the sheet that was handed over names
    it. Photos go back to the store as waiting on nothing, and lie there another 30 days.
    """
    with transaction.atomic():
        gone = Part.objects.thrown_out().filter(
            thrown_out_at__lt=now - BIN_KEEPS, pieces__lines=None
        )
        numbers = list(gone.values_list("pk", flat=True).distinct())
        shots = PartPhoto.objects.filter(part__in=numbers)
        Photo.objects.filter(of_part__in=shots).update(in_use=False)
        shots.delete()
        Part.objects.filter(pk__in=numbers).delete()
    return len(numbers)
