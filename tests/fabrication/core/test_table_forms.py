"""One tube told in other ways: mirror, other end, merged, partly bent, as shown."""

import math

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.table_forms import (
    clock_wrap_mm,
    from_far_end,
    merged,
    mirrored,
    part_bent,
    shown_rotation_deg,
    to_nearest,
)
from fabrication.core.tube_path import (
    BendRow,
    BendTable,
    bend_table,
    canonical_nodes,
    nodes_from_table,
    table_from_rows,
)
from fabrication.core.vectors import Vec3
from tests.fabrication.core.pipes import apart_deg, rail, tables


class TestMirror:
    @given(tables(1, 8))
    def test_it_is_what_a_mirror_does_to_the_nodes(self, table: BendTable) -> None:
        in_the_mirror = [Vec3(node.x, -node.y, node.z) for node in nodes_from_table(table)]

        seen = bend_table(nodes_mm=in_the_mirror, radii_mm=[b.radius_mm for b in table.bends])

        partner = mirrored(table)
        for mine, theirs in zip(partner.bends, seen.bends, strict=True):
            assert apart_deg(mine.rotation_deg, theirs.rotation_deg) < 1e-9
            assert mine.angle_deg == pytest.approx(theirs.angle_deg, abs=1e-9)

    @given(tables(1, 8))
    def test_it_negates_every_twist_and_nothing_else(self, table: BendTable) -> None:
        partner = mirrored(table)

        assert partner.straights_mm == table.straights_mm
        assert partner.length_mm == table.length_mm
        for mine, theirs in zip(partner.bends, table.bends, strict=True):
            assert apart_deg(mine.rotation_deg, -theirs.rotation_deg) == 0
            assert (mine.angle_deg, mine.start_mm) == (theirs.angle_deg, theirs.start_mm)

    def test_a_planar_pipe_is_its_own_partner(self) -> None:
        rows = [BendRow(40, 0, 90, 20), BendRow(40, 180, 50, 20), BendRow(40, 0, 30, 20)]
        table = table_from_rows(rows=rows, last_straight_mm=40)

        assert mirrored(table) == table


class TestFromTheFarEnd:
    @given(tables(1, 8))
    @settings(max_examples=200)
    def test_it_is_the_table_of_the_reversed_nodes(self, table: BendTable) -> None:
        nodes = nodes_from_table(table)[::-1]

        seen = bend_table(nodes_mm=nodes, radii_mm=[b.radius_mm for b in table.bends[::-1]])

        back = from_far_end(table)
        assert back.straights_mm == pytest.approx(seen.straights_mm, abs=1e-9)
        for mine, theirs in zip(back.bends, seen.bends, strict=True):
            assert apart_deg(mine.rotation_deg, theirs.rotation_deg) < 1e-9
            assert mine.angle_deg == pytest.approx(theirs.angle_deg, abs=1e-9)
            assert mine.start_mm == pytest.approx(theirs.start_mm, abs=1e-9)

    @given(tables(2, 8))
    def test_lists_are_reversed_and_twists_keep_their_sign(self, table: BendTable) -> None:
        back = from_far_end(table)

        assert back.straights_mm == table.straights_mm[::-1]
        twists = [bend.rotation_deg for bend in table.bends[1:]]
        assert [bend.rotation_deg for bend in back.bends[1:]] == twists[::-1]
        assert back.bends[0].rotation_deg == 0

    @given(tables(1, 8))
    def test_twice_is_where_it_started(self, table: BendTable) -> None:
        again = from_far_end(from_far_end(table))

        assert again.straights_mm == table.straights_mm
        assert [b.rotation_deg for b in again.bends] == [b.rotation_deg for b in table.bends]
        assert [b.node for b in again.bends] == [b.node for b in table.bends]

    @given(tables(2, 8))
    def test_marks_and_clock_positions_stay_on_the_tube(self, table: BendTable) -> None:
        """Turned end for end, a bend's start is where its end was, and the angle round the tube
        between two heels is the same seen from either end, the other way about."""
        back = from_far_end(table)
        last = back.bends[-1].clock_deg

        for mine, theirs in zip(back.bends[::-1], table.bends, strict=True):
            assert mine.end_mm == pytest.approx(table.length_mm - theirs.start_mm, abs=1e-9)
            assert apart_deg(last - mine.clock_deg, theirs.clock_deg) < 1e-9


class TestMerged:
    def test_two_touching_bends_in_one_plane_are_one(self) -> None:
        rows = [BendRow(50, 0, 90, 30), BendRow(0, 0, 120, 30), BendRow(40, 25, 45, 30)]

        table = merged(table_from_rows(rows=rows, last_straight_mm=60))

        assert [*table.straights_mm] == [50, 40, 60]
        assert [bend.angle_deg for bend in table.bends] == [210, 45]
        assert table.bends[0].setback_mm is None
        assert table.problems == ()

    def test_three_may_become_one(self) -> None:
        rows = [BendRow(50, 0, 60, 30), BendRow(0, 0, 60, 30), BendRow(0, 0, 60, 30)]

        assert [
            b.angle_deg for b in merged(table_from_rows(rows=rows, last_straight_mm=9)).bends
        ] == [180]

    @pytest.mark.parametrize(
        "second",
        [
            BendRow(1e-6, 0, 90, 30),
            BendRow(0, 1e-5, 90, 30),
            BendRow(0, 180, 90, 30),
            BendRow(0, 0, 90, 30.001),
            BendRow(0, 0, 270, 30),
        ],
        ids=["a straight", "a twist", "the other way", "another radius", "a full turn"],
    )
    def test_it_keeps_apart_what_differs(self, second: BendRow) -> None:
        table = table_from_rows(rows=[BendRow(50, 0, 90, 30), second], last_straight_mm=60)

        assert len(merged(table).bends) == 2

    def test_it_keeps_the_doubts_about_the_input(self) -> None:
        nodes = [(0, 0, 0), (50, 0, 0), (100, 0, 0), (100, 60, 0), (0, 60, 0)]
        table = bend_table(nodes_mm=nodes, radii_mm=[20, 30, 30], od_mm=31)

        kinds = [problem.kind for problem in merged(table).problems]

        assert kinds == ["collinear_node", "tight_radius", "tight_radius"]

    @given(tables(1, 6))
    def test_it_changes_nothing_where_nothing_touches(self, table: BendTable) -> None:
        assert merged(table) == table


class TestPartBent:
    def test_the_unmade_bends_lie_in_the_straights(self) -> None:
        table = rail()

        half = part_bent(table, made=[1, 3])

        assert half.length_mm == pytest.approx(table.length_mm, abs=1e-9)
        assert half.straights_mm[0] == pytest.approx(table.bends[1].start_mm, abs=1e-9)
        assert [bend.node for bend in half.bends] == [2, 4]
        assert [bend.start_mm for bend in half.bends] == pytest.approx(
            [table.bends[1].start_mm, table.bends[3].start_mm], abs=1e-9
        )
        twist = table.bends[2].rotation_deg + table.bends[3].rotation_deg
        assert apart_deg(half.bends[1].rotation_deg, twist) < 1e-9

    def test_all_bends_made_is_the_pipe(self) -> None:
        whole = part_bent(rail(), made=range(4))

        ends = [nodes_from_table(table)[-1] for table in (whole, rail())]
        assert ends[0].distance_to(ends[1]) < 1e-9

    def test_no_bend_made_is_a_straight_tube(self) -> None:
        assert part_bent(rail(), made=[]).straights_mm == (rail().length_mm,)

    @pytest.mark.parametrize("number", [-1, 4])
    def test_it_refuses_a_bend_that_is_not_there(self, number: int) -> None:
        with pytest.raises(CoreError) as refusal:
            part_bent(rail(), made=[number])

        assert (refusal.value.kind, refusal.value.index) == ("no_such_bend", number)


class TestAsShown:
    @pytest.mark.parametrize(
        ("rotation", "shown"),
        [
            (0.04, 0),
            (-0.04, 0),
            (179.96, 180),
            (-179.96, 180),
            (-90, -90),
            (44.5, 45),
            (-44.5, -45),
            (12.4, 12),
        ],
    )
    def test_twists_in_whole_degrees(self, rotation: float, shown: float) -> None:
        assert shown_rotation_deg(rotation) == shown

    def test_no_minus_before_nothing(self) -> None:
        assert math.copysign(1, shown_rotation_deg(-0.04)) == 1
        assert math.copysign(1, to_nearest(-0.1, step=0.5)) == 1

    @pytest.mark.parametrize(("value", "shown"), [(312.24, 312), (312.25, 312.5), (-0.3, -0.5)])
    def test_marks_in_half_millimetres(self, value: float, shown: float) -> None:
        assert to_nearest(value, step=0.5) == shown

    def test_no_step_is_refused(self) -> None:
        with pytest.raises(OutOfRange):
            to_nearest(1, step=0)

    @given(st.floats(-180, 180), st.floats(3, 60))
    def test_clock_positions_wrap_once_round_the_tube(self, clock: float, od: float) -> None:
        once = clock_wrap_mm(clock_deg=360, od_mm=od)

        assert once == pytest.approx(math.pi * od, rel=1e-12)
        assert clock_wrap_mm(clock_deg=clock, od_mm=od) == pytest.approx(once * clock / 360)


def test_the_canonical_nodes_of_a_mirrored_table_lie_mirrored() -> None:
    ours = nodes_from_table(mirrored(rail()))

    wanted = canonical_nodes([(node.x, node.y, -node.z) for node in nodes_from_table(rail())])
    assert max(a.distance_to(b) for a, b in zip(ours, wanted, strict=True)) < 1e-9
