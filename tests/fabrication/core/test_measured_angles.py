"""Angles and twists by gauges, rules and heights, undone from pipes whose twist is known."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.measured_angles import (
    GaugeAt,
    ThirdLeg,
    axes_from_words,
    centre_height_mm,
    deflection_from_included_deg,
    deflection_from_marks_deg,
    deflection_from_produced_leg_deg,
    twist_from_heights,
    twist_from_slope,
)
from fabrication.core.tube_path import BendRow, nodes_from_table, table_from_rows
from fabrication.core.vectors import Vec3
from tests.fabrication.core.pipes import apart_deg


def three_legs(
    first: float, second: float, twist: float, legs: tuple[float, float, float] = (100, 150, 120)
) -> tuple[Vec3, ...]:
    """Return the nodes of three legs; the first two lie flat, bend 1 turns left, up is +z."""
    setbacks = [10 * math.tan(math.radians(angle / 2)) for angle in (first, second)]
    rows = [
        BendRow(legs[0] - setbacks[0], 0, first, 10),
        BendRow(legs[1] - sum(setbacks), twist, second, 10),
    ]
    return nodes_from_table(table_from_rows(rows=rows, last_straight_mm=legs[2] - setbacks[1]))


class TestBendAngles:
    def test_a_bevel_gauge_reads_the_inside_angle(self) -> None:
        assert deflection_from_included_deg(included_deg=120) == 60

    @pytest.mark.parametrize("included", [0, 180, -10, 200])
    def test_an_inside_angle_beyond_a_half_turn_is_refused(self, included: float) -> None:
        with pytest.raises(OutOfRange):
            deflection_from_included_deg(included_deg=included)

    @given(st.floats(1, 170))
    def test_two_marks_and_a_rule(self, angle: float) -> None:
        """The gap is measured between points put 100 mm up each leg of a bend so turned."""
        up_one, up_other = (
            Vec3(-100, 0, 0),
            Vec3(100 * math.cos(math.radians(angle)), 100 * math.sin(math.radians(angle)), 0),
        )

        found = deflection_from_marks_deg(gap_mm=up_one.distance_to(up_other))

        assert found == pytest.approx(angle, abs=1e-6)

    @given(st.floats(0.5, 60))
    def test_a_leg_produced_and_a_rule(self, angle: float) -> None:
        produced, leg = (
            Vec3(80, 0, 0),
            Vec3(80 * math.cos(math.radians(angle)), 80 * math.sin(math.radians(angle)), 0),
        )

        found = deflection_from_produced_leg_deg(gap_mm=produced.distance_to(leg), arm_mm=80)

        assert found == pytest.approx(angle, abs=1e-6)

    def test_half_a_millimetre_is_0_4_degrees_at_90(self) -> None:
        gap = math.sqrt(2) * 100

        assert deflection_from_marks_deg(gap_mm=gap - 0.5) - 90 == pytest.approx(0.4, abs=0.01)

    @pytest.mark.parametrize(("gap", "arm"), [(0, 100), (200, 100), (-1, 100), (10, 0)])
    def test_a_gap_that_no_bend_has_is_refused(self, gap: float, arm: float) -> None:
        for measure in (deflection_from_marks_deg, deflection_from_produced_leg_deg):
            with pytest.raises(OutOfRange):
                measure(gap_mm=gap, arm_mm=arm)


class TestTwistFromSlope:
    @given(st.floats(20, 160), st.floats(20, 160), st.floats(-179, 179))
    def test_the_gauge_on_the_third_leg(self, first: float, second: float, twist: float) -> None:
        nodes = three_legs(first, second, twist)
        third = (nodes[3] - nodes[2]).unit()
        slope = math.degrees(math.atan2(third.z, math.hypot(third.x, third.y)))
        side = ThirdLeg.SAME_SIDE if abs(twist) < 90 else ThirdLeg.OTHER_SIDE
        if 80 < abs(twist) < 100:
            return  # badly conditioned, and said to be so: see below

        read = twist_from_slope(slope_deg=slope, angle_deg=second, third_leg=side)

        assert apart_deg(read.rotation_deg, twist) < 1e-6

    def test_a_flat_third_leg_is_no_twist_or_the_other_way(self) -> None:
        same, other = (
            twist_from_slope(slope_deg=0, angle_deg=60, third_leg=side).rotation_deg
            for side in (ThirdLeg.SAME_SIDE, ThirdLeg.OTHER_SIDE)
        )

        assert (same, other) == (0, 180)

    def test_only_at_90_the_slope_is_the_twist(self) -> None:
        at_90 = twist_from_slope(slope_deg=-25, angle_deg=90, third_leg=ThirdLeg.SAME_SIDE)
        at_60 = twist_from_slope(slope_deg=-25, angle_deg=60, third_leg=ThirdLeg.SAME_SIDE)

        assert at_90.rotation_deg == pytest.approx(-25, abs=1e-9)
        assert at_60.rotation_deg == pytest.approx(-29.21, abs=0.01)

    @pytest.mark.parametrize(("slope", "angle"), [(45, 60), (58, 60), (-20, 140)])
    def test_the_sensitivity_is_what_one_more_degree_does(self, slope: float, angle: float) -> None:
        def read(degrees: float) -> float:
            return twist_from_slope(
                slope_deg=degrees, angle_deg=angle, third_leg=ThirdLeg.SAME_SIDE
            ).rotation_deg

        told = twist_from_slope(
            slope_deg=slope, angle_deg=angle, third_leg=ThirdLeg.SAME_SIDE
        ).sensitivity_ratio

        assert told == pytest.approx((read(slope + 1e-4) - read(slope - 1e-4)) / 2e-4, rel=1e-5)

    @pytest.mark.parametrize(("slope", "doubts"), [(40, []), (58, ["slope_says_little"])])
    def test_near_its_steepest_it_says_little(self, slope: float, doubts: list[str]) -> None:
        read = twist_from_slope(slope_deg=slope, angle_deg=60, third_leg=ThirdLeg.SAME_SIDE)

        assert [problem.kind for problem in read.problems] == doubts

    @pytest.mark.parametrize(("slope", "angle"), [(60, 60), (-60, 120)])
    def test_the_steepest_leg_is_a_quarter_twist(self, slope: float, angle: float) -> None:
        read = twist_from_slope(slope_deg=slope, angle_deg=angle, third_leg=ThirdLeg.SAME_SIDE)

        assert read.rotation_deg == pytest.approx(math.copysign(90, slope), abs=1e-5)

    @pytest.mark.parametrize(("slope", "angle"), [(61, 60), (-61, 120), (math.nan, 60), (10, 180)])
    def test_a_leg_steeper_than_its_bend_is_refused(self, slope: float, angle: float) -> None:
        with pytest.raises(OutOfRange):
            twist_from_slope(slope_deg=slope, angle_deg=angle, third_leg=ThirdLeg.SAME_SIDE)


LEGS = {"leg_before_mm": 100.0, "leg_between_mm": 150.0, "leg_after_mm": 120.0}


class TestTwistFromHeights:
    @given(st.floats(20, 160), st.floats(20, 160), st.floats(-180, 180))
    def test_height_and_distance_give_the_twist_without_asking(
        self, first: float, second: float, twist: float
    ) -> None:
        nodes = three_legs(first, second, twist)
        across = nodes[0].distance_to(nodes[3])

        read = twist_from_heights(
            **LEGS,
            angle_before_deg=first,
            angle_after_deg=second,
            height_mm=nodes[3].z,
            across_mm=across,
        )

        assert apart_deg(read.rotation_deg, twist) < 1e-5
        assert read.misfit_mm == pytest.approx(0, abs=1e-6)
        assert read.problems == ()

    def test_the_signed_height_is_that_of_the_convention(self) -> None:
        nodes = three_legs(90, 90, 30)

        assert nodes[3].z == pytest.approx(60, abs=1e-9)
        assert nodes[0].distance_to(nodes[3]) == pytest.approx(161.603, abs=5e-4)

    def test_a_wrong_distance_shows_as_a_misfit(self) -> None:
        read = twist_from_heights(
            **LEGS, angle_before_deg=90, angle_after_deg=90, height_mm=60, across_mm=175
        )

        assert read.misfit_mm is not None
        assert abs(read.misfit_mm) > 2
        assert [problem.kind for problem in read.problems] == ["does_not_close"]

    def test_the_misfit_is_the_distance_of_the_twist_told_less_the_one_measured(self) -> None:
        read = twist_from_heights(
            **LEGS, angle_before_deg=70, angle_after_deg=80, height_mm=50, across_mm=180
        )

        nodes = three_legs(70, 80, read.rotation_deg)
        assert read.misfit_mm == pytest.approx(nodes[0].distance_to(nodes[3]) - 180, abs=1e-6)

    def test_half_a_tube_too_little_makes_36_7_of_30(self) -> None:
        """OD 22, leg 120, bend 70: a gauge on top reads half a diameter more than the rise over
        the plate's own tubes and half again; taking off only one half is the common slip."""
        nodes = three_legs(90, 70, 30)
        across = nodes[0].distance_to(nodes[3])
        on_top = nodes[3].z + 22

        def twist(height: float) -> float:
            return twist_from_heights(
                **LEGS,
                angle_before_deg=90,
                angle_after_deg=70,
                height_mm=height,
                across_mm=across,
            ).rotation_deg

        right = centre_height_mm(reading_mm=on_top, gauge_at=GaugeAt.TOP, od_mm=22)
        assert twist(right) == pytest.approx(30, abs=1e-6)
        sine = (on_top - 11) / (120 * math.sin(math.radians(70)))
        assert math.degrees(math.asin(sine)) == pytest.approx(36.7, abs=0.05)

    @pytest.mark.parametrize(
        "slip",
        [
            {"leg_after_mm": 0},
            {"angle_before_deg": 180},
            {"across_mm": -1},
            {"height_mm": math.inf},
        ],
    )
    def test_it_refuses(self, slip: dict[str, float]) -> None:
        sizes = {
            **LEGS,
            "angle_before_deg": 90.0,
            "angle_after_deg": 90.0,
            "height_mm": 60.0,
            "across_mm": 150.0,
        }

        with pytest.raises(OutOfRange):
            twist_from_heights(**{**sizes, **slip})


class TestCentreHeight:
    @pytest.mark.parametrize(
        ("reading", "gauge", "height"),
        [
            (82, GaugeAt.TOP, 60),
            (60, GaugeAt.UNDER, 60),
            (22, GaugeAt.TOP, 0),
            (0, GaugeAt.UNDER, 0),
        ],
    )
    def test_over_centres(self, reading: float, gauge: GaugeAt, height: float) -> None:
        assert centre_height_mm(reading_mm=reading, gauge_at=gauge, od_mm=22) == height

    @pytest.mark.parametrize(("reading", "gauge"), [(21, GaugeAt.TOP), (-1, GaugeAt.UNDER)])
    def test_a_tube_inside_the_plate_is_refused(self, reading: float, gauge: GaugeAt) -> None:
        with pytest.raises(OutOfRange):
            centre_height_mm(reading_mm=reading, gauge_at=gauge, od_mm=22)


class TestAxes:
    def test_iso_8855_and_sae_j670_are_right_handed(self) -> None:
        """ISO 8855: x forward, y left, z up. SAE J670: x forward, y right, z down."""
        iso = axes_from_words(x="forward", y="left", z="up")
        sae = axes_from_words(x="forward", y="right", z="down")

        assert iso == (Vec3(1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, 1))
        assert sae == (Vec3(1, 0, 0), Vec3(0, -1, 0), Vec3(0, 0, -1))

    @pytest.mark.parametrize(
        ("axes", "kind"),
        [
            (("rear", "left", "up"), "left_handed_axes"),
            (("forward", "right", "up"), "left_handed_axes"),
            (("forward", "rear", "up"), "axes_repeat"),
            (("forward", "forward", "up"), "axes_repeat"),
            (("forward", "port", "up"), "unknown_direction"),
        ],
    )
    def test_a_set_that_would_mirror_the_pipe_is_refused(
        self, axes: tuple[str, str, str], kind: str
    ) -> None:
        with pytest.raises(CoreError) as refusal:
            axes_from_words(x=axes[0], y=axes[1], z=axes[2])

        assert refusal.value.kind == kind

    def test_half_of_all_sets_are_right_handed(self) -> None:
        words = ("forward", "rear", "left", "right", "up", "down")
        good = 0
        for x in words:
            for y in words:
                for z in words:
                    try:
                        axes_from_words(x=x, y=y, z=z)
                    except CoreError:
                        continue
                    good += 1

        assert good == 24
