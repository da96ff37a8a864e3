"""Nodes to table and back: signs, round trips, refusals and edges."""

import math
from dataclasses import astuple
from itertools import pairwise
from typing import Any

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabrication.core.errors import CoreError
from fabrication.core.tube_path import (
    BendRow,
    BendTable,
    bend_table,
    canonical_frame,
    canonical_nodes,
    nodes_from_table,
    table_from_rows,
)
from fabrication.core.vectors import Vec3
from tests.fabrication.core.pipes import (
    NODES_OF_A_RAIL,
    Motion,
    apart_deg,
    rail,
    rigid_motions,
    tables,
)

NEAR_MM = 1e-9
NEAR_DEG = 1e-9


def radii_of(table: BendTable) -> list[float]:
    return [bend.radius_mm for bend in table.bends]


def assert_same(one: BendTable, other: BendTable, near: float = 1e-9) -> None:
    assert one.straights_mm == pytest.approx(other.straights_mm, abs=near)
    assert one.length_mm == pytest.approx(other.length_mm, abs=near)
    assert len(one.bends) == len(other.bends)
    for mine, theirs in zip(one.bends, other.bends, strict=True):
        assert mine.angle_deg == pytest.approx(theirs.angle_deg, abs=near)
        assert apart_deg(mine.rotation_deg, theirs.rotation_deg) < near
        assert apart_deg(mine.clock_deg, theirs.clock_deg) < near
        assert mine.radius_mm == theirs.radius_mm
        assert mine.start_mm == pytest.approx(theirs.start_mm, abs=near)
        assert mine.end_mm == pytest.approx(theirs.end_mm, abs=near)


class TestSigns:
    def test_the_twist_is_positive_when_bend_1_turns_left_and_the_next_leg_rises(self) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, 100)]

        table = bend_table(nodes_mm=nodes, radii_mm=[20, 20])

        assert [bend.rotation_deg for bend in table.bends] == [0, 90]

    def test_a_leg_that_falls_has_a_negative_twist(self) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 100, 0), (100, 100, -100)]

        assert bend_table(nodes_mm=nodes, radii_mm=[20, 20]).bends[1].rotation_deg == -90

    def test_positive_is_clockwise_seen_from_the_datum_end(self) -> None:
        # Looking along +X with Y to the left and Z up, a plane that turned clockwise by 90
        # has its inward side, which was left (+Y), on top (+Z).
        table = table_from_rows(
            rows=[BendRow(50, 0, 1e-4, 20), BendRow(50, 90, 90, 20)], last_straight_mm=100
        )

        assert nodes_from_table(table)[-1].z > 100

    def test_a_planar_pipe_knows_only_the_same_way_and_the_other_way(self) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 100, 0), (0, 100, 0), (0, 300, 0)]

        table = bend_table(nodes_mm=nodes, radii_mm=[20, 20, 20])

        assert [bend.rotation_deg for bend in table.bends] == [0, 0, 180]

    def test_the_clock_adds_up_the_twists(self) -> None:
        rows = [BendRow(50, 0, 30, 20), BendRow(50, 120, 30, 20), BendRow(50, 100, 30, 20)]

        bends = table_from_rows(rows=rows, last_straight_mm=50).bends

        assert [bend.clock_deg for bend in bends] == [0, 120, -140]

    @given(tables(2, 6))
    def test_a_leg_rises_by_the_sine_of_angle_and_twist(self, table: BendTable) -> None:
        """The relation u3.n1 = sin(a2) sin(r), from the definition and not from the code."""
        nodes = nodes_from_table(table)
        second, third = nodes[2] - nodes[1], nodes[3] - nodes[2]
        first_axis = (nodes[1] - nodes[0]).cross(second).unit()
        bend = table.bends[1]

        rise = third.unit().dot(first_axis)

        expected = math.sin(math.radians(bend.angle_deg)) * math.sin(
            math.radians(bend.rotation_deg)
        )
        assert rise == pytest.approx(expected, abs=1e-9)


class TestTable:
    def test_marks_run_along_the_straight_tube(self) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 80, 0), (40, 80, 0)]

        table = bend_table(nodes_mm=nodes, radii_mm=[20, 30])

        arcs = [20 * math.pi / 2, 30 * math.pi / 2]
        first, second = table.bends
        assert table.straights_mm == pytest.approx((80, 30, 30), abs=NEAR_MM)
        assert first.start_mm == pytest.approx(80, abs=NEAR_MM)
        assert first.middle_mm == pytest.approx(80 + arcs[0] / 2, abs=NEAR_MM)
        assert first.end_mm == pytest.approx(80 + arcs[0], abs=NEAR_MM)
        assert second.start_mm == pytest.approx(110 + arcs[0], abs=NEAR_MM)
        assert second.end_mm == pytest.approx(110 + sum(arcs), abs=NEAR_MM)
        assert second.setback_mm == pytest.approx(30, abs=NEAR_MM)
        assert table.length_mm == pytest.approx(140 + sum(arcs), abs=NEAR_MM)

    def test_the_length_is_the_legs_less_the_gains(self) -> None:
        table = rail()
        legs = sum(here.distance_to(there) for here, there in pairwise(NODES_OF_A_RAIL))

        gains = [bend.gain_mm for bend in table.bends]

        assert all(gain is not None and gain > 0 for gain in gains)
        assert table.length_mm == pytest.approx(legs - sum(gain or 0 for gain in gains), abs=1e-9)

    def test_a_straight_tube_has_no_bend(self) -> None:
        table = bend_table(nodes_mm=[(0, 0, 0), (3, 4, 12)], radii_mm=[])

        assert (table.straights_mm, table.bends, table.length_mm) == ((13.0,), (), 13.0)

    def test_nodes_may_be_vectors_or_triples(self) -> None:
        triples = [(node.x, node.y, node.z) for node in NODES_OF_A_RAIL]

        assert bend_table(nodes_mm=triples, radii_mm=[30] * 4, od_mm=12, wall_mm=0.8) == rail()

    def test_without_a_diameter_any_radius_will_do(self) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 100, 0)]

        assert bend_table(nodes_mm=nodes, radii_mm=[0.01]).straights_mm == pytest.approx(
            (99.99, 99.99), abs=NEAR_MM
        )

    def test_the_bend_names_its_corner_point(self) -> None:
        assert [bend.node for bend in rail().bends] == [1, 2, 3, 4]

    @given(tables(1, 8))
    def test_the_tube_is_never_shorter_than_the_line_between_its_ends(
        self, table: BendTable
    ) -> None:
        nodes = nodes_from_table(table)

        assert table.length_mm >= nodes[0].distance_to(nodes[-1]) - 1e-9


class TestRoundTrips:
    @given(tables(1, 10))
    @settings(max_examples=300)
    def test_table_to_nodes_to_table_is_exact(self, table: BendTable) -> None:
        nodes = nodes_from_table(table)

        again = bend_table(nodes_mm=nodes, radii_mm=radii_of(table))

        # A twist is as uncertain as the plane of its shallowest bend: 1e-9 holds from 1 degree.
        assert_same(again, table)

    @given(tables(1, 10), rigid_motions())
    @settings(max_examples=200)
    def test_moving_the_pipe_about_changes_nothing(self, table: BendTable, move: Motion) -> None:
        nodes = [move(node) for node in nodes_from_table(table)]

        assert_same(bend_table(nodes_mm=nodes, radii_mm=radii_of(table)), table, near=1e-8)

    @given(tables(1, 6), rigid_motions())
    def test_canonical_nodes_undo_a_motion(self, table: BendTable, move: Motion) -> None:
        nodes = nodes_from_table(table)

        back = canonical_nodes([move(node) for node in nodes])

        for mine, theirs in zip(back, nodes, strict=True):
            assert mine.distance_to(theirs) < 1e-8

    def test_a_rail_comes_back_in_the_canonical_frame(self) -> None:
        wanted = canonical_nodes(NODES_OF_A_RAIL)

        for mine, theirs in zip(nodes_from_table(rail()), wanted, strict=True):
            assert mine.distance_to(theirs) < NEAR_MM


class TestReturnBends:
    def test_a_row_of_180_has_no_setback_and_no_gain(self) -> None:
        bend = table_from_rows(rows=[BendRow(50, 0, 180, 30)], last_straight_mm=50).bends[0]

        assert (bend.setback_mm, bend.gain_mm) == (None, None)

    def test_a_row_just_under_180_still_has_its_corner(self) -> None:
        bend = table_from_rows(rows=[BendRow(50, 0, 179.9, 30)], last_straight_mm=50).bends[0]

        assert bend.setback_mm == pytest.approx(30 / math.tan(math.radians(0.05)), rel=1e-9)

    def test_a_row_of_180_becomes_two_corner_points(self) -> None:
        table = table_from_rows(rows=[BendRow(50, 0, 180, 30)], last_straight_mm=70)

        nodes = nodes_from_table(table)

        wanted = [Vec3(0, 0, 0), Vec3(80, 0, 0), Vec3(80, 60, 0), Vec3(-20, 60, 0)]
        assert len(nodes) == 4
        assert all(a.distance_to(b) < NEAR_MM for a, b in zip(nodes, wanted, strict=True))

    def test_a_row_of_270_ends_where_a_circle_says(self) -> None:
        table = table_from_rows(rows=[BendRow(50, 0, 270, 30)], last_straight_mm=10)

        end = nodes_from_table(table)[-1]

        # Three quarters round a circle about (50, 30): arrive at (20, 30) going down.
        assert end.distance_to(Vec3(20, 20, 0)) < NEAR_MM

    def test_nothing_turns_a_full_circle(self) -> None:
        with pytest.raises(CoreError) as refusal:
            table_from_rows(rows=[BendRow(50, 0, 360, 30)], last_straight_mm=50)

        assert (refusal.value.kind, refusal.value.index) == ("angle_out_of_range", 1)

    @given(st.floats(175, 179.5))
    def test_near_180_the_round_trip_still_holds(self, angle_deg: float) -> None:
        rows = [BendRow(40, 0, angle_deg, 30), BendRow(60, 35, 60, 30)]
        table = table_from_rows(rows=rows, last_straight_mm=50)

        again = bend_table(nodes_mm=nodes_from_table(table), radii_mm=[30, 30])

        assert_same(again, table)


class TestCollinearNodes:
    def test_a_corner_that_does_not_turn_is_dropped_and_named(self) -> None:
        nodes = [(0, 0, 0), (40, 0, 0), (100, 0, 0), (100, 100, 0)]

        table = bend_table(nodes_mm=nodes, radii_mm=[20, 20])

        assert table.straights_mm == pytest.approx((80, 80), abs=NEAR_MM)
        assert [bend.node for bend in table.bends] == [2]
        assert [(p.kind, p.index) for p in table.problems] == [("collinear_node", 1)]

    def test_the_plane_before_it_carries_on_to_the_next_real_bend(self) -> None:
        with_extra = [(0, 0, 0), (100, 0, 0), (100, 40, 0), (100, 100, 0), (100, 100, 90)]

        table = bend_table(nodes_mm=with_extra, radii_mm=[20, 20, 20])

        assert [bend.rotation_deg for bend in table.bends] == [0, 90]

    def test_all_corners_in_one_line_leave_a_straight_tube(self) -> None:
        table = bend_table(nodes_mm=[(0, 0, 0), (1, 1, 1), (5, 5, 5)], radii_mm=[20])

        assert (table.bends, [p.kind for p in table.problems]) == ((), ["collinear_node"])
        assert table.length_mm == pytest.approx(math.sqrt(75), abs=NEAR_MM)

    @pytest.mark.parametrize(("turn_rad", "bends"), [(0.9e-9, 0), (1.1e-9, 1)])
    def test_the_limit_lies_at_a_billionth_of_a_radian(self, turn_rad: float, bends: int) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (200, 100 * turn_rad, 0)]

        assert len(bend_table(nodes_mm=nodes, radii_mm=[20]).bends) == bends


CORNER = [(0, 0, 0), (100, 0, 0), (100, 100, 0)]
NAN = float("nan")
INF = float("inf")


class TestRefusals:
    @pytest.mark.parametrize(
        ("nodes", "radii", "section", "kind", "index"),
        [
            ([(0, 0, 0), (NAN, 0, 0), (100, 100, 0)], [20], (), "not_finite", 1),
            ([(0, 0, 0), (100, 0, 0), (100, INF, 0)], [20], (), "not_finite", 2),
            (CORNER, [NAN], (), "not_finite", 1),
            (CORNER, [20], (NAN,), "not_finite", None),
            (CORNER, [20], (22, INF), "not_finite", None),
            ([(-1e308, -1e308, 0), (1e308, 1e308, 0)], [], (), "not_finite", 1),
            ([], [], (), "too_few_nodes", None),
            ([(0, 0, 0)], [], (), "too_few_nodes", None),
            (CORNER, [], (), "clr_count", None),
            (CORNER, [20, 20], (), "clr_count", None),
            (CORNER, [20], (0,), "bad_section", None),
            (CORNER, [20], (-22,), "bad_section", None),
            (CORNER, [20], (22, 0), "bad_section", None),
            (CORNER, [20], (None, 1), "bad_section", None),
            (CORNER, [20], (22, 11), "wall_too_thick", None),
            (CORNER, [11], (22, 1), "clr_too_small", 1),
            (CORNER, [0], (), "clr_too_small", 1),
            (CORNER, [-5], (), "clr_too_small", 1),
            ([(0, 0, 0), (100, 0, 0), (100, 0, 0)], [20], (), "coincident_nodes", 2),
            ([(0, 0, 0), (0, 0, 9e-8), (100, 0, 0)], [20], (), "coincident_nodes", 1),
            ([(0, 0, 0), (100, 0, 0), (0, 0, 0)], [20], (), "fold_back", 1),
            ([(0, 0, 0), (19, 0, 0), (19, 100, 0)], [20], (), "straight_negative", 0),
            ([(0, 0, 0), (100, 0, 0), (100, 19, 0)], [20], (), "straight_negative", 1),
        ],
    )
    def test_it_refuses(
        self,
        nodes: list[tuple[float, float, float]],
        radii: list[float],
        section: tuple[float | None, ...],
        kind: str,
        index: int | None,
    ) -> None:
        sizes = dict(zip(("od_mm", "wall_mm"), section, strict=False))

        with pytest.raises(CoreError) as refusal:
            bend_table(nodes_mm=nodes, radii_mm=radii, **sizes)

        assert (refusal.value.kind, refusal.value.index) == (kind, index)

    def test_points_a_ten_thousandth_of_a_micron_apart_are_two_points(self) -> None:
        assert bend_table(nodes_mm=[(0, 0, 0), (1e-7, 0, 0)], radii_mm=[]).length_mm == 1e-7

    def test_a_wrong_number_of_radii_says_how_many_are_needed(self) -> None:
        with pytest.raises(CoreError) as refusal:
            bend_table(nodes_mm=NODES_OF_A_RAIL, radii_mm=[30, 30])

        assert refusal.value.message == "4 corner points need 4 radii; 2 are given."

    def test_refusals_come_in_their_order(self) -> None:
        """Each step cures the first complaint and must then meet the next one."""
        bad: dict[str, Any] = {
            "nodes_mm": [(NAN, 0, 0)],
            "radii_mm": [5.0],
            "od_mm": -12.0,
            "wall_mm": 9.0,
        }
        folded = [(0, 0, 0), (0, 0, 0), (10, 0, 0), (1, 0, 0), (1, 5, 0)]
        cures: list[tuple[str, dict[str, Any]]] = [
            ("not_finite", {"nodes_mm": [(0, 0, 0)]}),
            ("too_few_nodes", {"nodes_mm": folded}),
            ("clr_count", {"radii_mm": [5.0, 5.0, 5.0]}),
            ("bad_section", {"od_mm": 12.0}),
            ("wall_too_thick", {"wall_mm": 1.0}),
            ("clr_too_small", {"radii_mm": [20.0, 20.0, 20.0]}),
            ("coincident_nodes", {"nodes_mm": [(-9, 0, 0), *folded[1:]]}),
            ("fold_back", {"nodes_mm": [(-9, 0, 0), (0, 0, 0), (10, 0, 0), (10, 5, 0), (1, 5, 0)]}),
        ]
        met = []

        for _, cure in cures:
            with pytest.raises(CoreError) as refusal:
                bend_table(**bad)
            met.append(refusal.value.kind)
            bad.update(cure)
        with pytest.raises(CoreError) as refusal:
            bend_table(**bad)

        assert [*met, refusal.value.kind] == [*(kind for kind, _ in cures), "straight_negative"]

    def test_a_short_straight_says_by_how_much_and_what_cures_it(self) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 30, 0), (0, 30, 0)]

        with pytest.raises(CoreError) as refusal:
            bend_table(nodes_mm=nodes, radii_mm=[20, 20])

        assert refusal.value.message == (
            "Straight 2 is 10.0 mm too short for the bends beside it. Move corner points 2 and 3 "
            "apart by 10.0 mm, or use a former of at most 75 % of the radius, or bend less there."
        )
        shrunk = bend_table(nodes_mm=nodes, radii_mm=[15, 15])
        assert shrunk.straights_mm[1] == pytest.approx(0, abs=NEAR_MM)

    def test_a_dropped_corner_does_not_shift_the_straight_that_is_named(self) -> None:
        nodes = [(0, 0, 0), (40, 0, 0), (100, 0, 0), (100, 30, 0), (0, 30, 0)]

        with pytest.raises(CoreError) as refusal:
            bend_table(nodes_mm=nodes, radii_mm=[20, 20, 20])

        assert (refusal.value.kind, refusal.value.index) == ("straight_negative", 2)

    @pytest.mark.parametrize(("short_mm", "refused"), [(0.5e-7, False), (2e-7, True)])
    def test_a_straight_may_miss_nothing_by_a_hair(self, short_mm: float, refused: bool) -> None:
        nodes = [(0, 0, 0), (100, 0, 0), (100, 40 - short_mm, 0), (0, 40 - short_mm, 0)]

        def judge() -> str:
            try:
                return bend_table(nodes_mm=nodes, radii_mm=[20, 20]).problems[0].kind
            except CoreError as refusal:
                return refusal.kind

        assert judge() == ("straight_negative" if refused else "no_straight_between")

    @pytest.mark.parametrize(
        ("row", "last", "sizes", "kind", "index"),
        [
            (BendRow(NAN, 0, 90, 20), 10, {}, "not_finite", 1),
            (BendRow(10, 0, 90, INF), 10, {}, "not_finite", 1),
            (BendRow(10, 0, 90, 20), NAN, {}, "not_finite", 1),
            (BendRow(10, 0, 90, 20), 10, {"od_mm": 22, "wall_mm": 11}, "wall_too_thick", None),
            (BendRow(10, 0, 90, 20), 10, {"od_mm": -1}, "bad_section", None),
            (BendRow(10, 0, 90, 11), 10, {"od_mm": 22}, "clr_too_small", 1),
            (BendRow(10, 0, 0, 20), 10, {}, "angle_out_of_range", 1),
            (BendRow(10, 0, -90, 20), 10, {}, "angle_out_of_range", 1),
            (BendRow(10, 5, 90, 20), 10, {}, "first_rotation", 1),
            (BendRow(-1, 0, 90, 20), 10, {}, "straight_negative", 0),
            (BendRow(10, 0, 90, 20), -1, {}, "straight_negative", 1),
        ],
    )
    def test_a_typed_row_is_refused(
        self, row: BendRow, last: float, sizes: dict[str, float], kind: str, index: int | None
    ) -> None:
        with pytest.raises(CoreError) as refusal:
            table_from_rows(rows=[row], last_straight_mm=last, **sizes)

        assert (refusal.value.kind, refusal.value.index) == (kind, index)


class TestCanonicalFrame:
    def test_a_straight_tube_has_a_frame_too(self) -> None:
        frame = canonical_frame([(1, 2, 3), (1, 2, 8), (1, 2, 9)])

        assert frame.ahead == Vec3(0, 0, 1)
        assert frame.inward.dot(frame.ahead) == 0
        assert frame.ahead.cross(frame.inward) == frame.axis

    def test_two_points_have_a_frame_and_no_corner(self) -> None:
        assert canonical_nodes([(5, 5, 5), (5, 5, 2)])[1].distance_to(Vec3(3, 0, 0)) < NEAR_MM

    def test_one_point_has_none(self) -> None:
        with pytest.raises(CoreError) as refusal:
            canonical_nodes([(0, 0, 0)])

        assert refusal.value.kind == "too_few_nodes"

    def test_a_collinear_corner_does_not_set_the_plane(self) -> None:
        nodes = [(0, 0, 0), (50, 0, 0), (100, 0, 0), (100, 0, 70)]

        assert canonical_nodes(nodes)[-1].distance_to(Vec3(100, 70, 0)) < NEAR_MM


def test_results_cannot_be_changed_by_whoever_reads_them() -> None:
    table = rail()

    with pytest.raises(AttributeError):
        table.bends[0].angle_deg = 5  # type: ignore[misc]
    assert astuple(table.bends[0])[0] == 1
