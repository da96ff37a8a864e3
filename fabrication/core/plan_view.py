"""A whole pipe seen from above at true size, and where posts of a jig stand under it."""

import math
from collections.abc import Iterator
from dataclasses import dataclass

from .centre_line import Piece, chord_count, pieces
from .drawing import Arc, Figure, Line, Pen, Point, Polyline, Shape
from .errors import require_positive
from .tube_table import BendTable
from .vectors import Frame, Vec3

SAGITTA_MM = 0.002
"""How far a chord may stray where a tilted arc is drawn as short straight lines."""
LEVEL_RATIO = 1e-9
STEEP_SHARE = 0.02
"""Tube whose way on paper is less than this share of its length is seen end on."""
POST_STEEPEST_DEG = 45.0
POST_INSET_MM = 30.0
POST_SPACING_MM = 300.0
ONE_POST_MM = 120.0
"""House defaults: where a straight takes one post, two, or more."""


@dataclass(frozen=True, slots=True)
class Post:
    """A post under the pipe: which straight, how far from end A, where it stands, how high. [mm]

    `straight` counts from zero. The tube heads from A to B at `heading_deg` from the x axis and
    climbs by `slope_deg`; `height_mm` is from the board to its underside, straight above the post.
    """

    straight: int
    along_mm: float
    at: Point
    height_mm: float
    slope_deg: float
    heading_deg: float


def plan_figure(
    table: BendTable, *, od_mm: float, guessed_mm: tuple[float, float] = (0.0, 0.0)
) -> Figure:
    """Outline and centre line of a pipe from above, its first leg along x, bend 1 lying flat.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]
    od_mm : float
        Outside diameter, above zero. [mm]
    guessed_mm : tuple of float, optional
        How much of the first and of the last straight is guessed, to be dashed. [mm]

    Returns
    -------
    Figure
        Level straights and arcs are drawn as such; tilted arcs as lines that stray from them by
        less than 0.003 mm. Tube that crosses over tube is drawn through. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero.

    Source
    ------
    A tube is the envelope of spheres along its centre line, so that its outline from above is
    the parallel curve, OD/2 off, of the centre line from above.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> table = table_from_rows(rows=[BendRow(100, 0, 90, 45)], last_straight_mm=60)
    >>> box = plan_figure(table, od_mm=15).bounds
    >>> (round(box.width_mm, 6), round(box.height_mm, 6))
    (152.5, 112.5)
    """
    require_positive(od_mm=od_mm)
    line, half_mm = pieces(table), od_mm / 2
    shapes: list[Shape] = []
    for number, piece in enumerate(line):
        first_mm = guessed_mm[0] if number == 0 else 0.0
        last_mm = guessed_mm[1] if number == len(line) - 1 else 0.0
        for part, pen in _parted(piece, first_mm, last_mm):
            shapes += _straight(part, half_mm, pen) if part.bend is None else _arc(part, half_mm)
    first, last = (line[0].frame_at(0), guessed_mm[0]), (line[-1].frame_at(1), guessed_mm[1])
    for frame, unsure_mm in (first, last):
        shapes.append(_mouth(frame, half_mm, "dash" if unsure_mm else "cut"))
    return Figure(tuple(shapes))


def lowest_mm(table: BendTable, *, od_mm: float) -> float:
    """Height of the lowest point of the tube's surface, bend 1 lying flat at height 0.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Zero is the plane of bend 1's centre line; negative below it. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero.

    Source
    ------
    Derived: on a tube whose radius of bend is more than half its diameter the lowest point lies
    at an end of a piece, or where the arc runs level.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> table = table_from_rows(rows=[BendRow(100, 0, 90, 45)], last_straight_mm=60)
    >>> lowest_mm(table, od_mm=15)
    -7.5
    """
    require_positive(od_mm=od_mm)
    frames = (frame for piece in pieces(table) for frame in _turning_points(piece))
    return min(frame.at.z - od_mm / 2 * _level_share(frame.ahead) for frame in frames)


def posts(table: BendTable, *, od_mm: float, clear_mm: float = 0.0) -> tuple[Post, ...]:
    """Posts along the straights of a pipe that lies over a board, bend 1 parallel to it.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]
    od_mm : float
        Outside diameter, above zero. [mm]
    clear_mm : float, optional
        How far the lowest point of the tube is to be above the board. [mm]

    Returns
    -------
    tuple of Post
        One in the middle of a short straight, two near the ends of a longer one, more between
        them every 300 mm; none where the straight rises by more than 45 degrees. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero.

    Source
    ------
    Derived: straight below the axis of a tube that rises at p, its underside is OD/2 / cos p
    away. Where posts stand is a house default.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> table = table_from_rows(rows=[BendRow(100, 0, 90, 45)], last_straight_mm=200)
    >>> [(post.straight, round(post.along_mm, 1)) for post in posts(table, od_mm=15)]
    [(0, 50.0), (1, 200.7), (1, 340.7)]
    """
    board_mm = lowest_mm(table, od_mm=od_mm) - clear_mm
    found, reached_mm, straights = [], 0.0, 0
    for piece in pieces(table):
        if piece.bend is None:
            for along_mm in _places(piece, od_mm):
                ahead, at = piece.start.ahead, piece.start.forward(along_mm).at
                below_mm = od_mm / 2 / _level_share(ahead)
                found.append(
                    Post(
                        straight=straights,
                        along_mm=reached_mm + along_mm,
                        at=(at.x, at.y),
                        height_mm=at.z - below_mm - board_mm,
                        slope_deg=_slope_deg(ahead),
                        heading_deg=math.degrees(math.atan2(ahead.y, ahead.x)),
                    )
                )
            straights += 1
        reached_mm += piece.length_mm
    return tuple(found)


def _places(piece: Piece, od_mm: float) -> list[float]:
    """Where along a straight its posts stand."""
    too_steep = abs(_slope_deg(piece.start.ahead)) > POST_STEEPEST_DEG + LEVEL_RATIO
    if piece.length_mm < od_mm or too_steep:
        return []
    if piece.length_mm < ONE_POST_MM:
        return [piece.length_mm / 2]
    between_mm = piece.length_mm - 2 * POST_INSET_MM
    fields = max(1, math.ceil(between_mm / POST_SPACING_MM))
    return [POST_INSET_MM + between_mm * count / fields for count in range(fields + 1)]


def _slope_deg(ahead: Vec3) -> float:
    return math.degrees(math.atan2(ahead.z, _level_share(ahead)))


def _level_share(ahead: Vec3) -> float:
    return math.hypot(ahead.x, ahead.y)


def _turning_points(piece: Piece) -> Iterator[Frame]:
    """The frames of a piece between which its height only rises or only falls."""
    yield piece.frame_at(0)
    yield piece.frame_at(1)
    if piece.bend is None:
        return
    level_deg = math.degrees(math.atan2(-piece.start.ahead.z, piece.start.inward.z))
    for turn_deg in (level_deg - 180, level_deg, level_deg + 180, level_deg + 360):
        if 0 < turn_deg < piece.angle_deg:
            yield piece.start.along_bend(turn_deg, piece.radius_mm)


def _parted(piece: Piece, first_mm: float, last_mm: float) -> list[tuple[Piece, Pen]]:
    """A piece in the parts that are guessed at its ends and the one between them."""
    if piece.bend is not None or not (first_mm or last_mm):
        return [(piece, "cut")]
    stops = [0.0, min(first_mm, piece.length_mm), piece.length_mm - last_mm, piece.length_mm]
    stops[2] = max(stops[1], stops[2])
    pens: tuple[Pen, ...] = ("dash", "cut", "dash")
    return [
        (Piece(piece.start.forward(start_mm), end_mm - start_mm), pen)
        for start_mm, end_mm, pen in zip(stops[:-1], stops[1:], pens, strict=True)
        if end_mm > start_mm
    ]


def _straight(piece: Piece, half_mm: float, pen: Pen) -> list[Shape]:
    level = _level_share(piece.start.ahead)
    if level < STEEP_SHARE or piece.length_mm <= 0:
        return []
    start, end = piece.frame_at(0).at, piece.frame_at(1).at
    aside = (-piece.start.ahead.y / level * half_mm, piece.start.ahead.x / level * half_mm)
    found: list[Shape] = [
        Line(
            (start.x + side * aside[0], start.y + side * aside[1]),
            (end.x + side * aside[0], end.y + side * aside[1]),
            pen,
        )
        for side in (-1, 1)
    ]
    return [*found, Line((start.x, start.y), (end.x, end.y), "centre")]


def _arc(piece: Piece, half_mm: float) -> list[Shape]:
    crossing = [_across(piece.frame_at(share), half_mm) for share in (0, 1)]
    ticks: list[Shape] = [tick for tick in crossing if tick is not None]
    if abs(piece.start.axis.z) > 1 - LEVEL_RATIO:
        return [*_level_arc(piece, half_mm), *ticks]
    return [*_tilted_arc(piece, half_mm), *ticks]


def _level_arc(piece: Piece, half_mm: float) -> list[Shape]:
    start = piece.start
    centre = start.at + start.inward * piece.radius_mm
    first_deg = math.degrees(math.atan2(-start.inward.y, -start.inward.x))
    turned_deg = math.copysign(piece.angle_deg, start.axis.z)
    span = (min(first_deg, first_deg + turned_deg), max(first_deg, first_deg + turned_deg))
    at, radius_mm = (centre.x, centre.y), piece.radius_mm
    return [
        Arc(at, radius_mm - half_mm, *span),
        Arc(at, radius_mm + half_mm, *span),
        Arc(at, radius_mm, *span, pen="centre"),
    ]


def _tilted_arc(piece: Piece, half_mm: float) -> list[Shape]:
    steps = chord_count(piece.angle_deg, piece.radius_mm + half_mm, SAGITTA_MM)
    frames = [piece.frame_at(step / steps) for step in range(steps + 1)]
    found: list[Shape] = []
    for side in (-1, 1):
        run: list[Point] = []
        for frame in frames:
            level = _level_share(frame.ahead)
            if level < STEEP_SHARE:
                found += _run(run)
                run = []
                continue
            x = frame.at.x - side * frame.ahead.y / level * half_mm
            y = frame.at.y + side * frame.ahead.x / level * half_mm
            run.append((x, y))
        found += _run(run)
    centre = tuple((frame.at.x, frame.at.y) for frame in frames)
    return [*found, Polyline(centre, pen="centre")]


def _run(points: list[Point]) -> list[Shape]:
    return [Polyline(tuple(points))] if len(points) > 1 else []


def _across(frame: Frame, half_mm: float) -> Line | None:
    """The line across the tube where a bend begins or ends."""
    level = _level_share(frame.ahead)
    if level < STEEP_SHARE:
        return None
    x, y = -frame.ahead.y / level * half_mm, frame.ahead.x / level * half_mm
    at = frame.at
    return Line((at.x - x, at.y - y), (at.x + x, at.y + y), "bend")


def _mouth(frame: Frame, half_mm: float, pen: Pen) -> Shape:
    """The open end from above: a line across a level tube, else an ellipse."""
    across = _across(frame, half_mm)
    narrow_mm = half_mm * abs(frame.ahead.z)
    if across is not None and narrow_mm < LEVEL_RATIO * half_mm:
        return Line(across.start, across.end, pen)
    heading = math.atan2(frame.ahead.y, frame.ahead.x)
    cos, sin = math.cos(heading), math.sin(heading)
    steps = chord_count(360.0, half_mm, SAGITTA_MM)
    points = []
    for step in range(steps):
        turn = 2 * math.pi * step / steps
        ahead, aside = narrow_mm * math.cos(turn), half_mm * math.sin(turn)
        points.append(
            (frame.at.x + ahead * cos - aside * sin, frame.at.y + ahead * sin + aside * cos)
        )
    return Polyline(tuple(points), closed=True, pen=pen)
