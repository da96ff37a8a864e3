"""Flat drawings in true millimetres: the one form that paper, SVG and DXF are all made from.

x runs to the right, y upward, angles are counted anticlockwise from the x axis, and an arc runs
anticlockwise from its start to its end. A shape carries the name of its pen:

* `cut`: where material ends; `bend`: where it is bent; `centre`: centre lines and axes;
* `dash`: what is hidden, or only there to help; `note`: words, leaders, crosses.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import Literal, get_args

from .errors import CoreError, require_finite, require_positive

Point = tuple[float, float]
Pen = Literal["cut", "bend", "centre", "dash", "note"]
Anchor = Literal["start", "middle", "end"]
PENS: tuple[Pen, ...] = get_args(Pen)
ANCHORS: tuple[Anchor, ...] = get_args(Anchor)
_SWAPPED: dict[Anchor, Anchor] = {"start": "end", "middle": "middle", "end": "start"}


@dataclass(frozen=True, slots=True)
class Box:
    """The upright rectangle that holds a drawing. [mm]"""

    left_mm: float
    bottom_mm: float
    right_mm: float
    top_mm: float

    @property
    def width_mm(self) -> float:
        return self.right_mm - self.left_mm

    @property
    def height_mm(self) -> float:
        return self.top_mm - self.bottom_mm

    def meets(self, other: "Box") -> bool:
        """Whether the two have a point in common."""
        return (
            self.left_mm <= other.right_mm
            and other.left_mm <= self.right_mm
            and self.bottom_mm <= other.top_mm
            and other.bottom_mm <= self.top_mm
        )


@dataclass(frozen=True, slots=True)
class Line:
    """A straight line between two points. [mm]"""

    start: Point
    end: Point
    pen: Pen = "cut"

    def __post_init__(self) -> None:
        _check(self.pen, self.start, self.end)

    @property
    def corners(self) -> tuple[Point, ...]:
        return self.start, self.end

    def moved(self, dx_mm: float, dy_mm: float) -> "Line":
        return self._each(lambda p: (p[0] + dx_mm, p[1] + dy_mm))

    def turned(self, turn_deg: float) -> "Line":
        return self._each(lambda p: _turned(p, turn_deg))

    def mirrored(self) -> "Line":
        return self._each(_mirrored)

    def scaled(self, factor: float) -> "Line":
        return self._each(lambda p: (p[0] * factor, p[1] * factor))

    def _each(self, change: Callable[[Point], Point]) -> "Line":
        return replace(self, start=change(self.start), end=change(self.end))


@dataclass(frozen=True, slots=True)
class Polyline:
    """Straight lines from point to point, back to the first where it is closed. [mm]"""

    points: tuple[Point, ...]
    closed: bool = False
    pen: Pen = "cut"

    def __post_init__(self) -> None:
        _check(self.pen, *self.points)
        if len(self.points) < 2:
            raise CoreError("too_few_points", None, "A line needs two points.")

    @property
    def corners(self) -> tuple[Point, ...]:
        return self.points

    def moved(self, dx_mm: float, dy_mm: float) -> "Polyline":
        return replace(self, points=tuple((x + dx_mm, y + dy_mm) for x, y in self.points))

    def turned(self, turn_deg: float) -> "Polyline":
        return replace(self, points=tuple(_turned(point, turn_deg) for point in self.points))

    def mirrored(self) -> "Polyline":
        return replace(self, points=tuple(_mirrored(point) for point in self.points))

    def scaled(self, factor: float) -> "Polyline":
        return replace(self, points=tuple((x * factor, y * factor) for x, y in self.points))


@dataclass(frozen=True, slots=True)
class Circle:
    """A whole circle. [mm]"""

    centre: Point
    radius_mm: float
    pen: Pen = "cut"

    def __post_init__(self) -> None:
        _check(self.pen, self.centre)
        require_positive(radius_mm=self.radius_mm)

    @property
    def corners(self) -> tuple[Point, ...]:
        (x, y), r = self.centre, self.radius_mm
        return (x - r, y - r), (x + r, y + r)

    def moved(self, dx_mm: float, dy_mm: float) -> "Circle":
        return replace(self, centre=(self.centre[0] + dx_mm, self.centre[1] + dy_mm))

    def turned(self, turn_deg: float) -> "Circle":
        return replace(self, centre=_turned(self.centre, turn_deg))

    def mirrored(self) -> "Circle":
        return replace(self, centre=_mirrored(self.centre))

    def scaled(self, factor: float) -> "Circle":
        (x, y), radius_mm = self.centre, self.radius_mm * factor
        return replace(self, centre=(x * factor, y * factor), radius_mm=radius_mm)


@dataclass(frozen=True, slots=True)
class Arc:
    """Part of a circle, anticlockwise from start to end; the end is above the start. [mm, deg]"""

    centre: Point
    radius_mm: float
    start_deg: float
    end_deg: float
    pen: Pen = "cut"

    def __post_init__(self) -> None:
        _check(self.pen, self.centre, (self.start_deg, self.end_deg))
        require_positive(radius_mm=self.radius_mm)
        if not 0 < self.end_deg - self.start_deg <= 360:
            why = "An arc runs anticlockwise, by at most a full turn."
            raise CoreError("arc_of_no_turn", None, why)

    @property
    def angle_deg(self) -> float:
        return self.end_deg - self.start_deg

    def at(self, angle_deg: float) -> Point:
        """The point of its circle at an angle. [mm]"""
        x, y = _turned((self.radius_mm, 0.0), angle_deg)
        return self.centre[0] + x, self.centre[1] + y

    @property
    def corners(self) -> tuple[Point, ...]:
        first, last = math.ceil(self.start_deg / 90), math.floor(self.end_deg / 90)
        quarters = [self.at(90 * quarter) for quarter in range(first, last + 1)]
        return self.at(self.start_deg), *quarters, self.at(self.end_deg)

    def moved(self, dx_mm: float, dy_mm: float) -> "Arc":
        return replace(self, centre=(self.centre[0] + dx_mm, self.centre[1] + dy_mm))

    def turned(self, turn_deg: float) -> "Arc":
        start_deg, end_deg = self.start_deg + turn_deg, self.end_deg + turn_deg
        centre = _turned(self.centre, turn_deg)
        return replace(self, centre=centre, start_deg=start_deg, end_deg=end_deg)

    def mirrored(self) -> "Arc":
        start_deg, end_deg = 180 - self.end_deg, 180 - self.start_deg
        return replace(self, centre=_mirrored(self.centre), start_deg=start_deg, end_deg=end_deg)

    def scaled(self, factor: float) -> "Arc":
        (x, y), radius_mm = self.centre, self.radius_mm * factor
        return replace(self, centre=(x * factor, y * factor), radius_mm=radius_mm)


@dataclass(frozen=True, slots=True)
class Text:
    """Words on a base line from a point; the height is that of a capital letter. [mm, deg]

    Mirrored with a drawing, words stay readable: only their place and their slope change.
    """

    at: Point
    text: str
    height_mm: float = 3.5
    turn_deg: float = 0.0
    pen: Pen = "note"
    anchor: Anchor = "start"

    def __post_init__(self) -> None:
        _check(self.pen, self.at, (self.turn_deg, 0.0))
        require_positive(height_mm=self.height_mm)
        if self.anchor not in ANCHORS:
            raise CoreError("unknown_anchor", None, f"{self.anchor} is no place to hold words by.")

    @property
    def corners(self) -> tuple[Point, ...]:
        """The corners of the words, taken to be 0.8 of their height wide a letter."""
        long_mm = 0.8 * self.height_mm * len(self.text)
        left_mm = -long_mm * ANCHORS.index(self.anchor) / 2
        box = [(x, y) for x in (left_mm, left_mm + long_mm) for y in (0.0, self.height_mm)]
        turned = [_turned(corner, self.turn_deg) for corner in box]
        return tuple((self.at[0] + x, self.at[1] + y) for x, y in turned)

    def moved(self, dx_mm: float, dy_mm: float) -> "Text":
        return replace(self, at=(self.at[0] + dx_mm, self.at[1] + dy_mm))

    def turned(self, turn_deg: float) -> "Text":
        return replace(self, at=_turned(self.at, turn_deg), turn_deg=self.turn_deg + turn_deg)

    def mirrored(self) -> "Text":
        anchor = _SWAPPED[self.anchor]
        return replace(self, at=_mirrored(self.at), turn_deg=-self.turn_deg, anchor=anchor)

    def scaled(self, factor: float) -> "Text":
        at = (self.at[0] * factor, self.at[1] * factor)
        return replace(self, at=at, height_mm=self.height_mm * factor)


Shape = Line | Arc | Circle | Polyline | Text


@dataclass(frozen=True, slots=True)
class Figure:
    """Shapes that belong together, in the order they are drawn."""

    shapes: tuple[Shape, ...] = ()

    def __add__(self, other: "Figure") -> "Figure":
        return Figure(self.shapes + other.shapes)

    def __iter__(self) -> Iterator[Shape]:
        return iter(self.shapes)

    @property
    def bounds(self) -> Box:
        """The box that holds every shape; an empty drawing has none and is refused. [mm]"""
        if not self.shapes:
            raise CoreError("nothing_drawn", None, "There is nothing on this drawing.")
        return _box_of(*(point for shape in self.shapes for point in shape.corners))

    def moved(self, dx_mm: float, dy_mm: float) -> "Figure":
        """The drawing pushed to the right and up."""
        return Figure(tuple(shape.moved(dx_mm, dy_mm) for shape in self.shapes))

    def turned(self, turn_deg: float) -> "Figure":
        """The drawing turned anticlockwise about the origin."""
        return Figure(tuple(shape.turned(turn_deg) for shape in self.shapes))

    def mirrored(self) -> "Figure":
        """The drawing with left and right changed over, about the y axis."""
        return Figure(tuple(shape.mirrored() for shape in self.shapes))

    def scaled(self, factor: float) -> "Figure":
        """The drawing larger or smaller by a factor above zero: no longer in true millimetres."""
        require_positive(factor_ratio=factor)
        return Figure(tuple(shape.scaled(factor) for shape in self.shapes))

    def within(self, box: Box) -> "Figure":
        """Those shapes whose own box meets this one; none is cut."""
        kept = (shape for shape in self.shapes if _box_of(*shape.corners).meets(box))
        return Figure(tuple(kept))


def arc_through_deg(start_deg: float, end_deg: float) -> tuple[float, float]:
    """Return the two angles so that an anticlockwise arc from the first ends at the second. [deg]

    >>> arc_through_deg(270, 30)
    (270, 390)
    """
    while end_deg <= start_deg:
        end_deg += 360
    return start_deg, end_deg


_QUARTERS = ((1.0, 0.0), (0.0, 1.0), (-1.0, 0.0), (0.0, -1.0))


def _turned(point: Point, turn_deg: float) -> Point:
    quarter, rest_deg = divmod(turn_deg, 90)
    # Quarter turns are the common case on paper and deserve exact zeros.
    if rest_deg == 0:
        cos, sin = _QUARTERS[int(quarter) % 4]
    else:
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    x, y = point
    return x * cos - y * sin, x * sin + y * cos


def _mirrored(point: Point) -> Point:
    return -point[0], point[1]


def _box_of(*points: Point) -> Box:
    xs, ys = [x for x, _ in points], [y for _, y in points]
    return Box(min(xs), min(ys), max(xs), max(ys))


def _check(pen: str, *points: Point) -> None:
    if pen not in PENS:
        raise CoreError("unknown_pen", None, f"There is no pen called {pen}.")
    for x, y in points:
        require_finite(x_mm=x, y_mm=y)
