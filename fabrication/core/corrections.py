"""What can still be done to a pipe that came out wrong, and when to make it again.

A made bend can be closed and never opened; a straight cannot grow; an end can only be cut; a
twist can be changed a little where the tube is soft and the user says so. Within these bounds
the corrections are the least-squares ones, so they may well close one bend for another's sake.
They never tell anybody to open one.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from .as_made import Comparison, Hold, compare, laid_over, stations
from .bender import Side
from .errors import CoreError, Problem, blocker, require_not_negative, require_positive
from .linear import Matrix, solved
from .tube_table import BendRow, BendTable, assemble, rows_of

MOST_CLOSING_DEG = 30.0
WORTH_DOING_DEG = 0.05
STRAIGHT_DIFFERENCE_MM = 0.5
"""House defaults: a bend off by more than 30 degrees is no correction, one off by less than 0.05
cannot be set, and a straight off by less than half a millimetre is no reason to start again."""


class Closing(StrEnum):
    """How a made bend is closed further."""

    ON_FORMER = "on_former"
    OVER_KNEE = "over_knee"


class Verdict(StrEnum):
    """What to do with the pipe."""

    GOOD = "good"
    CORRECT = "correct"
    REMAKE = "remake"


@dataclass(frozen=True, slots=True)
class Corrections:
    """By how much to close and to twist each bend, and what the pipe is then like. [deg]

    `over_deg` names the bends that turn further than wanted, as (bend counted from zero, deg).
    """

    close_deg: tuple[float, ...]
    twist_deg: tuple[float, ...]
    now: Comparison
    then: Comparison
    verdict: Verdict
    over_deg: tuple[tuple[int, float], ...]
    problems: tuple[Problem, ...]


def corrections(
    made: BendTable,
    wanted: BendTable,
    *,
    closing: Closing = Closing.ON_FORMER,
    hold: Hold = Hold.SHARED,
    tolerance_mm: float = 2.0,
    twist_limit_deg: float = 0.0,
    hooks: Sequence[Side] | None = None,
    gauge_deg: float = WORTH_DOING_DEG,
) -> Corrections:
    """Best corrections within what metal allows, or the advice to make the pipe again.

    Parameters
    ----------
    made, wanted : BendTable
        With as many bends. [mm, deg]
    closing : Closing, optional
        On the former the arc grows at its radius and the straight on the roller's side gets
        shorter; over the knee the arc keeps its length and its radius gets smaller.
    hold : Hold, optional
        How the made pipe is laid over the wanted one.
    tolerance_mm : float, optional
        Largest deviation of any station that will do, above zero. [mm]
    twist_limit_deg : float, optional
        How far a twist may be forced either way; 0 for not at all. [deg]
    hooks : sequence of Side, optional
        Hooked end for each bend on the former, the datum end if left out.
    gauge_deg : float, optional
        Changes smaller than this are left out, unless the pipe will do only with them. [deg]

    Returns
    -------
    Corrections
        Never a negative closing. Ends that are too long are taken as cut to length. [deg]

    Raises
    ------
    OutOfRange
        If the tolerance is not above zero or the limit negative.
    CoreError
        bend_count; hook_count.

    Source
    ------
    Derived: bounded least squares by damped Gauss-Newton steps, bounds held by an active set.

    Examples
    --------
    >>> from .tube_path import table_from_rows
    >>> wanted = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=100)
    >>> open_by_3 = table_from_rows(rows=[BendRow(100, 0, 87, 30)], last_straight_mm=101.57)
    >>> advice = corrections(open_by_3, wanted)
    >>> round(advice.close_deg[0], 1), str(advice.verdict)
    (3.0, 'correct')
    """
    require_positive(tolerance_mm=tolerance_mm)
    require_not_negative(twist_limit_deg=twist_limit_deg)
    now = compare(made, wanted, hold=hold)
    count = len(made.bends)
    hooked = tuple(hooks) if hooks is not None else (Side.DATUM,) * count
    if len(hooked) != count:
        raise CoreError("hook_count", None, f"{count} bends have {count} hooked ends.")
    tube = _MadeTube(made, wanted, closing, hooked)
    upper = [tube.most_closing_deg(bend) for bend in range(count)]
    twists = max(0, count - 1) if twist_limit_deg > 0 else 0
    low = [0.0] * count + [-twist_limit_deg] * twists
    high = upper + [twist_limit_deg] * twists
    best = _bounded_fit(lambda x: tube.misses_mm(x, hold), low, high)

    def with_changes_of(least_deg: float) -> Corrections:
        kept = [0.0 if abs(change) < least_deg else change for change in best]
        then = compare(tube.corrected(kept), wanted, hold=hold)
        return _judged(tube, kept, now, then, tolerance_mm)

    by_gauge = with_changes_of(max(gauge_deg, WORTH_DOING_DEG))
    if by_gauge.verdict is not Verdict.REMAKE or gauge_deg <= WORTH_DOING_DEG:
        return by_gauge
    by_feel = with_changes_of(WORTH_DOING_DEG)
    return by_gauge if by_feel.verdict is Verdict.REMAKE else by_feel


@dataclass(frozen=True, slots=True)
class _MadeTube:
    made: BendTable
    wanted: BendTable
    closing: Closing
    hooked: tuple[Side, ...]

    def most_closing_deg(self, bend: int) -> float:
        """Return how far a bend can be closed before its straight is used up. [deg]"""
        most_deg = min(MOST_CLOSING_DEG, 359.0 - self.made.bends[bend].angle_deg)
        if self.closing is Closing.OVER_KNEE:
            return max(0.0, most_deg)
        straight = self.shrinking(bend)
        sharers = sum(self.shrinking(i) == straight for i in range(len(self.hooked)))
        left_mm = max(0.0, self.made.straights_mm[straight]) / sharers
        return max(0.0, min(most_deg, math.degrees(left_mm / self.made.bends[bend].radius_mm)))

    def shrinking(self, bend: int) -> int:
        """Return the straight that gives tube to a bend closed on the former."""
        return bend + 1 if self.hooked[bend] is Side.DATUM else bend

    def corrected(self, changes: Sequence[float]) -> BendTable:
        """Return the table after closings and twists, every piece of tube accounted for."""
        count = len(self.made.bends)
        twists = [0.0, *changes[count:]] if len(changes) > count else [0.0] * count
        straights = list(self.made.straights_mm)
        rows = []
        for number, row in enumerate(rows_of(self.made)):
            close_deg, angle_deg = changes[number], row.angle_deg + changes[number]
            radius_mm = row.radius_mm
            if self.closing is Closing.OVER_KNEE:
                radius_mm *= row.angle_deg / angle_deg
            else:
                straights[self.shrinking(number)] -= radius_mm * math.radians(close_deg)
            rows.append((row.rotation_deg + twists[number], angle_deg, radius_mm))
        for end in {0, count}:
            # An end that is too long is cut; one that is too short stays short.
            straights[end] = min(straights[end], self.wanted.straights_mm[end])
        turned = [BendRow(straights[i], *row) for i, row in enumerate(rows)]
        return assemble(rows=turned, last_straight_mm=straights[-1])

    def misses_mm(self, changes: Sequence[float], hold: Hold) -> list[float]:
        """Return by how much every station misses its place, coordinate by coordinate."""
        table = self.corrected(changes)
        motion = laid_over(table, self.wanted, hold=hold)
        pairs = zip(stations(table, self.wanted), stations(self.wanted, table), strict=True)
        return [value for point, goal in pairs for value in motion.moved(point) - goal]


def _judged(
    tube: _MadeTube,
    changes: Sequence[float],
    now: Comparison,
    then: Comparison,
    tolerance_mm: float,
) -> Corrections:
    count = len(tube.made.bends)
    over = tuple(
        (number, bend.angle_deg)
        for number, bend in enumerate(now.bends)
        if bend.angle_deg > WORTH_DOING_DEG
    )
    nothing = all(change == 0 for change in changes)
    if then.worst_mm > tolerance_mm:
        verdict = Verdict.REMAKE
    else:
        verdict = Verdict.GOOD if nothing else Verdict.CORRECT
    twists = changes[count:] or [0.0] * max(0, count - 1)
    return Corrections(
        close_deg=tuple(changes[:count]),
        twist_deg=(0.0, *twists) if count else (),
        now=now,
        then=then,
        verdict=verdict,
        over_deg=over,
        problems=_reasons(now, then, over) if verdict is Verdict.REMAKE else (),
    )


def _reasons(
    now: Comparison, then: Comparison, over: Sequence[tuple[int, float]]
) -> tuple[Problem, ...]:
    found = [
        blocker("over_bent", f"Bend {bend + 1} is {deg:.1f} degrees over, and cannot open.", bend)
        for bend, deg in over
    ]
    last = len(now.straights_mm) - 1
    for index, length_mm in enumerate(now.straights_mm):
        if length_mm < -STRAIGHT_DIFFERENCE_MM:
            message = f"Straight {index + 1} is {-length_mm:.1f} mm short."
            found.append(blocker("short_straight", message, index))
        elif length_mm > STRAIGHT_DIFFERENCE_MM and 0 < index < last:
            message = f"Straight {index + 1}, between two bends, is {length_mm:.1f} mm too long."
            found.append(blocker("long_straight", message, index))
    if not found:
        message = f"The best that can be done leaves {then.worst_mm:.1f} mm."
        found = [blocker("beyond_correction", message)]
    return tuple(found)


def _bounded_fit(
    misses: Callable[[Sequence[float]], list[float]], low: list[float], high: list[float]
) -> list[float]:
    """Return the least-squares point between bounds, from the point nothing is changed at."""
    x = [0.0] * len(low)
    missed = misses(x)
    cost, damping = _square(missed), 1e-3
    for _ in range(60):
        slope = _slopes(misses, x, missed, high)
        push = [_dot(column, missed) for column in slope]
        free = _free(x, push, low, high)
        if not free:
            break
        step = _damped_step(slope, push, free, damping)
        tried = list(x)
        for place, move in zip(free, step, strict=True):
            tried[place] = min(high[place], max(low[place], x[place] + move))
        missed_there = misses(tried)
        gained = cost - _square(missed_there)
        if gained > 0:
            x, missed, cost = tried, missed_there, cost - gained
            damping = max(1e-9, damping / 8)
            if gained < 1e-10 * (1 + cost):
                break
        elif damping > 1e6:
            break
        else:
            damping *= 6
    return x


def _free(
    x: Sequence[float], push: Sequence[float], low: Sequence[float], high: Sequence[float]
) -> list[int]:
    """Return the changes that no bound holds against the way they are pushed."""
    return [
        i
        for i, value in enumerate(push)
        if low[i] < high[i]
        and not (x[i] <= low[i] and value >= 0)
        and not (x[i] >= high[i] and value <= 0)
    ]


def _dot(one: Sequence[float], other: Sequence[float]) -> float:
    return math.fsum(a * b for a, b in zip(one, other, strict=True))


def _square(values: Sequence[float]) -> float:
    return _dot(values, values)


def _slopes(
    misses: Callable[[Sequence[float]], list[float]],
    x: Sequence[float],
    missed: Sequence[float],
    high: Sequence[float],
) -> Matrix:
    """Return the change of every miss with each change, by a small step inside the bounds."""
    columns = []
    for place in range(len(x)):
        step = 1e-5 if x[place] + 1e-5 <= high[place] else -1e-5
        moved = list(x)
        moved[place] += step
        columns.append([(b - a) / step for a, b in zip(missed, misses(moved), strict=True)])
    return columns


def _damped_step(
    slope: Matrix, push: Sequence[float], free: Sequence[int], damping: float
) -> list[float]:
    normal = [[_dot(slope[i], slope[j]) for j in free] for i in free]
    floor = 1e-9 * (1 + max(normal[i][i] for i in range(len(free))))
    for i in range(len(free)):
        normal[i][i] += damping * normal[i][i] + floor
    return solved(normal, [-push[i] for i in free])
