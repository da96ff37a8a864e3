"""Sections: what may go wrong, said as problems."""

import math
from typing import Any

import pytest

from fabrication.core.errors import CoreError, OutOfRange, Severity
from fabrication.core.ovality import Ovality, ovality_ratio
from fabrication.core.tube_materials import TEMPERS, RadiusAdvice, least_radius_advice
from fabrication.core.tube_pressure import (
    HoopLaw,
    barlow_pressure,
    code_pressure,
    copper_pressure,
    hoop_stress_mpa,
)
from fabrication.core.tube_section import (
    ThinningLaw,
    fibre_strain_ratio,
    heel_wall_mm,
    least_radius_mm,
    metal_volume_mm3,
    problems_of_bend,
    throat_wall_mm,
    tube_bundle_wall_factor,
)


class TestProblems:
    def test_a_gentle_bend_in_soft_copper_has_none(self) -> None:
        temper = TEMPERS["EN 1057 R220"]

        assert problems_of_bend(od_mm=15, wall_mm=1, radius_mm=60, temper=temper) == ()

    @pytest.mark.parametrize(("diameters", "split"), [(16.6, True), (16.7, False)])
    def test_hard_copper_breaks_below_16_7_diameters(self, diameters: float, split: bool) -> None:
        """Elongation 3 per cent: OD / (2 x 0.03) is 16.67 diameters."""
        found = problems_of_bend(
            od_mm=15, wall_mm=0.7, radius_mm=15 * diameters, temper=TEMPERS["EN 1057 R290"]
        )

        assert [(p.kind, p.severity) for p in found] == (
            [("stretch_beyond_elongation", Severity.BLOCKER)] if split else []
        )

    @pytest.mark.parametrize(("wall", "split"), [(0.9, False), (1.0, True)])
    def test_thick_half_hard_copper_stretches_less(self, wall: float, split: bool) -> None:
        """R250: 30 per cent thin, 20 thick; 2.2 diameters stretch 22.7 per cent."""
        found = problems_of_bend(
            od_mm=22, wall_mm=wall, radius_mm=2.2 * 22, temper=TEMPERS["EN 1057 R250"]
        )

        assert ("stretch_beyond_elongation" in [p.kind for p in found]) == split

    @pytest.mark.parametrize(("radius", "said"), [(59.9, True), (60, False)])
    def test_advice_of_a_table_is_passed_on_with_its_source(
        self, radius: float, said: bool
    ) -> None:
        advice = RadiusAdvice(15, "copper", 60, "A handbook, table 1")

        found = problems_of_bend(od_mm=15, wall_mm=1, radius_mm=radius, advice=advice)

        assert [p.kind for p in found] == (["below_advised_radius"] if said else [])
        assert all(p.message.startswith("A handbook, table 1") for p in found)

    @pytest.mark.parametrize(("diameters", "thin"), [(2.44, True), (2.45, False)])
    def test_a_thin_heel_is_said(self, diameters: float, thin: bool) -> None:
        """r / (R + r) passes 0.17 at 2.44 diameters."""
        found = problems_of_bend(od_mm=10, wall_mm=1, radius_mm=10 * diameters)

        assert [p.kind for p in found] == (["thin_heel"] if thin else [])


class TestWalls:
    @pytest.mark.parametrize("law", list(ThinningLaw))
    def test_heel_thins_and_throat_thickens(self, law: ThinningLaw) -> None:
        sizes: dict[str, Any] = {"wall_mm": 1.2, "od_mm": 22.0, "radius_mm": 66.0}

        assert heel_wall_mm(**sizes, law=law) < 1.2 < throat_wall_mm(**sizes, law=law)

    def test_with_no_hoop_change_the_metal_of_heel_and_throat_is_kept(self) -> None:
        """Wall times fibre length is the same before and after."""
        sizes: dict[str, Any] = {"wall_mm": 1.2, "od_mm": 22.0, "radius_mm": 66.0}

        assert heel_wall_mm(**sizes) * (66 + 11) == pytest.approx(1.2 * 66, rel=1e-12)
        assert throat_wall_mm(**sizes) * (66 - 11) == pytest.approx(1.2 * 66, rel=1e-12)

    def test_shared_with_the_hoop_the_square_of_the_wall_pays(self) -> None:
        sizes: dict[str, Any] = {"wall_mm": 1.2, "od_mm": 22.0, "radius_mm": 66.0}
        sizes["law"] = ThinningLaw.ISOTROPIC

        assert heel_wall_mm(**sizes) ** 2 * (66 + 11) == pytest.approx(1.44 * 66, rel=1e-12)
        assert throat_wall_mm(**sizes) ** 2 * (66 - 11) == pytest.approx(1.44 * 66, rel=1e-12)

    def test_least_radius_and_strain_are_one_rule(self) -> None:
        radius = least_radius_mm(od_mm=22, elongation_ratio=0.3)

        assert radius / 22 == pytest.approx(1.67, abs=0.005)
        assert fibre_strain_ratio(od_mm=22, radius_mm=radius) == pytest.approx(0.3, rel=1e-12)

    def test_the_volume_is_a_ring_times_a_length(self) -> None:
        ring = math.pi * (11**2 - 10**2)

        assert metal_volume_mm3(length_mm=100, od_mm=22, wall_mm=1) == pytest.approx(100 * ring)


class TestOvality:
    def test_three_definitions_of_one_section(self) -> None:
        sizes = {"largest_mm": 24.0, "smallest_mm": 20.0, "nominal_mm": 22.5}

        values = [ovality_ratio(definition=definition, **sizes) for definition in Ovality]

        assert values == pytest.approx([4 / 22.5, 8 / 44, 2.5 / 22.5], rel=1e-12)

    @pytest.mark.parametrize(
        "slip",
        [{"smallest_mm": 0}, {"nominal_mm": 0}, {"largest_mm": 19}, {"largest_mm": math.inf}],
    )
    def test_a_section_that_cannot_be_is_refused(self, slip: dict[str, float]) -> None:
        sizes = {"largest_mm": 24.0, "smallest_mm": 20.0, "nominal_mm": 22.5}

        with pytest.raises(OutOfRange):
            ovality_ratio(definition=Ovality.OVER_MEAN, **{**sizes, **slip})


class TestRefusals:
    @pytest.mark.parametrize("radius", [11, 0, -66, math.inf, math.nan])
    def test_a_bend_inside_out(self, radius: float) -> None:
        for judge in (fibre_strain_ratio, tube_bundle_wall_factor):
            with pytest.raises(OutOfRange):
                judge(od_mm=22, radius_mm=radius)

    @pytest.mark.parametrize("wall", [0, 11, -1, math.nan])
    def test_a_wall_that_cannot_be(self, wall: float) -> None:
        with pytest.raises(OutOfRange):
            heel_wall_mm(wall_mm=wall, od_mm=22, radius_mm=66)
        with pytest.raises(OutOfRange):
            problems_of_bend(wall_mm=wall, od_mm=22, radius_mm=66)
        with pytest.raises(OutOfRange):
            metal_volume_mm3(length_mm=1, wall_mm=wall, od_mm=22)
        with pytest.raises(OutOfRange):
            barlow_pressure(stress_mpa=50, wall_mm=wall, od_mm=22)
        with pytest.raises(OutOfRange):
            copper_pressure(stress_mpa=50, wall_mm=wall, od_mm=22)
        with pytest.raises(OutOfRange):
            code_pressure(stress_mpa=50, least_wall_mm=wall, most_od_mm=22)
        with pytest.raises(OutOfRange):
            hoop_stress_mpa(pressure_bar=1, wall_mm=wall, od_mm=22, law=HoopLaw.MEAN)

    def test_stress_pressure_length_and_elongation_below_nothing(self) -> None:
        with pytest.raises(OutOfRange):
            barlow_pressure(stress_mpa=0, wall_mm=1, od_mm=22)
        with pytest.raises(OutOfRange):
            copper_pressure(stress_mpa=-1, wall_mm=1, od_mm=22)
        with pytest.raises(OutOfRange):
            code_pressure(stress_mpa=-1, least_wall_mm=1, most_od_mm=22)
        with pytest.raises(OutOfRange):
            hoop_stress_mpa(pressure_bar=-1, wall_mm=1, od_mm=22, law=HoopLaw.MEAN)
        with pytest.raises(OutOfRange):
            metal_volume_mm3(length_mm=-1, wall_mm=1, od_mm=22)
        with pytest.raises(OutOfRange):
            least_radius_mm(od_mm=22, elongation_ratio=0)


class TestAdvice:
    def test_a_size_between_rows_takes_the_larger_one(self) -> None:
        """14 mm lies between 1/2 and 5/8 in: the radius of 5/8."""
        advice = least_radius_advice(od_mm=14, state="copper, annealed")

        assert [advice.od_mm, advice.radius_mm] == pytest.approx([15.875, 57.15])

    def test_a_rule_of_thumb_goes_by_diameters(self) -> None:
        advice = least_radius_advice(od_mm=15, state="half-hard copper, spring")

        assert (advice.radius_mm, "technical guide" in advice.source) == (75, True)

    def test_beyond_the_table_it_is_refused(self) -> None:
        with pytest.raises(OutOfRange):
            least_radius_advice(od_mm=42, state="copper, annealed")

    def test_a_state_no_table_speaks_of_is_refused(self) -> None:
        with pytest.raises(CoreError) as refusal:
            least_radius_advice(od_mm=12, state="cast iron")

        assert refusal.value.kind == "unknown_state"
