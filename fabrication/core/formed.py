"""A flat pattern folded up: its section, where any point of the flat goes, and the reach of tools.

The section is seen from the right of the strip: u runs along the first flange, v rises from its
back to its front. An upward bend turns anticlockwise.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .drawing import Arc, Line, Point
from .errors import CoreError, Problem, caution, require_finite
from .flat_pattern import NEAR_MM, Flat, FlatPattern, Way, Zone

STEP_DEG = 10.0


@dataclass(frozen=True, slots=True)
class Station:
    """A place along the folded strip: back and front face, and the way ahead. [mm, deg]"""

    back: Point
    front: Point
    heading_deg: float


@dataclass(frozen=True, slots=True)
class Formed:
    """A folded strip: where every flat and every bend begins. [mm, deg]"""

    pattern: FlatPattern
    starts: tuple[Station, ...]

    def at(self, x_mm: float) -> Station:
        """The place in the folded strip of a point of the flat, x from its left end."""
        pattern = self.pattern
        for number, flat in enumerate(pattern.flats):
            if x_mm <= flat.end_mm + NEAR_MM:
                return _slid(self.starts[2 * number], x_mm - flat.start_mm)
            zone = pattern.zones[number] if number < len(pattern.zones) else None
            if zone is not None and x_mm < zone.end_mm:
                share = (x_mm - zone.start_mm) / zone.allowance_mm
                return _turned(self.starts[2 * number + 1], zone, share, pattern.thickness_mm)
        return _slid(self.starts[-1], x_mm - pattern.flats[-1].start_mm)

    def stops(self) -> list[float]:
        """Where to cut the flat so that each piece is all but plane: x of ends and steps. [mm]"""
        found = [0.0]
        for zone in self.pattern.zones:
            steps = max(1, math.ceil(zone.fold.angle_deg / STEP_DEG - 1e-9))
            found += [zone.start_mm + zone.allowance_mm * n / steps for n in range(steps + 1)]
        found.append(self.pattern.total_mm)
        return [x for n, x in enumerate(found) if n == 0 or x - found[n - 1] > NEAR_MM]


def formed(pattern: FlatPattern, *, made: Sequence[int] | None = None) -> Formed:
    """The strip folded up, all its bends or some.

    Parameters
    ----------
    pattern : FlatPattern
        The part. [mm]
    made : sequence of int, optional
        The bends that are made, counted from zero; all where left out. [-]

    Returns
    -------
    Formed
        The section from the left end on. [mm, deg]

    Raises
    ------
    CoreError
        no_such_bend.

    Source
    ------
    Geometry. Checked against an open CAD kernel.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import Fold, flat_pattern
    >>> angle = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    >>> tip = formed(angle).at(angle.total_mm)
    >>> [round(value, 6) + 0 for value in tip.back]
    [40.0, 30.0]
    """
    wanted = set(range(len(pattern.zones)) if made is None else made)
    if not wanted <= set(range(len(pattern.zones))):
        raise CoreError("no_such_bend", None, "There is no such bend.")
    here = Station((0.0, 0.0), (0.0, pattern.thickness_mm), 0.0)
    starts = [here]
    for number, zone in enumerate(pattern.zones):
        here = _slid(here, pattern.flats[number].length_mm)
        starts.append(here)
        if number in wanted:
            here = _turned(here, zone, 1.0, pattern.thickness_mm)
        else:
            here = _slid(here, zone.allowance_mm)
        starts.append(here)
    kept = tuple(zone if n in wanted else None for n, zone in enumerate(pattern.zones))
    return Formed(pattern, tuple(starts)) if None not in kept else _half_made(pattern, starts, kept)


def _half_made(pattern: FlatPattern, starts: list[Station], kept: Sequence[Zone | None]) -> Formed:
    """The same with the bends that are not made laid flat: they join the flats beside them."""
    flats, zones, places = [pattern.flats[0]], [], [starts[0]]
    for number, zone in enumerate(kept):
        following = pattern.flats[number + 1]
        if zone is None:
            flats[-1] = Flat(flats[-1].start_mm, following.end_mm)
        else:
            zones.append(zone)
            flats.append(following)
            places += [starts[2 * number + 1], starts[2 * number + 2]]
    half = FlatPattern((), pattern.thickness_mm, pattern.convention, tuple(flats), tuple(zones))
    return Formed(half, tuple(places))


def _slid(station: Station, distance_mm: float) -> Station:
    heading_rad = math.radians(station.heading_deg)
    du, dv = distance_mm * math.cos(heading_rad), distance_mm * math.sin(heading_rad)
    return Station(
        (station.back[0] + du, station.back[1] + dv),
        (station.front[0] + du, station.front[1] + dv),
        station.heading_deg,
    )


def _turned(station: Station, zone: Zone, share: float, thickness_mm: float) -> Station:
    centre = centre_of(station, zone, thickness_mm)
    turn_deg = zone.fold.angle_deg * share * (1 if zone.fold.way is Way.UP else -1)
    return Station(
        _about(centre, station.back, turn_deg),
        _about(centre, station.front, turn_deg),
        station.heading_deg + turn_deg,
    )


def centre_of(station: Station, zone: Zone, thickness_mm: float) -> Point:
    """Return the middle of a bend that starts at a station. [mm]"""
    heading_rad = math.radians(station.heading_deg)
    out = -math.sin(heading_rad), math.cos(heading_rad)
    up = zone.fold.way is Way.UP
    reach_mm = thickness_mm + zone.fold.radius_mm if up else -zone.fold.radius_mm
    return station.back[0] + out[0] * reach_mm, station.back[1] + out[1] * reach_mm


def _about(centre: Point, point: Point, turn_deg: float) -> Point:
    turn_rad = math.radians(turn_deg)
    du, dv = point[0] - centre[0], point[1] - centre[1]
    cos, sin = math.cos(turn_rad), math.sin(turn_rad)
    return centre[0] + du * cos - dv * sin, centre[1] + du * sin + dv * cos


def section_edges(folded: Formed) -> tuple[Line | Arc, ...]:
    """The outline of the section: both faces and both ends.

    Parameters
    ----------
    folded : Formed
        The folded strip. [mm]

    Returns
    -------
    tuple of Line or Arc
        In no order. [mm]

    Raises
    ------
    CoreError
        Never for a strip that could be folded.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import Fold, flat_pattern
    >>> angle = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    >>> sorted(type(edge).__name__ for edge in section_edges(formed(angle)))
    ['Arc', 'Arc', 'Line', 'Line', 'Line', 'Line', 'Line', 'Line']
    """
    pattern = folded.pattern
    first, last = folded.starts[0], folded.at(pattern.total_mm)
    edges: list[Line | Arc] = [Line(first.back, first.front), Line(last.back, last.front)]
    for number, flat in enumerate(pattern.flats):
        if flat.length_mm > NEAR_MM:
            start = folded.starts[2 * number]
            end = _slid(start, flat.length_mm)
            edges += [Line(start.back, end.back), Line(start.front, end.front)]
    for number, zone in enumerate(pattern.zones):
        start = folded.starts[2 * number + 1]
        edges += _arcs(start, zone, pattern.thickness_mm)
    return tuple(edges)


def _arcs(start: Station, zone: Zone, thickness_mm: float) -> list[Line | Arc]:
    centre = centre_of(start, zone, thickness_mm)
    angle_deg = zone.fold.angle_deg
    found: list[Line | Arc] = []
    for face in (start.back, start.front):
        from_deg = math.degrees(math.atan2(face[1] - centre[1], face[0] - centre[0]))
        if zone.fold.way is Way.DOWN:
            from_deg -= angle_deg
        found.append(Arc(centre, math.dist(face, centre), from_deg, from_deg + angle_deg))
    return found


def reach_problems(
    pattern: FlatPattern, *, order: Sequence[int], punch_mm: float = 0.0
) -> tuple[Problem, ...]:
    """What is in the way of the tool when the bends are made in an order.

    Parameters
    ----------
    pattern : FlatPattern
        The part. [mm]
    order : sequence of int
        The bends in the order they are made, counted from zero, each once. [-]
    punch_mm : float, optional
        Half the thickness of the punch or bar that stands in the bend. [mm]

    Returns
    -------
    tuple of Problem
        `no_reach` with the bend as its index: what is bent up already crosses the line that
        halves the bend, where the punch or the bar stands.

    Raises
    ------
    CoreError
        bad_order.

    Source
    ------
    Geometry of the finished bend, which is where it is tightest: a channel whose legs are longer
    than its base closes over the punch.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import Fold, flat_pattern
    >>> deep = flat_pattern(lengths_mm=(50, 30, 50), thickness_mm=1.5,
    ...     folds=(Fold(90, 2, 0.4), Fold(90, 2, 0.4)))
    >>> [(one.kind, one.index) for one in reach_problems(deep, order=(0, 1))]
    [('no_reach', 1)]
    """
    require_finite(punch_mm=punch_mm)
    if sorted(order) != list(range(len(pattern.zones))):
        raise CoreError("bad_order", None, "Each bend is made once.")
    found = []
    for count, bend in enumerate(order, start=1):
        in_way = _in_way(pattern, order[:count], bend, punch_mm)
        if in_way is not None:
            says = (
                f"When bend {bend + 1} closes, flange {in_way + 1} stands where the punch or the "
                "bar is: make it earlier, or use a narrow punch or a box folder."
            )
            found.append(caution("no_reach", says, bend))
    return tuple(found)


def _in_way(pattern: FlatPattern, made: Sequence[int], bend: int, punch_mm: float) -> int | None:
    """The flange that crosses the halving line of a bend just made, None where none does."""
    folded = formed(pattern, made=made)
    zone = pattern.zones[bend]
    middle = folded.at(zone.line_mm)
    inner = middle.front if zone.fold.way is Way.UP else middle.back
    outer = middle.back if zone.fold.way is Way.UP else middle.front
    ray = inner[0] - outer[0], inner[1] - outer[1]
    long_mm = math.hypot(*ray)
    ray = ray[0] / long_mm, ray[1] / long_mm
    for flange, flat in enumerate(pattern.flats):
        if flange in (bend, bend + 1) or flat.length_mm < NEAR_MM:
            continue
        ends = [folded.at(x) for x in (flat.start_mm, flat.end_mm)]
        for face in ([end.back for end in ends], [end.front for end in ends]):
            if any(_crosses(inner, ray, a, b, punch_mm) for a, b in pairwise(face)):
                return flange
    return None


def _crosses(root: Point, ray: Point, a: Point, b: Point, aside_mm: float) -> bool:
    """Whether a straight comes within a distance of a ray ahead of its root, or crosses it."""
    along = [(p[0] - root[0]) * ray[0] + (p[1] - root[1]) * ray[1] for p in (a, b)]
    aside = [(p[1] - root[1]) * ray[0] - (p[0] - root[0]) * ray[1] for p in (a, b)]
    if aside[0] * aside[1] < 0:
        share = aside[0] / (aside[0] - aside[1])
        return along[0] + share * (along[1] - along[0]) > NEAR_MM
    near = min(range(2), key=lambda n: abs(aside[n]))
    return abs(aside[near]) < aside_mm and along[near] > NEAR_MM
