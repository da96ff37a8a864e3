"""Hoop stress by three laws: which is the careful one."""

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.tube_pressure import HoopLaw, hoop_stress_mpa


@given(st.floats(3, 60), st.floats(0.01, 0.45), st.floats(1, 500))
def test_the_outside_diameter_is_the_careful_one(od: float, share: float, bar: float) -> None:
    outside, mean, bore = (
        hoop_stress_mpa(pressure_bar=bar, wall_mm=od * share, od_mm=od, law=law) for law in HoopLaw
    )

    assert mean < bore < outside


def test_a_thin_wall_makes_no_difference() -> None:
    stresses = [
        hoop_stress_mpa(pressure_bar=100, wall_mm=0.001, od_mm=10, law=law) for law in HoopLaw
    ]

    assert stresses == pytest.approx([50_000] * 3, rel=3e-4)


def test_the_bore_of_a_thick_wall_by_hand() -> None:
    """OD 20, bore 10, 100 bar: 10 (400 + 100) / (400 - 100) = 16.67 N/mm2."""
    stress = hoop_stress_mpa(pressure_bar=100, wall_mm=5, od_mm=20, law=HoopLaw.THICK_WALL_BORE)

    assert stress == pytest.approx(50 / 3, rel=1e-12)
