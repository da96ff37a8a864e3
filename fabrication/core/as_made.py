"""The pipe as made against the pipe as wanted: how far off it is, where, and by which bend.

The differences of the two lists of bends come first: they are exact and name the cause. The
deviations of corner points and ends say whether it matters, with the made pipe laid over the
wanted one at end A, at end B, or shared out. Differences are made less wanted throughout.
"""

import math
from collections.abc import Collection, Sequence
from dataclasses import dataclass
from enum import StrEnum

from .centre_line import pieces
from .errors import CoreError, Problem, caution
from .registration import Motion, best_motion
from .table_forms import part_bent
from .tube_table import STEEP_DEG, BendTable, wrapped_deg
from .vectors import CANONICAL, Frame, Points, Vec3, angle_between_rad, points_from

END_WEIGHT = 3.0
"""House default: in a shared fit the two ends count three times, for they must meet fittings."""

SHORT_END_MM = 0.5


class Hold(StrEnum):
    """Where the made pipe is laid over the wanted one."""

    DATUM_END = "datum_end"
    FAR_END = "far_end"
    SHARED = "shared"


@dataclass(frozen=True, slots=True)
class Deviation:
    """How far one station of the made pipe lies from where it is wanted. [mm, deg]

    `offset` is in the canonical frame of the wanted pipe. `along_mm` is beyond the wanted place
    along the pipe, `across_mm` beside it, towards the clock position `clock_deg` counted from
    the heel line of bend 1 and seen from the datum end.
    """

    offset: Vec3
    distance_mm: float
    along_mm: float
    across_mm: float
    clock_deg: float


@dataclass(frozen=True, slots=True)
class BendDifference:
    """One bend, made less wanted. The twist is compared on the circle. [deg]"""

    angle_deg: float
    rotation_deg: float


@dataclass(frozen=True, slots=True)
class Comparison:
    """Differences by bend and straight, and deviations of the stations.

    Stations are the datum end, one for each bend, and the far end: the corner point of a bend,
    or the middle of its arc where a corner lies far off or nowhere. The direction of an end is
    how far its last straight points away from the wanted one.
    """

    bends: tuple[BendDifference, ...]
    straights_mm: tuple[float, ...]
    stations: tuple[Deviation, ...]
    datum_direction_deg: float
    far_direction_deg: float
    rms_mm: float
    worst_mm: float
    problems: tuple[Problem, ...]


def compare(
    made: BendTable,
    wanted: BendTable,
    *,
    hold: Hold = Hold.SHARED,
    bends_made: Collection[int] | None = None,
) -> Comparison:
    """How the pipe as made differs from the pipe as wanted.

    Parameters
    ----------
    made : BendTable
        As measured, by nodes or by rows. [mm, deg]
    wanted : BendTable
        As designed. [mm, deg]
    hold : Hold, optional
        Laid over exactly at one end (straight and plane of the nearest bend), or shared out.
    bends_made : collection of int, optional
        For a half-made pipe: the bends of `wanted` that are made, counted from zero. [-]

    Returns
    -------
    Comparison
        Made less wanted. [mm, deg]

    Raises
    ------
    CoreError
        bend_count, if the two have not as many bends; no_such_bend.

    Source
    ------
    Derived: the two lists of bends are subtracted, no search is needed. The shared fit is the
    least-squares one with a proper turn; see `registration`.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> wanted = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=100)
    >>> made = table_from_rows(rows=[BendRow(100, 0, 88, 30)], last_straight_mm=100)
    >>> found = compare(made, wanted, hold=Hold.DATUM_END)
    >>> found.bends[0].angle_deg, round(found.far_direction_deg, 6), round(found.worst_mm, 1)
    (-2, 2.0, 3.6)
    """
    if bends_made is not None:
        wanted = part_bent(wanted, made=bends_made)
    if len(made.bends) != len(wanted.bends):
        message = f"{len(made.bends)} bends are measured and {len(wanted.bends)} wanted."
        raise CoreError("bend_count", None, message)
    bends = tuple(
        BendDifference(m.angle_deg - w.angle_deg, wrapped_deg(m.rotation_deg - w.rotation_deg))
        for m, w in zip(made.bends, wanted.bends, strict=True)
    )
    straights = tuple(m - w for m, w in zip(made.straights_mm, wanted.straights_mm, strict=True))
    motion = laid_over(made, wanted, hold=hold)
    return _compared(made, wanted, motion, bends, straights)


def laid_over(made: BendTable, wanted: BendTable, *, hold: Hold) -> Motion:
    """Motion that lays the made pipe, in its canonical frame, over the wanted one in its own.

    Parameters
    ----------
    made, wanted : BendTable
        With as many bends. [mm, deg]
    hold : Hold
        At one end, or shared out.

    Returns
    -------
    Motion
        Always a proper turn: a pipe of the wrong hand stays visibly wrong. [-, mm]

    Raises
    ------
    CoreError
        point_count, if the two have not as many bends.

    Source
    ------
    See `registration.best_motion`; at an end the two end frames are brought together.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> pipe = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=100)
    >>> laid_over(pipe, pipe, hold=Hold.FAR_END).moved(Vec3(0, 0, 0)).norm() < 1e-9
    True
    """
    if hold is Hold.DATUM_END:
        return _frame_to_frame(CANONICAL, CANONICAL)
    if hold is Hold.FAR_END:
        return _frame_to_frame(_far_frame(made), _far_frame(wanted))
    points, targets = stations(made, wanted), stations(wanted, made)
    inner = [1.0] * (len(points) - 2)
    return best_motion(points=points, targets=targets, weights=[END_WEIGHT, *inner, END_WEIGHT])


def stations(table: BendTable, other: BendTable) -> tuple[Vec3, ...]:
    """Points by which two pipes are compared, in the canonical frame of the first.

    Parameters
    ----------
    table, other : BendTable
        The pipe whose points are wanted, and the one it is compared with. [mm, deg]

    Returns
    -------
    tuple of Vec3
        Datum end, a point for each bend, far end: corner points, or middles of arcs where the
        corner of either pipe lies far off. [mm]

    Source
    ------
    House convention; a corner is taken up to 170 degrees.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> pipe = table_from_rows(rows=[BendRow(100, 0, 180, 30)], last_straight_mm=100)
    >>> [round(x, 9) for x in stations(pipe, pipe)[1]]
    [130.0, 30.0, 0.0]
    """
    line = pieces(table)
    points = [line[0].start.at]
    for piece, bend, twin in zip(line[1::2], table.bends, other.bends, strict=False):
        if bend.setback_mm is not None and max(bend.angle_deg, twin.angle_deg) <= STEEP_DEG:
            points.append(piece.start.forward(bend.setback_mm).at)
        else:
            points.append(piece.frame_at(0.5).at)
    return (*points, line[-1].frame_at(1).at)


@dataclass(frozen=True, slots=True)
class MeasuredCorner:
    """A corner point from two measured lines, and how far they miss each other. [mm]"""

    point: Vec3
    gap_mm: float


def corner_between(*, first_mm: Points, second_mm: Points) -> MeasuredCorner:
    """Corner point between two legs, each measured at two points of its centre line.

    Parameters
    ----------
    first_mm, second_mm : points
        Two different points on each leg. [mm]

    Returns
    -------
    MeasuredCorner
        Two lines rarely meet in space: the middle of their shortest connection, and its length.

    Raises
    ------
    CoreError
        two_points, if a leg is not told by two points; no_direction, if they are one;
        parallel_legs.

    Source
    ------
    Common perpendicular of two lines.

    Examples
    --------
    >>> corner_between(first_mm=[(0, 0, 0), (1, 0, 0)], second_mm=[(5, 2, 1), (5, 3, 1)])
    MeasuredCorner(point=Vec3(x=5.0, y=0.0, z=0.5), gap_mm=1.0)
    """
    first, second = points_from(first_mm), points_from(second_mm)
    if len(first) != 2 or len(second) != 2:
        raise CoreError("two_points", None, "A leg is told by two points on its centre line.")
    along, across = (first[1] - first[0]).unit(), (second[1] - second[0]).unit()
    normal = along.cross(across)
    if normal.norm() < 1e-6:
        raise CoreError("parallel_legs", None, "These two legs run parallel: they have no corner.")
    between = second[0] - first[0]
    square = normal.dot(normal)
    on_first = first[0] + along * (between.cross(across).dot(normal) / square)
    on_second = second[0] + across * (between.cross(along).dot(normal) / square)
    return MeasuredCorner((on_first + on_second) * 0.5, on_first.distance_to(on_second))


def _compared(
    made: BendTable,
    wanted: BendTable,
    motion: Motion,
    bends: tuple[BendDifference, ...],
    straights: tuple[float, ...],
) -> Comparison:
    targets = stations(wanted, made)
    points = [motion.moved(point) for point in stations(made, wanted)]
    found = tuple(
        _deviation(point, target, frame)
        for point, target, frame in zip(points, targets, _leg_frames(wanted), strict=True)
    )
    made_far, wanted_far = pieces(made)[-1].start.ahead, pieces(wanted)[-1].start.ahead
    squares = math.fsum(station.distance_mm**2 for station in found)
    return Comparison(
        bends=bends,
        straights_mm=straights,
        stations=found,
        datum_direction_deg=math.degrees(
            angle_between_rad(motion.turned(CANONICAL.ahead), CANONICAL.ahead)
        ),
        far_direction_deg=math.degrees(angle_between_rad(motion.turned(made_far), wanted_far)),
        rms_mm=math.sqrt(squares / len(found)),
        worst_mm=max(station.distance_mm for station in found),
        problems=tuple(_doubts(straights)),
    )


def _deviation(point: Vec3, target: Vec3, frame: Frame) -> Deviation:
    offset = point - target
    along_mm = offset.dot(frame.ahead)
    inward_mm, axis_mm = offset.dot(frame.inward), offset.dot(frame.axis)
    across_mm = math.hypot(inward_mm, axis_mm)
    # The heel of bend 1 is its outside: clock 0 lies opposite to inward.
    clock_deg = wrapped_deg(math.degrees(math.atan2(-axis_mm, -inward_mm))) if across_mm else 0.0
    return Deviation(offset, offset.norm(), along_mm, across_mm, clock_deg)


def _leg_frames(table: BendTable) -> list[Frame]:
    """Return the frame of the leg that leads to each station, rolled to the heel line of bend 1."""
    line = pieces(table)
    clocks = [0.0, *(bend.clock_deg for bend in table.bends)]
    frames = [piece.start.rolled(-clock) for piece, clock in zip(line[::2], clocks, strict=True)]
    return [frames[0], *frames]


def _far_frame(table: BendTable) -> Frame:
    return pieces(table)[-1].frame_at(1)


def _frame_to_frame(source: Frame, goal: Frame) -> Motion:
    """Return the motion that carries one frame onto another."""
    pairs = (
        (source.ahead, goal.ahead),
        (source.inward, goal.inward),
        (source.axis, goal.axis),
    )
    rows = [Vec3(0, 0, 0)] * 3
    for own, their in pairs:
        rows = [row + own * share for row, share in zip(rows, their, strict=True)]
    turn = Motion(rows[0], rows[1], rows[2], Vec3(0, 0, 0))
    return Motion(rows[0], rows[1], rows[2], goal.at - turn.turned(source.at))


def _doubts(straights_mm: Sequence[float]) -> list[Problem]:
    found = []
    last = len(straights_mm) - 1
    for index, difference_mm in enumerate(straights_mm):
        if index in (0, last) and difference_mm < -SHORT_END_MM:
            end = "A" if index == 0 else "B"
            message = f"End {end} is {-difference_mm:.1f} mm short: it can be cut, not lengthened."
            found.append(caution("end_short", message, index))
    return found
