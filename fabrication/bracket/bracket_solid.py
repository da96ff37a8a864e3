"""The folded bracket for the view in space: skins and rims as triangles, outlines as lines.

The flat is cut across at every bend, at steps within a bend, and at every corner of an outline or
hole; between two cuts the metal is so many trapezes, and each goes to its place in the section.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from typing import Any

from fabrication.bracket.bracket_worked import BracketWorked, HoleSpot
from fabrication.core.drawing import Point
from fabrication.core.formed import Formed, formed
from fabrication.core.outline import span_at
from fabrication.core.vectors import Vec3
from fabrication.drawn.solid import Place, SheetFace, sheet_solid_of

HOLE_FACETS = 16
COARSE_MM = 0.04  # how far a chord may stray from its arc in the view
NEAR_MM = 1e-6
Triangle = tuple[Vec3, Vec3, Vec3]


def bracket_solid(found: BracketWorked) -> dict[str, Any] | None:
    """The bracket in space, when it can be folded."""
    if found.pattern is None or found.outline is None:
        return None
    folded = formed(found.pattern)
    space = _Space(folded, over=found.clip is not None)
    holes = [_ring_of(spot) for spot in found.holes]
    rings = [_wound(_thinned(found.outline.ring), 1), *(_wound(ring, -1) for ring in holes)]
    stops = folded.stops()
    rings = [_split(ring, stops) for ring in rings]
    faces = [*_skins(space, rings, stops), _rims(space, rings)]
    return sheet_solid_of(
        faces=faces,
        edges=[_line(space, [*ring, ring[0]], front) for ring in rings for front in (True, False)],
        thickness_mm=found.pattern.thickness_mm,
        says=_says(len(found.pattern.zones)),
        bend_lines=_bend_lines(found, space),
        places=_places(found, space),
    )


def _says(bends: int) -> str:
    if not bends:
        return "The flat piece in space"
    return f"The bracket folded, with {'its bend' if bends == 1 else f'its {bends} bends'} numbered"


def _ring_of(spot: HoleSpot) -> list[Point]:
    """A hole or slot as points."""
    flat = spot.flat
    (ax, ay), (bx, by) = flat.centres
    turn = math.pi / 2 if flat.hole.slot_across else 0.0
    half = HOLE_FACETS // 2
    ring = [
        _on(x, y, flat.radius_mm, turn + start + math.pi * n / half)
        for x, y, start in ((bx, by, -math.pi / 2), (ax, ay, math.pi / 2))
        for n in range(half + 1)
    ]
    return [point for n, point in enumerate(ring) if math.dist(point, ring[n - 1]) > NEAR_MM]


def _thinned(ring: Sequence[Point]) -> list[Point]:
    """The ring without points that hardly leave the line between those kept."""
    kept = [ring[0]]
    for number in range(1, len(ring)):
        following = ring[(number + 1) % len(ring)]
        skipped = ring[ring.index(kept[-1]) + 1 : number + 1]
        if any(_off_mm(kept[-1], following, point) > COARSE_MM for point in skipped):
            kept.append(ring[number])
    return kept


def _off_mm(a: Point, b: Point, point: Point) -> float:
    long_mm = math.dist(a, b)
    if long_mm < NEAR_MM:
        return math.dist(a, point)
    return abs((b[0] - a[0]) * (point[1] - a[1]) - (b[1] - a[1]) * (point[0] - a[0])) / long_mm


def _on(x: float, y: float, radius: float, angle_rad: float) -> Point:
    return x + radius * math.cos(angle_rad), y + radius * math.sin(angle_rad)


def _wound(ring: list[Point], way: int) -> list[Point]:
    doubled = sum(a[0] * b[1] - b[0] * a[1] for a, b in pairwise([*ring, ring[0]]))
    return ring if doubled * way > 0 else ring[::-1]


def _split(ring: Sequence[Point], stops: Sequence[float]) -> list[Point]:
    """The ring with a point wherever it crosses a stop."""
    found: list[Point] = []
    for (ax, ay), (bx, by) in pairwise([*ring, ring[0]]):
        found.append((ax, ay))
        between = [x for x in stops if min(ax, bx) + NEAR_MM < x < max(ax, bx) - NEAR_MM]
        for x in sorted(between, reverse=ax > bx):
            found.append((x, ay + (by - ay) * (x - ax) / (bx - ax)))
    return found


# ---- into space ---------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Space:
    """The folded strip, and whether it is rolled over: a clip sits with its crown up."""

    folded: Formed
    over: bool

    def at(self, point: Point, *, front: bool) -> Vec3:
        """Ahead along the first flange, left across the strip, up from back to front."""
        station = self.folded.at(point[0])
        u, v = station.front if front else station.back
        return Vec3(u, -point[1], -v) if self.over else Vec3(u, point[1], v)


def _line(space: _Space, points: Sequence[Point], front: bool) -> list[Vec3]:
    return [space.at(point, front=front) for point in points]


def _skins(
    space: _Space, rings: Sequence[Sequence[Point]], stops: Sequence[float]
) -> list[SheetFace]:
    """Both skins, a patch for every flange and every bend."""
    patches: dict[tuple[str, int], list[Triangle]] = {}
    for a, b, low, high in _trapezes(rings, stops):
        corners = [(a, low[0]), (b, low[1]), (b, high[1]), (a, high[0])]
        key = _patch(space.folded, (a + b) / 2)
        for front in (True, False):
            p, q, r, s = _line(space, corners, front)
            triangles = [(p, q, r), (p, r, s)] if front else [(p, r, q), (p, s, r)]
            patches.setdefault(key, []).extend(t for t in triangles if _has_area(t))
    return [
        SheetFace(f"{kind} {number}", triangles, bend=number if kind == "Bend" else None)
        for (kind, number), triangles in patches.items()
    ]


def _patch(folded: Formed, x: float) -> tuple[str, int]:
    for number, zone in enumerate(folded.pattern.zones, start=1):
        if x < zone.start_mm:
            return "Flange", number
        if x < zone.end_mm:
            return "Bend", number
    return "Flange", len(folded.pattern.flats)


Trapeze = tuple[float, float, tuple[float, float], tuple[float, float]]


def _trapezes(rings: Sequence[Sequence[Point]], stops: Sequence[float]) -> list[Trapeze]:
    """The metal between two neighbouring cuts: x from and to, lower and upper y at each."""
    xs = sorted({round(x, 7) for ring in rings for x, _ in ring} | {round(x, 7) for x in stops})
    edges = [(a, b) for ring in rings for a, b in pairwise([*ring, ring[0]])]
    found: list[Trapeze] = []
    for left, right in pairwise(xs):
        if right - left < NEAR_MM:
            continue
        middle = (left + right) / 2
        crossing = sorted(
            (_y_on(a, b, middle), _y_on(a, b, left), _y_on(a, b, right))
            for a, b in edges
            if min(a[0], b[0]) < middle < max(a[0], b[0])
        )
        for lower, upper in zip(crossing[::2], crossing[1::2], strict=True):
            found.append((left, right, lower[1:], upper[1:]))
    return found


def _y_on(a: Point, b: Point, x: float) -> float:
    return a[1] + (b[1] - a[1]) * (x - a[0]) / (b[0] - a[0])


def _has_area(triangle: Triangle) -> bool:
    a, b, c = triangle
    return (b - a).cross(c - a).norm() > NEAR_MM


def _rims(space: _Space, rings: Sequence[Sequence[Point]]) -> SheetFace:
    """The cut edges: outline anticlockwise and holes clockwise have the metal on their left."""
    triangles: list[Triangle] = []
    for ring in rings:
        for here, there in pairwise([*ring, ring[0]]):
            a, b = (space.at(p, front=False) for p in (here, there))
            c, d = (space.at(p, front=True) for p in (there, here))
            triangles += [t for t in ((a, b, c), (a, c, d)) if _has_area(t)]
    return SheetFace("Edges", triangles)


def _bend_lines(found: BracketWorked, space: _Space) -> list[list[Vec3]]:
    lines = []
    if found.pattern is None or found.outline is None:
        return []
    for zone in found.pattern.zones:
        for x in (zone.start_mm, zone.end_mm):
            span = span_at(found.outline, x)
            if span is not None:
                ends = [(x, span[0]), (x, span[1])]
                lines += [_line(space, ends, front) for front in (True, False)]
    return lines


def _places(found: BracketWorked, space: _Space) -> list[Place]:
    if found.pattern is None or found.outline is None:
        return []
    places = []
    for number, zone in enumerate(found.pattern.zones, start=1):
        span = span_at(found.outline, zone.line_mm)
        if span is None:
            continue
        at = space.at((zone.line_mm, span[1]), front=True)
        places.append(Place(str(number), at, Vec3(0.0, -1.0 if space.over else 1.0, 0.0)))
    return places
