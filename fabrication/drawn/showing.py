"""What the page and the paper of a pipe show: sums, marks and drawing together."""

from dataclasses import dataclass, replace
from typing import Any

from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import Frame
from fabrication.drawn.balloons import RING_MM
from fabrication.drawn.drawing import Drawing, draw
from fabrication.drawn.solid import LOST, solid_of
from fabrication.drawn.third_angle import Paper, start_of
from fabrication.drawn.zones import zones_of
from fabrication.models import TubeStock
from fabrication.pipe.inputs import PipeInputs
from fabrication.pipe.ways import Worked
from fabrication.pipe.worked import WorkedOut

SCREEN_MM = (262.0, 130.0)
PHONE_MM = (100.0, 170.0)
SCREEN_RING_MM = 4.2  # a balloon on a page, for letters that a phone can read


@dataclass(frozen=True, slots=True)
class Stage:
    """One of the links over a drawing: the pipe after so many bends."""

    made: int
    words: str
    is_here: bool


def drawing_of(
    found: WorkedOut,
    stock: TubeStock,
    *,
    size_mm: tuple[float, float],
    after: int | None = None,
    guessed_mm: tuple[float, float] = (0.0, 0.0),
    ring_mm: float = RING_MM,
) -> Drawing | None:
    """The three views, of the whole pipe or of it after so many bends; guessed ends dashed."""
    if found.table is None:
        return None
    order = found.order
    made = len(order) if after is None else after
    table = found.table if made >= len(order) else found.after(made)
    if table is None:
        return None
    return draw(
        table,
        od_mm=stock.od_mm,
        numbers=_numbers(table, found.table),
        width_mm=size_mm[0],
        height_mm=size_mm[1],
        guessed=guessed_mm,
        start=_start(found.table, stock, Paper(*size_mm, ring_mm)),
        ring_mm=ring_mm,
    )


def _start(whole: BendTable, stock: TubeStock, paper: Paper) -> Frame:
    """How the finished pipe lies on its paper, and every half-made one with it."""
    return start_of(whole, od_mm=stock.od_mm, paper=paper)


def on_screen(
    found: WorkedOut,
    stock: TubeStock,
    *,
    after: int | None = None,
    guessed_mm: tuple[float, float] = (0.0, 0.0),
) -> Drawing | None:
    """Three views as wide as a page, and with them the same for a phone."""
    wide, narrow = (
        drawing_of(
            found,
            stock,
            size_mm=size_mm,
            after=after,
            guessed_mm=guessed_mm,
            ring_mm=SCREEN_RING_MM,
        )
        for size_mm in (SCREEN_MM, PHONE_MM)
    )
    return replace(wide, narrow=narrow) if wide else None


def pictures_of(worked: Worked, *, after: int | None = None) -> dict[str, Any]:
    """Three views and the view in space, as a page wants them."""
    drawing = on_screen(worked.found, worked.stock, after=after, guessed_mm=worked.guessed_mm)
    solid = solid_of_found(
        worked.found,
        worked.stock,
        pipe=worked.pipe,
        guessed_mm=worked.guessed_mm,
        after=after,
    )
    return {"drawing": drawing, "solid": solid}


def _numbers(shown: BendTable, whole: BendTable) -> list[int]:
    """The numbers of the bends that are shown: a half-made pipe keeps them."""
    by_row = {bend.node: number for number, bend in enumerate(whole.bends, start=1)}
    return [by_row[bend.node] for bend in shown.bends]


def stages(found: WorkedOut, after: int | None) -> list[Stage]:
    """After bend 1, 2, 3, in the order they are made; the last is the finished pipe."""
    order = found.order
    here = len(order) if after is None else min(after, len(order))
    said = [
        Stage(made, f"After bend {order[made - 1]}", made == here) for made in range(1, len(order))
    ]
    return [*said, Stage(len(order), "Finished", here == len(order))] if said else []


def stage_asked(query: Any) -> int | None:
    """How many bends ``?after=`` asks for, when it asks."""
    text = query.get("after", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None


def solid_of_found(
    found: WorkedOut,
    stock: TubeStock,
    *,
    pipe: PipeInputs | None = None,
    guessed_mm: tuple[float, float] = (0.0, 0.0),
    after: int | None = None,
) -> dict[str, Any] | None:
    """The view in space, of the whole pipe or of it after so many bends.

    Ends are drawn as ``pipe`` says they are finished; a half-made pipe has no beads yet.
    """
    if found.table is None:
        return None
    made = len(found.order) if after is None else after
    table = found.table if made >= len(found.order) else found.after(made)
    if table is None:
        return None
    numbers = _numbers(table, found.table)
    first_clock_deg = found.table.bends[numbers[0] - 1].clock_deg if numbers else 0.0
    zones = zones_of(found, pipe, guessed_mm=guessed_mm) if pipe else ()
    if made < len(found.order):
        zones = tuple(zone for zone in zones if zone.kind == LOST)
    return solid_of(
        table,
        od_mm=stock.od_mm,
        wall_mm=stock.wall_mm,
        numbers=numbers,
        zones=zones,
        first_clock_deg=first_clock_deg,
        start=_start(found.table, stock, Paper(*SCREEN_MM, SCREEN_RING_MM)),
    )
