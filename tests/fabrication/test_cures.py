"""Clocks by their verbs: what the log says, what a forecast does not, and what is never early."""

from datetime import datetime, timedelta
from uuid import uuid4

import pytest

from fabrication.core.cure import State
from fabrication.curing import cures
from fabrication.curing.clockwork import NoTimes, look, model_of_adhesive
from fabrication.curing.faces import Stage, face_of, running
from fabrication.models import Clock, TemperatureReading
from garage.models import Car, Person
from parts.models import Adhesive, Joint
from tests.fabrication.bond_rows import make_adhesive, make_bond, mix, read
from tests.factories import NOW

HOUR = timedelta(hours=1)


@pytest.fixture
def clock(car: Car, owner: Person) -> Clock:
    return mix(make_bond(car=car, by=owner), by=owner)


def fresh(clock: Clock) -> Clock:
    return Clock.objects.for_page().get(pk=clock.pk)


def seen(clock: Clock, now: datetime, doubt: str = "") -> Stage:
    return face_of(fresh(clock), now=now, doubt=doubt).stage


def log_steadily(clock: Clock, by: Person, hours: int, temp_c: float = 20.0) -> None:
    """A reading every two hours from the start on."""
    for at in range(2, hours + 1, 2):
        read(clock, by=by, at=clock.started_at + at * HOUR, temp_c=temp_c)


def test_a_clock_keeps_what_the_sheet_printed_when_it_was_started(clock: Clock) -> None:
    Adhesive.objects.update(schedule=[{"temp_c": 20, "handling_h": 0.1, "full_h": 0.2}])

    found = look(fresh(clock))

    assert found.handling_at == NOW + 4 * HOUR
    assert found.full_at == NOW + 24 * HOUR


def test_first_it_is_worked_then_it_is_left_alone(clock: Clock) -> None:
    minutes = [
        (44, Stage.WORKING),
        (46, Stage.WET),
        (239, Stage.WET),
        (240, Stage.DUE),
        (99_999, Stage.DUE),
    ]

    for after, stage in minutes:
        assert seen(clock, NOW + timedelta(minutes=after)) is stage


def test_time_alone_never_makes_it_ready(clock: Clock) -> None:
    for days in (1, 2, 30, 4_000):
        assert not face_of(fresh(clock), now=NOW + timedelta(days=days), doubt="").is_ready


def test_readings_make_it_ready_for_handling_and_then_for_its_load(
    clock: Clock, owner: Person
) -> None:
    log_steadily(clock, owner, 4)
    assert seen(clock, NOW + 4 * HOUR) is Stage.HANDLE

    for at in range(6, 25, 2):
        read(clock, by=owner, at=NOW + at * HOUR)
    assert seen(clock, NOW + 24 * HOUR) is Stage.DONE


def test_one_second_before_the_last_hour_is_over_it_is_not_ready(
    clock: Clock, owner: Person
) -> None:
    log_steadily(clock, owner, 22)
    read(clock, by=owner, at=NOW + 24 * HOUR - timedelta(seconds=1))

    assert seen(clock, NOW + 25 * HOUR) is not Stage.DONE


def test_a_long_night_without_its_lowest_counts_nothing_and_is_named(
    clock: Clock, owner: Person
) -> None:
    read(clock, by=owner, at=NOW + 9 * HOUR)

    found = look(fresh(clock))

    assert found.standing.full.credit.share_ratio == 0
    assert [(gap.start, gap.end) for gap in found.gaps] == [(NOW, NOW + 9 * HOUR)]
    assert found.full_at == NOW + 33 * HOUR


def test_a_long_night_with_its_lowest_counts_at_that(clock: Clock, owner: Person) -> None:
    read(clock, by=owner, at=NOW + 9 * HOUR, temp_c=19, lowest_before_c=15)

    found = look(fresh(clock))

    share = 9 / found.schedules.full.hours_at(15)
    assert found.standing.full.credit.share_ratio == pytest.approx(share)
    assert found.gaps == ()


def test_too_cold_stands_still_and_says_so(clock: Clock, owner: Person) -> None:
    read(clock, by=owner, at=NOW + HOUR, temp_c=8)

    face = face_of(fresh(clock), now=NOW + HOUR, doubt="")

    assert face.stage is Stage.STALLED
    assert face.ends_at is None
    assert face.look.full_at is None


def test_a_warm_pot_is_worked_for_less_time(car: Car, owner: Person) -> None:
    clock = mix(make_bond(car=car, by=owner), by=owner, temp_c=31)

    until = look(fresh(clock)).working_until

    assert NOW < until < NOW + timedelta(minutes=25)


def test_a_reading_sent_twice_is_written_once(clock: Clock, owner: Person) -> None:
    key, at = uuid4(), NOW + HOUR
    for _ in range(2):
        cures.read(clock=clock, key=key, at=at, temp_c=18, by=owner, now=at)

    assert TemperatureReading.objects.filter(clock=clock).count() == 2


def test_a_used_form_with_another_reading_is_refused(clock: Clock, owner: Person) -> None:
    key, at = uuid4(), NOW + HOUR
    cures.read(clock=clock, key=key, at=at, temp_c=18, by=owner, now=at)

    with pytest.raises(cures.UsedAlready):
        cures.read(clock=clock, key=key, at=at, temp_c=25, by=owner, now=at)


@pytest.mark.parametrize(
    ("after_h", "now_h", "says"),
    [(-1, 1, "before"), (2, 1, "still to come"), (0, 1, "Strike it first")],
)
def test_a_reading_that_cannot_be_is_refused(
    clock: Clock, owner: Person, after_h: int, now_h: int, says: str
) -> None:
    with pytest.raises(cures.ReadingRefused, match=says):
        read(clock, by=owner, at=NOW + after_h * HOUR, now=NOW + now_h * HOUR)


def test_a_struck_reading_stays_and_counts_nothing(clock: Clock, owner: Person) -> None:
    log_steadily(clock, owner, 4)
    wrong = read(clock, by=owner, at=NOW + 5 * HOUR, temp_c=60)

    cures.strike(reading=wrong, by=owner, now=NOW + 6 * HOUR)

    found = look(fresh(clock))
    assert found.last.at == NOW + 4 * HOUR
    assert clock.readings.count() == 4


def test_the_only_reading_cannot_be_struck(clock: Clock, owner: Person) -> None:
    with pytest.raises(cures.ReadingRefused, match="only"):
        cures.strike(reading=clock.readings.get(), by=owner, now=NOW)


def test_a_stopped_clock_takes_no_more_readings(clock: Clock, owner: Person) -> None:
    cures.stop(clock=clock, because="Wiped off again", by=owner, now=NOW + HOUR)

    with pytest.raises(cures.ReadingRefused, match="stopped"):
        read(clock, by=owner, at=NOW + 2 * HOUR)
    assert seen(clock, NOW + 2 * HOUR) is Stage.STOPPED


def test_the_joint_is_told_when_it_could_be_hard_but_not_released_by_a_forecast(
    clock: Clock, owner: Person
) -> None:
    log_steadily(clock, owner, 14)
    joint = Joint.objects.get(bond__clocks=clock)

    assert joint.hard_from == NOW + 24 * HOUR
    assert not joint.is_fit_for_heat(NOW + 25 * HOUR)


def test_the_joint_is_fit_for_heat_when_the_log_says_so(clock: Clock, owner: Person) -> None:
    log_steadily(clock, owner, 24)

    joint = Joint.objects.get(bond__clocks=clock)

    assert joint.is_fit_for_heat(NOW + 24 * HOUR)


def test_an_age_for_heat_of_its_own_is_waited_for(car: Car, owner: Person) -> None:
    bond = make_bond(car=car, by=owner, adhesive=make_adhesive(fit_for_heat_h=48))
    clock = mix(bond, by=owner)

    log_steadily(clock, owner, 24)

    found = look(fresh(clock))
    assert found.state is State.LOAD
    assert found.heat_at == NOW + 48 * HOUR
    assert not Joint.objects.get(bond=bond).is_fit_for_heat(NOW + 24 * HOUR)


@pytest.mark.parametrize(
    ("schedule", "says"),
    [
        ([], "no full cure"),
        ([{"temp_c": 20, "handling_h": 4, "full_h": None}], "no full cure"),
        (
            [
                {"temp_c": 20, "handling_h": None, "full_h": 4},
                {"temp_c": 30, "handling_h": None, "full_h": 9},
            ],
            "Heat never makes it slower",
        ),
    ],
)
def test_a_sheet_that_no_clock_can_run_by_is_refused(
    db: None, schedule: list[dict[str, float | None]], says: str
) -> None:
    with pytest.raises(NoTimes, match=says):
        model_of_adhesive(make_adhesive(schedule=schedule))


def test_every_seeded_glue_has_a_clock_or_says_what_is_missing(db: None) -> None:
    seeded = list(Adhesive.objects.all())

    assert len(seeded) >= 6
    for adhesive in seeded:
        assert model_of_adhesive(adhesive)["times"]


def test_several_clocks_stand_in_the_order_in_which_they_ask_for_somebody(
    car: Car, owner: Person
) -> None:
    slow = mix(make_bond(car=car, by=owner, adhesive=make_adhesive("Slow")), by=owner)
    times = [{"temp_c": 20, "handling_h": 1, "full_h": 2}]
    fast_glue = make_adhesive("Fast", schedule=times, working_minutes=5)
    fast = mix(make_bond(car=car, by=owner, adhesive=fast_glue), by=owner)
    cold = mix(make_bond(car=car, by=owner, adhesive=make_adhesive("Cold")), by=owner, temp_c=4)

    found = running(car, now=NOW + timedelta(minutes=50))

    assert [face.clock.pk for face in found] == [cold.pk, fast.pk, slow.pk]
