"""Curing against what makers print, and against sums from the formula.

Sources, all read in stored copies: data sheet of a two-part epoxy (20 C 15 h, 25 C 12 h, 40 C 3 h,
70 C 50 min, 100 C 10 min; handling 12, 7 and 2 h at 20, 25 and 40 C); a steel-filled epoxy's
working time; the rule "twice as fast for 10 C" of two adhesive makers. "Sum" marks figures that
were worked out from the Arrhenius formula with another program.
"""

import math
from statistics import linear_regression

import pytest

from fabrication.core.cure_log import Reading, Spell, credit, equivalent_age_h
from fabrication.core.cure_rate import (
    GAS_J,
    SheetTime,
    activation_kj,
    rate_factor,
    schedule,
    working_minutes,
)

FULL = [(20, 15), (25, 12), (40, 3), (70, 50 / 60), (100, 10 / 60)]
HANDLING = [(20, 12), (25, 7), (40, 2)]


def kj_between(times: list[tuple[float, float]], cooler: int, warmer: int) -> float:
    return activation_kj(cooler=SheetTime(*times[cooler]), warmer=SheetTime(*times[warmer]))


@pytest.mark.parametrize(("temp_c", "hours"), FULL)
def test_the_published_full_times_are_kept(temp_c: float, hours: float) -> None:
    sheet = schedule(times=[SheetTime(*line) for line in FULL])

    assert sheet.hours_at(temp_c) == pytest.approx(hours)


@pytest.mark.parametrize(
    ("left_out", "hours", "within"), [(1, 12, 0.25), (2, 3, 0.55), (3, 50 / 60, 0.35)]
)
def test_a_published_time_that_is_left_out_is_found_again_between_its_neighbours(
    left_out: int, hours: float, within: float
) -> None:
    # No sheet follows Arrhenius exactly: this one's own lines differ from it by up to a half.
    kept = [SheetTime(*line) for index, line in enumerate(FULL) if index != left_out]

    found = schedule(times=kept).hours_at(FULL[left_out][0])

    assert found == pytest.approx(hours, rel=within)


def test_the_energies_of_the_published_sheet() -> None:
    # Sum: 50.6 by least squares over all five, 61.4 from 20 to 40, 68.4 for handling, about 32
    # from 20 to 25.
    over_kelvin = [1 / (temp_c + 273.15) for temp_c, _ in FULL]
    slope = linear_regression(over_kelvin, [math.log(hours) for _, hours in FULL]).slope

    assert slope * GAS_J / 1000 == pytest.approx(50.6, abs=0.1)
    assert kj_between(FULL, 0, 2) == pytest.approx(61.4, abs=0.1)
    assert kj_between(HANDLING, 0, 2) == pytest.approx(68.4, abs=0.1)
    assert kj_between(FULL, 0, 1) == pytest.approx(32, abs=0.5)


@pytest.mark.parametrize(("energy_kj", "q10"), [(50, 1.97), (51.2, 2.0), (60, 2.25), (70, 2.58)])
def test_ten_degrees_from_20_quicken_as_the_makers_say(energy_kj: float, q10: float) -> None:
    # "Doubles for every 10 C" is printed by two makers; the other rows are sums.
    found = rate_factor(temp_c=30, ref_c=20, activation_kj=energy_kj)

    assert found == pytest.approx(q10, abs=0.006)


@pytest.mark.parametrize(("energy_kj", "hours"), [(55, 53), (60, 57.3), (70, 66)])
def test_a_day_at_20_takes_so_long_at_10(energy_kj: float, hours: float) -> None:
    # Sum.
    sheet = schedule(times=[SheetTime(20, 24)], below_kj=energy_kj)

    assert sheet.hours_at(10) == pytest.approx(hours, abs=0.5 if hours > 60 else 0.3)


@pytest.mark.parametrize(("lower_limit_c", "hours"), [(10, 14.46), (5, 18.28)])
def test_a_day_in_three_temperatures_with_and_without_the_cold_part(
    lower_limit_c: float, hours: float
) -> None:
    # Sum: 6 h at 18 C, 10 h at 8 C, 8 h at 22 C; 55 kJ/mol, told at 20 C.
    sheet = schedule(
        times=[SheetTime(20, 24)], lower_limit_c=lower_limit_c, below_kj=55, above_kj=55
    )
    spells = [Spell(6, 18, 18), Spell(10, 8, 8), Spell(8, 22, 22)]

    found = equivalent_age_h(spells=spells, rate=lambda temp_c: 24 * sheet.rate_per_h(temp_c))

    assert found == pytest.approx(hours, abs=0.005)


def test_what_is_left_of_that_day_at_15() -> None:
    # Sum: 14.1 h.
    sheet = schedule(times=[SheetTime(20, 24)], below_kj=55)

    left_h = (1 - 14.46 / 24) * sheet.hours_at(15)

    assert left_h == pytest.approx(14.1, abs=0.05)


def test_a_cold_night_between_two_warm_ends() -> None:
    # Sum: 18 C at 22:00, 4 C at 05:00, 14 C at 07:00 are 2.96 h at 20 C with 55 kJ/mol and nothing
    # below 10 C; taking the lower of the two ends for all nine hours would have given 5.6.
    sheet = schedule(times=[SheetTime(20, 24)], below_kj=55)
    log = [Reading(0, 18), Reading(7, 4, is_lowest=True), Reading(9, 14)]

    found = credit(readings=log, schedule=sheet).share_ratio * 24
    without_the_night = 9 * rate_factor(temp_c=14, ref_c=20, activation_kj=55)

    assert found == pytest.approx(2.96, abs=0.005)
    assert without_the_night == pytest.approx(5.6, abs=0.02)


def test_45_minutes_of_working_time_at_24_are_about_20_at_35() -> None:
    # A maker's sheet prints 45 minutes at 24 C; "about 20 at 35" is a sum with its own factor.
    assert working_minutes(sheet_minutes=45, sheet_c=24, temp_c=35) == pytest.approx(20, abs=1)
