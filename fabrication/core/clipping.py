"""A drawing cut off at the edges of a window, exactly: lines stay lines and arcs arcs."""

import math
from itertools import pairwise

from .drawing import Arc, Box, Circle, Figure, Line, Pen, Point, Polyline, Shape, Text

SLACK_MM = 1e-9


def clipped(figure: Figure, window: Box) -> Figure:
    """What of a drawing lies inside a window.

    Parameters
    ----------
    figure : Figure
        Any drawing. [mm]
    window : Box
        The window. [mm]

    Returns
    -------
    Figure
        Words are kept whole where they start inside. [mm]

    Source
    ------
    Lines after Liang and Barsky (recalled); a circle is cut where it crosses the four edges, and
    a piece of it kept where its middle lies inside.

    Examples
    --------
    >>> figure = Figure((Line((-5, 1), (5, 1)), Circle((0, 0), 3)))
    >>> [type(shape).__name__ for shape in clipped(figure, Box(0, 0, 4, 4))]
    ['Line', 'Arc']
    >>> clipped(figure, Box(0, 0, 4, 4)).shapes[1].angle_deg
    90.0
    """
    found: list[Shape] = []
    for shape in figure:
        match shape:
            case Line():
                cut = _segment(shape.start, shape.end, window)
                found += [Line(*cut, shape.pen)] if cut else []
            case Polyline():
                found += _polyline(shape, window)
            case Text():
                found += [shape] if _holds(window, shape.at) else []
            case Circle():
                whole = Arc(shape.centre, shape.radius_mm, 0.0, 360.0, shape.pen)
                cut_arcs = _arc(whole, window)
                found += [shape] if cut_arcs == [whole] else cut_arcs
            case Arc():
                found += _arc(shape, window)
    return Figure(tuple(found))


def _holds(window: Box, point: Point) -> bool:
    x, y = point
    return (
        window.left_mm - SLACK_MM <= x <= window.right_mm + SLACK_MM
        and window.bottom_mm - SLACK_MM <= y <= window.top_mm + SLACK_MM
    )


def _segment(start: Point, end: Point, window: Box) -> tuple[Point, Point] | None:
    """The part of a straight line inside the window, if there is one."""
    low, high = 0.0, 1.0
    limits = ((window.left_mm, window.right_mm), (window.bottom_mm, window.top_mm))
    for at, to, (least, most) in zip(start, end, limits, strict=True):
        run = to - at
        if run == 0:
            if not least <= at <= most:
                return None
            continue
        enters, leaves = sorted(((least - at) / run, (most - at) / run))
        low, high = max(low, enters), min(high, leaves)
    if low >= high:
        return None
    return _between(start, end, low), _between(start, end, high)


def _between(start: Point, end: Point, share: float) -> Point:
    if share in (0.0, 1.0):
        return end if share else start  # an end that is not cut is kept to the last digit
    return start[0] + share * (end[0] - start[0]), start[1] + share * (end[1] - start[1])


def _polyline(shape: Polyline, window: Box) -> list[Shape]:
    points = (*shape.points, shape.points[0]) if shape.closed else shape.points
    if all(_holds(window, point) for point in points):
        return [shape]
    runs: list[list[Point]] = []
    for start, end in pairwise(points):
        cut = _segment(start, end, window)
        if cut is None:
            continue
        if runs and runs[-1][-1] == cut[0]:
            runs[-1].append(cut[1])
        else:
            runs.append(list(cut))
    return [Polyline(tuple(run), pen=shape.pen) for run in runs]


def _arc(arc: Arc, window: Box) -> list[Shape]:
    """The pieces of an arc inside the window; one that is whole is given back as it is."""
    stops = [arc.start_deg, *_crossings(arc, window), arc.end_deg]
    kept: list[list[float]] = []
    for first, last in pairwise(stops):
        if last - first <= 1e-12 or not _holds(window, arc.at((first + last) / 2)):
            continue
        if kept and kept[-1][1] == first:
            kept[-1][1] = last
        else:
            kept.append([first, last])
    if kept == [[arc.start_deg, arc.end_deg]]:
        return [arc]
    pen: Pen = arc.pen
    return [Arc(arc.centre, arc.radius_mm, first, last, pen) for first, last in kept]


def _crossings(arc: Arc, window: Box) -> list[float]:
    """The angles inside an arc at which its circle crosses the lines of the four edges."""
    (x, y), radius = arc.centre, arc.radius_mm
    angles: list[float] = []
    for edge in (window.left_mm, window.right_mm):
        share = (edge - x) / radius
        if abs(share) <= 1:
            turn = math.degrees(math.acos(share))
            angles += [turn, -turn]
    for edge in (window.bottom_mm, window.top_mm):
        share = (edge - y) / radius
        if abs(share) <= 1:
            turn = math.degrees(math.asin(share))
            angles += [turn, 180 - turn]
    found = set()
    for angle in angles:
        reached = angle + 360 * math.ceil((arc.start_deg - angle) / 360)
        while reached < arc.end_deg:
            if reached > arc.start_deg:
                found.add(reached)
            reached += 360
    return sorted(found)
