"""A pipe drawn: three views in third angle, in millimetres of paper, for page and sheet alike.

The tube is its centre line stroked with the outside diameter in ink and then a little narrower in
paper: exact, because the outline of a tube is the parallel curve of its projected centre line.
Pieces are painted far to near. Arcs are projected as cubic curves of 30 degrees or less.

The views show bend 1 lying flat. Where that fills the paper better, the pipe is turned on its
bench by a quarter: end A then lies at the top of the view from above and the first straight runs
down. A thin pipe that would still be a hair has its long straights broken.
"""

import math
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass, replace

from fabrication.core.centre_line import pieces
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import Frame, Vec3
from fabrication.drawn.balloons import RING_MM, Balloon, Point, Wanted, placed, shown
from fabrication.drawn.centre_chunks import Chunk, between, chunks_of
from fabrication.drawn.short_straights import Shortened, shortened
from fabrication.drawn.spots import Spot, places_of, spots_of
from fabrication.drawn.third_angle import (
    LABEL_MM,
    VIEWS,
    Box,
    Paper,
    View,
    boxes_of,
    laid_out,
    start_of,
)

LINE_MM = 0.25
THIN_MM = 1.6
NOTE_MM = 6.0  # the line under the views that tells of breaks
# The gap of a break along the tube, its lines beyond it, the shortest straight with room for it.
BREAK_MM, BREAK_OVER_MM, LEAST_BROKEN_MM = 1.6, 1.2, 6.0
JOINT_MM = 0.3  # bodies overlap their neighbours by this much, so that no joint shows


@dataclass(frozen=True, slots=True)
class Stroke:
    """One piece of tube: its edge and its body, as SVG paths; dashed where it is guessed."""

    edge: str
    body: str
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Mouth:
    """An open end: a circle seen at an angle, with the way the tube runs there."""

    x: str
    y: str
    rx: str
    ry: str
    turn: str
    dashed: bool = False


@dataclass(frozen=True, slots=True)
class Break:
    """Where a long straight is drawn short: a gap across the tube between two lines."""

    gap: str
    wide: str
    lines: str


Painted = Stroke | Mouth | Break


@dataclass(frozen=True, slots=True)
class Drawn:
    """One view, laid out on the paper."""

    name: str
    x: str
    y: str
    painted: tuple[Painted, ...]
    centre: str
    balloons: tuple[Balloon, ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """Three views on one paper, with the words and spots for who cannot see them."""

    views: tuple[Drawn, ...]
    scale: int
    width: str
    height: str
    edge: str
    body: str
    says: str
    spots: tuple[Spot, ...]
    note_y: str = ""
    ring: str = shown(RING_MM)
    narrow: "Drawing | None" = None  # the same for a phone, where a page has both


def draw(
    table: BendTable,
    *,
    od_mm: float,
    numbers: Sequence[int],
    width_mm: float,
    height_mm: float,
    guessed: tuple[float, float] = (0.0, 0.0),
    start: Frame | None = None,
    ring_mm: float = RING_MM,
) -> Drawing:
    """The three views on a paper of at most this size, at the largest scale that fits.

    ``numbers`` are the numbers of the table's bends, for their balloons. ``guessed`` is how much
    of ends A and B is guessed, to be dashed. ``start`` says how the pipe lies; `start_of` unless
    given, and half-made pipes lie as the finished one does. ``ring_mm`` is half a balloon.
    """
    paper = Paper(width_mm, height_mm, ring_mm)
    start = start or start_of(table, od_mm=od_mm, paper=paper)

    def scale_of(tried: BendTable) -> int:
        return laid_out(boxes_of(tried, od_mm, start), paper).scale

    short = shortened(table, od_mm=od_mm, guessed_mm=guessed, scale_of=scale_of)
    if short.broken:
        paper = replace(paper, height_mm=height_mm - NOTE_MM)
    boxes = boxes_of(short.table, od_mm, start)
    layout = laid_out(boxes, paper)
    stroke_mm = od_mm / layout.scale
    pipe = _Pipe(short, start, od_mm, numbers, _chunks(short, start))
    return Drawing(
        views=tuple(
            _drawn(view, pipe, boxes[view.name], layout.corners[view.name], layout.scale, paper)
            for view in VIEWS
        ),
        scale=layout.scale,
        width=shown(width_mm),
        height=shown(layout.high_mm + (NOTE_MM if short.broken else 0.0)),
        edge=shown(stroke_mm),
        body=shown(max(stroke_mm - 2 * LINE_MM, 0.0)),
        says=_says(numbers, bool(short.broken)),
        spots=tuple(spots_of(table, numbers)),
        note_y=shown(layout.high_mm + NOTE_MM - 2.0) if short.broken else "",
        ring=shown(ring_mm),
    )


def _says(numbers: Sequence[int], broken: bool) -> str:
    short = ", long straights drawn short" if broken else ""
    if not numbers:
        return f"Three views of a straight tube{short}"
    bends = "its bend" if len(numbers) == 1 else f"its {len(numbers)} bends numbered"
    return f"Three views of the pipe with {bends}{short}"


# ---- one view -----------------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class _Pipe:
    """What is drawn in every view."""

    short: Shortened
    start: Frame
    od_mm: float
    numbers: Sequence[int]
    chunks: Sequence[tuple[Chunk, bool]]
    """The centre line in order, and of each part whether it is guessed."""


def _chunks(short: Shortened, start: Frame) -> list[tuple[Chunk, bool]]:
    table, line = short.table, pieces(short.table, start=start)
    first_mm, last_mm = short.guessed_mm
    first_mm = min(first_mm, table.length_mm)
    last_mm = max(table.length_mm - last_mm, first_mm)
    stops = (0.0, first_mm), (first_mm, last_mm), (last_mm, table.length_mm)
    return [
        (chunk, number != 1)
        for number, (from_mm, to_mm) in enumerate(stops)
        for chunk in chunks_of(piece for _, piece in between(line, from_mm, to_mm))
    ]


def _drawn(view: View, pipe: _Pipe, box: Box, corner: Point, scale: int, paper: Paper) -> Drawn:
    def at(point: Vec3) -> Point:
        x, y = view.flat(point)
        return (
            corner[0] + paper.margin_mm + (x - box[0]) / scale,
            corner[1] + paper.margin_mm + LABEL_MM + (y - box[1]) / scale,
        )

    stroke_mm = pipe.od_mm / scale
    curves = [_curve(chunk, at) for chunk, _ in pipe.chunks]
    return Drawn(
        name=view.name,
        x=shown(corner[0]),
        y=shown(corner[1] + LABEL_MM - 1),
        painted=tuple(_painted(view, pipe, at, scale)),
        # On a thin tube the chain line would fill it.
        centre=_path(curves) if stroke_mm > THIN_MM else "",
        balloons=tuple(
            placed(
                _wanted(view, pipe, at),
                line=[point for curve in curves for point in curve],
                stroke_mm=stroke_mm,
                ring_mm=paper.ring_mm,
            )
        ),
    )


At = Callable[[Vec3], Point]
Curve = tuple[Point, Point, Point, Point]


def _curve(chunk: Chunk, at: At) -> Curve:
    first, second, third, fourth = (at(point) for point in chunk.points)
    return first, second, third, fourth


def _painted(view: View, pipe: _Pipe, at: At, scale: int) -> list[Painted]:
    """Strokes, mouths and breaks, far to near; a mouth that looks away lies under its own tube."""
    found: list[tuple[float, int, Painted]] = []
    chunks, stroke_mm = pipe.chunks, pipe.od_mm / scale
    last = len(chunks) - 1
    for number, (chunk, dashed) in enumerate(chunks):
        depth = sum(point.dot(view.nearer) for point in chunk.points) / 4
        curve = _curve(chunk, at)
        body = _lengthened(curve, before=number > 0, after=number < last)
        found.append((depth, 1, Stroke(_path([curve]), body, dashed)))
        if number == 0:
            away = chunk.points[0] - chunk.points[1]
            found.append((depth, *_mouth(view, chunk.points[0], away, at, stroke_mm, dashed)))
        if number == last:
            away = chunk.points[3] - chunk.points[2]
            found.append((depth, *_mouth(view, chunk.points[3], away, at, stroke_mm, dashed)))
    found += _breaks(view, pipe, at, scale)
    found.sort(key=lambda one: (one[0], one[1]))
    return [painted for _, _, painted in found]


def _breaks(view: View, pipe: _Pipe, at: At, scale: int) -> Iterator[tuple[float, int, Painted]]:
    """The breaks of this view, each painted right after its straight."""
    line = pieces(pipe.short.table, start=pipe.start)
    for straight in sorted(pipe.short.broken):
        piece = line[2 * straight]
        middle = piece.frame_at(0.5)
        ahead = view.flat(middle.ahead)
        # Seen nearly end on there is no room for one.
        if math.hypot(*ahead) * piece.length_mm / scale > LEAST_BROKEN_MM:
            way_rad = math.atan2(ahead[1], ahead[0])
            found = _break(at(middle.at), way_rad, pipe.od_mm / scale)
            yield middle.at.dot(view.nearer), 3, found


def _break(middle: Point, way_rad: float, stroke_mm: float) -> Break:
    cos, sin = math.cos(way_rad), math.sin(way_rad)
    half, over = BREAK_MM / 2, stroke_mm / 2 + BREAK_OVER_MM

    def off(along_mm: float, across_mm: float) -> Point:
        return (
            middle[0] + cos * along_mm - sin * across_mm,
            middle[1] + sin * along_mm + cos * across_mm,
        )

    lines = [_straight(off(side - 0.5, over), off(side + 0.5, -over)) for side in (-half, half)]
    gap = _straight(off(-half, 0), off(half, 0))
    return Break(gap, shown(stroke_mm + 2 * LINE_MM), "".join(lines))


def _straight(one: Point, other: Point) -> str:
    return f"M{shown(one[0])} {shown(one[1])}L{shown(other[0])} {shown(other[1])}"


def _mouth(
    view: View, end: Vec3, away: Vec3, at: At, stroke_mm: float, dashed: bool
) -> tuple[int, Mouth]:
    """An open end and whether it is painted before (0) or after (2) its own piece of tube."""
    out = away.unit()
    nearness = out.dot(view.nearer)
    x, y = view.flat(out)
    center = at(end)
    radius_mm = max(stroke_mm / 2 - LINE_MM / 2, LINE_MM / 2)
    turn = math.degrees(math.atan2(y, x)) if math.hypot(x, y) > 1e-9 else 0.0
    mouth = Mouth(
        shown(center[0]),
        shown(center[1]),
        shown(max(radius_mm * abs(nearness), 0.01)),
        shown(radius_mm),
        shown(turn),
        dashed,
    )
    return (2 if nearness > -1e-9 else 0), mouth


def _path(curves: Sequence[Curve]) -> str:
    if not curves:
        return ""
    parts = [f"M{shown(curves[0][0][0])} {shown(curves[0][0][1])}"]
    parts += [
        f"C{shown(b[0])} {shown(b[1])} {shown(c[0])} {shown(c[1])} {shown(d[0])} {shown(d[1])}"
        for _, b, c, d in curves
    ]
    return "".join(parts)


def _lengthened(curve: Curve, *, before: bool, after: bool) -> str:
    """The path of a body, run on a little into its neighbours."""
    text = _path([curve])
    if after:
        x, y = _beyond(curve[3], curve[2])
        text += f"L{shown(x)} {shown(y)}"
    if before:
        x, y = _beyond(curve[0], curve[1])
        text = f"M{shown(x)} {shown(y)}L{text[1:]}"
    return text


def _beyond(end: Point, inner: Point) -> Point:
    dx, dy = end[0] - inner[0], end[1] - inner[1]
    long = math.hypot(dx, dy)
    if long < 1e-6:
        return end
    return end[0] + JOINT_MM * dx / long, end[1] + JOINT_MM * dy / long


def _wanted(view: View, pipe: _Pipe, at: At) -> list[Wanted]:
    """Ends A and B and the numbers of the bends, leaning away from the tube."""
    return [
        Wanted(one.name, at(one.at), _lean(view, one.lean))
        for one in places_of(pipe.short.table, pipe.numbers, start=pipe.start)
    ]


def _lean(view: View, away: Vec3) -> float:
    """The way on paper, upward where it points at the eye. [rad]"""
    x, y = view.flat(away)
    return math.atan2(y, x) if math.hypot(x, y) > 0.2 else -math.pi / 2
