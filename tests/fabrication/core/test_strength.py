"""Bracket and bond sums: limits, margins, and the words they may not use."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.bond_strength import bonded_saddle
from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.sheet_materials import (
    GRADES,
    METALS,
    blank_mass_g,
    die_of,
    least_flange_in_vice_mm,
    least_radius,
    least_steel_radius,
    typical_k_ratio,
)
from fabrication.core.strength import (
    Section,
    cantilever,
    flanged_section,
    strap_with_hole,
    strip_section,
)

S235 = {"yield_mpa": 235.0, "tensile_mpa": 360.0}
BEAM: dict[str, Any] = {
    "length_mm": 60,
    "mass_kg": 0.35,
    "g_factor": 8,
    "modulus_mpa": 206_000,
    "density_g_cm3": 7.85,
    **S235,
}
BOND: dict[str, Any] = {
    "tube_od_mm": 28,
    "arc_deg": 180,
    "width_mm": 20,
    "mass_kg": 0.6,
    "g_factor": 10,
    "lap_shear_mpa": 18,
    "prepared_ratio": 0.5,
    "warm_ratio": 0.7,
    "aged_ratio": 0.8,
    "arm_mm": 15,
}


def strip(width: float = 25, thickness: float = 2, hole: float = 6.6) -> Section:
    return strip_section(width_mm=width, thickness_mm=thickness, hole_mm=hole)


def test_a_strap_without_a_hole_yields_all_across() -> None:
    plain = strap_with_hole(width_mm=20, thickness_mm=2, hole_mm=0, **S235)

    assert plain.bears_n == plain.gross_n == 20 * 2 * 235
    assert not plain.gives_at_hole
    assert plain.peak_ratio == 1.0
    assert plain.margin(4700) == pytest.approx(2.0)


@given(st.floats(1, 18))
def test_a_larger_hole_bears_less(hole: float) -> None:
    smaller, larger = (
        strap_with_hole(width_mm=20, thickness_mm=2, hole_mm=mm, **S235) for mm in (hole, hole + 1)
    )

    assert larger.net_n < smaller.net_n
    assert larger.bears_n <= smaller.bears_n


@pytest.mark.parametrize("hole", [20.0, 25.0, -1.0])
def test_a_hole_as_wide_as_the_strip_is_refused(hole: float) -> None:
    with pytest.raises(OutOfRange):
        strap_with_hole(width_mm=20, thickness_mm=2, hole_mm=hole, **S235)
    with pytest.raises(OutOfRange):
        strip(width=20, hole=hole)


def test_what_holds_off_the_engine_is_not_judged_by_the_engine() -> None:
    still = cantilever(section=strip(), **BEAM | {"yield_mpa": 300})
    shaken = cantilever(section=strip(), on_engine=True, peak_ratio=2.0, **BEAM)

    assert still.problems == ()
    assert [one.kind for one in shaken.problems] == ["too_weak", "tires", "resonates"]
    assert shaken.peak_mpa == pytest.approx(2 * shaken.stress_mpa)


def test_a_turned_edge_takes_the_bracket_out_of_the_engines_range() -> None:
    turned = flanged_section(width_mm=25, thickness_mm=2, flange_mm=20, hole_mm=6.6)

    found = cantilever(section=turned, on_engine=True, **BEAM)

    assert found.first_mode_hz > 250
    assert found.problems == ()


@pytest.mark.parametrize("flange", [2.0, 1.0, float("inf")])
def test_an_edge_no_higher_than_the_sheet_is_none(flange: float) -> None:
    with pytest.raises(OutOfRange):
        flanged_section(width_mm=25, thickness_mm=2, flange_mm=flange)


@pytest.mark.parametrize("name", [name for name in BEAM])
def test_a_beam_of_nothing_is_refused(name: str) -> None:
    with pytest.raises(OutOfRange):
        cantilever(section=strip(), **BEAM | {name: 0})


def test_overhead_a_bond_has_to_bear_more() -> None:
    thin = BOND | {"mass_kg": 9.0, "arm_mm": 0}

    below, above = (bonded_saddle(**thin, overhead=overhead) for overhead in (False, True))

    assert 4 < below.margin < 6 and below.problems == ()
    assert [one.kind for one in above.problems] == ["bond_small"]


def test_a_long_arm_peels() -> None:
    found = bonded_saddle(**BOND | {"arm_mm": 80})

    assert [one.kind for one in found.problems] == ["peels"]
    assert found.peel_mpa > found.peel_allowed_mpa


@pytest.mark.parametrize(
    ("name", "value"),
    [("prepared_ratio", 0), ("warm_ratio", 1.2), ("aged_ratio", -0.1), ("arc_deg", 361),
     ("width_mm", 0), ("lap_shear_mpa", 0), ("arm_mm", -1)],
)  # fmt: skip
def test_a_bond_that_cannot_be_is_refused(name: str, value: float) -> None:
    with pytest.raises(OutOfRange):
        bonded_saddle(**BOND | {name: value})


def test_no_answer_calls_anything_safe() -> None:
    beam = cantilever(section=strip(), on_engine=True, peak_ratio=3, **BEAM)
    bond = bonded_saddle(**BOND | {"mass_kg": 60, "arm_mm": 90})
    strap = strap_with_hole(width_mm=20, thickness_mm=2, hole_mm=6, **S235)
    words = [beam.assumption, bond.assumption, strap.assumption]
    words += [one.message for one in (*beam.problems, *bond.problems)]

    assert len(words) == 8
    assert not any("safe" in text.lower() for text in words)


# ---- tables -------------------------------------------------------------------------------


def test_every_grade_has_a_metal_a_source_and_strengths_in_order() -> None:
    for grade in GRADES.values():
        assert grade.metal in METALS
        assert grade.source
        assert 0 < grade.yield_mpa < grade.tensile_mpa


def test_least_radius_goes_by_the_table_or_the_rule_of_its_kind() -> None:
    """1.6 mm S235 across: 2.5 (DIN 6935, table 1); 6082 T6 of 2 mm: 6 t, recalled."""
    by_table = least_radius(grade=GRADES["S235"], thickness_mm=1.6)
    by_rule = least_radius(grade=GRADES["6082 T6"], thickness_mm=2)

    assert (by_table.radius_mm, by_rule.radius_mm) == (2.5, 12.0)
    assert "DIN" in by_table.source and "recalled" in by_rule.source


@pytest.mark.parametrize(
    "beyond",
    [
        {"thickness_mm": 10.1, "tensile_mpa": 360},
        {"thickness_mm": 8.1, "tensile_mpa": 360, "angle_deg": 130},
        {"thickness_mm": 2, "tensile_mpa": 700},
        {"thickness_mm": 0, "tensile_mpa": 360},
        {"thickness_mm": 2, "tensile_mpa": 360, "angle_deg": 180},
    ],
)
def test_beyond_the_table_there_is_no_radius(beyond: dict[str, float]) -> None:
    with pytest.raises(OutOfRange):
        least_steel_radius(**beyond)


def test_a_vice_holds_radius_thickness_and_three_thicknesses() -> None:
    assert least_flange_in_vice_mm(radius_mm=2.5, thickness_mm=1.5) == 8.5


def test_a_sharp_bend_has_its_own_typical_k_factor() -> None:
    assert typical_k_ratio(metal="aluminium", radius_mm=1.9, thickness_mm=2) == 0.33
    assert typical_k_ratio(metal="aluminium", radius_mm=2, thickness_mm=2) == 0.40


def test_what_no_table_knows_is_refused_by_name() -> None:
    with pytest.raises(CoreError, match="V of 13 mm"):
        die_of(opening_mm=13)
    with pytest.raises(CoreError, match="tin"):
        typical_k_ratio(metal="tin", radius_mm=2, thickness_mm=2)
    with pytest.raises(CoreError, match="tin"):
        blank_mass_g(area_mm2=10, thickness_mm=2, metal="tin")
