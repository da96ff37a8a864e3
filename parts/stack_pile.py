"""How a stack of fasteners stands: every thing at its true height, head on top, in millimetres.

Sizes of a head, a nut and a washer follow the thread: they come from the tables of ISO 4014
(head), ISO 4032 (nut) and ISO 7089 (washer, from memory), scaled to threads in between and to
inch threads. What somebody measured is used instead wherever it was written down.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from math import cos, radians

from parts import threads
from parts.models import StackItem

What = StackItem.What

# Thread, head height, nut height, washer across, washer thickness. [mm]
# Source: ISO 4014, ISO 4032, ISO 7089, nominal or largest values; from memory.
SIZES_MM = (
    (3.0, 2.0, 2.4, 7.0, 0.5),
    (4.0, 2.8, 3.2, 9.0, 0.8),
    (5.0, 3.5, 4.7, 10.0, 1.0),
    (6.0, 4.0, 5.2, 12.0, 1.6),
    (8.0, 5.3, 6.8, 16.0, 1.6),
    (10.0, 6.4, 8.4, 20.0, 2.0),
    (12.0, 7.5, 10.8, 24.0, 2.5),
    (16.0, 10.0, 14.8, 30.0, 3.0),
    (20.0, 12.5, 18.0, 37.0, 3.0),
)
WITHOUT_SIZE_MM = 6.0
HELD_BY = (What.BOLT, What.SCREW, What.STUD, What.RIVET, What.PIN)
NUTS = (What.NUT, What.LOCK_NUT)
# Cut through in the drawing, so that the shank shows inside; everything else hides it.
CUT_THROUGH = (What.THE_PART, What.SPACER, What.BUSH)


@dataclass(frozen=True, slots=True)
class Solid:
    """One thing of the stack. ``top_mm`` counts down from the top of the drawing."""

    item: StackItem
    top_mm: float
    height_mm: float
    width_mm: float
    diameter_mm: float

    @property
    def bottom_mm(self) -> float:
        return self.top_mm + self.height_mm

    @property
    def middle_mm(self) -> float:
        return (self.top_mm + self.bottom_mm) / 2


@dataclass(frozen=True, slots=True)
class Shank:
    """The bolt, screw, stud or rivet itself, under its head."""

    top_mm: float
    bottom_mm: float
    diameter_mm: float
    core_mm: float
    threaded_mm: tuple[tuple[float, float], ...]


@dataclass(frozen=True, slots=True)
class Pile:
    """A stack standing on paper; ``says`` is what the drawing had to assume, or finds odd."""

    solids: tuple[Solid, ...]
    shank: Shank | None
    says: tuple[str, ...]

    @property
    def height_mm(self) -> float:
        ends = [solid.bottom_mm for solid in self.solids]
        return max([*ends, self.shank.bottom_mm] if self.shank else ends)

    @property
    def width_mm(self) -> float:
        return max(solid.width_mm for solid in self.solids)


def pile(items: Sequence[StackItem]) -> Pile:
    """The stack of one hole, its things counted from the head.

    Raises
    ------
    ValueError
        When there is nothing in the stack.
    """
    if not items:
        raise ValueError("There is nothing in the stack.")
    says = []
    known = [found for item in items if (found := threads.find(item.thread))]
    size_mm = known[0].major_mm if known else WITHOUT_SIZE_MM
    if not known:
        says.append("No thread is known: drawn as 6 mm.")
    holder = next((item for item in items if item.what in HELD_BY), None)
    part_mm, said = _part_mm(items, holder, size_mm)
    says += said
    solids = _stood_up(items, size_mm, part_mm)
    shank = _shank(solids, holder) if holder else None
    if shank and (nut := _last_nut(solids)) and shank.bottom_mm < nut.bottom_mm - 0.01:
        says.append("By these lengths it does not reach through the nut. Check them.")
    return Pile(solids, shank, tuple(says))


def across_corners_mm(*, thread: str, diameter_mm: float) -> float:
    """Width of a hexagon over its corners: the table's spanner size, else 1.6 diameters. [mm]"""
    found = threads.find(thread)
    flats_mm = found.af_mm if found and found.af_mm else 1.6 * diameter_mm
    return flats_mm / cos(radians(30))


def sizes_mm(diameter_mm: float) -> tuple[float, float, float, float]:
    """Head height, nut height, washer across and washer thickness for a thread. [mm]

    Between two rows of the table the nearer row is scaled.
    """
    nearest = min(SIZES_MM, key=lambda row: abs(row[0] - diameter_mm))
    share = diameter_mm / nearest[0]
    head, nut, across, thick = (size * share for size in nearest[1:])
    return head, nut, across, thick


def _size_of(item: StackItem, size_mm: float) -> float:
    found = threads.find(item.thread)
    return found.major_mm if found else size_mm


def _height_mm(item: StackItem, size_mm: float, part_mm: float) -> float:
    """How much of the stack's height a thing takes."""
    head, nut, _, thick = sizes_mm(_size_of(item, size_mm))
    if item.what == What.STUD:
        return min(1.5 * size_mm, (item.length_mm or 4.5 * size_mm) / 3)
    fixed = {
        What.BOLT: head,
        What.SCREW: head,
        What.RIVET: head,
        What.NUT: nut,
        What.LOCK_NUT: 1.15 * nut,
        What.PIN: 0.5 * size_mm,
    }
    if item.what in fixed:
        return fixed[What(item.what)]
    if item.what == What.THE_PART:
        return part_mm
    usual = {What.SPACER: 1.5 * size_mm, What.BUSH: 1.5 * size_mm, What.SHIM: 0.1 * size_mm}
    usual |= {What.SPRING_WASHER: 1.25 * thick, What.CLIP: 0.5 * size_mm}
    return item.length_mm or usual.get(What(item.what), thick)


def _width_mm(item: StackItem, size_mm: float) -> float:
    own_mm = _size_of(item, size_mm)
    across = sizes_mm(own_mm)[2]
    if item.what in (What.BOLT, What.SCREW, *NUTS):
        return across_corners_mm(thread=item.thread, diameter_mm=own_mm)
    shares = {
        What.THE_PART: 1.8 * across,
        What.STUD: own_mm,
        What.SPRING_WASHER: 0.92 * across,
        What.SPACER: 0.9 * across,
        What.BUSH: 0.8 * across,
        What.RIVET: 1.75 * own_mm,
        What.PIN: 1.5 * own_mm,
    }
    return shares.get(What(item.what), across)


def _stood_up(items: Sequence[StackItem], size_mm: float, part_mm: float) -> tuple[Solid, ...]:
    solids = []
    top_mm = 0.0
    for item in items:
        height_mm = _height_mm(item, size_mm, part_mm)
        own_mm = _size_of(item, size_mm)
        solids.append(Solid(item, top_mm, height_mm, _width_mm(item, size_mm), own_mm))
        top_mm += height_mm
    return tuple(solids)


def _part_mm(
    items: Sequence[StackItem], holder: StackItem | None, size_mm: float
) -> tuple[float, list[str]]:
    """How thick to draw the part, and what is to be said about that.

    Not measured, it fills what the bolt leaves with 0.3 diameters out of the nut (our figure).
    """
    parts = [item for item in items if item.what == What.THE_PART]
    usual_mm = 1.2 * size_mm
    if not parts:
        return usual_mm, ["The part is not in the stack: add it where it sits."]
    if parts[0].length_mm:
        return parts[0].length_mm, []
    says = ["The part's thickness is not measured."]
    if holder is None or not holder.length_mm or not any(i.what in NUTS for i in items):
        return usual_mm, says
    others = [
        i for i in items if i.what != What.THE_PART and (i is not holder or i.what == What.STUD)
    ]
    taken_mm = sum(_height_mm(item, size_mm, 0.0) for item in others)
    left_mm = (holder.length_mm - taken_mm - 0.3 * size_mm) / len(parts)
    return (left_mm if left_mm > 0 else usual_mm), says


def _last_nut(solids: Sequence[Solid]) -> Solid | None:
    return next((solid for solid in reversed(solids) if solid.item.what in NUTS), None)


def _shank(solids: Sequence[Solid], holder: StackItem) -> Shank | None:
    own = next(solid for solid in solids if solid.item is holder)
    if holder.what == What.PIN:
        return None
    thread = threads.find(holder.thread)
    size_mm = own.diameter_mm
    top_mm = own.top_mm if holder.what == What.STUD else own.bottom_mm
    length_mm = holder.length_mm or solids[-1].bottom_mm + 0.3 * size_mm - top_mm
    bottom_mm = top_mm + length_mm
    # Source: ISO 4014, threaded length b = 2 d + 6 mm up to 125 mm long (from memory).
    run_mm = length_mm if holder.what == What.SCREW else min(length_mm, 2 * size_mm + 6)
    runs = [(bottom_mm - run_mm, bottom_mm)]
    if holder.what == What.STUD:
        runs = [(own.top_mm, own.bottom_mm), (max(own.bottom_mm, bottom_mm - run_mm), bottom_mm)]
    if holder.what == What.RIVET:
        runs = []
    core_mm = thread.core_mm if thread else 0.85 * size_mm
    return Shank(top_mm, bottom_mm, size_mm, core_mm, tuple(runs))
