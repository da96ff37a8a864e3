"""The arithmetic of curing against concrete maturity, which is the same arithmetic.

Sources: ASTM C1074 and guides to the maturity method (worked sums read in stored copies); EN
1992-1-1, annex B.10 (its formula read in code). Figures marked "sum" are worked out by hand from
the formula of the standard, at its own constants.
"""

import math

import pytest

from fabrication.core.cure_log import Spell, equivalent_age_h
from fabrication.core.cure_rate import GAS_J, rate_factor


def test_nurse_saul_twelve_hours_at_20_and_twelve_at_25_are_540_degree_hours() -> None:
    # A guide to the maturity method after ASTM C1074, datum 0 C.
    spells = [Spell(12, 20, 20), Spell(12, 25, 25)]

    assert equivalent_age_h(spells=spells, rate=lambda temp_c: temp_c - 0) == 540


def test_nurse_saul_28_days_at_15_with_datum_minus_11_are_728_degree_days() -> None:
    # A second guide to the maturity method, datum -11 C.
    assert equivalent_age_h(spells=[Spell(28, 15, 15)], rate=lambda temp_c: temp_c + 11) == 728


def test_nurse_saul_of_a_slope_is_that_of_the_mean_of_its_two_readings() -> None:
    # ASTM C1074: the temperature of an interval is the mean of its two readings.
    slope = equivalent_age_h(spells=[Spell(2, 12, 31)], rate=lambda temp_c: temp_c)

    assert slope == pytest.approx(2 * (12 + 31) / 2)


@pytest.mark.parametrize(
    ("temp_c", "factor"), [(5, 0.398), (10, 0.547), (20, 1), (30, 1.756), (40, 2.975)]
)
def test_equivalent_age_factors_of_c1074_with_q_5000_kelvin(temp_c: float, factor: float) -> None:
    # ASTM C1074 equation of equivalent age, Q = 5000 K, Ts = 20 C: sum with 273 for 273.15, which
    # is worth up to two parts in a thousand.
    found = rate_factor(temp_c=temp_c, ref_c=20, activation_kj=5000 * GAS_J / 1000)

    assert found == pytest.approx(factor, rel=2e-3)


def test_three_days_at_10_30_and_5_are_64_84_hours_by_c1074() -> None:
    spells = [Spell(24, temp_c, temp_c) for temp_c in (10, 30, 5)]
    energy_kj = 5000 * GAS_J / 1000

    found = equivalent_age_h(
        spells=spells,
        rate=lambda temp_c: rate_factor(temp_c=temp_c, ref_c=20, activation_kj=energy_kj),
    )

    assert found == pytest.approx(64.84, abs=0.01)  # sum


def eurocode(temp_c: float) -> float:
    """EN 1992-1-1, expression B.10, as printed: 273 for 273.15 and a rounded 4000/293."""
    return math.exp(-(4000 / (273 + temp_c) - 13.65))


@pytest.mark.parametrize(
    ("temp_c", "factor"), [(5, 0.478), (10, 0.616), (20, 0.998), (30, 1.566), (40, 2.388)]
)
def test_the_eurocode_s_factors_come_out_to_its_own_rounding(temp_c: float, factor: float) -> None:
    # 4000 K is 33.3 kJ/mol. Its two roundings are worth two parts in a thousand.
    ours = rate_factor(temp_c=temp_c, ref_c=20, activation_kj=4000 * GAS_J / 1000)

    assert eurocode(temp_c) == pytest.approx(factor, abs=6e-4)
    assert ours == pytest.approx(factor, rel=5e-3)


def test_three_days_at_10_30_and_5_are_63_85_hours_by_the_eurocode() -> None:
    spells = [Spell(24, temp_c, temp_c) for temp_c in (10, 30, 5)]

    assert equivalent_age_h(spells=spells, rate=eurocode) == pytest.approx(63.85, abs=0.01)
