"""The order of bending against trying every order there is."""

import math
import subprocess
import sys
from itertools import pairwise, permutations, product
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabrication.core import bend_order
from fabrication.core.bend_order import (
    BendPlan,
    Former,
    Side,
    TubeEnd,
    plan,
    short_straights,
)
from fabrication.core.errors import Infeasible, OutOfRange, Severity
from fabrication.core.tube_path import BendRow, BendTable, table_from_rows

RADIUS = 180 / math.pi  # one degree is one millimetre of arc


def pipe(straights: list[float], arcs: list[float]) -> BendTable:
    rows = [
        BendRow(straight, 17.0 * number, arc, RADIUS)
        for number, (straight, arc) in enumerate(zip(straights, arcs, strict=False))
    ]
    return table_from_rows(rows=rows, last_straight_mm=straights[-1])


def bender(grip: float, follower: float, offset: float = 0.0) -> Former:
    return Former(radius_mm=RADIUS, grip_mm=grip, follower_mm=follower, start_offset_mm=offset)


def spare_of(
    table: BendTable, former: Former, order: tuple[int, ...], sides: tuple[Side, ...]
) -> tuple[float, float] | None:
    """Bend in thought, in one order from given sides, by the rules of the bench and no others.

    The tube is a row of millimetres; made bends are stretches nothing can hold.
    """
    made: list[tuple[float, float]] = []
    spare_datum = spare_far = 0.0
    for bend, side in zip(order, sides, strict=True):
        start, end = table.bends[bend].start_mm, table.bends[bend].end_mm
        before = [stop for _, stop in made if stop <= start]
        after = [begin for begin, _ in made if begin >= end]
        before_needs, after_needs = former.grip_mm, former.follower_mm
        if side is Side.FAR:
            before_needs, after_needs = after_needs, before_needs
        if before and start - max(before) < before_needs - 1e-9:
            return None
        if after and min(after) - end < after_needs - 1e-9:
            return None
        if not before:
            spare_datum = max(spare_datum, before_needs - start)
        if not after:
            spare_far = max(spare_far, after_needs - (table.length_mm - end))
        made.append((start, end))
    return spare_datum, spare_far


def best_of_all(table: BendTable, former: Former) -> tuple[float, int] | None:
    """Return the least spare and, with it, the fewest turns, over all orders and all sides."""
    count = len(table.bends)
    found = []
    for order in permutations(range(count)):
        for sides in product(Side, repeat=count):
            spare = spare_of(table, former, order, sides)
            if spare is not None:
                turns = sum(a is not b for a, b in pairwise(sides))
                found.append((round(sum(spare), 6), turns))
    return min(found, default=None)


lengths = st.integers(0, 24).map(lambda number: number * 5.0)
needs = st.integers(0, 16).map(lambda number: number * 5.0)


@given(st.data())
@settings(max_examples=250)
def test_no_order_beats_the_plan(data: st.DataObject) -> None:
    count = data.draw(st.integers(1, 4))
    table = pipe(
        [data.draw(lengths) for _ in range(count + 1)],
        [data.draw(st.sampled_from([10.0, 40.0, 90.0])) for _ in range(count)],
    )
    former = bender(data.draw(needs), data.draw(needs))
    wanted = best_of_all(table, former)

    try:
        found: BendPlan | None = plan(table, former)
    except Infeasible as refusal:
        assert refusal.kind == "short_straight"
        found = None

    if wanted is None:
        assert found is None
        return
    assert found is not None
    assert sorted(found.order) == list(range(count))
    walked = spare_of(table, former, found.order, found.sides)
    assert walked is not None
    assert walked == pytest.approx((found.spare_datum_mm, found.spare_far_mm), abs=1e-9)
    assert (round(sum(walked), 6), found.turns) == wanted


@given(st.data())
@settings(max_examples=150)
def test_an_order_exists_just_when_every_inner_straight_takes_the_shorter_of_hook_and_roller(
    data: st.DataObject,
) -> None:
    count = data.draw(st.integers(2, 4))
    table = pipe([data.draw(lengths) for _ in range(count + 1)], [30.0] * count)
    former = bender(data.draw(needs), data.draw(needs))

    least = min(former.grip_mm, former.follower_mm)
    expected = all(straight >= least for straight in table.straights_mm[1:-1])

    assert (best_of_all(table, former) is not None) == expected
    assert (short_straights(table, former) == ()) == expected


def test_five_bends_against_every_order() -> None:
    table = pipe([12, 47, 93, 51, 66, 8], [35, 60, 20, 80, 45])
    former = bender(40, 85)

    found = plan(table, former)

    spare = round(found.spare_datum_mm + found.spare_far_mm, 6)
    assert (spare, found.turns) == best_of_all(table, former)


class TestWorkedExample:
    """Straights 10/45/90/45/10, arcs 60, hook 40, roller 80, by hand.

    Outer bends first: bend 1 needs 30 more at its end and finds 45 + 60 + 90 ... on the other
    side; likewise bend 4. The inner two then find 45 and 90. Working along from one end instead,
    the last bend needs its roller over an end of 10: 70 more, and the first its hook: 30.
    """

    table = pipe([10, 45, 90, 45, 10], [60] * 4)
    former = bender(40, 80)

    def test_finishing_in_the_middle_needs_60(self) -> None:
        found = plan(self.table, self.former)

        assert (found.spare_datum_mm, found.spare_far_mm) == pytest.approx((30, 30), abs=1e-9)

    def test_working_along_would_need_100(self) -> None:
        spare = spare_of(self.table, self.former, (0, 1, 2, 3), (Side.DATUM,) * 4)

        assert spare == pytest.approx((30, 70), abs=1e-9)

    def test_the_order_can_be_walked(self) -> None:
        found = plan(self.table, self.former)

        assert found.order[-1] in (1, 2)
        assert found.stock_mm == pytest.approx(self.table.length_mm + 60, abs=1e-9)


class TestMarks:
    """A start offset that is not nothing, from both sides: the signs differ."""

    table = pipe([100, 100, 100], [60, 60])

    def step(self, hook: Side) -> tuple[float, Side]:
        """One bend whose hook, of 100, finds room at one end only; the roller needs 20."""
        one = pipe([100, 20], [60]) if hook is Side.DATUM else pipe([20, 100], [60])
        step = plan(one, bender(100, 20, offset=7)).steps[0]
        return step.mark_mm, step.hook

    def test_hooked_at_the_datum_side_the_mark_is_before_the_start(self) -> None:
        mark, hook = self.step(Side.DATUM)

        assert (hook, mark) == (Side.DATUM, 100 - 7)

    def test_hooked_at_the_far_side_the_mark_is_beyond_the_end(self) -> None:
        mark, hook = self.step(Side.FAR)

        assert (hook, mark) == (Side.FAR, 20 + 60 + 7)

    def test_a_far_hooked_bend_is_the_near_hooked_bend_of_the_pipe_turned_round(self) -> None:
        """The mark, measured from the other end of the same tube, is the same mark."""
        near, _ = self.step(Side.DATUM)
        far, _ = self.step(Side.FAR)

        assert 180 - far == pytest.approx(near, abs=1e-9)

    def test_marks_run_from_the_raw_end(self) -> None:
        end = TubeEnd(trim_mm=2.0, bead_allowance_mm=1.5)

        found = plan(self.table, bender(110, 20, 7), datum_end=end, far_end=end)

        first = next(step for step in found.steps if step.bend == 0)
        offset = -7 if first.hook is Side.DATUM else 60 + 7
        assert first.mark_mm == pytest.approx(found.spare_datum_mm + 3.5 + 100 + offset, abs=1e-9)
        spare = found.spare_datum_mm + found.spare_far_mm
        assert found.stock_mm == pytest.approx(420 + spare + 7, abs=1e-9)

    def test_clock_positions_are_those_of_the_table(self) -> None:
        found = plan(self.table, bender(40, 40))

        clocks = {step.bend: (step.clock_deg, step.angle_deg) for step in found.steps}
        assert clocks == {i: (b.clock_deg, b.angle_deg) for i, b in enumerate(self.table.bends)}

    def test_a_turn_end_for_end_is_told_where_it_happens(self) -> None:
        found = plan(pipe([10, 45, 90, 45, 10], [60] * 4), bender(40, 80))

        told = [step.turned_end_for_end for step in found.steps]
        changes = [a is not b for a, b in pairwise(found.sides)]
        assert told == [False, *changes]
        assert found.turns == sum(changes) == 1


class TestFinishedEnds:
    def test_a_bead_made_first_takes_room_and_takes_no_spare(self) -> None:
        table = pipe([60, 60, 60], [60, 60])
        beaded = TubeEnd(occupied_mm=15)

        found = plan(table, bender(40, 70), datum_end=beaded)

        # 45 mm are left to hold at end A: the hook goes there, the roller never can.
        assert found.spare_datum_mm == 0
        assert next(step for step in found.steps if step.bend == 0).hook is Side.DATUM

    def test_a_bead_that_leaves_too_little_is_refused_and_named(self) -> None:
        table = pipe([60, 60, 60], [60, 60])

        with pytest.raises(Infeasible) as refusal:
            plan(table, bender(50, 70), datum_end=TubeEnd(occupied_mm=15))

        assert refusal.value.kind == "no_order"
        assert [(p.kind, p.index) for p in refusal.value.problems] == [("no_room", 0)]
        assert "5.0 mm" in refusal.value.message
        assert "end A" in refusal.value.message

    def test_the_same_at_the_far_end(self) -> None:
        table = pipe([60, 60, 60], [60, 60])

        with pytest.raises(Infeasible) as refusal:
            plan(table, bender(70, 50), far_end=TubeEnd(occupied_mm=15))

        assert [(p.kind, p.index) for p in refusal.value.problems] == [("no_room", 1)]
        assert "end B" in refusal.value.message


class TestRefusals:
    def test_every_short_straight_is_named_with_its_shortfall(self) -> None:
        table = pipe([10, 30, 90, 38, 10], [60] * 4)

        with pytest.raises(Infeasible) as refusal:
            plan(table, bender(40, 80))

        assert refusal.value.kind == "short_straight"
        assert refusal.value.index == 1
        assert [(p.index, p.severity) for p in refusal.value.problems] == [
            (1, Severity.BLOCKER),
            (3, Severity.BLOCKER),
        ]
        assert "10.0 mm too short" in refusal.value.problems[0].message
        assert "2.0 mm too short" in refusal.value.problems[1].message

    @pytest.mark.parametrize(("straight", "fits"), [(40 - 5e-8, True), (40 - 2e-7, False)])
    def test_a_straight_that_misses_by_a_hair_fits(self, straight: float, fits: bool) -> None:
        assert (short_straights(pipe([90, straight, 90], [60, 60]), bender(40, 80)) == ()) == fits

    def test_moves_to_avoid_are_avoided(self) -> None:
        table = pipe([90, 90, 90], [60, 60])
        former = bender(40, 60)
        free = plan(table, former)

        other = plan(table, former, avoid=frozenset({(0, free.order[0], side) for side in Side}))

        assert other.order == free.order[::-1]

    def test_an_order_with_everything_in_the_way_is_refused(self) -> None:
        every = frozenset((0, bend, side) for bend in (0, 1) for side in Side)

        with pytest.raises(Infeasible) as refusal:
            plan(pipe([90, 90, 90], [60, 60]), bender(40, 60), avoid=every)

        assert refusal.value.kind == "no_order"
        assert [(p.kind, p.index) for p in refusal.value.problems] == [
            ("in_the_way", 0),
            ("in_the_way", 1),
        ]

    def test_what_is_left_over_is_named_after_what_could_be_made(self) -> None:
        """Bend 1 can be made, bend 2 not after it and not before it."""
        avoid = frozenset((made, 1, side) for made in (0, 1) for side in Side)

        with pytest.raises(Infeasible) as refusal:
            plan(pipe([90, 90, 90], [60, 60]), bender(40, 60), avoid=avoid)

        assert [problem.index for problem in refusal.value.problems] == [1]

    def test_a_bend_stopped_by_moves_with_room_on_both_sides_is_said_to_be_in_the_way(self) -> None:
        """Just enough straight tube is enough: it is not the room that is wanting."""
        every = frozenset((0, 0, side) for side in Side)

        with pytest.raises(Infeasible) as refusal:
            plan(pipe([40, 40], [60]), bender(40, 40), avoid=every)

        assert [problem.kind for problem in refusal.value.problems] == ["in_the_way"]

    @pytest.mark.parametrize(
        "former",
        [bender(-1, 40), bender(40, -1), Former(0, 40, 40), Former(50, 40, 40, math.nan)],
    )
    def test_a_former_that_cannot_be_is_refused(self, former: Former) -> None:
        with pytest.raises(OutOfRange):
            plan(pipe([90, 90], [60]), former)

    @pytest.mark.parametrize(
        "end", [TubeEnd(trim_mm=-1), TubeEnd(bead_allowance_mm=-1), TubeEnd(occupied_mm=-1)]
    )
    def test_an_end_that_cannot_be_is_refused(self, end: TubeEnd) -> None:
        with pytest.raises(OutOfRange):
            plan(pipe([90, 90], [60]), bender(40, 40), datum_end=end)
        with pytest.raises(OutOfRange):
            plan(pipe([90, 90], [60]), bender(40, 40), far_end=end)


class TestCautions:
    @pytest.mark.parametrize(("off", "doubts"), [(0.5, []), (0.51, [("other_radius", 0)])])
    def test_a_bend_of_another_radius_is_said(
        self, off: float, doubts: list[tuple[str, int]]
    ) -> None:
        table = table_from_rows(rows=[BendRow(90, 0, 60, 30 + off)], last_straight_mm=90)

        found = plan(table, Former(30, 40, 40))

        assert [(problem.kind, problem.index) for problem in found.problems] == doubts

    def test_a_straight_tube_needs_no_order(self) -> None:
        found = plan(table_from_rows(rows=[], last_straight_mm=90), bender(40, 80))

        assert (found.steps, found.stock_mm, found.turns) == ((), 90, 0)


ROOT = Path(__file__).parents[3]

TIMED = """
import time
from fabrication.core.bend_order import Former, plan
from fabrication.core.tube_path import BendRow, table_from_rows
rows = [
    BendRow(41 + 8 * (i * 7 % 10) if i else 12, 17 * i, 20 + 11 * (i * 3 % 10), 57.3)
    for i in range(10)
]
table = table_from_rows(rows=rows, last_straight_mm=9)
times = []
for _ in range(5):
    begun = time.process_time()
    plan(table, Former(radius_mm=57.3, grip_mm=40, follower_mm=80))
    times.append(time.process_time() - begun)
print(min(times))
"""


class TestManyBends:
    def test_ten_bends_take_less_than_a_fifth_of_a_second(self) -> None:
        """Processor time, the best of five, in an interpreter that nothing else is watching."""
        found = subprocess.run(
            [sys.executable, "-c", TIMED], capture_output=True, text=True, check=True, cwd=ROOT
        )

        assert float(found.stdout) <= 0.2

    @pytest.mark.parametrize("count", [13, 18])
    def test_beyond_twelve_an_order_is_found_and_the_doubt_is_told(self, count: int) -> None:
        straights = [10.0, *(41 + 9.0 * (i * 5 % 11) for i in range(count - 1)), 10.0]
        table = pipe(straights, [60.0] * count)

        found = plan(table, bender(40, 80))

        assert sorted(found.order) == list(range(count))
        walked = spare_of(table, bender(40, 80), found.order, found.sides)
        assert walked == pytest.approx((found.spare_datum_mm, found.spare_far_mm), abs=1e-9)
        assert [problem.kind for problem in found.problems] == ["not_every_order_tried"]
        along = spare_of(table, bender(40, 80), tuple(range(count)), (Side.DATUM,) * count)
        assert along is not None
        assert sum(walked or ()) <= sum(along)

    def test_twelve_are_all_tried(self) -> None:
        """The least spare of a long pipe with room between its bends is that of its two ends."""
        table = pipe([10.0, *[90.0] * 11, 10.0], [60.0] * 12)

        found = plan(table, bender(40, 80))

        assert found.problems == ()
        assert (found.spare_datum_mm, found.spare_far_mm) == pytest.approx((30, 30), abs=1e-9)

    @pytest.mark.parametrize("tail", [(90.0, 10.0), (10.0, 90.0)])
    def test_with_nothing_else_followed_working_along_still_arrives(
        self, tail: tuple[float, float], monkeypatch: pytest.MonkeyPatch
    ) -> None:
        """Where no promising set at all is kept, the two ways along the pipe are."""
        monkeypatch.setattr(bend_order, "KEPT_SETS", 0)
        count = 16
        table = pipe([tail[0], *[50.0] * (count - 1), tail[1]], [60.0] * count)

        found = plan(table, bender(50, 80))

        # Begun at the short end the first bend lacks 40 for its hook; ended there, 70.
        assert found.spare_datum_mm + found.spare_far_mm == pytest.approx(40, abs=1e-9)
        assert found.order in (tuple(range(count)), tuple(range(count))[::-1])
