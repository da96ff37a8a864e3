"""What a log is worth: slopes, gaps, nights, and the hour the whole was reached."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.cure_log import Reading, Spell, Worth, credit, equivalent_age_h
from fabrication.core.cure_rate import Schedule, SheetTime, schedule
from fabrication.core.errors import CoreError, OutOfRange

DAY = schedule(times=[SheetTime(20, 24)])
SHEET = schedule(times=[SheetTime(20, 15), SheetTime(40, 3)])


def hours_of(*readings: Reading, sheet: Schedule = DAY) -> float:
    """What a log is worth in hours at the sheet's own temperature."""
    return credit(readings=readings, schedule=sheet).share_ratio * sheet.hours_at(sheet.ref_c)


def test_two_hours_at_the_printed_temperature_are_two_hours() -> None:
    assert hours_of(Reading(0, 20), Reading(2, 20)) == pytest.approx(2)


def test_a_gap_of_more_than_two_hours_counts_nothing() -> None:
    found = credit(readings=[Reading(0, 20), Reading(2.001, 20)], schedule=DAY)

    assert found.share_ratio == 0
    assert [gap.worth for gap in found.gaps] == [Worth.NOT_COUNTED]


def test_a_gap_whose_lowest_is_known_counts_all_of_it_at_that() -> None:
    bridged = hours_of(Reading(0, 20), Reading(10, 19, lowest_before_c=14))
    steady = hours_of(*[Reading(at_h, 14) for at_h in range(0, 11, 2)])

    assert bridged == pytest.approx(steady)


def test_a_lowest_that_is_warmer_than_a_reading_beside_it_is_taken_at_the_reading() -> None:
    assert hours_of(Reading(0, 12), Reading(10, 19, lowest_before_c=15)) == pytest.approx(
        hours_of(Reading(0, 12), Reading(10, 12, lowest_before_c=12))
    )


def test_a_lowest_that_is_not_the_lower_of_its_gap_bridges_nothing() -> None:
    assert hours_of(Reading(0, 12), Reading(8, 18, is_lowest=True)) == 0


def test_a_slope_through_the_lower_limit_counts_only_the_warm_part() -> None:
    falling = hours_of(Reading(0, 14), Reading(2, 6))
    warm_part = hours_of(Reading(0, 14), Reading(1, 10))

    assert falling == pytest.approx(warm_part)


def test_a_slope_through_the_cap_gains_nothing_above_it() -> None:
    hot = hours_of(Reading(0, 60), Reading(1, 160))

    assert hot == pytest.approx(hours_of(Reading(0, 60), Reading(1, 60)))


@pytest.mark.parametrize("readings", [[], [Reading(0, 20)], [Reading(50, 20)]])
def test_a_log_without_a_stretch_is_worth_nothing(readings: list[Reading]) -> None:
    found = credit(readings=readings, schedule=DAY)

    assert (found.share_ratio, found.done_at_h, found.stretches) == (0, None, ())


def test_the_hour_the_whole_was_reached_lies_inside_its_stretch() -> None:
    log = [Reading(at_h, 40) for at_h in (0, 2, 4)]

    assert credit(readings=log, schedule=SHEET).done_at_h == pytest.approx(3)


def test_later_readings_do_not_move_the_hour_the_whole_was_reached() -> None:
    log = [Reading(at_h, 40) for at_h in (0, 2, 4, 6, 8)]

    assert credit(readings=log, schedule=SHEET).done_at_h == pytest.approx(3)


def test_a_cold_night_after_the_whole_takes_nothing_back() -> None:
    log = [Reading(0, 40), Reading(2, 40), Reading(4, 40), Reading(5, -5)]

    assert credit(readings=log, schedule=SHEET).share_ratio >= 1


temps = st.floats(-10, 120, allow_subnormal=False)


@given(first=temps, second=temps, rise=st.floats(0, 50))
def test_a_warmer_log_is_never_worth_less(first: float, second: float, rise: float) -> None:
    cool = hours_of(Reading(0, first), Reading(2, second), sheet=SHEET)
    warm = hours_of(Reading(0, first + rise), Reading(2, second + rise), sheet=SHEET)

    # Steps of a kelvin fall otherwise on another slope: by less than a part in a thousand.
    assert warm >= cool * (1 - 2e-3)


@given(first=temps, second=temps)
def test_a_slope_is_worth_no_more_than_its_warmer_end_and_no_less_than_its_colder(
    first: float, second: float
) -> None:
    worth = hours_of(Reading(0, first), Reading(2, second), sheet=SHEET)
    low, high = sorted((first, second))

    assert worth <= hours_of(Reading(0, high), Reading(2, high), sheet=SHEET) * (1 + 1e-9)
    assert worth >= hours_of(Reading(0, low), Reading(2, low), sheet=SHEET) * (1 - 1e-9)


@given(first=temps, second=temps)
def test_a_slope_is_worth_the_same_both_ways(first: float, second: float) -> None:
    down = hours_of(Reading(0, first), Reading(2, second), sheet=SHEET)
    up = hours_of(Reading(0, second), Reading(2, first), sheet=SHEET)

    assert down == pytest.approx(up, rel=1e-9, abs=1e-12)


@given(temps=st.lists(temps, min_size=2, max_size=6))
def test_one_more_reading_never_takes_credit_away(temps: list[float]) -> None:
    log = [Reading(float(at_h), temp_c) for at_h, temp_c in enumerate(temps)]

    shares = [
        credit(readings=log[:length], schedule=SHEET).share_ratio for length in range(len(log) + 1)
    ]

    assert shares == sorted(shares)


@pytest.mark.parametrize(
    "log",
    [
        [Reading(0, 20), Reading(0, 21)],
        [Reading(2, 20), Reading(1, 21)],
    ],
)
def test_a_log_out_of_order_is_refused(log: list[Reading]) -> None:
    with pytest.raises(CoreError) as refused:
        credit(readings=log, schedule=DAY)

    assert (refused.value.kind, refused.value.index) == ("out_of_order", 1)


@pytest.mark.parametrize(
    "reading",
    [
        Reading(-1, 20),
        Reading(0, 700),
        Reading(0, float("nan")),
        Reading(0, 20, lowest_before_c=-99),
    ],
)
def test_a_reading_that_cannot_be_is_refused(reading: Reading) -> None:
    with pytest.raises(OutOfRange):
        credit(readings=[reading], schedule=DAY)


def test_a_spell_of_less_than_no_time_is_refused() -> None:
    with pytest.raises(OutOfRange):
        equivalent_age_h(spells=[Spell(-1, 20, 20)], rate=lambda temp_c: 1.0)
