"""Fit to send? The check of lines and pieces, and the owner's word against a stop."""

from collections.abc import Iterable
from dataclasses import dataclass
from datetime import datetime

from django.db import transaction

from garage.models import Person
from parts.gate import Facts, Finding, fit_to_send, reading
from parts.gate.sending import Sending
from parts.lines import DropOffRefused, being_built, suggested_masks, touch
from parts.models import DropOff, Event, Line, Mask, Piece, SentAnyway, Service
from parts.models.finisher import as_words
from parts.questions import not_known, to_ask, work_wanted


@dataclass(frozen=True, slots=True)
class Checked:
    """What the check found about one line."""

    line: Line
    findings: tuple[Finding, ...]
    # Questions answered with "don't know", by name.
    not_known: list[str]
    sent_anyway: SentAnyway | None
    # Stops the owner has not said anything about.
    held_by: tuple[Finding, ...]

    @property
    def is_held(self) -> bool:
        """Whether the line stays off the sheet."""
        return bool(self.held_by)

    @property
    def overruled(self) -> bool:
        """Whether a stop goes out on the owner's word."""
        return bool(self.sent_anyway) and not self.is_held and any(f.stops for f in self.findings)


def check_lines(dropoff: DropOff, lines: Iterable[Line], *, now: datetime) -> list[Checked]:
    """Each line checked for its own work at this finisher, in the lines' order.

    The number of database queries does not grow with the lines, as long as they were read
    ``for_sheet``.
    """
    lines = list(lines)
    services = list(dropoff.finisher.services.all())
    rows = reading.Rows.of([line.piece for line in lines if line.piece])
    return [_checked(line, _facts(line, rows, now), dropoff, services) for line in lines]


def _facts(line: Line, rows: reading.Rows, now: datetime) -> Facts:
    if line.piece is None:
        return reading.lot_facts(line)
    return reading.facts_of(line.piece, rows, masks=line.masks.all(), now=now)


def _checked(line: Line, facts: Facts, dropoff: DropOff, services: list[Service]) -> Checked:
    word = line.word
    findings = fit_to_send(facts, reading.sending_of(line, dropoff, services))
    covered = set(word.covers) if word else set()
    return Checked(
        line=line,
        findings=findings,
        not_known=not_known(facts.answers),
        sent_anyway=word,
        held_by=tuple(one for one in findings if one.stops and one.key not in covered),
    )


@dataclass(frozen=True, slots=True)
class PieceChecked:
    """What the check says about a piece in the work it is to go through next."""

    work: str
    # The sheet it is on, None while only the plan says where it goes.
    dropoff: DropOff | None
    findings: tuple[Finding, ...]
    # Questions answered with "don't know", by name.
    not_known: list[str]
    # How many questions are open.
    open_questions: int


def check_piece(piece: Piece, *, now: datetime) -> PieceChecked | None:
    """The check of a piece on its own page, None for one that is not to go out.

    On a sheet that is being built it is checked for that finisher. Before that nobody knows which
    it will be: figures nobody gave are the worse ones.
    """
    work = work_wanted(piece)
    line = piece.lines.being_built().for_sheet().select_related("dropoff__finisher").first()
    if not work and line is None:
        return None
    if line:
        checked = check_lines(line.dropoff, [line], now=now)[0]
        work, findings, unknown = line.processes, checked.findings, checked.not_known
    else:
        rows = reading.Rows.of([piece])
        masks = [Mask(**one) for one in suggested_masks(piece.part.holes.with_stacks())]
        facts = reading.facts_of(piece, rows, masks=masks, now=now)
        findings, unknown = fit_to_send(facts, Sending(processes=work)), not_known(facts.answers)
    return PieceChecked(
        work=as_words(work),
        dropoff=line.dropoff if line else None,
        findings=findings,
        not_known=unknown,
        open_questions=len(to_ask(piece, work)),
    )


def send_anyway(*, line: Line, reason: str, by: Person, now: datetime) -> SentAnyway:
    """The owner's word that a line goes out in spite of every stop it has now.

    It covers those stops and no other: when one is added, or one rests on something else, the line
    is held again.

    Raises
    ------
    DropOffRefused
        When the sheet was handed over, nothing stops the line, or ``by`` is no owner.
    """
    with transaction.atomic():
        dropoff = being_built(line.dropoff)
        if not by.is_owner:
            raise DropOffRefused("Only the owner can send it in spite of a stop.")
        line = Line.objects.for_sheet().get(pk=line.pk)
        checked = check_lines(dropoff, [line], now=now)[0]
        stops = [one for one in checked.findings if one.stops]
        if not stops:
            raise DropOffRefused(f"{line}: nothing stops it.")
        word, _ = SentAnyway.objects.update_or_create(
            line=line,
            defaults={
                "reason": reason,
                "covers": [one.key for one in stops],
                "at": now,
                "by": by,
            },
        )
        if line.piece:
            said = " ".join(one.says for one in stops)
            Event.objects.write(
                piece=line.piece,
                kind="send anyway",
                text=f"{dropoff}. Because {reason.rstrip('.')}. Against: {said}",
                by=by,
                at=now,
            )
        touch(dropoff)
    return word


def refuse_held(checked: Iterable[Checked]) -> None:
    """Nothing when every line may go; else the sentence that names the first that may not.

    Raises
    ------
    DropOffRefused
        With the line and what stops it.
    """
    for one in checked:
        if one.is_held:
            raise DropOffRefused(
                f"{one.line}: {one.held_by[0].says} Take the line off the sheet, or the owner"
                " writes why it is sent anyway."
            )
