"""What "fit to send?" costs over a thousand parts: reading what is known, and the rules."""

import random
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from uuid import uuid4

from django.db import connection

from garage.bench import measure
from parts.gate import Sending, fit_to_send, reading
from parts.gate.questions import QUESTIONS
from parts.models import Alloy, Answer, Joint, Piece

WORK = Sending(processes=("blast", "powder"), grit="garnet", heat={"powder": (190.0, 12.0)})


@dataclass(frozen=True, slots=True)
class Weighed:
    """The cost of one check of every piece, and how much it found."""

    pieces: int
    queries: int
    reading: measure.Timed
    bare: measure.Timed
    rules: measure.Timed
    findings: int


def fill(*, count: int, now: datetime) -> list[Piece]:
    """Pieces about which everything was asked; one in ten is soldered."""
    chance = random.Random(count)
    pieces = list(Piece.objects.order_by("pk")[:count])
    Answer.objects.bulk_create(
        [
            Answer(
                piece=piece,
                question=question.code,
                says=chance.choice(("yes", "no", "no", "no", "unknown")),
                at=now,
            )
            for piece in pieces
            for question in QUESTIONS
        ],
        batch_size=400,
    )
    alloys = list(Alloy.objects.all())
    Joint.objects.bulk_create(
        [
            Joint(key=uuid4(), piece=piece, how="solder", alloy=chance.choice(alloys), made_at=now)
            for piece in pieces[::10]
        ],
        batch_size=400,
    )
    return pieces


def weigh(pieces: list[Piece], *, now: datetime) -> Weighed:
    """Reads and checks all of ``pieces``, beside a bare read of the same rows."""
    asked: list[str] = []
    with connection.execute_wrapper(measure.noting(asked)):
        facts = _read(pieces, now)
    read, bare, rules = measure.in_turn(
        partial(_read, pieces, now),
        partial(_bare, pieces),
        lambda: [fit_to_send(one, WORK) for one in facts],
        runs=7,
    )
    found = sum(len(fit_to_send(one, WORK)) for one in facts)
    return Weighed(
        pieces=len(pieces),
        queries=len(asked),
        reading=read,
        bare=bare,
        rules=rules,
        findings=found,
    )


def _read(pieces: list[Piece], now: datetime) -> list[reading.Facts]:
    rows = reading.Rows.of(pieces)
    return [reading.facts_of(piece, rows, now=now) for piece in pieces]


def _bare(pieces: list[Piece]) -> list[tuple[object, ...]]:
    numbers = [piece.pk for piece in pieces]
    answers = Answer.objects.filter(piece__in=numbers).values_list("piece", "question", "says")
    joints = Joint.objects.filter(piece__in=numbers).values_list("piece", "how", "alloy__solidus_c")
    return [*answers, *joints]
