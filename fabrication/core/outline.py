"""The outline of a flat piece: corners with radii, as lines and arcs; area, edges, inside.

Corners are listed anticlockwise, y upward. A strip is laid out along x: a width at its left end,
at every bend and at its right end, straight between; each end square, with corner radii or round.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass
from itertools import pairwise

from .drawing import Arc, Line, Point
from .errors import CoreError, require_not_negative

NEAR_MM = 1e-7

Numbering = Callable[[int], int]


@dataclass(frozen=True, slots=True)
class Corner:
    """A corner of an outline and the radius it is rounded with. [mm]"""

    x_mm: float
    y_mm: float
    radius_mm: float = 0.0

    @property
    def at(self) -> Point:
        return self.x_mm, self.y_mm


@dataclass(frozen=True, slots=True)
class Outline:
    """A closed outline: its corners and, in turn, its lines and arcs, anticlockwise. [mm]

    `ring` is the same as points only, arcs in steps of at most 5 degrees.
    """

    corners: tuple[Corner, ...]
    edges: tuple[Line | Arc, ...]
    ring: tuple[Point, ...]
    area_mm2: float


def points_of(edge: Line | Arc) -> list[Point]:
    """Return the ends of a line, or points along an arc no more than 5 degrees apart."""
    if isinstance(edge, Line):
        return [edge.start, edge.end]
    steps = max(1, math.ceil(edge.angle_deg / 5 - 1e-9))
    return [edge.at(edge.start_deg + edge.angle_deg * step / steps) for step in range(steps + 1)]


def rounded(corners: Sequence[Corner]) -> Outline:
    """The outline that runs through corners and is rounded at each.

    Parameters
    ----------
    corners : sequence of Corner
        Three or more; listed either way round, the outline runs anticlockwise. [mm]

    Returns
    -------
    Outline
        Lines and arcs, and the area inside. [mm, mm2]

    Raises
    ------
    CoreError
        too_few_corners; same_corner, corner_folds_back, radius_too_large (index: the corner);
        outline_crosses (index: the corner where the first crossing edge begins).
    OutOfRange
        If a number is none or a radius below zero.

    Source
    ------
    Geometry: an arc takes r tan(turn / 2) of the edges beside it.

    Examples
    --------
    >>> plate = rounded([Corner(0, 0, 5), Corner(40, 0, 5), Corner(40, 20, 5), Corner(0, 20, 5)])
    >>> round(plate.area_mm2, 3), len(plate.edges)
    (778.54, 8)
    """
    require_not_negative(**{f"radius_{n}_mm": c.radius_mm for n, c in enumerate(corners, start=1)})
    if len(corners) < 3:
        raise CoreError("too_few_corners", None, "An outline needs three corners.")
    points = [corner.at for corner in corners]
    for number, point in enumerate(points):
        if math.dist(point, points[number - 1]) < NEAR_MM:
            says = f"Corner {number + 1} is the same point as the one before it."
            raise CoreError("same_corner", number, says)
    flipped = _shoelace_mm2(points) < 0
    listed = tuple(reversed(corners)) if flipped else tuple(corners)

    def typed(number: int) -> int:
        """The number of a corner as it was listed."""
        return len(listed) - 1 - number if flipped else number

    _refuse_crossing([corner.at for corner in listed], typed)
    return _with_arcs(listed, typed)


def _with_arcs(corners: tuple[Corner, ...], typed: Numbering) -> Outline:
    count = len(corners)
    turns = [_turn_rad(corners, number, typed) for number in range(count)]
    takes = [
        corner.radius_mm * math.tan(abs(turn) / 2)
        for corner, turn in zip(corners, turns, strict=True)
    ]
    edges: list[Line | Arc] = []
    ring: list[Point] = []
    chords: list[Point] = []
    bulge_mm2 = 0.0
    _refuse_large_radii(corners, takes, typed)
    for number, corner in enumerate(corners):
        before_at, after_at = corners[number - 1].at, corners[(number + 1) % count].at
        start = _toward(corner.at, before_at, takes[number])
        end = _toward(corner.at, after_at, takes[number])
        if takes[number] > 0:
            arc = _arc(corner, start, end, turns[number])
            edges.append(arc)
            ring += points_of(arc) if turns[number] > 0 else points_of(arc)[::-1]
            turn = abs(turns[number])
            bulge = corner.radius_mm**2 * (turn - math.sin(turn)) / 2
            bulge_mm2 += math.copysign(bulge, turns[number])
            chords += [start, end]
        else:
            ring.append(corner.at)
            chords.append(corner.at)
        stop = _toward(after_at, corner.at, takes[(number + 1) % count])
        if math.dist(end, stop) > NEAR_MM:
            edges.append(Line(end, stop))
    return Outline(corners, tuple(edges), tuple(ring), _shoelace_mm2(chords) + bulge_mm2)


def _refuse_large_radii(
    corners: tuple[Corner, ...], takes: Sequence[float], typed: Numbering
) -> None:
    count = len(corners)
    for number, corner in enumerate(corners):
        following = (number + 1) % count
        long_mm = math.dist(corner.at, corners[following].at)
        if takes[number] + takes[following] > long_mm + NEAR_MM:
            bigger = number if takes[number] >= takes[following] else following
            says = (
                f"The radius at corner {typed(bigger) + 1} takes {takes[bigger]:.3g} mm of an edge "
                f"of {long_mm:.3g} mm."
            )
            raise CoreError("radius_too_large", typed(bigger), says)


def _turn_rad(corners: tuple[Corner, ...], number: int, typed: Numbering) -> float:
    """How far the outline turns at a corner, left being positive."""
    before, here = corners[number - 1].at, corners[number].at
    after = corners[(number + 1) % len(corners)].at
    ax, ay = here[0] - before[0], here[1] - before[1]
    bx, by = after[0] - here[0], after[1] - here[1]
    turn = math.atan2(ax * by - ay * bx, ax * bx + ay * by)
    if math.pi - abs(turn) < 1e-9:
        says = f"The outline turns back on itself at corner {typed(number) + 1}."
        raise CoreError("corner_folds_back", typed(number), says)
    return turn


def _arc(corner: Corner, start: Point, end: Point, turn_rad: float) -> Arc:
    half = abs(turn_rad) / 2
    middle = (start[0] + end[0]) / 2, (start[1] + end[1]) / 2
    reach_mm = corner.radius_mm / math.cos(half)
    centre = _toward(corner.at, middle, reach_mm)
    first = start if turn_rad > 0 else end
    start_deg = math.degrees(math.atan2(first[1] - centre[1], first[0] - centre[0]))
    return Arc(centre, corner.radius_mm, start_deg, start_deg + math.degrees(abs(turn_rad)))


def _toward(start: Point, end: Point, distance_mm: float) -> Point:
    long_mm = math.dist(start, end)
    share = distance_mm / long_mm
    return start[0] + (end[0] - start[0]) * share, start[1] + (end[1] - start[1]) * share


def _shoelace_mm2(points: Sequence[Point]) -> float:
    ring = [*points, points[0]]
    return math.fsum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise(ring)) / 2


def _refuse_crossing(points: list[Point], typed: Numbering) -> None:
    count = len(points)
    for first in range(count):
        for second in range(first + 2, count - (first == 0)):
            a, b = points[first], points[first + 1]
            c, d = points[second], points[(second + 1) % count]
            if _cross(a, b, c) * _cross(a, b, d) < 0 and _cross(c, d, a) * _cross(c, d, b) < 0:
                says = f"The outline crosses itself beside corner {typed(first) + 1}."
                raise CoreError("outline_crosses", typed(first), says)


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def is_inside(outline: Outline, point: Point) -> bool:
    """Return whether a point lies on the metal, arcs taken in steps of 5 degrees."""
    x, y = point
    inside = False
    ring = outline.ring
    for (ax, ay), (bx, by) in pairwise([*ring, ring[0]]):
        if (ay > y) != (by > y) and x < ax + (bx - ax) * (y - ay) / (by - ay):
            inside = not inside
    return inside


def edge_distance_mm(outline: Outline, point: Point) -> float:
    """Return how far a point is from the nearest edge, inside or out. [mm]"""
    return min(_distance_mm(edge, point) for edge in outline.edges)


def _distance_mm(edge: Line | Arc, point: Point) -> float:
    if isinstance(edge, Line):
        (ax, ay), (bx, by) = edge.start, edge.end
        dx, dy = bx - ax, by - ay
        share = ((point[0] - ax) * dx + (point[1] - ay) * dy) / (dx * dx + dy * dy)
        share = min(1.0, max(0.0, share))
        return math.dist(point, (ax + share * dx, ay + share * dy))
    cx, cy = edge.centre
    angle_deg = math.degrees(math.atan2(point[1] - cy, point[0] - cx))
    if (angle_deg - edge.start_deg) % 360 <= edge.angle_deg:
        return abs(math.dist(point, edge.centre) - edge.radius_mm)
    return min(math.dist(point, edge.at(edge.start_deg)), math.dist(point, edge.at(edge.end_deg)))


def span_at(outline: Outline, x_mm: float) -> tuple[float, float] | None:
    """Return the lowest and highest y of the outline at x, None beside it. [mm]"""
    ring = outline.ring
    found = []
    for (ax, ay), (bx, by) in pairwise([*ring, ring[0]]):
        if min(ax, bx) <= x_mm <= max(ax, bx):
            share = 0.0 if ax == bx else (x_mm - ax) / (bx - ax)
            found += [ay + (by - ay) * share] if ax != bx else [ay, by]
    return (min(found), max(found)) if found else None
