"""The questions about a piece: which are still open, and what was answered. Asked once, kept."""

from collections.abc import Iterable, Mapping
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from garage.models import Person
from parts.gate import questions
from parts.gate.questions import Question
from parts.models import (
    Answer,
    Event,
    Finisher,
    Kind,
    Limit,
    Piece,
    Process,
    Progress,
)


@dataclass(frozen=True, slots=True, kw_only=True)
class Said:
    """One answer as a form has it. ``size_mm`` is a thickness or the play of a fit. [mm]"""

    question: str
    says: str
    things: tuple[Limit, ...] = ()
    size_mm: float | None = None
    size_typed: str = ""


def asked_of(piece: Piece, works: Iterable[str]) -> tuple[Question, ...]:
    """The questions that this piece and this work call for, answered or not."""
    return questions.chosen({piece.material}, works)


def to_ask(piece: Piece, works: Iterable[str]) -> tuple[Question, ...]:
    """Of those, the ones nobody answered yet."""
    known = {answer.question for answer in piece.answers.all()}
    return tuple(one for one in asked_of(piece, works) if one.code not in known)


def unasked(pieces: Iterable[Piece], finisher: Finisher) -> list[Piece]:
    """Of pieces about to go to a finisher, those with a question open."""
    return [piece for piece in pieces if to_ask(piece, works_for(piece, finisher))]


def works_for(piece: Piece, finisher: Finisher) -> tuple[Process, ...]:
    """The work the plan wants, else everything this finisher does."""
    return work_wanted(piece) or finisher.offers


def work_wanted(piece: Piece) -> tuple[Process, ...]:
    """The work of the piece's next sending out, empty when the plan has none."""
    for step in piece.steps.all():
        if step.kind == Kind.SEND_OUT and step.progress in (Progress.OPEN, Progress.DOING):
            return step.processes
    return ()


def answer(*, piece: Piece, said: Iterable[Said], by: Person, now: datetime) -> Event | None:
    """The event of what was newly said about a piece; None when all of it stood like that.

    A question answered again has the later answer; history keeps both.

    Raises
    ------
    ValueError
        When a question is none of ours.
    """
    said = list(said)
    if unknown := {one.question for one in said} - set(questions.EVERY):
        raise ValueError(f"no such question: {', '.join(sorted(unknown))}")
    with transaction.atomic():
        piece = (
            Piece.objects.select_for_update(of=("self",)).select_related("part").get(pk=piece.pk)
        )
        known = {one.question: one for one in piece.answers.prefetch_related("things")}
        news = [one for one in said if _is_news(known.get(one.question), one)]
        for one in news:
            _write(piece, one, by, now)
        if not news:
            return None
        text = _told(news, known)
        return Event.objects.write(piece=piece, kind="answered", text=text, by=by, at=now)


def _told(news: list[Said], known: Mapping[str, Answer]) -> str:
    """What was newly said. A first "no" is the usual answer, so several are only counted."""
    plain = [one for one in news if one.says == Answer.Says.NO and one.question not in known]
    if len(plain) < 2:
        plain = []
    told = [in_words(one.question, one.says) for one in news if one not in plain]
    if plain:
        told.append(f"no to {len(plain)} {'other questions' if told else 'questions'}")
    return "; ".join(told)


def _is_news(known: Answer | None, one: Said) -> bool:
    if known is None:
        return True
    was = (known.says, set(known.things.all()), known.size_typed)
    return was != (one.says, set(one.things), one.size_typed)


def _write(piece: Piece, one: Said, by: Person, now: datetime) -> None:
    row, _ = Answer.objects.update_or_create(
        piece=piece,
        question=one.question,
        defaults={
            "says": one.says,
            "size_mm": one.size_mm,
            "size_typed": one.size_typed,
            "at": now,
            "by": by,
        },
    )
    row.things.set(one.things)


def in_words(question: str, says: str) -> str:
    """ "Closed hollow: don't know"."""
    return f"{questions.EVERY[question].name}: {Answer.Says(says).label.lower()}"


def not_known(answers: Mapping[str, str]) -> list[str]:
    """Names of the questions that were answered with "don't know"."""
    return [
        question.name
        for code, question in questions.EVERY.items()
        if answers.get(code) == Answer.Says.UNKNOWN
    ]
