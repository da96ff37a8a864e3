"""Three views on one paper: how the pipe lies, how large it is drawn, where each view stands.

Third angle, front under plan and right side beside front, unless the three drawn in a row or in a
column are much larger; each view carries its name.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass

from fabrication.core.centre_line import pieces
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import CANONICAL, Frame, Vec3
from fabrication.drawn.balloons import RING_MM, Point
from fabrication.drawn.centre_chunks import Chunk, chunks_of

# ISO 5455 has 1, 2, 5 and their tens; the steps between fill the paper better.
SCALES = (1, 2, 3, 4, 5, 6, 8, 10, 12, 15, 20, 25, 30, 40, 50, 75, 100)
INSET_MM, GAP_MM, LABEL_MM = 3.0, 2.0, 6.0
BESIDE_RING_MM = 7.8  # from the middle of a balloon to its tube, and a little
QUARTER = Frame(Vec3(0, 0, 0), Vec3(0, -1, 0), Vec3(1, 0, 0), Vec3(0, 0, 1))
WORTH_IT = 0.75  # of the plainer scale: from here on a row or a quarter turn is worth it

Box = tuple[float, float, float, float]


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
class Paper:
    """What there is to draw on; balloons of ``ring_mm`` need room beside the tube."""

    width_mm: float
    height_mm: float
    ring_mm: float = RING_MM

    @property
    def margin_mm(self) -> float:
        return self.ring_mm + BESIDE_RING_MM


@dataclass(frozen=True, slots=True)
class Layout:
    """The scale 1 to so much, the paper used, and where each view's corner lies."""

    scale: int
    wide_mm: float
    high_mm: float
    corners: dict[str, Point]


def start_of(table: BendTable, *, od_mm: float, paper: Paper) -> Frame:
    """How the pipe lies on such a paper: its first straight to the right, or down."""
    as_it_lies, turned = (
        laid_out(boxes_of(table, od_mm, start), paper).scale for start in (CANONICAL, QUARTER)
    )
    return QUARTER if turned <= WORTH_IT * as_it_lies else CANONICAL


def laid_out(boxes: dict[str, Box], paper: Paper) -> Layout:
    """Front under plan and side beside front, or all in a row or column where that is worth it.

    A pipe too long for the smallest scale runs out of its paper; at 1:100 that is over 10 m.
    """
    plain = _under(boxes, paper)
    lined_up = min(_in_a_row(boxes, paper), _in_a_column(boxes, paper), key=lambda one: one.scale)
    return lined_up if lined_up.scale <= WORTH_IT * plain.scale else plain


def _under(boxes: dict[str, Box], paper: Paper) -> Layout:
    plan, front, side = (_size(boxes[view.name]) for view in VIEWS)
    around_mm = 2 * paper.margin_mm

    def size(scale: int) -> Point:
        across = (plan[0] + side[0]) / scale + 2 * around_mm + GAP_MM + INSET_MM
        return across, (plan[1] + front[1]) / scale + 2 * around_mm + GAP_MM + 2 * LABEL_MM

    scale = _largest(size, paper)
    left = INSET_MM + around_mm + plan[0] / scale + GAP_MM
    low = around_mm + plan[1] / scale + GAP_MM + LABEL_MM
    corners = {PLAN.name: (INSET_MM, 0.0), FRONT.name: (INSET_MM, low), SIDE.name: (left, low)}
    return Layout(scale, *size(scale), corners)


def _in_a_row(boxes: dict[str, Box], paper: Paper) -> Layout:
    sizes = [_size(boxes[view.name]) for view in VIEWS]
    around_mm = 2 * paper.margin_mm

    def size(scale: int) -> Point:
        across = sum(wide for wide, _ in sizes) / scale + 3 * around_mm + 2 * GAP_MM + INSET_MM
        return across, max(high for _, high in sizes) / scale + around_mm + LABEL_MM

    scale = _largest(size, paper)
    corners, left = {}, INSET_MM
    for view, (wide, _) in zip(VIEWS, sizes, strict=True):
        corners[view.name] = (left, 0.0)
        left += wide / scale + around_mm + GAP_MM
    return Layout(scale, *size(scale), corners)


def _in_a_column(boxes: dict[str, Box], paper: Paper) -> Layout:
    sizes = [_size(boxes[view.name]) for view in VIEWS]
    around_mm = 2 * paper.margin_mm

    def size(scale: int) -> Point:
        across = max(wide for wide, _ in sizes) / scale + around_mm + INSET_MM
        around = 3 * (around_mm + LABEL_MM) + 2 * GAP_MM
        return across, sum(high for _, high in sizes) / scale + around

    scale = _largest(size, paper)
    corners, low = {}, 0.0
    for view, (_, high) in zip(VIEWS, sizes, strict=True):
        corners[view.name] = (INSET_MM, low)
        low += high / scale + around_mm + LABEL_MM + GAP_MM
    return Layout(scale, *size(scale), corners)


def _largest(size: Callable[[int], Point], paper: Paper) -> int:
    fitting = (
        scale
        for scale in SCALES
        if size(scale)[0] <= paper.width_mm and size(scale)[1] <= paper.height_mm
    )
    return next(fitting, SCALES[-1])


def boxes_of(table: BendTable, od_mm: float, start: Frame) -> dict[str, Box]:
    chunks = chunks_of(pieces(table, start=start))
    return {view.name: _box(chunks, view, od_mm) for view in VIEWS}


def _box(chunks: Sequence[Chunk], view: View, od_mm: float) -> Box:
    flat = [view.flat(point) for chunk in chunks for point in chunk.points] or [(0.0, 0.0)]
    xs, ys, r = [x for x, _ in flat], [y for _, y in flat], od_mm / 2
    return min(xs) - r, min(ys) - r, max(xs) + r, max(ys) + r


def _size(box: Box) -> Point:
    return box[2] - box[0], box[3] - box[1]
