"""The made pipe laid over the wanted one, and what differs."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.as_made import Hold, compare, corner_between, stations
from fabrication.core.errors import CoreError
from fabrication.core.table_forms import from_far_end, mirrored, part_bent
from fabrication.core.tube_path import (
    BendRow,
    BendTable,
    bend_table,
    nodes_from_table,
    table_from_rows,
)
from fabrication.core.vectors import Vec3
from tests.fabrication.core.pipes import (
    Motion,
    apart_deg,
    changed,
    rail,
    rigid_motions,
    tables,
)


class TestDifferences:
    def test_they_are_made_less_wanted_bend_by_bend(self) -> None:
        made = changed(rail(), angles={1: -2, 3: 0.5}, twists={2: 3}, straights={0: 4, 2: -1})

        found = compare(made, rail())

        assert [bend.angle_deg for bend in found.bends] == pytest.approx([0, -2, 0, 0.5], abs=1e-9)
        assert [bend.rotation_deg for bend in found.bends] == pytest.approx([0, 0, 3, 0], abs=1e-9)
        assert found.straights_mm == pytest.approx((4, 0, -1, 0, 0), abs=1e-9)

    def test_twists_are_compared_on_the_circle(self) -> None:
        rows = [BendRow(50, 0, 60, 20), BendRow(50, 179, 60, 20)]
        wanted = table_from_rows(rows=rows, last_straight_mm=50)

        found = compare(changed(wanted, twists={1: 3}), wanted)

        assert found.bends[1].rotation_deg == pytest.approx(3, abs=1e-9)

    @given(tables(1, 6), rigid_motions())
    def test_measured_nodes_of_the_same_pipe_show_no_difference(
        self, wanted: BendTable, move: Motion
    ) -> None:
        nodes = [move(node) for node in nodes_from_table(wanted)]
        made = bend_table(nodes_mm=nodes, radii_mm=[bend.radius_mm for bend in wanted.bends])

        for hold in Hold:
            found = compare(made, wanted, hold=hold)
            assert found.worst_mm < 1e-6
            assert max(abs(bend.angle_deg) for bend in found.bends) < 1e-7
            assert max(found.datum_direction_deg, found.far_direction_deg) < 1e-6

    def test_another_number_of_bends_is_refused(self) -> None:
        with pytest.raises(CoreError) as refusal:
            compare(part_bent(rail(), made=[0, 1]), rail())

        assert refusal.value.kind == "bend_count"

    def test_a_half_made_pipe_is_compared_with_the_half_made_pipe(self) -> None:
        half = changed(part_bent(rail(), made=[1, 3]), angles={1: -1})

        found = compare(half, rail(), bends_made=[1, 3])

        assert [bend.angle_deg for bend in found.bends] == pytest.approx([0, -1], abs=1e-9)
        assert found.straights_mm == pytest.approx((0, 0, 0), abs=1e-9)

    @pytest.mark.parametrize(
        ("straights", "doubts"),
        [
            ({0: -0.5}, []),
            ({0: -0.6}, [("end_short", 0)]),
            ({4: -2}, [("end_short", 4)]),
            ({2: -2, 0: 3}, []),
        ],
    )
    def test_a_short_end_is_said(
        self, straights: dict[int, float], doubts: list[tuple[str, int]]
    ) -> None:
        found = compare(changed(rail(), straights=straights), rail())

        assert [(problem.kind, problem.index) for problem in found.problems] == doubts


class TestDeviations:
    def test_held_at_the_datum_end_the_far_end_swings(self) -> None:
        """One bend of 90, two short: everything beyond turns by 2 degrees about the bend."""
        wanted = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=400)

        found = compare(changed(wanted, angles={0: -2}), wanted, hold=Hold.DATUM_END)

        assert found.stations[0].distance_mm == 0
        assert found.datum_direction_deg == 0
        assert found.far_direction_deg == pytest.approx(2, abs=1e-9)
        # 400 at 2 degrees is 13.96; the arc of 30 adds a little.
        assert found.stations[-1].distance_mm == pytest.approx(400 * math.radians(2), abs=0.6)
        assert found.worst_mm == found.stations[-1].distance_mm

    def test_held_at_the_far_end_it_is_the_pipe_read_backwards(self) -> None:
        made = changed(rail(), angles={1: -2}, twists={2: 1})

        found = compare(made, rail(), hold=Hold.FAR_END)

        back = compare(from_far_end(made), from_far_end(rail()), hold=Hold.DATUM_END)
        assert [s.distance_mm for s in found.stations[::-1]] == pytest.approx(
            [s.distance_mm for s in back.stations], abs=1e-9
        )
        assert found.datum_direction_deg == pytest.approx(back.far_direction_deg, abs=1e-9)

    def test_shared_out_it_hides_most_of_what_an_end_shows(self) -> None:
        made = changed(rail(), angles={1: -2})

        held = compare(made, rail(), hold=Hold.DATUM_END)
        shared = compare(made, rail(), hold=Hold.SHARED)

        assert shared.rms_mm < held.rms_mm / 2
        assert shared.rms_mm == pytest.approx(
            math.sqrt(sum(s.distance_mm**2 for s in shared.stations) / 6), rel=1e-12
        )

    def test_a_mirror_image_stays_visibly_wrong(self) -> None:
        for hold in Hold:
            assert compare(mirrored(rail()), rail(), hold=hold).worst_mm > 30

    @given(tables(3, 6, angle_deg=(30, 150), straight_mm=(60, 300)))
    def test_the_fit_never_mirrors(self, wanted: BendTable) -> None:
        """Only a flat pipe is its own mirror image; any other shows a difference."""
        found = compare(mirrored(wanted), wanted)

        nodes = nodes_from_table(wanted)
        plane = (nodes[1] - nodes[0]).cross(nodes[2] - nodes[1]).unit()
        out_of_plane = max(abs(plane.dot(node - nodes[0])) for node in nodes)
        assert (found.worst_mm > 1e-4) or out_of_plane < 1

    @pytest.mark.parametrize(
        ("angle", "twist", "straight", "clock", "along"),
        [
            # Walking along the first straight with bend 1 to the left, its heel is on the right:
            # that is clock 0. Clockwise from there, a quarter on is down and half round is left.
            (-0.01, 0, 0, 0, 0),
            (0.01, 0, 0, 180, 0),
            (0, 0.01, 0, 90, 0),
            (0, -0.01, 0, -90, 0),
            (0, 0, 2, None, -2),
            (0, 0, -2, None, 2),
        ],
        ids=["opened", "closed", "twisted", "twisted back", "long", "short"],
    )
    def test_clock_directions_count_from_the_heel_of_bend_1(
        self, angle: float, twist: float, straight: float, clock: float | None, along: float
    ) -> None:
        """Held at end B, so that end A shows what happened at bend 1 and in the twist after it.

        Opened, the first straight swings out towards the heel. Bend 2 turned clockwise against
        bend 1 is bend 1 turned anticlockwise against bend 2: seen along the second straight the
        first, which comes from the left, goes down.
        """
        rows = [BendRow(200, 0, 90, 30), BendRow(100, 90, 90, 30)]
        wanted = table_from_rows(rows=rows, last_straight_mm=100)
        made = changed(wanted, angles={0: angle}, twists={1: twist}, straights={0: straight})

        found = compare(made, wanted, hold=Hold.FAR_END).stations[0]

        assert found.along_mm == pytest.approx(along, abs=0.01)
        assert found.distance_mm == pytest.approx(math.hypot(found.along_mm, found.across_mm))
        if clock is None:
            assert found.across_mm < 1e-9
        else:
            assert apart_deg(found.clock_deg, clock) < 0.5
            # Bending draws the tangent point along; twisting turns all 200 + 30 about the next leg.
            reach = 200 if angle else 230
            assert found.across_mm == pytest.approx(reach * math.radians(0.01), rel=1e-3)

    def test_the_clock_at_the_far_end_is_read_on_the_line_scribed_along_the_tube(self) -> None:
        """Bend 2 is twisted by 90, so its heel lies at clock 90. Closing it moves the far end
        towards its inside: clock -90."""
        rows = [BendRow(100, 0, 90, 30), BendRow(100, 90, 60, 30)]
        wanted = table_from_rows(rows=rows, last_straight_mm=200)

        found = compare(changed(wanted, angles={1: 0.01}), wanted, hold=Hold.DATUM_END)

        assert apart_deg(found.stations[-1].clock_deg, -90) < 0.5


class TestStations:
    @pytest.mark.parametrize(("angle", "corner"), [(170, True), (170.1, False), (180, False)])
    def test_a_far_corner_is_replaced_by_the_middle_of_the_arc(
        self, angle: float, corner: bool
    ) -> None:
        table = table_from_rows(rows=[BendRow(100, 0, angle, 30)], last_straight_mm=100)

        point = stations(table, table)[1]

        node = nodes_from_table(table)[1]
        middle = Vec3(
            100 + 30 * math.sin(math.radians(angle / 2)),
            30 - 30 * math.cos(math.radians(angle / 2)),
            0,
        )
        assert point.distance_to(node if corner else middle) < 1e-9

    def test_both_pipes_are_told_by_the_same_sort_of_point(self) -> None:
        wanted = table_from_rows(rows=[BendRow(100, 0, 180, 30)], last_straight_mm=100)

        found = compare(changed(wanted, angles={0: -12}), wanted, hold=Hold.DATUM_END)

        # A setback of 285 would show here if the corner of one were held against an arc.
        assert found.stations[1].distance_mm < 5


class TestMeasuredCorners:
    @given(
        st.floats(5, 175), st.floats(0, 4), st.floats(20, 200), st.floats(20, 200), rigid_motions()
    )
    def test_two_lines_that_miss_each_other_share_the_difference(
        self, angle: float, gap: float, one: float, other: float, move: Motion
    ) -> None:
        away = Vec3(math.cos(math.radians(angle)), math.sin(math.radians(angle)), 0)
        up, down = Vec3(0, 0, gap / 2), Vec3(0, 0, -gap / 2)

        found = corner_between(
            first_mm=[move(Vec3(-one, 0, 0) + up), move(Vec3(-5, 0, 0) + up)],
            second_mm=[move(away * 7 + down), move(away * (7 + other) + down)],
        )

        assert found.point.distance_to(move(Vec3(0, 0, 0))) < 1e-6
        assert found.gap_mm == pytest.approx(gap, abs=1e-6)

    @pytest.mark.parametrize(
        ("first", "second", "kind"),
        [
            ([(0, 0, 0)], [(0, 0, 0), (1, 0, 0)], "two_points"),
            ([(0, 0, 0), (1, 0, 0)], [(0, 0, 0), (1, 0, 0), (2, 0, 0)], "two_points"),
            ([(0, 0, 0), (0, 0, 0)], [(0, 0, 0), (1, 0, 0)], "no_direction"),
            ([(0, 0, 0), (1, 0, 0)], [(0, 5, 0), (-3, 5, 0)], "parallel_legs"),
        ],
    )
    def test_it_refuses(
        self,
        first: list[tuple[float, float, float]],
        second: list[tuple[float, float, float]],
        kind: str,
    ) -> None:
        with pytest.raises(CoreError) as refusal:
            corner_between(first_mm=first, second_mm=second)

        assert refusal.value.kind == kind
