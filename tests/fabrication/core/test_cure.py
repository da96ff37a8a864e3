"""Where a joint stands: three states, by the log alone."""

import math

import pytest

from fabrication.core.cure import State, standing, time_left_h
from fabrication.core.cure_log import Reading
from fabrication.core.cure_rate import SheetTime, schedule

FULL = schedule(times=[SheetTime(20, 8)])
TOUCH = schedule(times=[SheetTime(20, 4)])


def log_of(hours: float, temp_c: float = 20.0) -> list[Reading]:
    return [Reading(float(at_h), temp_c) for at_h in range(int(hours) + 1)]


@pytest.mark.parametrize(
    ("hours", "state"),
    [(0, State.WET), (3, State.WET), (4, State.HANDLE), (7, State.HANDLE), (8, State.LOAD)],
)
def test_it_is_wet_then_to_be_handled_then_loaded(hours: float, state: State) -> None:
    assert standing(readings=log_of(hours), full=FULL, handling=TOUCH).state is state


def test_without_a_handling_time_it_stays_wet_until_it_carries_its_load() -> None:
    assert standing(readings=log_of(7), full=FULL).state is State.WET
    assert standing(readings=log_of(8), full=FULL).state is State.LOAD


def test_time_alone_makes_nothing_ready() -> None:
    found = standing(readings=[Reading(0, 20), Reading(900, 20)], full=FULL, handling=TOUCH)

    assert found.state is State.WET
    assert found.full.left_h == 8


def test_colder_than_the_lower_limit_the_clock_is_stalled() -> None:
    found = standing(readings=[*log_of(2), Reading(3, 8)], full=FULL, handling=TOUCH)

    assert found.is_stalled
    assert found.full.left_h == math.inf


def test_what_carries_its_load_is_not_stalled_by_a_cold_night() -> None:
    found = standing(readings=[*log_of(8), Reading(9, 2)], full=FULL)

    assert (found.state, found.is_stalled) == (State.LOAD, False)


def test_before_the_first_reading_nothing_is_known_but_the_sheet() -> None:
    found = standing(readings=[], full=FULL)

    assert (found.state, found.is_stalled, found.full.left_h) == (State.WET, False, 8)


def test_what_is_left_is_told_at_the_temperature_of_the_last_reading() -> None:
    warm = schedule(times=[SheetTime(20, 8), SheetTime(40, 2)])

    found = standing(readings=[Reading(0, 40), Reading(1, 40)], full=warm)

    assert found.full.left_h == pytest.approx(1)
    assert found.full.age_h == pytest.approx(4)
    assert found.full.ref_c == 20


def test_a_done_cure_has_nothing_left_however_cold_it_gets() -> None:
    assert time_left_h(share_done_ratio=1.2, schedule=FULL, temp_c=-5) == 0
