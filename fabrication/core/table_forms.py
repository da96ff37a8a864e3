"""One tube told in other ways: merged, mirrored, read from the far end, or only partly bent."""

import math
from collections.abc import Collection
from dataclasses import replace

from .errors import CoreError, require_positive
from .tube_table import LENGTH_TOLERANCE_MM, BendRow, BendTable, assemble, rows_of, wrapped_deg

SAME_PLANE_DEG = 1e-6
"""Twists nearer to nothing than this are arithmetic noise: the two bends lie in one plane."""


def merged(table: BendTable) -> BendTable:
    """Table as it is bent: neighbours that touch, in one plane and the same way, become one.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]

    Returns
    -------
    BendTable
        Two touching bends of equal radius and no twist between them are one bend of the sum
        of their angles, as long as that is less than a full turn. [mm, deg]

    Source
    ------
    Derived; a return bend entered as two corner points comes out as one bend of 180.

    Examples
    --------
    >>> from .tube_path import bend_table
    >>> corners = [(0, 0, 0), (100, 0, 0), (100, 60, 0), (0, 60, 0)]
    >>> hairpin = bend_table(nodes_mm=corners, radii_mm=[30, 30])
    >>> [bend.angle_deg for bend in merged(hairpin).bends]
    [180.0]
    """
    rows: list[BendRow] = []
    for row in rows_of(table):
        if rows and _is_one_bend(rows[-1], row):
            first = rows.pop()
            both_deg = first.angle_deg + row.angle_deg
            rows.append(replace(first, angle_deg=both_deg))
        else:
            rows.append(row)
    kept = [problem for problem in table.problems if problem.kind not in _RETOLD]
    return assemble(rows=rows, last_straight_mm=table.straights_mm[-1], problems=kept)


def mirrored(table: BendTable) -> BendTable:
    """Table of the partner on the other side of the car: every twist changes sign, nothing else.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]

    Returns
    -------
    BendTable
        A planar pipe is its own partner. [mm, deg]

    Source
    ------
    Derived: a mirror turns every triple product round and leaves lengths and angles alone.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> rows = [BendRow(40, 0, 90, 20), BendRow(40, 30, 90, 20)]
    >>> mirrored(table_from_rows(rows=rows, last_straight_mm=40)).bends[1].rotation_deg
    -30.0
    """
    rows = [
        BendRow(row.straight_mm, -row.rotation_deg, row.angle_deg, row.radius_mm, row.node)
        for row in rows_of(table)
    ]
    return _retold(table, rows, table.straights_mm[-1])


def from_far_end(table: BendTable) -> BendTable:
    """Table of the same pipe read from its other end: lists reversed, every sign kept.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]

    Returns
    -------
    BendTable
        `node` keeps naming the corner point of the original input. [mm, deg]

    Source
    ------
    Derived: handedness is the same from both ends, as with a screw.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> rows = [BendRow(10, 0, 90, 20), BendRow(40, 30, 60, 20)]
    >>> back = from_far_end(table_from_rows(rows=rows, last_straight_mm=70))
    >>> back.straights_mm, back.bends[1].rotation_deg
    ((70, 40, 10), 30.0)
    """
    bends = table.bends[::-1]
    rotations = [0.0, *(bend.rotation_deg for bend in bends)]
    rows = [
        BendRow(straight, rotation, bend.angle_deg, bend.radius_mm, bend.node)
        for straight, rotation, bend in zip(
            table.straights_mm[::-1], rotations, bends, strict=False
        )
    ]
    return _retold(table, rows, table.straights_mm[0])


def part_bent(table: BendTable, *, made: Collection[int]) -> BendTable:
    """Table of the pipe when only some of its bends are made, the rest still straight.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]
    made : collection of int
        The bends made, counted from zero in `table.bends`. [-]

    Returns
    -------
    BendTable
        Same length, the unmade arcs lying in its straights. [mm, deg]

    Raises
    ------
    CoreError
        no_such_bend.

    Source
    ------
    Derived from clock positions, which do not depend on the order of bending.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> rows = [BendRow(10, 0, 90, 20), BendRow(40, 30, 60, 20), BendRow(40, 20, 60, 20)]
    >>> table = table_from_rows(rows=rows, last_straight_mm=70)
    >>> round(part_bent(table, made=[0, 2]).bends[1].rotation_deg, 9)
    50.0
    """
    for number in made:
        if not 0 <= number < len(table.bends):
            raise CoreError("no_such_bend", number, f"There is no bend {number + 1}.")
    rows: list[BendRow] = []
    reached_mm = clock_deg = 0.0
    for number in sorted(set(made)):
        bend = table.bends[number]
        turn_deg = wrapped_deg(bend.clock_deg - clock_deg) if rows else 0.0
        straight_mm = bend.start_mm - reached_mm
        rows.append(BendRow(straight_mm, turn_deg, bend.angle_deg, bend.radius_mm, bend.node))
        reached_mm, clock_deg = bend.end_mm, bend.clock_deg
    return assemble(rows=rows, last_straight_mm=table.length_mm - reached_mm)


def shown_rotation_deg(rotation_deg: float) -> float:
    """Twist as it is shown: whole degrees, a hair beside 0 or 180 told as 0 or 180.

    Parameters
    ----------
    rotation_deg : float
        Any angle. [deg]

    Returns
    -------
    float
        In (-180, 180]; 180 is a bend the other way in the same plane. [deg]

    Source
    ------
    House default: 1 degree is what a bench can hold.

    Examples
    --------
    >>> shown_rotation_deg(-179.97), shown_rotation_deg(-0.04), shown_rotation_deg(44.6)
    (180.0, 0.0, 45.0)
    """
    return wrapped_deg(to_nearest(rotation_deg, step=1.0))


def to_nearest(value: float, *, step: float) -> float:
    """Value rounded to a whole number of steps, halves away from zero.

    Parameters
    ----------
    value, step : float
        In one unit, step above zero; marks are shown to 0.5 mm, angles to 0.5 deg. [mm or deg]

    Returns
    -------
    float
        Round each mark by itself: rounding straights and adding them drifts. [mm or deg]

    Raises
    ------
    OutOfRange
        If the step is not above zero.

    Source
    ------
    House default.

    Examples
    --------
    >>> to_nearest(312.26, step=0.5), to_nearest(-0.25, step=0.5)
    (312.5, -0.5)
    """
    require_positive(step=step)
    return math.copysign(math.floor(abs(value) / step + 0.5) * step, value) + 0.0


def clock_wrap_mm(*, clock_deg: float, od_mm: float) -> float:
    """Distance round the tube from the heel line of bend 1 to a clock position.

    Parameters
    ----------
    clock_deg : float
        Clock position, clockwise seen from the datum end. [deg]
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        To lay off with a flexible rule; negative is anticlockwise. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero.

    Source
    ------
    Circumference of a circle.

    Examples
    --------
    >>> round(clock_wrap_mm(clock_deg=90, od_mm=22), 3)
    17.279
    """
    require_positive(od_mm=od_mm)
    return math.pi * od_mm * clock_deg / 360


_RETOLD = frozenset(
    {"no_end_straight", "no_straight_between", "nearly_straight", "steep_corner", "shallow_bend"}
)


def _is_one_bend(before: BendRow, after: BendRow) -> bool:
    return (
        abs(after.straight_mm) < LENGTH_TOLERANCE_MM
        and abs(after.rotation_deg) < SAME_PLANE_DEG
        and abs(after.radius_mm - before.radius_mm) < LENGTH_TOLERANCE_MM
        and before.angle_deg + after.angle_deg < 360
    )


def _retold(table: BendTable, rows: list[BendRow], last_straight_mm: float) -> BendTable:
    kept = [problem for problem in table.problems if problem.kind not in _RETOLD]
    return assemble(rows=rows, last_straight_mm=last_straight_mm, problems=kept)
