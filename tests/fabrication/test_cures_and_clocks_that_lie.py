"""Clocks against time itself: the two edges of summer time, zones, leap days, and computers whose
clock is wrong. An end is right to the second, and nothing is ever ready early.
"""

from datetime import UTC, datetime, timedelta
from zoneinfo import ZoneInfo

import pytest
from django.test import override_settings
from django.utils import timezone

from fabrication.curing import cures, trusted_time
from fabrication.curing.clockwork import look
from fabrication.curing.faces import Stage, face_of
from fabrication.curing.trusted_time import UNKNOWN, Machine, TimeDoubted
from fabrication.forms.bonds import WhenField
from fabrication.models import Clock, TemperatureReading
from garage.models import Car, Garage, Person
from parts.models import Joint
from tests.fabrication.bond_rows import make_adhesive, make_bond, mix, read

HOUR, DAY = timedelta(hours=1), timedelta(days=1)
ZONES = ("Europe/London", "America/New_York", "Asia/Kathmandu", "Australia/Lord_Howe")
# Local evenings before the clocks change, and where nothing changes an ordinary one. Lord Howe
# moves by half an hour, Kathmandu is 5:45 ahead and never moves.
FORWARD = {
    "Europe/London": (2026, 3, 28),
    "America/New_York": (2026, 3, 7),
    "Asia/Kathmandu": (2026, 4, 1),
    "Australia/Lord_Howe": (2026, 10, 3),
}
BACK = {
    "Europe/London": (2026, 10, 24),
    "America/New_York": (2026, 10, 31),
    "Asia/Kathmandu": (2026, 11, 1),
    "Australia/Lord_Howe": (2026, 4, 4),
}
LEAP = dict.fromkeys(ZONES, (2028, 2, 28))
YEAR_END = dict.fromkeys(ZONES, (2026, 12, 31))
STEADY = 8  # hours of the full cure of the glue below, at 20 C
GLUE = [{"temp_c": 20, "handling_h": 4, "full_h": STEADY}]


def evening(zone: str, day: tuple[int, int, int]) -> datetime:
    return datetime(*day, 22, 0, tzinfo=ZoneInfo(zone)).astimezone(UTC)


def fresh(clock: Clock) -> Clock:
    return Clock.objects.for_page().get(pk=clock.pk)


def started(car: Car, by: Person, now: datetime, machine: Machine = UNKNOWN) -> Clock:
    glue = make_adhesive(schedule=GLUE)
    bond = make_bond(car=car, by=by, now=now, adhesive=glue)
    return mix(bond, by=by, now=now, machine=machine)


def nearly_done(clock: Clock, by: Person) -> None:
    """A log that lacks its last two hours."""
    for at in range(2, STEADY - 1, 2):
        read(clock, by=by, at=clock.started_at + at * HOUR)


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize(
    "days", [FORWARD, BACK, LEAP, YEAR_END], ids=["forward", "back", "leap", "year"]
)
def test_an_end_is_right_to_the_second_wherever_and_whenever_the_clocks_change(
    car: Car, owner: Person, zone: str, days: dict[str, tuple[int, int, int]]
) -> None:
    Garage.objects.update_or_create(id=1, defaults={"time_zone": zone})
    start = evening(zone, days[zone])
    with timezone.override(ZoneInfo(zone)):
        clock = started(car, owner, start)
        end = look(fresh(clock)).full_at
        nearly_done(clock, owner)
        early = face_of(fresh(clock), now=start + STEADY * HOUR, doubt="")
        read(clock, by=owner, at=start + STEADY * HOUR)
        ready = face_of(fresh(clock), now=start + STEADY * HOUR, doubt="")

    assert (end - start) - STEADY * HOUR == timedelta(0)
    assert not early.is_ready
    assert ready.is_ready
    assert ready.look.full_at == start + STEADY * HOUR


@pytest.mark.parametrize("zone", ZONES)
@pytest.mark.parametrize("days", [FORWARD, BACK], ids=["forward", "back"])
def test_a_time_typed_across_the_change_is_the_time_that_was_meant(
    zone: str, days: dict[str, tuple[int, int, int]]
) -> None:
    # 22:00 and 07:00 stand on both sides of every change; 9 h by the clock are 9 h less the shift.
    start = evening(zone, days[zone])
    morning = (start.astimezone(ZoneInfo(zone)) + DAY).replace(hour=7)
    with timezone.override(ZoneInfo(zone)):
        typed = WhenField().clean(morning.strftime("%Y-%m-%dT%H:%M"))

    assert typed == morning.astimezone(UTC)
    shift = morning.utcoffset() - start.astimezone(ZoneInfo(zone)).utcoffset()
    assert typed - start == 9 * HOUR - shift


@pytest.mark.parametrize("there", ["UTC", "America/New_York", "Asia/Kathmandu"])
def test_a_server_that_is_moved_to_another_zone_changes_no_end(
    car: Car, owner: Person, there: str
) -> None:
    start = evening("Europe/London", BACK["Europe/London"])
    with timezone.override(ZoneInfo("Europe/London")):
        clock = started(car, owner, start)

    Garage.objects.update_or_create(id=1, defaults={"time_zone": there})
    with override_settings(TIME_ZONE=there), timezone.override(ZoneInfo(there)):
        end = look(fresh(clock)).full_at

    assert end == start + STEADY * HOUR


@pytest.mark.parametrize("phone", ["Pacific/Auckland", "America/Los_Angeles"])
def test_the_page_gets_its_end_as_a_count_that_no_zone_of_a_phone_can_read_otherwise(
    car: Car, owner: Person, phone: str
) -> None:
    start = evening("Europe/London", FORWARD["Europe/London"])
    clock = started(car, owner, start)
    now = (start + HOUR).astimezone(ZoneInfo(phone))

    face = face_of(fresh(clock), now=now, doubt="")

    assert face.ends_ms - face.now_ms == 3 * 3600 * 1000


WRONG = {
    "a day back": lambda at: at - DAY,
    "an hour back": lambda at: at - HOUR,
    "back to 1970": lambda at: datetime(1970, 1, 1, 0, 5, tzinfo=UTC),
    "back to the year of the board": lambda at: datetime(2020, 1, 1, tzinfo=UTC),
}


@pytest.mark.parametrize("how", WRONG)
def test_a_clock_that_went_backwards_is_doubted_and_nothing_is_ready(
    car: Car, owner: Person, how: str
) -> None:
    start = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, start)
    nearly_done(clock, owner)
    read(clock, by=owner, at=start + STEADY * HOUR)
    wrong = WRONG[how](start + STEADY * HOUR)

    doubt = trusted_time.doubt(now=wrong)
    face = face_of(fresh(clock), now=wrong, doubt=doubt)

    assert "went backwards" in doubt
    assert (face.stage, face.is_ready, face.ends_at) == (Stage.DOUBTED, False, None)
    with pytest.raises(TimeDoubted):
        read(clock, by=owner, at=start + HOUR, now=wrong)


@pytest.mark.parametrize("jump", [DAY, 3 * HOUR, -HOUR], ids=["a day on", "3 h on", "an hour off"])
def test_a_clock_that_jumped_while_the_computer_ran_is_doubted(
    car: Car, owner: Person, jump: timedelta
) -> None:
    start = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, start, Machine("boot", 1000.0))
    now = start + 2 * HOUR + jump
    machine = Machine("boot", 1000.0 + 2 * 3600)

    doubt = trusted_time.doubt(now=now, machine=machine)

    assert "was set" in doubt
    assert not face_of(fresh(clock), now=now, doubt=doubt).is_ready
    with pytest.raises(TimeDoubted):
        read(clock, by=owner, at=now, now=now, lowest_before_c=20, machine=machine)


def test_a_day_ahead_after_a_restart_makes_nothing_ready_and_is_doubted_once_it_is_right_again(
    car: Car, owner: Person
) -> None:
    # After a restart the computer cannot tell. What it says still proves nothing by itself.
    start = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, start, Machine("first", 1000.0))
    ahead = start + HOUR + DAY

    read(clock, by=owner, at=ahead, machine=Machine("second", 60.0))
    while_ahead = face_of(fresh(clock), now=ahead, doubt="")
    again = trusted_time.doubt(now=start + 2 * HOUR, machine=Machine("third", 60.0))

    assert not while_ahead.is_ready
    assert while_ahead.look.standing.full.credit.share_ratio == 0
    assert "went backwards" in again


def test_a_step_of_the_network_of_a_second_is_no_doubt(car: Car, owner: Person) -> None:
    start = evening("Europe/London", (2026, 11, 20))
    started(car, owner, start, Machine("boot", 1000.0))

    later = start + HOUR + timedelta(seconds=1)

    assert trusted_time.doubt(now=later, machine=Machine("boot", 4600.0)) == ""


def test_a_restart_is_no_doubt(car: Car, owner: Person) -> None:
    start = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, start, Machine("first", 1_000_000.0))
    now, machine = start + HOUR, Machine("second", 30.0)

    assert trusted_time.doubt(now=now, machine=machine) == ""
    assert look(fresh(clock)).full_at == start + STEADY * HOUR


def test_what_the_data_folder_has_seen_later_is_doubted(car: Car, owner: Person) -> None:
    start = evening("Europe/London", (2026, 11, 20))

    assert trusted_time.doubt(now=start, machine=Machine(was_at=start + DAY))


def test_settled_the_clock_is_believed_and_readings_from_the_future_are_struck(
    car: Car, owner: Person
) -> None:
    start = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, start)
    read(clock, by=owner, at=start + HOUR)
    read(clock, by=owner, at=start + DAY, lowest_before_c=20)
    right = start + 2 * HOUR

    struck = cures.settle_time(by=owner, now=right)

    assert struck == 1
    assert trusted_time.doubt(now=right) == ""
    assert look(fresh(clock)).last.at == start + HOUR
    assert TemperatureReading.objects.filter(clock=clock).count() == 3


def test_a_joint_that_a_wrong_clock_called_hard_hardens_again_when_time_is_settled(
    car: Car, owner: Person
) -> None:
    start = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, start)
    # A day ahead, with a lowest typed in good faith: the log looks full.
    read(clock, by=owner, at=start + DAY, lowest_before_c=20)
    before = clock.bond.joint
    before.refresh_from_db()

    cures.settle_time(by=owner, now=start + HOUR)

    after = Joint.objects.get(pk=before.pk)
    assert before.state == Joint.State.HARD
    assert after.state == Joint.State.CURING
    assert not after.is_fit_for_heat(start + 3 * DAY)


def test_a_clock_started_in_the_future_begins_anew_when_time_is_settled(
    car: Car, owner: Person
) -> None:
    right = evening("Europe/London", (2026, 11, 20))
    clock = started(car, owner, right + DAY)

    cures.settle_time(by=owner, now=right)

    assert look(fresh(clock)).full_at == right + STEADY * HOUR


@pytest.mark.parametrize(
    ("zone", "typed"),
    [
        ("Europe/London", "2026-03-29T01:30"),  # does not exist
        ("Europe/London", "2026-10-25T01:30"),  # came twice
        ("America/New_York", "2026-11-01T01:30"),
    ],
)
def test_an_hour_that_came_twice_or_not_at_all_is_not_guessed(zone: str, typed: str) -> None:
    with timezone.override(ZoneInfo(zone)), pytest.raises(Exception, match="twice or not at all"):
        WhenField().clean(typed)
