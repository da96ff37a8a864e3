"""Pipes that run into the bench, the former or themselves, and how the order gets round it."""

import math
from dataclasses import replace
from itertools import product

import pytest
from hypothesis import given

from fabrication.core.bend_clearance import (
    Clash,
    Obstacle,
    Scene,
    Surroundings,
    clashes,
    plan_with_clearance,
)
from fabrication.core.bend_order import Former, Side, plan
from fabrication.core.centre_line import pieces
from fabrication.core.errors import OutOfRange, Severity
from fabrication.core.table_forms import from_far_end, mirrored, part_bent
from fabrication.core.tube_path import BendRow, BendTable, table_from_rows
from fabrication.core.vectors import Vec3
from tests.fabrication.core.pipes import tables

TOOL = Former(radius_mm=40, grip_mm=30, follower_mm=60)
AIR = Surroundings(former_outer_radius_mm=50, former_below_mm=15, former_above_mm=15)


def over_bench(below_mm: float, *, left: bool = True) -> Surroundings:
    return Surroundings(50, 15, 15, bench_below_mm=below_mm, turns_left=left)


def two_bends(twist: float, first: float = 90, between: float = 100) -> BendTable:
    rows = [BendRow(200, 0, first, 40), BendRow(between, twist, 90, 40)]
    return table_from_rows(rows=rows, last_straight_mm=200)


def kinds(found: tuple[Clash, ...]) -> list[tuple[int, Obstacle]]:
    return [(clash.step, clash.obstacle) for clash in found]


def seen_from_the_bend(table: BendTable, bend: int) -> tuple[float, float, float]:
    """Return two lengths and a handed volume that tell a pipe and its mirror image apart: both
    ends as seen from the start of a bend, and the box they span with the way of travel there."""
    line = pieces(table)
    start = line[2 * bend + 1].start
    back, on = line[0].start.at - start.at, line[-1].frame_at(1).at - start.at
    return back.norm(), on.norm(), back.dot(start.ahead.cross(on))


@given(tables(1, 5, straight_mm=(60, 200)))
def test_the_scene_of_a_bend_ends_as_the_pipe_with_that_bend_made(table: BendTable) -> None:
    """Fixed and swung side, in the bender, are the pipe as bent so far, and not its mirror."""
    found = plan(table, Former(radius_mm=40, grip_mm=30, follower_mm=55))
    for (number, planned), hook in product(enumerate(found.steps), Side):
        made = frozenset(found.order[:number])
        step = replace(planned, hook=hook)
        scene = Scene.of(table, made, step, AIR, 12)
        swung = scene.swung(table.bends[step.bend].angle_deg)
        bent = part_bent(table, made=found.order[: number + 1])
        place = sorted(found.order[: number + 1]).index(step.bend)
        if step.hook is Side.FAR:
            bent, place = from_far_end(bent), number - place

        back, on = scene.fixed[-1], swung[-1]
        seen = (back.norm(), on.norm(), back.dot(Vec3(1, 0, 0).cross(on)))

        wanted = seen_from_the_bend(bent, place)
        assert seen[:2] == pytest.approx(wanted[:2], abs=1e-6)
        assert seen[2] == pytest.approx(wanted[2], rel=1e-6, abs=1e-3)


class TestBench:
    """Bend 1 made first, its leg then hangs down while bend 2 is made, or stands up."""

    def test_a_leg_that_hangs_down_meets_the_bench(self) -> None:
        table = two_bends(90)

        found = clashes(table, plan(table, TOOL), over_bench(100), od_mm=12)

        assert kinds(found) == [(1, Obstacle.BENCH)]
        assert found[0].angle_deg == 0
        # The leg ends 200 + 40 below the centre line, half a tube below that, 100 to the bench.
        assert found[0].clearance_mm == pytest.approx(100 - 240 - 6, abs=1e-9)

    def test_a_leg_that_stands_up_does_not(self) -> None:
        table = two_bends(-90)

        assert clashes(table, plan(table, TOOL), over_bench(100), od_mm=12) == ()

    def test_on_a_bender_of_the_other_hand_up_is_down(self) -> None:
        standing, hanging = two_bends(90), two_bends(-90)
        other_hand = over_bench(100, left=False)

        assert clashes(standing, plan(standing, TOOL), other_hand, od_mm=12) == ()
        assert kinds(clashes(hanging, plan(hanging, TOOL), other_hand, od_mm=12)) == [
            (1, Obstacle.BENCH)
        ]

    def test_a_partner_on_the_other_hand_meets_what_the_pipe_met(self) -> None:
        for twist in (70, -70, 120, -20):
            table = two_bends(twist)
            partner = mirrored(table)

            found = clashes(table, plan(table, TOOL), over_bench(60), od_mm=12)
            theirs = clashes(partner, plan(partner, TOOL), over_bench(60, left=False), od_mm=12)

            assert kinds(found) == kinds(theirs)

    def test_over_the_edge_there_is_no_bench(self) -> None:
        table = two_bends(90)

        assert clashes(table, plan(table, TOOL), AIR, od_mm=12) == ()

    @pytest.mark.parametrize(("below", "met"), [(248.1, False), (247.9, True)])
    def test_the_gap_decides(self, below: float, met: bool) -> None:
        table = two_bends(90)

        assert bool(clashes(table, plan(table, TOOL), over_bench(below), od_mm=12)) == met


class TestOrder:
    def test_the_other_order_gets_round_the_bench(self) -> None:
        """Hooked at the other end, or in the other order, the leg stands up instead."""
        table = two_bends(90)
        first = plan(table, TOOL)

        found = plan_with_clearance(table, TOOL, over_bench(100), od_mm=12)

        assert (found.order, found.sides) != (first.order, first.sides)
        assert found.stock_mm == first.stock_mm
        assert found.problems == ()
        assert clashes(table, found, over_bench(100), od_mm=12) == ()

    def test_where_no_order_is_clear_the_best_one_carries_its_warnings(self) -> None:
        """A bench 7 below the centre line leaves a tube of 12 one millimetre, and two are asked."""
        rows = [BendRow(200, 0, 90, 40), BendRow(90, 90, 90, 40), BendRow(90, -90, 90, 40)]
        table = table_from_rows(rows=rows, last_straight_mm=200)
        shallow = over_bench(7)

        found = plan_with_clearance(table, TOOL, shallow, od_mm=12)

        assert found.order == plan(table, TOOL).order
        assert found.problems != ()
        assert {problem.severity for problem in found.problems} == {Severity.CAUTION}
        told = {(problem.kind, problem.index) for problem in found.problems}
        met = clashes(table, found, shallow, od_mm=12)
        assert told == {(f"meets_{clash.obstacle}", found.order[clash.step]) for clash in met}

    def test_a_clear_pipe_keeps_its_plan(self) -> None:
        table = two_bends(-90)

        assert plan_with_clearance(table, TOOL, over_bench(100), od_mm=12) == plan(table, TOOL)


class TestItself:
    """Three bends of 120 in one plane with legs of 200 would cross; the last closes the loop."""

    def loop(self, twist: float) -> BendTable:
        rows = [BendRow(260, 0, 120, 40), BendRow(70, twist, 120, 40), BendRow(70, twist, 120, 40)]
        return table_from_rows(rows=rows, last_straight_mm=260)

    def test_a_flat_loop_meets_itself_while_it_closes(self) -> None:
        table = self.loop(0)

        found = clashes(table, plan(table, TOOL), AIR, od_mm=12)

        met = [clash for clash in found if clash.obstacle is Obstacle.PIPE]
        assert [clash.step for clash in met] == [1, 2]
        assert 60 < met[0].angle_deg < 120
        assert met[0].clearance_mm < 2

    def test_the_first_angle_is_told_to_the_step_of_the_sweep(self) -> None:
        """A thinner tube meets itself later, never earlier."""
        table = self.loop(0)

        def angle(od: float) -> float:
            found = clashes(table, plan(table, TOOL), AIR, od_mm=od)
            return next(clash.angle_deg for clash in found if clash.obstacle is Obstacle.PIPE)

        assert angle(20) <= angle(12) <= angle(4)

    def test_twisted_into_a_helix_it_passes_itself(self) -> None:
        table = self.loop(35)

        found = clashes(table, plan(table, TOOL), AIR, od_mm=12)

        assert [clash for clash in found if clash.obstacle is Obstacle.PIPE] == []


class TestFormer:
    def test_a_bend_close_by_meets_the_former(self) -> None:
        """A reverse bend right before: the leg comes back over the former's body."""
        rows = [BendRow(200, 0, 170, 40), BendRow(31, 0, 90, 40)]
        table = table_from_rows(rows=rows, last_straight_mm=200)
        wide = Surroundings(former_outer_radius_mm=70, former_below_mm=15, former_above_mm=15)

        found = clashes(table, plan(table, TOOL), wide, od_mm=12)

        assert (1, Obstacle.FORMER) in kinds(found)

    def test_above_the_body_it_passes(self) -> None:
        rows = [BendRow(200, 0, 170, 40), BendRow(31, 0, 90, 40)]
        table = table_from_rows(rows=rows, last_straight_mm=200)
        flat = Surroundings(former_outer_radius_mm=70, former_below_mm=15, former_above_mm=-9)

        found = clashes(table, plan(table, TOOL), flat, od_mm=12)

        assert (1, Obstacle.FORMER) not in kinds(found)

    def test_the_straight_in_the_groove_is_no_clash(self) -> None:
        table = table_from_rows(rows=[BendRow(200, 0, 170, 40)], last_straight_mm=200)

        assert clashes(table, plan(table, TOOL), AIR, od_mm=12) == ()


@pytest.mark.parametrize(("twist", "met"), [(90, []), (-90, [(1, Obstacle.BENCH)])])
def test_turned_end_for_end_what_hung_down_stands_up(
    twist: float, met: list[tuple[int, Obstacle]]
) -> None:
    """Bend 2 finds 100 towards bend 1, too little for a hook of 150: it is hooked at the far end,
    and the pipe lies the other way up."""
    tool = Former(radius_mm=40, grip_mm=150, follower_mm=60)
    table = two_bends(twist, between=100)
    bend_1_first = frozenset((0, 1, side) for side in Side)

    found = plan(table, tool, avoid=bend_1_first)

    assert (found.order, found.sides[1]) == ((0, 1), Side.FAR)
    assert kinds(clashes(table, found, over_bench(100), od_mm=12)) == met


@pytest.mark.parametrize(
    "around",
    [
        Surroundings(0, 15, 15),
        Surroundings(50, math.nan, 15),
        Surroundings(50, 15, math.inf),
        Surroundings(50, 15, 15, gap_mm=-1),
        Surroundings(50, 15, 15, bench_below_mm=-1),
    ],
)
def test_surroundings_that_cannot_be_are_refused(around: Surroundings) -> None:
    table = two_bends(0)

    with pytest.raises(OutOfRange):
        clashes(table, plan(table, TOOL), around, od_mm=12)
    with pytest.raises(OutOfRange):
        plan_with_clearance(table, TOOL, around, od_mm=12)


def test_no_tube_is_refused() -> None:
    table = two_bends(0)

    with pytest.raises(OutOfRange):
        clashes(table, plan(table, TOOL), AIR, od_mm=0)
