"""Ends and bends named on a drawing: a ring with a letter or number, where it hides least."""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass

Point = tuple[float, float]

RING_MM, REACH_MM = 2.7, 10.0


@dataclass(frozen=True, slots=True)
class Balloon:
    text: str
    x: str
    y: str
    text_y: str
    leader: str


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a balloon says, where it points, and which way it would rather lean."""

    text: str
    foot: Point
    lean_rad: float


def shown(value: float) -> str:
    """A figure as SVG reads it, a point for the decimal mark whatever the reader's region."""
    return f"{value + 0.0:.3f}".rstrip("0").rstrip(".")


def placed(
    wanted: Iterable[Wanted],
    *,
    line: Sequence[Point],
    stroke_mm: float,
    ring_mm: float = RING_MM,
) -> list[Balloon]:
    """The balloons beside a tube whose centre line runs through the points of ``line``."""
    taken, found = list(line), []
    for one in wanted:
        spot = _free_spot(one, taken, stroke_mm, ring_mm)
        # The leader takes room as well: two numbers must never touch.
        taken += [spot, ((spot[0] + one.foot[0]) / 2, (spot[1] + one.foot[1]) / 2)]
        found.append(_balloon(one.text, one.foot, spot, ring_mm))
    return found


def _free_spot(one: Wanted, taken: Sequence[Point], stroke_mm: float, ring_mm: float) -> Point:
    reach_mm = REACH_MM + stroke_mm / 2 - RING_MM
    # More room than this is worth nothing: the first direction that has it is kept.
    enough_mm = 2.4 * ring_mm + stroke_mm / 2
    near = [other for other in taken if math.dist(one.foot, other) < reach_mm + enough_mm]
    best, best_room_mm = one.foot, -math.inf
    for step in (0, 1, -1, 2, -2, 3, -3, 4, -4, 5, -5, 6):
        angle_rad = one.lean_rad + math.radians(30 * step)
        spot = (
            one.foot[0] + reach_mm * math.cos(angle_rad),
            one.foot[1] + reach_mm * math.sin(angle_rad),
        )
        room_mm = min([math.dist(spot, other) for other in near], default=enough_mm)
        room_mm = min(room_mm, enough_mm)
        if room_mm > best_room_mm + 1e-9:
            best, best_room_mm = spot, room_mm
    return best


def _balloon(text: str, foot: Point, spot: Point, ring_mm: float) -> Balloon:
    long = math.dist(foot, spot)
    share = (long - ring_mm) / long
    edge = foot[0] + (spot[0] - foot[0]) * share, foot[1] + (spot[1] - foot[1]) * share
    leader = f"M{shown(foot[0])} {shown(foot[1])}L{shown(edge[0])} {shown(edge[1])}"
    return Balloon(text, shown(spot[0]), shown(spot[1]), shown(spot[1] + 1.15), leader)
