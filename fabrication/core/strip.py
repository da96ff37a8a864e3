"""The outline of a strip: its width along the length, its two ends, and notches in its edges."""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from .errors import CoreError, require_not_negative, require_positive
from .flat_features import CutNotch, carried_mm
from .flat_pattern import NEAR_MM, FlatPattern
from .outline import Corner, Outline, rounded


class End(StrEnum):
    """How an end of a strip is finished."""

    SQUARE = "square"
    CORNERS = "corners"
    ROUND = "round"


@dataclass(frozen=True, slots=True)
class EndShape:
    """An end and the radius of its two corners; a round end takes half the width. [mm]"""

    form: End = End.SQUARE
    radius_mm: float = 0.0

    def corner_mm(self, width_mm: float) -> float:
        """Return the radius of a corner of this end. [mm]"""
        if self.form is End.ROUND:
            return width_mm / 2
        return self.radius_mm if self.form is End.CORNERS else 0.0


@dataclass(frozen=True, slots=True)
class _Bite:
    x_mm: float
    notch: CutNotch


def strip_outline(
    *,
    pattern: FlatPattern,
    widths_mm: Sequence[float],
    left: EndShape,
    right: EndShape,
    flush: bool = False,
    notches: Sequence[CutNotch] = (),
) -> Outline:
    """The outline of a part's flat, from its widths.

    Parameters
    ----------
    pattern : FlatPattern
        The part. [mm]
    widths_mm : sequence of float
        At the left end, at each bend, at the right end; straight between, and the same all
        through a bend. [mm]
    left, right : EndShape
        The ends. [mm]
    flush : bool, optional
        Whether the right edge is straight and y counts from it, not from the middle. [-]
    notches : sequence of CutNotch, optional
        Square-cornered, from an edge inward. [mm]

    Returns
    -------
    Outline
        x from the left end. [mm]

    Raises
    ------
    CoreError
        width_count; as `rounded`; as `carried_mm`; notch_too_deep, notch_off, notches_meet
        (index: the notch).
    OutOfRange
        If a width is not above zero.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> from fabrication.core.flat_pattern import flat_pattern
    >>> strap = flat_pattern(lengths_mm=(60,), folds=(), thickness_mm=2)
    >>> tab = strip_outline(pattern=strap, widths_mm=(20, 20), left=EndShape(),
    ...     right=EndShape(End.ROUND))
    >>> round(tab.area_mm2, 2)
    1157.08
    """
    if len(widths_mm) != len(pattern.flats) + 1:
        raise CoreError("width_count", None, "A width at each end and at every bend is wanted.")
    require_positive(**{f"width_{n}_mm": mm for n, mm in enumerate(widths_mm, start=1)})
    require_not_negative(left_radius_mm=left.radius_mm, right_radius_mm=right.radius_mm)
    stations = _stations(pattern, widths_mm)
    bites = [_bite(pattern, number, notch) for number, notch in enumerate(notches)]
    share = 0.0 if flush else 0.5
    lower = _edge(stations, bites, -share, 1.0, on_left=False)
    upper = _edge(stations, bites, 1.0 - share, -1.0, on_left=True)
    ends = left.corner_mm(widths_mm[0]), right.corner_mm(widths_mm[-1])
    low = _with_ends(lower, *ends)
    high = _with_ends(upper, *ends)
    return rounded([*low, *reversed(high)])


Point = tuple[float, float]


def _stations(pattern: FlatPattern, widths_mm: Sequence[float]) -> list[Point]:
    """x and width wherever the width begins or stops to change."""
    found = [(0.0, widths_mm[0])]
    for zone, width_mm in zip(pattern.zones, widths_mm[1:-1], strict=True):
        found += [(zone.start_mm, width_mm), (zone.end_mm, width_mm)]
    return [*found, (pattern.total_mm, widths_mm[-1])]


def _width_at(stations: Sequence[Point], x_mm: float) -> float:
    for (ax, aw), (bx, bw) in pairwise(stations):
        if ax <= x_mm <= bx and bx > ax:
            return aw + (bw - aw) * (x_mm - ax) / (bx - ax)
    return stations[-1][1]


def _bite(pattern: FlatPattern, number: int, notch: CutNotch) -> _Bite:
    require_positive(width_mm=notch.width_mm, depth_mm=notch.depth_mm)
    x_mm = carried_mm(
        pattern=pattern, flange=notch.flange, along_mm=notch.along_mm, from_end=notch.from_end
    )
    if x_mm - notch.width_mm / 2 <= NEAR_MM or (
        x_mm + notch.width_mm / 2 >= pattern.total_mm - NEAR_MM
    ):
        raise CoreError("notch_off", number, f"Notch {number + 1} runs off the end of the strip.")
    return _Bite(x_mm, notch)


def _edge(
    stations: Sequence[Point],
    bites: Sequence[_Bite],
    share: float,
    inward: float,
    *,
    on_left: bool,
) -> list[Point]:
    """The points of one long edge from the left; ``inward`` is the sign of y into the metal."""
    points = [(x, width * share) for x, width in stations]
    mine = sorted(
        ((bite.x_mm, number, bite.notch) for number, bite in enumerate(bites)),
        key=lambda one: one[0],
    )
    reached_mm = 0.0
    for x_mm, number, notch in mine:
        if notch.on_left is not on_left:
            continue
        half_mm = notch.width_mm / 2
        width_mm = min(_width_at(stations, x_mm - half_mm), _width_at(stations, x_mm + half_mm))
        if notch.depth_mm >= width_mm - NEAR_MM:
            says = f"Notch {number + 1} is as deep as the strip is wide there."
            raise CoreError("notch_too_deep", number, says)
        if x_mm - half_mm <= reached_mm + NEAR_MM:
            raise CoreError("notches_meet", number, f"Notch {number + 1} runs into the one before.")
        reached_mm = x_mm + half_mm
        sides = [(x, _width_at(stations, x) * share) for x in (x_mm - half_mm, x_mm + half_mm)]
        floor = [(x, y + inward * notch.depth_mm) for x, y in sides]
        points = [p for p in points if not sides[0][0] <= p[0] <= sides[1][0]]
        points += [sides[0], floor[0], floor[1], sides[1]]
    return _without_needless(_in_order(points))


def _in_order(points: list[Point]) -> list[Point]:
    # Stable: the two points a notch has at one x keep their order, down one side and up the other.
    return sorted(points, key=lambda point: point[0])


def _without_needless(points: list[Point]) -> list[Point]:
    """The points without those that lie on the line between their neighbours, or upon another."""
    kept: list[Point] = []
    for point in points:
        if kept and abs(point[0] - kept[-1][0]) < NEAR_MM and abs(point[1] - kept[-1][1]) < NEAR_MM:
            continue
        while len(kept) > 1 and abs(_cross(kept[-2], kept[-1], point)) < NEAR_MM:
            kept.pop()
        kept.append(point)
    return kept


def _cross(a: Point, b: Point, c: Point) -> float:
    return (b[0] - a[0]) * (c[1] - a[1]) - (b[1] - a[1]) * (c[0] - a[0])


def _with_ends(points: Sequence[Point], first_mm: float, last_mm: float) -> list[Corner]:
    radii = [first_mm, *[0.0] * (len(points) - 2), last_mm]
    return [Corner(x, y, radius) for (x, y), radius in zip(points, radii, strict=True)]
