"""A made pipe drawn over the one that was wanted: the made one in ink, the wanted one dashed.

Three views as ``fabrication.drawn.drawing`` lays them, one scale for both. The made pipe has its
outline, the wanted one its centre line: where the dashes leave the outline, it is off by more than
the tube is thick.
"""

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fabrication.core.as_made import Hold, laid_over
from fabrication.core.centre_line import Piece, pieces
from fabrication.core.registration import Motion
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import Frame, Vec3
from fabrication.drawn.balloons import Balloon, Point, Wanted, placed, shown
from fabrication.drawn.centre_chunks import Chunk, chunks_of
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

PAPER = Paper(262.0, 130.0, ring_mm=4.2)
PHONE = Paper(100.0, 170.0, ring_mm=4.2)
LINE_MM = 0.3
LEAST_SHARE = 0.7  # of a paper's width: a page draws no larger, so that it stays on one screen

At = Callable[[Vec3], Point]


@dataclass(frozen=True, slots=True)
class OverView:
    """One view: the made pipe's centre line to be stroked as a tube, the wanted one's to be dashed,
    and where the wanted ends lie."""

    name: str
    x: str
    y: str
    made: str
    wanted: str
    ends: tuple[tuple[str, str], ...]
    balloons: tuple[Balloon, ...]


@dataclass(frozen=True, slots=True)
class Overlay:
    """Three views on one paper."""

    views: tuple[OverView, ...]
    scale: int
    width: str
    height: str
    edge: str
    body: str
    ring: str
    narrow: "Overlay | None" = None  # the same for a phone


def overlay(
    made: BendTable, wanted: BendTable, *, hold: Hold, od_mm: float, numbers: Sequence[int]
) -> Overlay:
    """Both pipes, the made one laid over the wanted one at an end, or shared out; as wide as a
    page, and with it the same for a phone."""
    motion = laid_over(made, wanted, hold=hold)
    wide, narrow = (_on(paper, made, wanted, motion, od_mm, numbers) for paper in (PAPER, PHONE))
    return replace(wide, narrow=narrow)


def _on(
    paper: Paper,
    made: BendTable,
    wanted: BendTable,
    motion: Motion,
    od_mm: float,
    numbers: Sequence[int],
) -> Overlay:
    lies = start_of(wanted, od_mm=od_mm, paper=paper)
    here = _carried(lies, motion)
    theirs, ours = (
        boxes_of(table, od_mm, start) for table, start in ((wanted, lies), (made, here))
    )
    boxes = {view.name: _around(theirs[view.name], ours[view.name]) for view in VIEWS}
    layout = laid_out(boxes, paper)
    wide_mm = max(layout.wide_mm, LEAST_SHARE * paper.width_mm)
    aside_mm = (wide_mm - layout.wide_mm) / 2
    lines = pieces(made, start=here), pieces(wanted, start=lies)
    stroke_mm = od_mm / layout.scale
    return Overlay(
        views=tuple(
            _view(
                view,
                boxes[view.name],
                (layout.corners[view.name][0] + aside_mm, layout.corners[view.name][1]),
                layout.scale,
                lines,
                numbers,
                paper,
            )
            for view in VIEWS
        ),
        scale=layout.scale,
        width=shown(wide_mm),
        height=shown(layout.high_mm),
        edge=shown(stroke_mm),
        body=shown(max(stroke_mm - 2 * LINE_MM, 0.0)),
        ring=shown(paper.ring_mm),
    )


def _carried(lies: Frame, motion: Motion) -> Frame:
    """Where the made pipe begins: the motion told in the frame that the wanted pipe lies in."""

    def placed_in(direction: Vec3) -> Vec3:
        return lies.ahead * direction.x + lies.inward * direction.y + lies.axis * direction.z

    shift = placed_in(motion.shift)
    turned = [
        placed_in(motion.turned(axis)) for axis in (Vec3(1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, 1))
    ]
    return Frame(lies.at + shift, *turned)


def _around(first: Box, second: Box) -> Box:
    return (
        min(first[0], second[0]),
        min(first[1], second[1]),
        max(first[2], second[2]),
        max(first[3], second[3]),
    )


def _view(
    view: View,
    box: Box,
    corner: Point,
    scale: int,
    lines: tuple[Sequence[Piece], Sequence[Piece]],
    numbers: Sequence[int],
    paper: Paper,
) -> OverView:
    def at(point: Vec3) -> Point:
        x, y = view.flat(point)
        return (
            corner[0] + paper.margin_mm + (x - box[0]) / scale,
            corner[1] + paper.margin_mm + LABEL_MM + (y - box[1]) / scale,
        )

    made, wanted = (chunks_of(line) for line in lines)
    drawn = [at(point) for chunks in (made, wanted) for one in chunks for point in one.points]
    return OverView(
        name=view.name,
        x=shown(corner[0]),
        y=shown(corner[1] + LABEL_MM - 1),
        made=_path(made, at),
        wanted=_path(wanted, at),
        ends=tuple(
            (shown(x), shown(y)) for x, y in map(at, (wanted[0].points[0], wanted[-1].points[3]))
        ),
        balloons=tuple(
            placed(
                _named(view, lines[0], at, numbers),
                line=drawn,
                stroke_mm=0.0,
                ring_mm=paper.ring_mm,
            )
        ),
    )


def _path(chunks: Sequence[Chunk], at: At) -> str:
    first = at(chunks[0].points[0])
    parts = [f"M{shown(first[0])} {shown(first[1])}"]
    for chunk in chunks:
        curve = " ".join(f"{shown(x)} {shown(y)}" for x, y in map(at, chunk.points[1:]))
        parts.append(f"C{curve}")
    return "".join(parts)


def _named(view: View, line: Sequence[Piece], at: At, numbers: Sequence[int]) -> list[Wanted]:
    """Balloons for the ends and bends of the made pipe."""
    start, end = line[0].frame_at(0), line[-1].frame_at(1)
    bends = [piece.frame_at(0.5) for piece in line if piece.bend is not None]
    named = [("A", start.at, start.ahead * -1)]
    named += [
        (str(number), middle.at, middle.inward * -1)
        for number, middle in zip(numbers, bends, strict=True)
    ]
    named.append(("B", end.at, end.ahead))
    return [Wanted(text, at(place), _lean(view, away)) for text, place, away in named]


def _lean(view: View, away: Vec3) -> float:
    """The way on paper, upward where it points at the eye. [rad]"""
    x, y = view.flat(away)
    return math.atan2(y, x) if math.hypot(x, y) > 0.2 else -math.pi / 2
