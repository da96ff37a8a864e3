"""In which order, and from which end, a pipe can be bent on a former bender.

A lever bender hooks the tube on one side of the bend and leads it on the other: the hook needs
`grip` of straight tube before the arc, the roller or guide `follower` beyond it. Straight tube
is whatever is not bent yet, up to the nearest bend already made or the end of the tube. Where
the end is too near, spare tube is left on and cut off after; where a made bend is too near,
nothing helps. Every bend may be made with the hook towards either end of the pipe.

With grip and follower alone an order exists if and only if every straight between two bends is
at least as long as the shorter of the two. The search below finds the order with the least spare
tube, and among those the one that is turned end for end least often.
"""

from collections.abc import Iterator
from dataclasses import dataclass

from .bender import RAW_END, Former, Side, TubeEnd, refuse_bad_tools
from .errors import Infeasible, Problem, blocker, caution
from .tube_table import LENGTH_TOLERANCE_MM, BendTable

__all__ = [
    "RAW_END",
    "BendPlan",
    "BendStep",
    "Former",
    "Move",
    "Side",
    "TubeEnd",
    "plan",
    "short_straights",
]

EXACT_BENDS = 12
KEPT_SETS = 300
"""Up to twelve bends every order is weighed; beyond, only the most promising sets are followed."""

RADIUS_TOLERANCE_MM = 0.5
"""House default: a bend told with a radius further off than this is not this former's."""


@dataclass(frozen=True, slots=True)
class BendStep:
    """One bend at the bender. `bend` counts from zero; marks run from the raw end at the datum.

    `mark_mm` goes to the tool's zero, with the hook on the `hook` side of it.
    """

    bend: int
    hook: Side
    mark_mm: float
    clock_deg: float
    angle_deg: float
    turned_end_for_end: bool


@dataclass(frozen=True, slots=True)
class BendPlan:
    """The order of bending, the spare tube it needs at each end, and the length to cut."""

    steps: tuple[BendStep, ...]
    spare_datum_mm: float
    spare_far_mm: float
    stock_mm: float
    problems: tuple[Problem, ...] = ()

    @property
    def order(self) -> tuple[int, ...]:
        return tuple(step.bend for step in self.steps)

    @property
    def sides(self) -> tuple[Side, ...]:
        return tuple(step.hook for step in self.steps)

    @property
    def turns(self) -> int:
        return sum(step.turned_end_for_end for step in self.steps)


Move = tuple[int, int, Side]
"""The bends made so far as a bit set, the bend made next, the side hooked."""


def plan(
    table: BendTable,
    former: Former,
    *,
    datum_end: TubeEnd = RAW_END,
    far_end: TubeEnd = RAW_END,
    avoid: frozenset[Move] = frozenset(),
) -> BendPlan:
    """Order of bending with the least spare tube, then the fewest turns end for end.

    Parameters
    ----------
    table : BendTable
        As it is bent: merge touching bends first. [mm, deg]
    former : Former
        The bender, lengths measured on it. [mm]
    datum_end, far_end : TubeEnd, optional
        Allowances and finished ends. [mm]
    avoid : frozenset of Move, optional
        Moves not to make, because something is in the way.

    Returns
    -------
    BendPlan
        With a caution for a bend whose radius is not the former's, and beyond twelve bends,
        where not every order is tried. [mm, deg]

    Raises
    ------
    OutOfRange
        If a length of former or end is negative, or the radius not above zero.
    Infeasible
        short_straight, naming every straight between bends that is too short, by how much and
        what cures it; or no_order, naming what stopped each bend left over.

    Source
    ------
    Derived: shortest path over the sets of bends made. Which mark to line up from which side:
    FAA airframe handbook (left of the form block, the left mark; right of it, the right).

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> rows = [BendRow(straight, 0, 60, 57.2957795) for straight in (10, 45, 90, 45)]
    >>> table = table_from_rows(rows=rows, last_straight_mm=10)
    >>> best = plan(table, Former(radius_mm=57.3, grip_mm=40, follower_mm=80))
    >>> best.spare_datum_mm, best.spare_far_mm, best.turns
    (30.0, 30.0, 1)
    """
    refuse_bad_tools(former, datum_end, far_end)
    search = _Search(table, former, datum_end, far_end, avoid)
    best = search.best()
    if best is None:
        raise _why_not(search)
    return _written_out(search, best)


def short_straights(table: BendTable, former: Former) -> tuple[Problem, ...]:
    """Straights between bends that no order of bending on this former gets round.

    Parameters
    ----------
    table : BendTable
        As it is bent: merge touching bends first. [mm, deg]
    former : Former
        The bender. [mm]

    Returns
    -------
    tuple of Problem
        One blocker a straight, `index` counting the straights from zero.

    Source
    ------
    Derived: whichever of its two bends is made last finds this straight and no more.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> rows = [BendRow(90, 0, 60, 30), BendRow(25, 0, 60, 30)]
    >>> table = table_from_rows(rows=rows, last_straight_mm=90)
    >>> short_straights(table, Former(radius_mm=30, grip_mm=40, follower_mm=80))[0].index
    1
    """
    least_mm = min(former.grip_mm, former.follower_mm)
    found = []
    for index, straight_mm in enumerate(table.straights_mm[1:-1], start=1):
        short_mm = least_mm - straight_mm
        if short_mm > LENGTH_TOLERANCE_MM:
            message = (
                f"Straight {index + 1}, between bends {index} and {index + 1}, is "
                f"{straight_mm:.1f} mm long and {short_mm:.1f} mm too short for this former: "
                "lengthen it, use a former that needs less, or make the pipe in two with a joint."
            )
            found.append(blocker("short_straight", message, index))
    return tuple(found)


@dataclass(frozen=True, slots=True)
class _Label:
    """One way to have made a set of bends: the spare it needs and how it got there."""

    spare_datum_mm: float
    spare_far_mm: float
    turns: int
    side: Side | None
    bend: int
    before: "_Label | None"

    def is_no_worse_than(self, other: "_Label") -> bool:
        turns = self.turns + (self.side is not other.side)
        return (
            self.spare_datum_mm <= other.spare_datum_mm
            and self.spare_far_mm <= other.spare_far_mm
            and turns <= other.turns
        )

    def rank(self) -> tuple[float, int]:
        return (round(self.spare_datum_mm + self.spare_far_mm, 9), self.turns)


@dataclass(frozen=True, slots=True)
class _Search:
    """Shortest path from the straight tube to the finished pipe over sets of made bends."""

    table: BendTable
    former: Former
    datum_end: TubeEnd
    far_end: TubeEnd
    avoid: frozenset[Move]

    def best(self) -> _Label | None:
        """Return the best way to make all bends, or None."""
        *_, last = self.layers()
        finished = last.get((1 << len(self.table.bends)) - 1, [])
        return min(finished, key=_Label.rank, default=None)

    def layers(self) -> Iterator[dict[int, list[_Label]]]:
        """Yield, for 0, 1, 2, ... bends made, the reachable sets with their unbeaten ways."""
        layer = {0: [_Label(0.0, 0.0, 0, None, -1, None)]}
        yield layer
        for _ in self.table.bends:
            following: dict[int, list[_Label]] = {}
            for made, labels in layer.items():
                for bend, side, datum_mm, far_mm in self.moves(made):
                    ways = following.setdefault(made | 1 << bend, [])
                    for label in labels:
                        _keep(ways, _extended(label, bend, side, datum_mm, far_mm))
            if len(self.table.bends) > EXACT_BENDS:
                following = self.promising(following)
            layer = following
            yield layer

    def promising(self, layer: dict[int, list[_Label]]) -> dict[int, list[_Label]]:
        """Return the best sets of a layer, and those of working along from either end.

        Working along always arrives where anything does, if spare tube is no object.
        """
        everything = (1 << len(self.table.bends)) - 1
        ranked = sorted(layer.items(), key=lambda entry: min(way.rank() for way in entry[1]))
        along = [
            (made, ways)
            for made, ways in ranked[KEPT_SETS:]
            if made & (made + 1) == 0 or (left := everything ^ made) & (left + 1) == 0
        ]
        return dict([*ranked[:KEPT_SETS], *along])

    def moves(self, made: int) -> Iterator[tuple[int, Side, float, float]]:
        """Yield each bend that can be made now, the side hooked, and the spare it calls for."""
        for bend in range(len(self.table.bends)):
            if made >> bend & 1:
                continue
            for side in Side:
                datum_mm = self.spare(made, bend, side, Side.DATUM)
                far_mm = self.spare(made, bend, side, Side.FAR)
                if datum_mm is None or far_mm is None or (made, bend, side) in self.avoid:
                    continue
                yield bend, side, datum_mm, far_mm

    def spare(self, made: int, bend: int, side: Side, towards: Side) -> float | None:
        """Return the spare tube a bend needs at an end; None where no spare would help."""
        room_mm, end = self.room(made, bend, towards)
        need_mm = self.former.grip_mm if side is towards else self.former.follower_mm
        short_mm = need_mm - room_mm
        if short_mm <= LENGTH_TOLERANCE_MM:
            return 0.0
        return short_mm if end is not None and end.takes_spare else None

    def room(self, made: int, bend: int, towards: Side) -> tuple[float, TubeEnd | None]:
        """Return the straight tube beside a bend, and the tube end if that is what limits it."""
        bends = self.table.bends
        if towards is Side.DATUM:
            nearest = next((i for i in range(bend - 1, -1, -1) if made >> i & 1), None)
            if nearest is None:
                return bends[bend].start_mm - self.datum_end.occupied_mm, self.datum_end
            return bends[bend].start_mm - bends[nearest].end_mm, None
        nearest = next((i for i in range(bend + 1, len(bends)) if made >> i & 1), None)
        if nearest is None:
            reach_mm = self.table.length_mm - self.far_end.occupied_mm
            return reach_mm - bends[bend].end_mm, self.far_end
        return bends[nearest].start_mm - bends[bend].end_mm, None


def _extended(label: _Label, bend: int, side: Side, datum_mm: float, far_mm: float) -> _Label:
    turned = label.side is not None and label.side is not side
    return _Label(
        max(label.spare_datum_mm, datum_mm),
        max(label.spare_far_mm, far_mm),
        label.turns + turned,
        side,
        bend,
        label,
    )


def _keep(ways: list[_Label], new: _Label) -> None:
    if any(way.is_no_worse_than(new) for way in ways):
        return
    ways[:] = [way for way in ways if not new.is_no_worse_than(way)]
    ways.append(new)


def _written_out(search: _Search, best: _Label) -> BendPlan:
    before_mm = best.spare_datum_mm + search.datum_end.extra_mm
    after_mm = best.spare_far_mm + search.far_end.extra_mm
    steps: list[BendStep] = []
    label: _Label | None = best
    while label is not None and label.side is not None:
        steps.append(_step(search, label, before_mm))
        label = label.before
    return BendPlan(
        steps=tuple(reversed(steps)),
        spare_datum_mm=best.spare_datum_mm,
        spare_far_mm=best.spare_far_mm,
        stock_mm=before_mm + search.table.length_mm + after_mm,
        problems=tuple(_doubts(search)),
    )


def _step(search: _Search, label: _Label, before_mm: float) -> BendStep:
    bend = search.table.bends[label.bend]
    offset_mm = search.former.start_offset_mm
    # The arc begins beyond the mark, away from the hook: the two sides differ by two offsets.
    datum = label.side is Side.DATUM
    mark_mm = bend.start_mm - offset_mm if datum else bend.end_mm + offset_mm
    return BendStep(
        bend=label.bend,
        hook=Side.DATUM if datum else Side.FAR,
        mark_mm=before_mm + mark_mm,
        clock_deg=bend.clock_deg,
        angle_deg=bend.angle_deg,
        turned_end_for_end=label.before is not None and label.turns > label.before.turns,
    )


def _doubts(search: _Search) -> Iterator[Problem]:
    if len(search.table.bends) > EXACT_BENDS:
        message = "With so many bends not every order was tried: another may need less spare tube."
        yield caution("not_every_order_tried", message)
    for number, bend in enumerate(search.table.bends):
        if abs(bend.radius_mm - search.former.radius_mm) > RADIUS_TOLERANCE_MM:
            message = (
                f"Bend {number + 1} has a radius of {bend.radius_mm:g} mm, this former makes "
                f"{search.former.radius_mm:g} mm."
            )
            yield caution("other_radius", message, number)


def _why_not(search: _Search) -> Infeasible:
    short = short_straights(search.table, search.former)
    if short:
        return Infeasible("short_straight", short)
    *_, furthest = (layer for layer in search.layers() if layer)
    made = min(furthest)
    left_over = [bend for bend in range(len(search.table.bends)) if not made >> bend & 1]
    return Infeasible("no_order", tuple(_stop(search, made, bend) for bend in left_over))


def _stop(search: _Search, made: int, bend: int) -> Problem:
    short = []
    for towards in Side:
        room_mm, _ = search.room(made, bend, towards)
        short.append((min(search.former.grip_mm, search.former.follower_mm) - room_mm, towards))
    short_mm, towards = max(short)
    end = "A" if towards is Side.DATUM else "B"
    if short_mm > LENGTH_TOLERANCE_MM:
        message = f"Bend {bend + 1} lacks {short_mm:.1f} mm of straight tube towards end {end}."
    else:
        message = f"Bend {bend + 1} cannot be made after the others: something is in the way."
    return blocker("no_room" if short_mm > LENGTH_TOLERANCE_MM else "in_the_way", message, bend)
