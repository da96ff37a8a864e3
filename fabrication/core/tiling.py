"""A drawing larger than the paper, on sheets that overlap and are laid together by crosses."""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

from .clipping import clipped
from .drawing import Arc, Box, Circle, Figure, Line, Point, Shape, Text
from .errors import CoreError, require_between, require_positive

OVERLAP_MM = 12.0
CROSS_MM = 4.0
MOST_TILES = 80
STEP_MM = 10.0
"""House defaults. A cross stands in the middle of an overlap and its arms stay inside it."""


@dataclass(frozen=True, slots=True)
class Tile:
    """One sheet: where it lies in the grid, counted from 0 at the top left, and what it shows."""

    row: int
    column: int
    window: Box

    @property
    def name(self) -> str:
        """Letter of the row and number of the column: B3."""
        return f"{chr(ord('A') + self.row)}{self.column + 1}"


@dataclass(frozen=True, slots=True)
class Cross:
    """A cross that two sheets share, and its number."""

    number: int
    at: Point


@dataclass(frozen=True, slots=True)
class Tiling:
    """The sheets of a drawing in reading order, those with nothing on them left out."""

    tiles: tuple[Tile, ...]
    crosses: tuple[Cross, ...]
    rows: int
    columns: int


def tiled(
    figure: Figure, *, width_mm: float, height_mm: float, overlap_mm: float = OVERLAP_MM
) -> Tiling:
    """Sheets of one size over a drawing, in the middle of them, and their crosses.

    Parameters
    ----------
    figure : Figure
        The drawing; not empty. [mm]
    width_mm, height_mm : float
        What one sheet shows, more than two overlaps. [mm]
    overlap_mm : float, optional
        What neighbours both show, above zero. [mm]

    Returns
    -------
    Tiling
        Two crosses in each overlap of two sheets that are kept. [mm]

    Raises
    ------
    OutOfRange
        If a sheet is no larger than its overlaps.
    CoreError
        nothing_drawn; too_many_sheets, above 80.

    Source
    ------
    Derived: n sheets of width w that overlap by o show n w - (n - 1) o.

    Examples
    --------
    >>> long = Figure((Line((0, 0), (500, 0)),))
    >>> found = tiled(long, width_mm=180, height_mm=240)
    >>> [tile.name for tile in found.tiles], [round(cross.at[0], 3) for cross in found.crosses]
    (['A1', 'A2', 'A3'], [166.0, 166.0, 334.0, 334.0])
    """
    require_positive(overlap_mm=overlap_mm)
    require_between(2 * overlap_mm, math.inf, width_mm=width_mm, height_mm=height_mm)
    box = figure.bounds
    columns = _count(box.width_mm, width_mm, overlap_mm)
    rows = _count(box.height_mm, height_mm, overlap_mm)
    if rows * columns > MOST_TILES:
        raise CoreError(
            "too_many_sheets",
            None,
            f"At full size this takes {rows * columns} sheets of paper, more than {MOST_TILES}.",
        )
    step_x, step_y = width_mm - overlap_mm, height_mm - overlap_mm
    left = (box.left_mm + box.right_mm - (columns - 1) * step_x - width_mm) / 2
    top = (box.bottom_mm + box.top_mm + (rows - 1) * step_y + height_mm) / 2
    found = []
    for row in range(rows):
        for column in range(columns):
            x, y = left + column * step_x, top - row * step_y
            window = Box(x, y - height_mm, x + width_mm, y)
            if clipped(figure.within(window), window).shapes:
                found.append(Tile(row, column, window))
    return Tiling(tuple(found), tuple(_crosses(found, overlap_mm)), rows, columns)


def best_turns_deg(
    figure: Figure,
    *,
    width_mm: float,
    height_mm: float,
    step_deg: int,
    overlap_mm: float = OVERLAP_MM,
) -> tuple[int, ...]:
    """Turns of a drawing, the one at which it is likely to take the fewest sheets first.

    Parameters
    ----------
    figure : Figure
        The drawing; not empty. [mm]
    width_mm, height_mm : float
        What one sheet shows, more than two overlaps. [mm]
    step_deg : int
        Turns tried are its multiples below 180, above zero. [deg]
    overlap_mm : float, optional
        What neighbours both show, above zero. [mm]

    Returns
    -------
    tuple of int
        By points along its lines 10 mm or less apart, which is quick and may be a sheet out;
        `tiled` is exact. [deg]

    Raises
    ------
    OutOfRange
        If the step is not above zero.

    Source
    ------
    Derived.

    Examples
    --------
    >>> long = Figure((Line((0, 0), (400, 0)),))
    >>> best_turns_deg(long, width_mm=180, height_mm=240, step_deg=45)
    (90, 0, 45, 135)
    """
    require_positive(step_deg=step_deg)
    points = [point for shape in figure for point in _along(shape)]
    counts = []
    for turn_deg in range(0, 180, step_deg):
        cos, sin = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
        turned = [(x * cos - y * sin, x * sin + y * cos) for x, y in points]
        counts.append((_sheets(turned, width_mm, height_mm, overlap_mm), turn_deg))
    return tuple(turn_deg for _, turn_deg in sorted(counts))


def _along(shape: Shape) -> list[Point]:
    """Points along a shape, 10 mm or less apart."""
    if isinstance(shape, Text):
        return [shape.at]
    if isinstance(shape, Arc | Circle):
        whole = Arc(shape.centre, shape.radius_mm, 0, 360) if isinstance(shape, Circle) else shape
        steps = math.ceil(math.radians(whole.angle_deg) * whole.radius_mm / STEP_MM)
        share_deg = whole.angle_deg / steps
        return [whole.at(whole.start_deg + share_deg * step) for step in range(steps + 1)]
    corners = (shape.start, shape.end) if isinstance(shape, Line) else shape.points
    found: list[Point] = [corners[0]]
    for start, end in pairwise(corners):
        steps = max(1, math.ceil(math.dist(start, end) / STEP_MM))
        found += [
            (
                start[0] + (end[0] - start[0]) * step / steps,
                start[1] + (end[1] - start[1]) * step / steps,
            )
            for step in range(1, steps + 1)
        ]
    return found


def _sheets(points: Sequence[Point], width_mm: float, height_mm: float, overlap_mm: float) -> int:
    """How many sheets of a grid over points have a point on them."""
    xs, ys = [x for x, _ in points], [y for _, y in points]
    across = _places(xs, width_mm, overlap_mm)
    down = _places(ys, height_mm, overlap_mm)
    return len(
        {(row, column) for x, y in zip(across, down, strict=True) for row in y for column in x}
    )


def _places(values: Sequence[float], sheet_mm: float, overlap_mm: float) -> list[range]:
    """For each value the numbers of the sheets, one or two, that show it."""
    low, high = min(values), max(values)
    count, step_mm = _count(high - low, sheet_mm, overlap_mm), sheet_mm - overlap_mm
    start = (low + high - (count - 1) * step_mm - sheet_mm) / 2
    found = []
    for value in values:
        last = min(count - 1, int((value - start) // step_mm))
        first = max(0, math.ceil((value - start - sheet_mm) / step_mm - 1e-9))
        found.append(range(min(first, last), last + 1))
    return found


def crosses_figure(crosses: Sequence[Cross]) -> Figure:
    """Return the crosses as lines, each with its number beside it."""
    shapes: list[Shape] = []
    for cross in crosses:
        x, y = cross.at
        shapes.append(Line((x - CROSS_MM, y), (x + CROSS_MM, y), "note"))
        shapes.append(Line((x, y - CROSS_MM), (x, y + CROSS_MM), "note"))
        shapes.append(Text((x + 0.8, y + 0.8), str(cross.number), 2.2))
    return Figure(tuple(shapes))


def _count(length_mm: float, sheet_mm: float, overlap_mm: float) -> int:
    return max(1, math.ceil((length_mm - overlap_mm) / (sheet_mm - overlap_mm) - 1e-9))


def _crosses(tiles: Sequence[Tile], overlap_mm: float) -> list[Cross]:
    kept = {(tile.row, tile.column): tile.window for tile in tiles}
    places: list[Point] = []
    for (row, column), window in kept.items():
        if (row, column + 1) in kept:
            x, high = window.right_mm - overlap_mm / 2, window.height_mm
            places += [(x, window.top_mm - high * share) for share in (0.2, 0.8)]
        if (row + 1, column) in kept:
            y, wide = window.bottom_mm + overlap_mm / 2, window.width_mm
            places += [(window.left_mm + wide * share, y) for share in (0.2, 0.8)]
    return [Cross(number, at) for number, at in enumerate(places, start=1)]
