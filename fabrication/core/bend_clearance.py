"""Whether the pipe, as bent so far, gets in the way of its own next bend.

The bender stands still in its own frame: the tube lies along +x, the arc starts at the origin
and curls towards +y, the former's axis is upright through the centre of the arc. The hooked
side stays where it is; the other side is drawn in by the arc and swung round the axis.
The pipe is a row of capsules on chords that follow its centre line to half a millimetre.

A real pipe gives a little, and a bender can hang over the edge of the bench: what is found here
is a warning with an angle and an obstacle, not a refusal.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace
from enum import StrEnum
from itertools import pairwise

from .bend_order import RAW_END, BendPlan, BendStep, Former, Move, Side, TubeEnd, plan
from .centre_line import polyline
from .chords import Chord, ball_round, from_distance, least_between_mm
from .errors import (
    Infeasible,
    Problem,
    caution,
    require_finite,
    require_not_negative,
    require_positive,
)
from .table_forms import from_far_end
from .tube_table import BendRow, BendTable, assemble
from .vectors import CANONICAL, Frame, Vec3

SWEEP_STEP_DEG = 2.0
SAGITTA_MM = 0.5
MOST_ROUNDS = 12


class Obstacle(StrEnum):
    """What a pipe can run into."""

    BENCH = "bench"
    FORMER = "former"
    PIPE = "pipe"


@dataclass(frozen=True, slots=True)
class Surroundings:
    """What stands around the tube in the bender. All lengths from the tube's centre line. [mm]

    `bench_below_mm` is None where the bender hangs over the edge. `turns_left` tells the way
    the tube is pulled, seen from above, the hook behind.
    """

    former_outer_radius_mm: float
    former_below_mm: float
    former_above_mm: float
    bench_below_mm: float | None = None
    gap_mm: float = 2.0
    turns_left: bool = True


@dataclass(frozen=True, slots=True)
class Clash:
    """The first angle in a step of the plan at which something comes nearer than the gap."""

    step: int
    obstacle: Obstacle
    angle_deg: float
    clearance_mm: float


def clashes(
    table: BendTable,
    bend_plan: BendPlan,
    surroundings: Surroundings,
    *,
    od_mm: float,
) -> tuple[Clash, ...]:
    """Where the pipe runs into the bench, the former or itself while it is bent to a plan.

    Parameters
    ----------
    table : BendTable
        The table the plan was made for. [mm, deg]
    bend_plan : BendPlan
        Order and sides.
    surroundings : Surroundings
        What stands around it. [mm]
    od_mm : float
        Outside diameter of the tube, above zero. [mm]

    Returns
    -------
    tuple of Clash
        At most one for each step and obstacle, `step` counting from zero. [deg, mm]

    Raises
    ------
    OutOfRange
        If a length of the surroundings is negative or the diameter not above zero.

    Source
    ------
    Derived: distances between capsules, a cylinder and a plane, at least every 2 degrees
    wherever anything is near.

    Examples
    --------
    >>> from .tube_path import table_from_rows
    >>> rows = [BendRow(200, 0, 90, 40), BendRow(100, 90, 90, 40)]
    >>> table = table_from_rows(rows=rows, last_straight_mm=200)
    >>> tool = Former(radius_mm=40, grip_mm=30, follower_mm=60)
    >>> bench = Surroundings(60, 20, 20, bench_below_mm=90)
    >>> found = clashes(table, plan(table, tool), bench, od_mm=12)
    >>> [(clash.step, str(clash.obstacle)) for clash in found]
    [(1, 'bench')]
    """
    _refuse_bad_surroundings(surroundings, od_mm)
    found: list[Clash] = []
    for number, step in enumerate(bend_plan.steps):
        made = frozenset(bend_plan.order[:number])
        scene = Scene.of(table, made, step, surroundings, od_mm)
        found += [Clash(number, *first) for first in scene.first_clashes()]
    return tuple(found)


def plan_with_clearance(
    table: BendTable,
    former: Former,
    surroundings: Surroundings,
    *,
    od_mm: float,
    datum_end: TubeEnd = RAW_END,
    far_end: TubeEnd = RAW_END,
) -> BendPlan:
    """Best order in which nothing is in the way; else the best order, with its warnings.

    Parameters
    ----------
    table : BendTable
        As it is bent: merge touching bends first. [mm, deg]
    former : Former
        The bender. [mm]
    surroundings : Surroundings
        What stands around it. [mm]
    od_mm : float
        Outside diameter of the tube, above zero. [mm]
    datum_end, far_end : TubeEnd, optional
        Allowances and finished ends. [mm]

    Returns
    -------
    BendPlan
        Moves that clash are struck out one by one and the rest planned again, twelve times at
        most. [mm, deg]

    Raises
    ------
    OutOfRange
        As `plan` and `clashes`.
    Infeasible
        As `plan`, if there is no order even with everything out of the way.

    Source
    ------
    Derived; see `plan` and `clashes`.

    Examples
    --------
    >>> from .tube_path import table_from_rows
    >>> table = table_from_rows(rows=[BendRow(200, 0, 90, 40)], last_straight_mm=200)
    >>> tool = Former(radius_mm=40, grip_mm=30, follower_mm=60)
    >>> plan_with_clearance(table, tool, Surroundings(60, 20, 20), od_mm=12).problems
    ()
    """
    _refuse_bad_surroundings(surroundings, od_mm)
    first = best = plan(table, former, datum_end=datum_end, far_end=far_end)
    judged: dict[Move, bool] = {}
    for _ in range(MOST_ROUNDS):
        moves = [_move(best, number) for number in range(len(best.steps))]
        for move, step in zip(moves, best.steps, strict=True):
            if move not in judged:
                scene = Scene.of(table, _bends_in(move[0]), step, surroundings, od_mm)
                judged[move] = any(scene.first_clashes())
        avoid = frozenset(move for move, in_the_way in judged.items() if in_the_way)
        if avoid.isdisjoint(moves):
            return best
        try:
            best = plan(table, former, datum_end=datum_end, far_end=far_end, avoid=avoid)
        except Infeasible:
            break
    found = clashes(table, first, surroundings, od_mm=od_mm)
    return replace(first, problems=(*first.problems, *(_warning(first, clash) for clash in found)))


def _refuse_bad_surroundings(surroundings: Surroundings, od_mm: float) -> None:
    require_positive(od_mm=od_mm, former_outer_radius_mm=surroundings.former_outer_radius_mm)
    require_finite(
        former_below_mm=surroundings.former_below_mm, former_above_mm=surroundings.former_above_mm
    )
    require_not_negative(gap_mm=surroundings.gap_mm)
    if surroundings.bench_below_mm is not None:
        require_not_negative(bench_below_mm=surroundings.bench_below_mm)


def _move(bend_plan: BendPlan, step: int) -> Move:
    made = sum(1 << before.bend for before in bend_plan.steps[:step])
    return made, bend_plan.steps[step].bend, bend_plan.steps[step].hook


def _bends_in(made: int) -> frozenset[int]:
    return frozenset(bend for bend in range(made.bit_length()) if made >> bend & 1)


def _warning(bend_plan: BendPlan, clash: Clash) -> Problem:
    bend = bend_plan.steps[clash.step].bend
    what = {
        Obstacle.BENCH: "the pipe meets the bench",
        Obstacle.FORMER: "the pipe meets the former",
        Obstacle.PIPE: "the pipe meets itself",
    }[clash.obstacle]
    message = f"At {clash.angle_deg:.0f} degrees of bend {bend + 1} {what}."
    return caution(f"meets_{clash.obstacle}", message, bend)


_BACKWARD = Frame(Vec3(0, 0, 0), Vec3(-1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, -1))


@dataclass(frozen=True, slots=True)
class Scene:
    """One bend about to be made: the two sides of the pipe in the bender's frame.

    `fixed` runs from the start of the arc back to the hooked end, `moving` on to the other end
    with the bend still straight. Both are as a left-hand bender sees them from above; on one of
    the other hand the pipe lies the other way up.
    """

    fixed: tuple[Vec3, ...]
    moving: tuple[Vec3, ...]
    angle_deg: float
    radius_mm: float
    around: Surroundings
    tube_radius_mm: float

    @classmethod
    def of(
        cls,
        table: BendTable,
        made: frozenset[int],
        step: BendStep,
        around: Surroundings,
        od_mm: float,
    ) -> "Scene":
        """Return the scene of a step, with the bends made before it. [mm]"""
        bend = step.bend
        if step.hook is Side.FAR:
            last = len(table.bends) - 1
            table, bend = from_far_end(table), last - bend
            made = frozenset(last - number for number in made)
        return cls(
            _behind(table, made, bend),
            _beyond(table, made, bend),
            table.bends[bend].angle_deg,
            table.bends[bend].radius_mm,
            around,
            od_mm / 2,
        )

    def first_clashes(self) -> Iterator[tuple[Obstacle, float, float]]:
        """Yield each obstacle that comes too near, with the angle and the clearance there."""
        bench = self.above_bench_mm()
        if bench is not None and bench < self.around.gap_mm:
            yield Obstacle.BENCH, 0.0, bench
        for obstacle, measure in (
            (Obstacle.FORMER, self.from_former_mm),
            (Obstacle.PIPE, self.apart_mm),
        ):
            first = self.first_below_gap(measure)
            if first is not None:
                yield obstacle, *first

    def first_below_gap(
        self, measure: Callable[[Sequence[Vec3]], float]
    ) -> tuple[float, float] | None:
        """Return the first angle at which a clearance is less than the gap, and the clearance.

        No point of the swung side moves faster than its distance from the axis plus the radius
        for each radian, so while the clearance is large the sweep may take longer steps.
        """
        angle_deg = 0.0
        while True:
            swung = self.swung(angle_deg)
            clearance_mm = measure(swung)
            if clearance_mm < self.around.gap_mm:
                return angle_deg, clearance_mm
            if angle_deg >= self.angle_deg or clearance_mm == math.inf:
                return None
            centre = Vec3(0, self.radius_mm, 0)
            speed_mm = self.radius_mm + max(point.distance_to(centre) for point in swung)
            free_deg = math.degrees((clearance_mm - self.around.gap_mm) / speed_mm)
            angle_deg = min(self.angle_deg, angle_deg + max(SWEEP_STEP_DEG, free_deg))

    def above_bench_mm(self) -> float | None:
        """Return the least height over the bench; the swing is level and does not change it."""
        if self.around.bench_below_mm is None:
            return None
        up = 1 if self.around.turns_left else -1
        lowest_mm = min(up * point.z for point in (*self.fixed, *self.moving))
        return lowest_mm + self.around.bench_below_mm - self.tube_radius_mm

    def swung(self, angle_deg: float) -> tuple[Vec3, ...]:
        """Return the moving side after so much of the bend: drawn in by the arc, then turned."""
        arc_mm = self.radius_mm * math.radians(angle_deg)
        frame = CANONICAL.along_bend(angle_deg, self.radius_mm)
        points = (Vec3(arc_mm, 0, 0), *self.moving[1:])
        return tuple(
            frame.at
            + frame.ahead * (point.x - arc_mm)
            + frame.inward * point.y
            + frame.axis * point.z
            for point in points
        )

    def from_former_mm(self, swung: Sequence[Vec3]) -> float:
        """Return the least clearance to the former's body.

        The straight on either side runs out of the open groove and meets nothing.
        """
        chords = [*pairwise(self.fixed[1:]), *pairwise(swung[1:])]
        nearest_mm = math.inf
        for chord in chords:
            middle, half_mm = ball_round(chord)
            # The former is no nearer to a chord than to its middle, less half its length.
            if self.point_from_former_mm(middle) - half_mm < nearest_mm:
                nearest_mm = min(nearest_mm, self.chord_from_former_mm(chord))
        return nearest_mm - self.tube_radius_mm

    def chord_from_former_mm(self, chord: Chord) -> float:
        """Return the distance of a chord from the former, by thirds: it is convex along it."""
        low, high = 0.0, 1.0
        start, along = chord[0], chord[1] - chord[0]
        for _ in range(24):
            third = (high - low) / 3
            left, right = start + along * (low + third), start + along * (high - third)
            if self.point_from_former_mm(left) < self.point_from_former_mm(right):
                high -= third
            else:
                low += third
        return self.point_from_former_mm(start + along * ((low + high) / 2))

    def point_from_former_mm(self, point: Vec3) -> float:
        up_mm = point.z if self.around.turns_left else -point.z
        reach_mm = math.hypot(point.x, point.y - self.radius_mm)
        outside_mm = max(0.0, reach_mm - self.around.former_outer_radius_mm)
        over_mm = max(0.0, up_mm - self.around.former_above_mm)
        under_mm = max(0.0, -self.around.former_below_mm - up_mm)
        return math.hypot(outside_mm, over_mm + under_mm)

    def apart_mm(self, swung: Sequence[Vec3]) -> float:
        """Return the least clearance between the two sides, neighbours along the tube left out."""
        near_mm = math.pi * self.radius_mm
        far_fixed, far_swung = from_distance(self.fixed, near_mm), from_distance(swung, near_mm)
        nearest_mm = min(
            least_between_mm(far_fixed, swung), least_between_mm(self.fixed, far_swung)
        )
        return nearest_mm - 2 * self.tube_radius_mm


def _behind(table: BendTable, made: frozenset[int], bend: int) -> tuple[Vec3, ...]:
    """Return the hooked side from the start of a bend back to its end of the pipe."""
    here = table.bends[bend]
    rows, reached_mm, clock_deg = [], here.start_mm, here.clock_deg
    for number in sorted((i for i in made if i < bend), reverse=True):
        other = table.bends[number]
        # Read backwards, a twist keeps its sign: later clock position less earlier one.
        twist_deg = clock_deg - other.clock_deg
        rows.append(BendRow(reached_mm - other.end_mm, twist_deg, other.angle_deg, other.radius_mm))
        reached_mm, clock_deg = other.start_mm, other.clock_deg
    side = assemble(rows=rows, last_straight_mm=reached_mm)
    return polyline(side, sagitta_mm=SAGITTA_MM, start=_BACKWARD)


def _beyond(table: BendTable, made: frozenset[int], bend: int) -> tuple[Vec3, ...]:
    """Return the side still to be swung, from the start of a bend on, the bend still straight."""
    here = table.bends[bend]
    rows, reached_mm, clock_deg = [], here.start_mm, here.clock_deg
    for number in sorted(i for i in made if i > bend):
        other = table.bends[number]
        twist_deg = other.clock_deg - clock_deg
        rows.append(
            BendRow(other.start_mm - reached_mm, twist_deg, other.angle_deg, other.radius_mm)
        )
        reached_mm, clock_deg = other.end_mm, other.clock_deg
    side = assemble(rows=rows, last_straight_mm=table.length_mm - reached_mm)
    return polyline(side, sagitta_mm=SAGITTA_MM)
