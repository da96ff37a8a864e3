"""How fast it hardens: printed times, what lies between and beyond them, and what is refused."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.cure_rate import (
    Schedule,
    SheetTime,
    activation_kj,
    rate_factor,
    schedule,
    working_minutes,
)
from fabrication.core.errors import CoreError, OutOfRange

SHEET = [(20, 15), (25, 12), (40, 3), (70, 50 / 60), (100, 10 / 60)]


def sheet_of(*times: tuple[float, float], **limits: float) -> Schedule:
    return schedule(times=[SheetTime(*line) for line in times], **limits)


@pytest.mark.parametrize(("temp_c", "hours"), SHEET)
def test_a_printed_time_is_given_back_as_printed(temp_c: float, hours: float) -> None:
    assert sheet_of(*SHEET).hours_at(temp_c) == pytest.approx(hours, rel=1e-12)


def test_between_two_printed_times_the_logarithm_runs_straight_over_one_by_kelvin() -> None:
    sheet = sheet_of((20, 16), (40, 4))
    halfway_c = 2 / (1 / 293.15 + 1 / 313.15) - 273.15

    assert sheet.hours_at(halfway_c) == pytest.approx(8)


def test_below_the_coldest_printed_time_it_slows_by_seventy() -> None:
    sheet = sheet_of(*SHEET)

    hours = sheet.hours_at(12)

    slower = rate_factor(temp_c=12, ref_c=20, activation_kj=70)
    assert hours == pytest.approx(15 / slower)


def test_above_the_hottest_of_several_it_is_never_faster_than_the_sheet() -> None:
    assert sheet_of(*SHEET).hours_at(180) == pytest.approx(10 / 60)


def test_a_single_printed_time_quickens_by_fifty_up_to_the_cap() -> None:
    sheet = sheet_of((20, 24))

    at_30, at_cap, beyond = (sheet.hours_at(temp_c) for temp_c in (30, 60, 90))

    assert at_30 == pytest.approx(24 / rate_factor(temp_c=30, ref_c=20, activation_kj=50))
    assert beyond == at_cap


def test_a_single_time_above_the_cap_stands_as_printed() -> None:
    assert sheet_of((80, 2)).hours_at(150) == 2


def test_a_cap_holds_only_where_the_sheet_prints_no_hotter_time() -> None:
    sheet = sheet_of(*SHEET, upper_cap_c=60)

    assert sheet.hours_at(70) == pytest.approx(50 / 60)


def test_below_the_lower_limit_nothing_hardens_and_at_it_something_does() -> None:
    sheet = sheet_of((20, 24), lower_limit_c=10)

    assert sheet.hours_at(9.999) == math.inf
    assert sheet.rate_per_h(9.999) == 0
    assert sheet.rate_per_h(10) > 0


def test_a_paint_that_is_warmer_counts_no_faster_when_that_is_asked() -> None:
    assert sheet_of((20, 4), above_kj=0).hours_at(35) == 4


def test_the_reference_is_the_printed_temperature_nearest_to_twenty() -> None:
    assert sheet_of((5, 60), (24, 12), (40, 3)).ref_c == 24


@given(
    temps=st.lists(st.integers(0, 150), min_size=1, max_size=5, unique=True),
    drops=st.lists(st.floats(1, 6), min_size=5, max_size=5),
    first_h=st.floats(0.1, 200),
    colder=st.floats(-20, 200),
    warmer=st.floats(-20, 200),
)
def test_more_heat_never_hardens_slower(
    temps: list[int], drops: list[float], first_h: float, colder: float, warmer: float
) -> None:
    colder, warmer = sorted((colder, warmer))
    hours, times = first_h, []
    for temp_c, drop in zip(sorted(temps), drops, strict=False):
        times.append((temp_c, hours))
        hours /= drop
    sheet = sheet_of(*times)

    assert sheet.rate_per_h(warmer) >= sheet.rate_per_h(colder) * (1 - 1e-12)


@given(temp_c=st.floats(-20, 200), hours=st.floats(0.1, 200))
def test_between_and_above_printed_times_no_hour_is_shorter_than_the_shortest(
    temp_c: float, hours: float
) -> None:
    sheet = sheet_of((20, hours), (40, hours / 4))

    assert sheet.hours_at(temp_c) >= hours / 4 * (1 - 1e-12)


@pytest.mark.parametrize(
    ("times", "kind"),
    [
        ([], "no_times"),
        ([(20, 5), (20, 4)], "twice_printed"),
        ([(20, 5), (30, 6)], "hotter_is_slower"),
    ],
)
def test_a_sheet_that_contradicts_itself_is_refused(
    times: list[tuple[float, float]], kind: str
) -> None:
    with pytest.raises(CoreError) as refused:
        sheet_of(*times)

    assert refused.value.kind == kind


@pytest.mark.parametrize(
    ("times", "limits"),
    [
        ([(20, 0)], {}),
        ([(20, -1)], {}),
        ([(500, 1)], {}),
        ([(math.nan, 1)], {}),
        ([(20, 1)], {"lower_limit_c": 30, "upper_cap_c": 30}),
        ([(20, 1)], {"below_kj": -1}),
        ([(20, 1)], {"above_kj": math.inf}),
    ],
)
def test_what_no_sheet_can_print_is_refused(
    times: list[tuple[float, float]], limits: dict[str, float]
) -> None:
    with pytest.raises(OutOfRange):
        sheet_of(*times, **limits)


def test_a_slope_that_no_sheet_has_is_doubted_and_used() -> None:
    sheet = sheet_of((20, 24), (25, 1))

    assert [problem.kind for problem in sheet.problems] == ["unlikely_slope"]
    assert sheet.hours_at(25) == 1


@pytest.mark.parametrize("temp_c", [math.nan, math.inf])
def test_a_temperature_that_is_no_number_is_refused(temp_c: float) -> None:
    with pytest.raises(OutOfRange):
        sheet_of((20, 24)).hours_at(temp_c)


def test_a_factor_needs_an_energy_that_is_not_below_zero() -> None:
    with pytest.raises(OutOfRange):
        rate_factor(temp_c=20, ref_c=20, activation_kj=-1)


def test_the_slope_of_one_temperature_is_no_slope() -> None:
    with pytest.raises(CoreError, match="twice"):
        activation_kj(cooler=SheetTime(20, 5), warmer=SheetTime(20, 4))


@given(temp_c=st.floats(-20, 100), minutes=st.floats(0.5, 240))
def test_the_working_time_is_never_longer_than_printed(temp_c: float, minutes: float) -> None:
    assert working_minutes(sheet_minutes=minutes, sheet_c=24, temp_c=temp_c) <= minutes
