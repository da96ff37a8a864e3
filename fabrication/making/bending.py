"""Making a pipe at the bench: begun from a sheet, ticked step by step, read after every pull.

All of it is written down as it happens, so a phone that dies costs nothing. Each form's key is
made by the phone, so what is sent twice is written once.
"""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from fabrication.making.bench import marks_of
from fabrication.models import DoneStep, Making, PipeSheet, Reading, SheetFreeze
from fabrication.pipe import freezing, inputs, ways
from garage.models import Person
from parts.models import Event


class NotToBeBent(Exception):
    """The sheet cannot be bent from as it stands; says why."""


class Ended(Exception):
    """The pipe is done or scrapped already."""

    def __init__(self, making: Making) -> None:
        who = making.ended_by.name if making.ended_by else "Somebody"
        super().__init__(
            f"{who} has ended this pipe: {making.get_outcome_display().lower()}. "
            "Nothing more is written down for it."
        )


class OtherUnderThisKey(Exception):
    """The same form wrote down another reading before."""

    def __init__(self, kept: Reading) -> None:
        super().__init__(f"This form was sent already: {kept}. Send again to add another pull.")
        self.kept = kept


class StaleReading(Exception):
    """Somebody wrote down a pull of this bend after the page was shown."""

    def __init__(self, newest: Reading | None) -> None:
        if newest is None:
            said = "Somebody took the last pull out"
        else:
            who = newest.by.name if newest.by else "Somebody"
            said = (
                f"{who} wrote down pull {newest.pull} meanwhile: pulled to "
                f"{newest.pulled_to_deg:g}°, came to {newest.came_to_deg:g}°"
            )
        super().__init__(f"{said}. Is yours one more? Then write it down again.")
        self.newest = newest


class NoSuchBend(Exception):
    """The pipe has no bend of this number."""


class OutOfTurn(Exception):
    """Only the last pull of a bend can be taken out: those after it stand on it."""


# ---- beginning and ending ------------------------------------------------------------------


@transaction.atomic
def begin(*, key: UUID, sheet: PipeSheet, by: Person, now: datetime) -> Making:
    """The pipe begun from a sheet, or the one that is under way from it.

    The sheet is held to its figures from here on.

    Raises
    ------
    NotToBeBent
        When the pipe cannot be made on the former as it stands.
    """
    sheet = PipeSheet.objects.for_rows().select_for_update(of=("self",)).get(pk=sheet.pk)
    again = Making.objects.of_sheet(sheet).filter(key=key).first()
    under_way = again or Making.objects.of_sheet(sheet).under_way().first()
    if under_way:
        return under_way
    if sheet.thrown_out_at is not None:
        raise NotToBeBent(f"{sheet} was thrown out. Bring it back, then bend from it.")
    figures = freezing.figures_of(sheet)
    worked = ways.of_sheet(sheet, frozen=figures)
    if worked.pipe is None or worked.found.cut_mm is None:
        raise NotToBeBent("This pipe cannot be made on this former as it stands: see the sheet.")
    freeze = freezing.freeze(sheet=sheet, why=SheetFreeze.Why.BEND, by=by, now=now)
    return Making.objects.create(
        key=key,
        sheet=sheet,
        revision=sheet.version,
        inputs=inputs.document_of(worked.pipe),
        figures=freeze.figures,
        marks=marks_of(worked.found),
        begun_at=now,
        begun_by=by,
    )


@transaction.atomic
def end(*, making: Making, outcome: str, because: str, by: Person, now: datetime) -> Making:
    """The pipe made, or scrapped because of something; its part's history says so.

    Raises
    ------
    Ended
        When somebody ended it another way.
    """
    held = _locked(making)
    if held.ended_at is not None:
        if (held.outcome, held.because) == (outcome, because):
            return held
        raise Ended(held)
    held.ended_at, held.ended_by = now, by
    held.outcome, held.because = outcome, because
    held.save(update_fields=["ended_at", "ended_by", "outcome", "because"])
    if held.sheet.part_id:
        Event.objects.write(
            part=held.sheet.part,
            kind=f"pipe {held.get_outcome_display().lower()}",
            text=f"From sheet {held}" + (f": {because}" if because else ""),
            by=by,
            at=now,
        )
    return held


@transaction.atomic
def not_ended(*, making: Making, by: Person, now: datetime) -> Making:
    """The pipe under way again: it was ended by a slip of the finger.

    Raises
    ------
    NotToBeBent
        When it is a piece of its part by now, or another pipe is being bent from the sheet.
    """
    sheet = PipeSheet.objects.select_for_update(of=("self",)).get(pk=making.sheet_id)
    held = _locked(making)
    if held.ended_at is None:
        return held
    if held.piece:
        raise NotToBeBent(f"It is {held.piece.tag} by now.")
    if Making.objects.of_sheet(sheet).under_way().exists():
        raise NotToBeBent("Another pipe is being bent from this sheet.")
    said = held.get_outcome_display().lower()
    held.ended_at = held.ended_by = None
    held.outcome = held.because = ""
    held.save(update_fields=["ended_at", "ended_by", "outcome", "because"])
    if held.sheet.part_id:
        text = f"From sheet {held}: not {said} after all"
        Event.objects.write(
            part=held.sheet.part, kind="pipe at the bench", text=text, by=by, at=now
        )
    return held


# ---- step by step --------------------------------------------------------------------------


@transaction.atomic
def tick(*, making: Making, key: UUID, code: str, by: Person, now: datetime) -> DoneStep:
    """The step as done; done twice, by one or by two, it was done once.

    Raises
    ------
    Ended
        When the pipe is done or scrapped.
    """
    held = _open(making)
    done = (
        held.done_steps.filter(key=key).first()
        or held.done_steps.standing().filter(code=code).first()
    )
    return done or DoneStep.objects.create(making=held, key=key, code=code, by=by, at=now)


@transaction.atomic
def untick(*, making: Making, code: str, now: datetime) -> None:
    """The step to be done after all.

    Raises
    ------
    Ended
        When the pipe is done or scrapped.
    """
    _open(making).done_steps.standing().filter(code=code).update(out_at=now)


@transaction.atomic
def write_reading(
    *,
    making: Making,
    key: UUID,
    bend: int,
    seen: str,
    pulled_to_deg: float,
    came_to_deg: float,
    by: Person,
    now: datetime,
) -> Reading:
    """The reading written down, or the one that this form wrote down before.

    ``seen`` is the key of the last pull of this bend that the page showed, or nothing.

    Raises
    ------
    Ended
        When the pipe is done or scrapped.
    OtherUnderThisKey
        When the same form said something else before.
    NoSuchBend
        When the pipe has no such bend.
    StaleReading
        When another pull was written down meanwhile.
    """
    held = _locked(making)
    again = Reading.objects.filter(key=key).select_related("by").first()
    if again:
        if _says(again) != (held.pk, bend, pulled_to_deg, came_to_deg):
            raise OtherUnderThisKey(again)
        return again
    if held.ended_at is not None:
        raise Ended(held)
    if str(bend) not in held.marks["bends"]:
        raise NoSuchBend(f"This pipe has no bend {bend}.")
    newest = held.readings.standing().filter(bend=bend).in_turn().last()
    if (str(newest.key) if newest else "") != seen:
        raise StaleReading(newest)
    return Reading.objects.create(
        making=held,
        key=key,
        bend=bend,
        pull=newest.pull + 1 if newest else 1,
        pulled_to_deg=pulled_to_deg,
        came_to_deg=came_to_deg,
        by=by,
        at=now,
    )


@transaction.atomic
def take_reading_out(*, reading: Reading, now: datetime) -> None:
    """Takes the last pull of a bend out; the row stays.

    Raises
    ------
    Ended
        When the pipe is done or scrapped.
    OutOfTurn
        When later pulls stand on it.
    """
    making = _open(reading.making)
    last = making.readings.standing().filter(bend=reading.bend).in_turn().last()
    if last is None or last.pk != reading.pk:
        if not Reading.objects.standing().filter(pk=reading.pk).exists():
            return
        raise OutOfTurn("Take out the pulls after it first.")
    Reading.objects.filter(pk=reading.pk).update(out_at=now)


def _says(reading: Reading) -> tuple[int, int, float, float]:
    return reading.making_id, reading.bend, reading.pulled_to_deg, reading.came_to_deg


def _locked(making: Making) -> Making:
    return Making.objects.for_page().select_for_update(of=("self",)).get(pk=making.pk)


def _open(making: Making) -> Making:
    held = _locked(making)
    if held.ended_at is not None:
        raise Ended(held)
    return held
