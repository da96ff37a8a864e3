"""A pipe drawn: three views in third angle, in millimetres of paper, for page and sheet alike.

The tube is its centre line stroked with the outside diameter in ink and then a little narrower in
paper: exact, because the outline of a tube is the parallel curve of its projected centre line.
Pieces are painted far to near. Arcs are projected as cubic curves of 30 degrees or less.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fabrication.balloons import Balloon, Point, Wanted, placed, shown
from fabrication.centre_chunks import Chunk, chunks_of
from fabrication.core.centre_line import pieces
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import Vec3
from fabrication.spots import Spot, spots_of

# ISO 5455 has 1, 2, 5 and their tens; the steps between fill the paper better.
SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
LINE_MM, INSET_MM, MARGIN_MM, GAP_MM, LABEL_MM = 0.25, 3.0, 10.5, 2.0, 6.0
THIN_MM = 1.6
JOINT_MM = 0.3  # bodies overlap their neighbours by this much, so that no joint shows


@dataclass(frozen=True, slots=True)
class View:
    """How space falls on paper: right, down, and towards the eye."""

    name: str
    right: Vec3
    down: Vec3
    nearer: Vec3

    def flat(self, point: Vec3) -> Point:
        return point.dot(self.right), point.dot(self.down)


PLAN = View("From above", Vec3(1, 0, 0), Vec3(0, -1, 0), Vec3(0, 0, 1))
FRONT = View("From the front", Vec3(1, 0, 0), Vec3(0, 0, -1), Vec3(0, -1, 0))
SIDE = View("From the right", Vec3(0, 1, 0), Vec3(0, 0, -1), Vec3(1, 0, 0))
VIEWS = (PLAN, FRONT, SIDE)


@dataclass(frozen=True, slots=True)
class Stroke:
    """One piece of tube: its edge and its body, as SVG paths."""

    edge: str
    body: str


@dataclass(frozen=True, slots=True)
class Mouth:
    """An open end: a circle seen at an angle, with the way the tube runs there."""

    x: str
    y: str
    rx: str
    ry: str
    turn: str


@dataclass(frozen=True, slots=True)
class Drawn:
    """One view, laid out on the paper."""

    name: str
    x: str
    y: str
    painted: tuple[Stroke | Mouth, ...]
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


def draw(
    table: BendTable, *, od_mm: float, numbers: Sequence[int], width_mm: float, height_mm: float
) -> Drawing:
    """The three views on a paper of at most this size, at the largest scale that fits.

    ``numbers`` are the numbers of the table's bends, for their balloons.
    """
    chunks = chunks_of(pieces(table))
    boxes = {view.name: _box(chunks, view, od_mm) for view in VIEWS}
    scale, high_mm, corners = _laid_out(boxes, width_mm, height_mm)
    stroke_mm = od_mm / scale
    return Drawing(
        views=tuple(
            _drawn(view, table, chunks, boxes[view.name], corners[view.name], scale, od_mm, numbers)
            for view in VIEWS
        ),
        scale=scale,
        width=shown(width_mm),
        height=shown(high_mm),
        edge=shown(stroke_mm),
        body=shown(max(stroke_mm - 2 * LINE_MM, 0.0)),
        says=_says(numbers),
        spots=tuple(spots_of(table, numbers)),
    )


def _laid_out(
    boxes: dict[str, "Box"], width_mm: float, height_mm: float
) -> tuple[int, float, dict[str, Point]]:
    """The scale, the height used, and where each view's corner lies: front under plan, side beside.

    A pipe too long for the smallest scale runs out of its paper; at 1:100 that is over 10 m.
    """
    plan, front, side = (_size(boxes[view.name]) for view in VIEWS)

    def paper(scale: int) -> Point:
        across = (plan[0] + side[0]) / scale + 4 * MARGIN_MM + GAP_MM + INSET_MM
        return across, (plan[1] + front[1]) / scale + 4 * MARGIN_MM + GAP_MM + 2 * LABEL_MM

    fitting = (s for s in SCALES if paper(s)[0] <= width_mm and paper(s)[1] <= height_mm)
    scale = next(fitting, SCALES[-1])
    left = INSET_MM + 2 * MARGIN_MM + plan[0] / scale + GAP_MM
    low = 2 * MARGIN_MM + plan[1] / scale + GAP_MM + LABEL_MM
    corners = {PLAN.name: (INSET_MM, 0.0), FRONT.name: (INSET_MM, low), SIDE.name: (left, low)}
    return scale, paper(scale)[1], corners


def _says(numbers: Sequence[int]) -> str:
    if not numbers:
        return "Three views of a straight tube"
    bends = "its bend" if len(numbers) == 1 else f"its {len(numbers)} bends numbered"
    return f"Three views of the pipe with {bends}"


# ---- one view -----------------------------------------------------------------------------

Box = tuple[float, float, float, float]


def _box(chunks: Sequence[Chunk], view: View, od_mm: float) -> Box:
    flat = [view.flat(point) for chunk in chunks for point in chunk.points] or [(0.0, 0.0)]
    xs, ys, r = [x for x, _ in flat], [y for _, y in flat], od_mm / 2
    return min(xs) - r, min(ys) - r, max(xs) + r, max(ys) + r


def _size(box: Box) -> Point:
    return box[2] - box[0], box[3] - box[1]


def _drawn(
    view: View,
    table: BendTable,
    chunks: Sequence[Chunk],
    box: Box,
    corner: Point,
    scale: int,
    od_mm: float,
    numbers: Sequence[int],
) -> Drawn:
    def at(point: Vec3) -> Point:
        x, y = view.flat(point)
        return (
            corner[0] + MARGIN_MM + (x - box[0]) / scale,
            corner[1] + MARGIN_MM + LABEL_MM + (y - box[1]) / scale,
        )

    return Drawn(
        name=view.name,
        x=shown(corner[0]),
        y=shown(corner[1] + LABEL_MM - 1),
        painted=tuple(_painted(view, chunks, at, od_mm / scale)),
        # On a thin tube the chain line would fill it.
        centre=_path([_curve(one, at) for one in chunks]) if od_mm / scale > THIN_MM else "",
        balloons=tuple(
            placed(
                _wanted(view, table, at, numbers),
                line=[point for chunk in chunks for point in _curve(chunk, at)],
                stroke_mm=od_mm / scale,
            )
        ),
    )


At = Callable[[Vec3], Point]
Curve = tuple[Point, Point, Point, Point]


def _curve(chunk: Chunk, at: At) -> Curve:
    first, second, third, fourth = (at(point) for point in chunk.points)
    return first, second, third, fourth


def _painted(view: View, chunks: Sequence[Chunk], at: At, stroke_mm: float) -> list[Stroke | Mouth]:
    """Strokes and mouths, far to near; a mouth that looks away lies under its own tube."""
    found: list[tuple[float, int, Stroke | Mouth]] = []
    last = len(chunks) - 1
    for number, chunk in enumerate(chunks):
        depth = sum(point.dot(view.nearer) for point in chunk.points) / 4
        curve = _curve(chunk, at)
        body = _lengthened(curve, before=number > 0, after=number < last)
        found.append((depth, 1, Stroke(_path([curve]), body)))
        if number == 0:
            away = chunk.points[0] - chunk.points[1]
            found.append((depth, *_mouth(view, chunk.points[0], away, at, stroke_mm)))
        if number == last:
            away = chunk.points[3] - chunk.points[2]
            found.append((depth, *_mouth(view, chunk.points[3], away, at, stroke_mm)))
    found.sort(key=lambda one: (one[0], one[1]))
    return [painted for _, _, painted in found]


def _mouth(view: View, end: Vec3, away: Vec3, at: At, stroke_mm: float) -> tuple[int, Mouth]:
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


def _wanted(view: View, table: BendTable, at: At, numbers: Sequence[int]) -> list[Wanted]:
    """Ends A and B and the numbers of the bends, leaning away from the tube."""
    line = pieces(table)
    start, end = line[0].frame_at(0), line[-1].frame_at(1)
    bends = [piece.frame_at(0.5) for piece in line if piece.bend is not None]
    found = [Wanted("A", at(start.at), _lean(view, start.ahead * -1))]
    found += [
        Wanted(str(number), at(middle.at), _lean(view, middle.inward * -1))
        for number, middle in zip(numbers, bends, strict=True)
    ]
    return [*found, Wanted("B", at(end.at), _lean(view, end.ahead))]


def _lean(view: View, away: Vec3) -> float:
    """The way on paper, upward where it points at the eye. [rad]"""
    x, y = view.flat(away)
    return math.atan2(y, x) if math.hypot(x, y) > 0.2 else -math.pi / 2
