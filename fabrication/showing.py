"""What the page and the paper of a pipe show: sums, marks and drawing together."""

from dataclasses import dataclass
from typing import Any

from fabrication.core.tube_table import BendTable
from fabrication.drawing import Drawing, draw
from fabrication.models import TubeStock
from fabrication.worked import WorkedOut

SCREEN_MM = (262.0, 130.0)


@dataclass(frozen=True, slots=True)
class Stage:
    """One of the links over a drawing: the pipe after so many bends."""

    made: int
    words: str
    is_here: bool


def drawing_of(
    found: WorkedOut, stock: TubeStock, *, after: int | None = None, size_mm: tuple[float, float]
) -> Drawing | None:
    """The three views, of the whole pipe or of it after so many bends."""
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
    )


def _numbers(shown: BendTable, whole: BendTable) -> list[int]:
    """The numbers of the bends that are shown: a half-made pipe keeps them."""
    by_row = {bend.node: number for number, bend in enumerate(whole.bends, start=1)}
    return [by_row[bend.node] for bend in shown.bends]


def stages(found: WorkedOut, after: int | None) -> list[Stage]:
    """After bend 1, 2, 3, in the order they are made; the last is the finished pipe."""
    order = found.order
    here = len(order) if after is None else min(after, len(order))
    said = [
        Stage(made, "After bend " + ", ".join(map(str, order[:made])), made == here)
        for made in range(1, len(order))
    ]
    return [*said, Stage(len(order), "Finished", here == len(order))] if said else []


def stage_asked(query: Any) -> int | None:
    """How many bends ``?after=`` asks for, when it asks."""
    text = query.get("after", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else None
