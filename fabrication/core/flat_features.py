"""Holes, slots and notches carried from the formed part to the flat, and what stands against them.

A hole is told on its flange: how far along from one end of it, as lengths are told, and how far
across from the line the strip is laid out on. Positive across is to the left going from the left
end to the right, the front of the sheet upward.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .errors import CoreError, Problem, blocker, caution, require_not_negative, require_positive
from .flat_pattern import NEAR_MM, FlatPattern, Zone
from .outline import Outline, edge_distance_mm, is_inside

LEAST_EDGE_RATIO, GOOD_EDGE_RATIO = 1.2, 1.5
LEAST_SPACING_RATIO = 2.2
"""From the centre of a hole to the edge of the metal, and to the next hole, in diameters of it.
EN 1993-1-8, table 3.3, recalled; 1.5 is common practice, and 2 is that of the aircraft trade."""

LARGE_HOLE_MM = 25.0
ROUND_CLEAR_RATIO, LARGE_CLEAR_RATIO, SLOT_CLEAR_RATIO = 2.0, 2.5, 3.0
"""Edge of a hole to the tangent line of a bend, in thicknesses. Common practice, recalled."""


@dataclass(frozen=True, slots=True)
class Hole:
    """A round hole, or a slot where `slot_mm` is its overall length, as told on the part. [mm]

    A slot lies along the strip, or across it where `slot_across`.
    """

    flange: int
    along_mm: float
    diameter_mm: float
    across_mm: float = 0.0
    from_end: bool = False
    slot_mm: float = 0.0
    slot_across: bool = False


@dataclass(frozen=True, slots=True)
class CutNotch:
    """A notch from one edge, as told on the part: middle, width along the edge, depth. [mm]"""

    flange: int
    along_mm: float
    width_mm: float
    depth_mm: float
    on_left: bool = True
    from_end: bool = False


@dataclass(frozen=True, slots=True)
class FlatHole:
    """A hole in the flat: its middle, and half of what a slot is longer than wide. [mm]"""

    hole: Hole
    x_mm: float
    y_mm: float

    @property
    def radius_mm(self) -> float:
        return self.hole.diameter_mm / 2

    @property
    def half_straight_mm(self) -> float:
        return max(0.0, self.hole.slot_mm - self.hole.diameter_mm) / 2

    @property
    def is_slot(self) -> bool:
        return self.hole.slot_mm > 0

    @property
    def area_mm2(self) -> float:
        """Slot: (overall less width) times width, and a whole circle of the width. [mm2]"""
        straight_mm2 = 2 * self.half_straight_mm * self.hole.diameter_mm
        return straight_mm2 + math.pi * self.radius_mm**2

    @property
    def centres(self) -> tuple[tuple[float, float], tuple[float, float]]:
        """The middles of the round ends of a slot; twice the same for a round hole. [mm]"""
        dx, dy = (0.0, 1.0) if self.hole.slot_across else (1.0, 0.0)
        half_mm = self.half_straight_mm
        return (
            (self.x_mm - dx * half_mm, self.y_mm - dy * half_mm),
            (self.x_mm + dx * half_mm, self.y_mm + dy * half_mm),
        )

    @property
    def reach_mm(self) -> float:
        """Half its length along the strip. [mm]"""
        return self.radius_mm + (0.0 if self.hole.slot_across else self.half_straight_mm)


def carried_mm(*, pattern: FlatPattern, flange: int, along_mm: float, from_end: bool) -> float:
    """Where a point of a formed flange lies in the flat.

    Parameters
    ----------
    pattern : FlatPattern
        The part. [mm]
    flange : int
        Counted from zero. [-]
    along_mm : float
        From the near end of the flange, told like its length: from the free edge, or from the
        corner of the bend. [mm]
    from_end : bool
        Whether it is measured from the flange's right end. [-]

    Returns
    -------
    float
        From the left end of the flat. [mm]

    Raises
    ------
    CoreError
        no_such_flange; off_the_flange, where the point lies beside the flange or in a bend
        (index: the flange).

    Source
    ------
    Geometry.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import Fold, Way, flat_pattern
    >>> joggle = flat_pattern(lengths_mm=(20, 35, 30), thickness_mm=2, folds=(
    ...     Fold(90, 3, 0.369, Way.UP), Fold(90, 3, 0.369, Way.DOWN)))
    >>> round(carried_mm(pattern=joggle, flange=2, along_mm=15, from_end=False), 2)
    61.74
    """
    if not 0 <= flange < len(pattern.flats):
        raise CoreError("no_such_flange", None, f"There is no flange {flange + 1}.")
    flat = pattern.flats[flange]
    before_mm = pattern.zones[flange - 1].setback_mm if flange else 0.0
    after_mm = pattern.zones[flange].setback_mm if flange < len(pattern.zones) else 0.0
    x_mm = flat.end_mm + after_mm - along_mm if from_end else flat.start_mm - before_mm + along_mm
    if not flat.start_mm - NEAR_MM <= x_mm <= flat.end_mm + NEAR_MM:
        low_mm, high_mm = before_mm, before_mm + flat.length_mm
        if from_end:
            low_mm, high_mm = after_mm, after_mm + flat.length_mm
        says = (
            f"The flat of flange {flange + 1} lies from {low_mm:.4g} to {high_mm:.4g} mm; "
            f"{along_mm:.4g} mm is off it."
        )
        raise CoreError("off_the_flange", flange, says)
    return x_mm


def flat_hole(*, pattern: FlatPattern, hole: Hole) -> FlatHole:
    """A hole of the formed part, in the flat.

    Parameters
    ----------
    pattern : FlatPattern
        The part. [mm]
    hole : Hole
        As told on its flange. [mm]

    Returns
    -------
    FlatHole
        Its middle from the left end and the line across is told from. [mm]

    Raises
    ------
    CoreError
        As `carried_mm`; slot_too_short, where a slot is shorter than wide.
    OutOfRange
        If the diameter is not above zero.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import Fold, flat_pattern
    >>> angle = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    >>> flat_hole(pattern=angle, hole=Hole(0, 12, 6.6, across_mm=-3)).x_mm
    12.0
    """
    require_positive(diameter_mm=hole.diameter_mm)
    require_not_negative(slot_mm=hole.slot_mm)
    if 0 < hole.slot_mm < hole.diameter_mm - NEAR_MM:
        says = f"A slot {hole.diameter_mm:g} mm wide cannot be {hole.slot_mm:g} mm long over all."
        raise CoreError("slot_too_short", hole.flange, says)
    x_mm = carried_mm(
        pattern=pattern, flange=hole.flange, along_mm=hole.along_mm, from_end=hole.from_end
    )
    return FlatHole(hole, x_mm, hole.across_mm)


def hole_problems(
    *, pattern: FlatPattern, outline: Outline, holes: Sequence[FlatHole]
) -> tuple[Problem, ...]:
    """What stands against the holes: the bend beside, the edge, the next hole.

    Parameters
    ----------
    pattern : FlatPattern
        The part. [mm]
    outline : Outline
        Of the flat. [mm]
    holes : sequence of FlatHole
        In the flat. [mm]

    Returns
    -------
    tuple of Problem
        `hole_by_bend`, `hole_in_bend`, `hole_off`, `edge_tears`, `edge_small`, `holes_close`; the
        index counts the holes.

    Raises
    ------
    CoreError
        Never for holes of this pattern.

    Source
    ------
    Common practice, recalled; edge and spacing after EN 1993-1-8, table 3.3, recalled.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import Fold, flat_pattern
    >>> from fabrication.core.outline import rounded, Corner
    >>> angle = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    >>> blank = rounded([Corner(0, -10), Corner(66.46, -10), Corner(66.46, 10), Corner(0, 10)])
    >>> hole = flat_hole(pattern=angle, hole=Hole(0, 31, 6.6))
    >>> [one.kind for one in hole_problems(pattern=angle, outline=blank, holes=[hole])]
    ['hole_by_bend']
    """
    found: list[Problem] = []
    for number, hole in enumerate(holes):
        by_bend = _by_bend(number, hole, pattern)
        by_edge = _by_edge(number, hole, outline)
        found += [one for one in (by_bend, by_edge) if one is not None]
        found += [
            one
            for other in range(number)
            if (one := _close(number, hole, other, holes[other])) is not None
        ]
    return tuple(found)


def _by_bend(number: int, hole: FlatHole, pattern: FlatPattern) -> Problem | None:
    flange = hole.hole.flange
    sides = [(zone, zone.end_mm) for zone in pattern.zones[max(flange - 1, 0) : flange]]
    sides += [(zone, zone.start_mm) for zone in pattern.zones[flange : flange + 1]]
    for _zone, tangent_mm in sides:
        room_mm = abs(hole.x_mm - tangent_mm) - hole.reach_mm
        want_mm = _clear_ratio(hole) * pattern.thickness_mm
        if room_mm < -NEAR_MM:
            says = "The hole runs into the bend: drill it after bending, or move it."
            return caution("hole_in_bend", says, number)
        if room_mm < want_mm - NEAR_MM:
            says = (
                f"Its edge is {room_mm:.1f} mm from where the bend begins; {want_mm:.1f} mm keeps "
                "it round. Drill after bending, or move it."
            )
            return caution("hole_by_bend", says, number)
    return None


def _clear_ratio(hole: FlatHole) -> float:
    if hole.is_slot:
        return SLOT_CLEAR_RATIO
    return LARGE_CLEAR_RATIO if hole.hole.diameter_mm > LARGE_HOLE_MM else ROUND_CLEAR_RATIO


def _by_edge(number: int, hole: FlatHole, outline: Outline) -> Problem | None:
    if not all(is_inside(outline, point) for point in hole.centres):
        return blocker("hole_off", "The middle of this hole is off the metal.", number)
    diameter_mm = hole.hole.diameter_mm
    distance_mm = min(edge_distance_mm(outline, point) for point in hole.centres)
    diameters = distance_mm / diameter_mm
    if diameters < LEAST_EDGE_RATIO - NEAR_MM:
        says = (
            f"Its middle is {distance_mm:.1f} mm from the edge, {diameters:.2f} diameters: under "
            f"{LEAST_EDGE_RATIO} it tears out."
        )
        return blocker("edge_tears", says, number)
    if diameters < GOOD_EDGE_RATIO - NEAR_MM:
        says = f"Edge at {diameters:.2f} diameters from its middle: 1.5 to 2 is better."
        return caution("edge_small", says, number)
    return None


def _close(number: int, hole: FlatHole, other_number: int, other: FlatHole) -> Problem | None:
    apart_mm = min(math.dist(a, b) for a in hole.centres for b in other.centres)
    want_mm = LEAST_SPACING_RATIO * max(hole.hole.diameter_mm, other.hole.diameter_mm)
    if apart_mm >= want_mm - NEAR_MM:
        return None
    says = f"It is {apart_mm:.1f} mm from hole {other_number + 1}; {want_mm:.1f} mm is the least."
    return caution("holes_close", says, number)


def flange_problems(pattern: FlatPattern, *, least_mm: Sequence[float]) -> tuple[Problem, ...]:
    """Blockers for the flanges at a bend that are too short to be formed.

    `least_mm` is the least outside length beside each bend, as its tool asks. Only the end
    flanges are held to it alone: one between two bends may be held by the whole of the flat.
    """
    found = []
    for number in range(len(pattern.zones)):
        for flange in (number, number + 1):
            if 0 < flange < len(pattern.flats) - 1:
                continue
            zone = pattern.zones[number]
            outside_mm = pattern.flats[flange].length_mm + _over_bend_mm(pattern, zone)
            if outside_mm < least_mm[number] - NEAR_MM:
                says = (
                    f"Flange {flange + 1} is {outside_mm:.3g} mm over the outside; this tool wants "
                    f"{least_mm[number]:.3g} mm. Bend it long and trim, or take a smaller die."
                )
                found.append(blocker("short_flange", says, flange))
    return tuple(found)


def _over_bend_mm(pattern: FlatPattern, zone: Zone) -> float:
    reach = math.tan(math.radians(min(zone.fold.angle_deg, 90.0)) / 2)
    return reach * (zone.fold.radius_mm + pattern.thickness_mm)
