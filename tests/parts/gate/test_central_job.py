"""The job this check is for: a bracket glued on a coolant pipe, then powder coated."""

from datetime import datetime, timedelta

import pytest

from garage.models import Car, Garage, Person
from parts import checking, dropoff, joints
from parts.gate import Finding
from parts.models import DropOff, Joint, Line
from parts.sheets import sheet_context
from tests import factories
from tests.factories import NOW
from tests.parts.batches import COUNT_URL, OUT_ON, change, make_building, make_waiting

DAY, HOUR = timedelta(days=1), timedelta(hours=1)
GLUED_AT = NOW


@pytest.fixture
def line(owner: Person, car: Car) -> Line:
    """Everything asked; glued in the evening; the coater bakes at 190 C metal for 12 minutes."""
    pipe = make_waiting(car=car, by=owner, name="Coolant pipe", work="blast,powder")
    pipe.change({"material": "copper"})
    factories.answer(pipe, by=owner, glue="yes", coolant_pipe="yes", left_on="no")
    bracket = factories.make_piece(car=car, by=owner, name="Pipe bracket")
    bracket.change({"material": "steel", "joined_into": pipe, "joined_how": "glued"})
    factories.make_joint(piece=pipe, by=owner, now=GLUED_AT, note="bracket to pipe")
    return make_building(car=car, by=owner, pieces=[pipe], grit="garnet").lines.get()


def _found(line: Line, *, now: datetime) -> tuple[Finding, ...]:
    fresh = Line.objects.for_sheet().get(pk=line.pk)
    return checking.check_lines(fresh.dropoff, [fresh], now=now)[0].findings


def _clocked(line: Line, by: Person, *, now: datetime) -> Joint:
    """Three days to full cure at 20 C, the temperature read at ``now``."""
    return joints.set_cure(
        joint=line.piece.joints.get(),
        earliest=GLUED_AT + 3 * DAY,
        last_reading_at=now,
        by=by,
        now=now,
    )


def test_the_same_evening_it_is_stopped(line: Line, owner: Person) -> None:
    evening = GLUED_AT + 5 * HOUR
    _clocked(line, owner, now=evening)

    stops = [one for one in _found(line, now=evening) if one.stops]

    assert [one.rule for one in stops] == ["H07"]
    assert stops[0].because == "Weir Yard bracket epoxy: still hardening."


def test_fully_cured_it_passes_with_a_caution(line: Line, owner: Person) -> None:
    later = GLUED_AT + 4 * DAY
    _clocked(line, owner, now=later)

    found = _found(line, now=later)

    assert [(one.rule, one.severity.word) for one in found] == [
        ("H06", "Caution"),
        ("A11c", "Caution"),
    ]
    assert "stands 200 °C for a short time; powder coat at 190 °C metal." in found[0].because


def test_never_timed_it_is_stopped_however_old_it_is(line: Line) -> None:
    stops = [one for one in _found(line, now=GLUED_AT + 90 * DAY) if one.stops]

    assert [one.because for one in stops] == [
        "Weir Yard bracket epoxy: its hardening was never timed."
    ]


def test_a_clock_that_ended_without_a_fresh_reading_stops_it(line: Line, owner: Person) -> None:
    _clocked(line, owner, now=GLUED_AT + DAY)

    stops = [one for one in _found(line, now=GLUED_AT + 4 * DAY) if one.stops]

    assert "nobody has read the temperature for 12 hours" in stops[0].because


def test_i_looked_it_is_hard_lets_it_through(line: Line, owner: Person) -> None:
    evening = GLUED_AT + 5 * HOUR
    joints.call_hard(joint=line.piece.joints.get(), by=owner, now=evening)

    assert not any(one.stops for one in _found(line, now=evening))


def test_a_hotter_coater_than_the_sheet_allows_stops_it(line: Line, owner: Person) -> None:
    later = GLUED_AT + 4 * DAY
    _clocked(line, owner, now=later)
    line.dropoff.finisher.services.filter(process="powder").update(peak_c=205)

    assert [one.rule for one in _found(line, now=later) if one.stops] == ["H05"]


def test_a_stopped_line_stays_off_the_sheet_and_cannot_be_handed_over(
    line: Line, owner: Person
) -> None:
    one = line.dropoff

    context, _ = sheet_context(one, garage=Garage.here(), count_url=COUNT_URL, by=owner, now=NOW)

    assert context["rows"] == []
    assert context["warnings"].held == [line.piece.tag]
    with pytest.raises(dropoff.DropOffRefused, match="has not finished curing"):
        dropoff.hand_over(
            dropoff=one, on=OUT_ON, due_on=None, count_url=COUNT_URL, by=owner, now=NOW
        )
    assert DropOff.objects.get(pk=one.pk).is_being_built


def test_the_owner_sends_it_anyway_with_a_reason_kept_in_history(line: Line, owner: Person) -> None:
    checking.send_anyway(line=line, reason="A trial piece, it may fail.", by=owner, now=NOW)

    context, _ = sheet_context(
        line.dropoff, garage=Garage.here(), count_url=COUNT_URL, by=owner, now=NOW
    )

    assert [row["line"] for row in context["rows"]] == [line]
    assert [(one.reason, one.of) for one in context["warnings"].anyway] == [
        ("A trial piece, it may fail.", line.piece.tag)
    ]
    said = line.piece.events.get(kind="send anyway").says
    assert "A trial piece, it may fail." in said
    assert "has not finished curing" in said


def test_a_helper_cannot_overrule_a_stop(line: Line, helper: Person) -> None:
    with pytest.raises(dropoff.DropOffRefused, match="Only the owner"):
        checking.send_anyway(line=line, reason="It looks hard", by=helper, now=NOW)


def test_a_reason_does_not_cover_a_stop_that_comes_later(line: Line, owner: Person) -> None:
    checking.send_anyway(line=line, reason="A trial piece.", by=owner, now=NOW)

    factories.answer(line.piece, by=owner, glue="yes", coolant_pipe="yes", fuel="unknown")

    fresh = Line.objects.for_sheet().get(pk=line.pk)
    checked = checking.check_lines(fresh.dropoff, [fresh], now=NOW)[0]
    assert [one.rule for one in checked.held_by] == ["H11"]


def test_nothing_to_overrule_is_refused(line: Line, owner: Person) -> None:
    joints.call_hard(joint=line.piece.joints.get(), by=owner, now=NOW)

    with pytest.raises(dropoff.DropOffRefused, match="nothing stops it"):
        checking.send_anyway(line=line, reason="To be sure", by=owner, now=NOW)


def test_what_is_to_be_kept_bare_on_the_line_protects(line: Line, owner: Person) -> None:
    joints.call_hard(joint=line.piece.joints.get(), by=owner, now=NOW)
    factories.answer(line.piece, by=owner, glue="yes", bores="yes")
    before = {one.rule for one in _found(line, now=NOW) if one.stops}

    change(line, by=owner, masks=[{"what": "bore", "count": 1, "thread": "", "how": "plug"}])

    assert before == {"B05", "M02"}
    assert not any(one.stops for one in _found(line, now=NOW))
