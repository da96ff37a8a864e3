"""The drawings of a pipe at true size: each bend, the whole of it from above, the wrap strip."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace

from fabrication.bench_figures import BenchFigures
from fabrication.core.bend_template import bend_figure
from fabrication.core.centre_line import pieces
from fabrication.core.drawing import Anchor, Circle, Figure, Line, Shape, Text
from fabrication.core.plan_view import Post, plan_figure, posts
from fabrication.core.table_forms import clock_wrap_mm
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import Vec3
from fabrication.core.wrap_strip import clock_strip

# Straight beside a bend: half a degree is 0.6 mm over 70. Less where the paper asks for it.
LEGS_MM = (70.0, 50.0, 35.0)
WORD_MM, GAP_MM = 3.0, 12.0
SAME_CLOCK_DEG = 0.5


@dataclass(frozen=True, slots=True)
class BendSheet:
    """One bend drawn flat, with the words that belong to it."""

    number: int
    figure: Figure
    words: tuple[str, ...]

    @property
    def labelled(self) -> Figure:
        """The drawing with its words below it."""
        return self.labelled_at(0.0)

    def labelled_at(self, turn_deg: float) -> Figure:
        """The drawing turned, its words level and below it."""
        turned = upright(self.figure.turned(turn_deg))
        box = turned.bounds
        return turned + Figure(
            tuple(
                Text((box.left_mm, box.bottom_mm - 5.0 - 4.5 * line), said, WORD_MM)
                for line, said in enumerate(self.words)
            )
        )


@dataclass(frozen=True, slots=True)
class Tick:
    """A tick of the wrap strip: the bends whose heel lies there."""

    bends: tuple[int, ...]
    clock_deg: float
    wrap_mm: float

    @property
    def label(self) -> str:
        return ", ".join(map(str, self.bends))


def bend_sheets(
    table: BendTable, *, od_mm: float, says: BenchFigures, leg_mm: float = LEGS_MM[0]
) -> list[BendSheet]:
    """A drawing for each bend with at most so much of each leg, ends A and B named."""
    last = len(table.bends) - 1
    found = []
    for index, bend in enumerate(table.bends):
        before, after = table.straights_mm[index], table.straights_mm[index + 1]
        legs = (min(before, leg_mm), min(after, leg_mm))
        figure = bend_figure(
            angle_deg=bend.angle_deg,
            radius_mm=bend.radius_mm,
            od_mm=od_mm,
            leg_before_mm=legs[0],
            leg_after_mm=legs[1],
            starts_here=index == 0 and before <= leg_mm,
            ends_here=index == last and after <= leg_mm,
        )
        words = (
            f"Bend {index + 1}: {says.angle(bend.angle_deg)}",
            f"centre-line radius {says.length(bend.radius_mm, 0.1)}, ticks every 10 mm",
        )
        named = figure + _ends_named(legs, bend.angle_deg, bend.radius_mm)
        found.append(BendSheet(index + 1, named, words))
    return found


def _ends_named(legs: tuple[float, float], angle_deg: float, radius_mm: float) -> Figure:
    """The letters A and B beyond the legs, towards those ends of the pipe."""
    beyond = 1.5 * WORD_MM
    first = Text((-legs[0] - beyond, -WORD_MM / 2), "A", WORD_MM, anchor="middle")
    second = Figure((Text((legs[1] + beyond, 0.0), "B", WORD_MM, anchor="middle"),))
    second = second.moved(0, -radius_mm).turned(angle_deg).moved(0, radius_mm)
    return upright(Figure((first, *second.moved(0, -WORD_MM / 2))))


def plan(
    table: BendTable,
    *,
    od_mm: float,
    says: BenchFigures,
    guessed_mm: tuple[float, float] = (0.0, 0.0),
    turn_deg: float = 0.0,
) -> Figure:
    """The whole pipe from above, its posts and bends named; words stay level when it is turned."""
    drawn = plan_figure(table, od_mm=od_mm, guessed_mm=guessed_mm)
    named = upright(Figure(tuple(_bends_named(table, od_mm))).turned(turn_deg))
    held = Figure(tuple(_posts_named(table, od_mm, says, turn_deg)))
    return drawn.turned(turn_deg) + named + held


def posts_of(table: BendTable, *, od_mm: float) -> tuple[Post, ...]:
    return posts(table, od_mm=od_mm)


def _bends_named(table: BendTable, od_mm: float) -> list[Shape]:
    line = pieces(table)
    start, end = line[0].frame_at(0), line[-1].frame_at(1)
    found: list[Shape] = []
    for name, frame, away in (("A", start, -start.ahead), ("B", end, end.ahead)):
        found.append(_word(name, frame.at, away, od_mm / 2 + 4.0, 4.0))
    for piece in line:
        if piece.bend is not None:
            heel = piece.frame_at(0.5)
            found.append(_word(str(piece.bend + 1), heel.at, -heel.inward, od_mm / 2 + 4.0, 4.0))
    return found


def _word(text: str, at: Vec3, away: Vec3, off_mm: float, high_mm: float) -> Text:
    level = math.hypot(away.x, away.y)
    # What points straight at the eye is named beside it.
    x, y = (away.x / level, away.y / level) if level > 0.05 else (0.0, 1.0)
    place = (at.x + x * off_mm, at.y + y * off_mm - high_mm / 2)
    return Text(place, text, high_mm, anchor="middle")


def _posts_named(
    table: BendTable, od_mm: float, says: BenchFigures, turn_deg: float
) -> list[Shape]:
    """A cross for each post, and beside the tube its number and height."""
    found: list[Shape] = []
    for number, post in enumerate(posts_of(table, od_mm=od_mm), start=1):
        x, y = Line((0.0, 0.0), post.at).turned(turn_deg).end
        found += [
            Circle((x, y), 2.0, "note"),
            Line((x - 4.0, y), (x + 4.0, y), "note"),
            Line((x, y - 4.0), (x, y + 4.0), "note"),
        ]
        aside = math.radians(post.heading_deg + turn_deg - 90)
        off_x, off_y = (od_mm / 2 + 3.0) * math.cos(aside), (od_mm / 2 + 3.0) * math.sin(aside)
        anchor: Anchor = "start" if off_x > 0.5 else "end" if off_x < -0.5 else "middle"
        place = (x + off_x, y + off_y - 1.3)
        said = f"P{number}: {says.bare(post.height_mm)}"
        found.append(Text(place, said, 2.6, anchor=anchor))
    return found


def ticks(table: BendTable, *, od_mm: float) -> list[Tick]:
    """The ticks of the wrap strip in order round the tube; bends at one clock share theirs."""
    found: list[Tick] = []
    for number, bend in enumerate(table.bends, start=1):
        for at, tick in enumerate(found):
            if abs(math.remainder(tick.clock_deg - bend.clock_deg, 360)) < SAME_CLOCK_DEG:
                found[at] = replace(tick, bends=(*tick.bends, number))
                break
        else:
            wrap_mm = clock_wrap_mm(clock_deg=bend.clock_deg % 360, od_mm=od_mm)
            found.append(Tick((number,), bend.clock_deg, wrap_mm))
    return sorted(found, key=lambda tick: tick.wrap_mm)


def strip(table: BendTable, *, od_mm: float) -> Figure:
    """The wrap strip of a pipe."""
    marks = ticks(table, od_mm=od_mm)
    return clock_strip(
        od_mm=od_mm,
        clocks_deg=[tick.clock_deg for tick in marks],
        labels=[tick.label for tick in marks],
    )


def beside(figures: Sequence[Figure]) -> Figure:
    """Drawings set out from left to right, for one file."""
    placed, reached_mm = Figure(), 0.0
    for figure in figures:
        box = figure.bounds
        placed += figure.moved(reached_mm - box.left_mm, -box.bottom_mm)
        reached_mm += box.width_mm + GAP_MM
    return placed


def upright(figure: Figure) -> Figure:
    """The drawing with its words level again, however it was turned."""
    return Figure(
        tuple(
            replace(shape, turn_deg=0.0) if isinstance(shape, Text) else shape for shape in figure
        )
    )
