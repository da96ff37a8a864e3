"""Which pieces to cut from which bar, so that the least tube has to be bought.

A set of pieces fits a bar if its lengths and the kerfs between them fit what is left of the bar
after its end is trimmed: a piece that ends at the bar's end needs no cut. Offcuts in the rack
are used first. Up to 16 pieces the answer is the best there is; above, it says whether it is.
"""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from typing import NamedTuple

from .errors import (
    CoreError,
    Infeasible,
    Problem,
    blocker,
    caution,
    require_between,
    require_not_negative,
    require_positive,
)

EXACT_PIECES = 16
SLACK_MM = 1e-9


@dataclass(frozen=True, slots=True)
class CutBar:
    """One bar, the pieces cut from it in order (counted from zero), and what is left. [mm]"""

    length_mm: float
    pieces: tuple[int, ...]
    left_mm: float
    bought: bool


@dataclass(frozen=True, slots=True)
class CuttingPlan:
    """Bars to cut; `proven_least` tells whether less tube could not have been bought."""

    bars: tuple[CutBar, ...]
    bought_mm: float
    proven_least: bool
    problems: tuple[Problem, ...] = ()


def cutting_plan(
    *,
    pieces_mm: Sequence[float],
    bar_lengths_mm: Sequence[float],
    kerf_mm: float,
    end_trim_mm: float = 0.0,
    offcuts_mm: Sequence[float] = (),
) -> CuttingPlan:
    """Plan that buys the least length of bar, then the fewest bars.

    Parameters
    ----------
    pieces_mm : sequence of float
        Lengths to cut, each above zero. [mm]
    bar_lengths_mm : sequence of float
        Lengths that can be bought, as many of each as wanted; at least one. [mm]
    kerf_mm : float
        Width of the cut, not negative. [mm]
    end_trim_mm : float, optional
        Cut off the raw end of every bar, its own kerf included. [mm]
    offcuts_mm : sequence of float, optional
        Lengths in the rack, one of each; trimmed like bars. [mm]

    Returns
    -------
    CuttingPlan
        What is left of a bar is counted without the cut that would part it. [mm]

    Raises
    ------
    OutOfRange
        If a length is not above zero, a bar no longer than its trim, or kerf or trim negative.
    CoreError
        no_bars, if nothing can be bought.
    Infeasible
        piece_too_long, naming every piece that neither bar nor offcut can give; offcuts_used_up,
        naming those that no bar can give when there are too few offcuts for them.

    Source
    ------
    Exact up to 16 pieces: dynamic programming over sets of pieces. Above: longest first into
    the fullest bar that takes it, held against the bound of total length.

    Examples
    --------
    >>> plan = cutting_plan(pieces_mm=[1200, 1100, 900, 850, 700, 650, 600],
    ...     bar_lengths_mm=[3000], kerf_mm=2)
    >>> len(plan.bars), plan.bought_mm, plan.proven_least
    (3, 9000.0, True)
    """
    yard = _Yard(tuple(pieces_mm), tuple(bar_lengths_mm), tuple(offcuts_mm), kerf_mm, end_trim_mm)
    yard.refuse_nonsense()
    if not yard.pieces:
        return CuttingPlan((), 0.0, True)
    if len(yard.pieces) <= EXACT_PIECES:
        return _written_out(yard, _best_filling(yard), proven=True)
    filling = _longest_first(yard)
    bought_mm = sum(length for length, bought, _ in filling if bought)
    return _written_out(yard, filling, proven=bought_mm <= _bound_mm(yard) + SLACK_MM)


Filling = list[tuple[float, bool, list[int]]]
"""Bars as (length, bought, pieces)."""


@dataclass(frozen=True, slots=True)
class _Yard:
    pieces: tuple[float, ...]
    bars: tuple[float, ...]
    offcuts: tuple[float, ...]
    kerf_mm: float
    end_trim_mm: float

    def refuse_nonsense(self) -> None:
        require_not_negative(kerf_mm=self.kerf_mm, end_trim_mm=self.end_trim_mm)
        for length in self.pieces:
            require_positive(piece_mm=length)
        for length in self.offcuts:
            require_positive(offcut_mm=length)
        for length in self.bars:
            require_between(self.end_trim_mm, math.inf, bar_mm=length)
        if not self.bars:
            raise CoreError("no_bars", None, "Say at least one length of bar that can be bought.")
        longest_mm = max((*self.bars, *self.offcuts)) - self.end_trim_mm
        too_long = tuple(
            blocker("piece_too_long", f"Piece {i + 1} is longer than any bar gives.", i)
            for i, length in enumerate(self.pieces)
            if length > longest_mm + SLACK_MM
        )
        if too_long:
            raise Infeasible("piece_too_long", too_long)

    def used_up(self) -> Infeasible:
        """Return the refusal of pieces that only offcuts can give, when those are used up."""
        longest_mm = max(self.bars) - self.end_trim_mm
        return Infeasible(
            "offcuts_used_up",
            tuple(
                blocker("offcuts_used_up", f"Piece {i + 1} fits no bar that can be bought.", i)
                for i, length in enumerate(self.pieces)
                if length > longest_mm + SLACK_MM
            ),
        )

    def room_mm(self, bar_mm: float) -> float:
        """Return what a bar can hold, each piece counted with one kerf."""
        return bar_mm - self.end_trim_mm + self.kerf_mm


class _Way(NamedTuple):
    """One way to have cut a set: what was bought, the bar on the saw, and how it got there.

    `offcut` counts the offcuts passed; `opened` is True where the last piece opened its bar.
    """

    bought_mm: float
    bars: int
    offcut: int
    room_mm: float
    bar_mm: float
    piece: int
    opened: bool
    before: "_Way | None"

    def is_no_worse_than(self, other: "_Way") -> bool:
        """Tell whether every way on from the other is open from here at no more cost."""
        if other.bars == 0:
            # Both still cut offcuts: fewer passed is better, for the next one is whole.
            ours, theirs = (self.offcut, -self.room_mm), (other.offcut, -other.room_mm)
            return self.bars == 0 and ours <= theirs
        cost = (self.bought_mm, self.bars)
        if (cost[0] + other.bar_mm, cost[1] + 1) <= (other.bought_mm, other.bars):
            # The bar the other has on the saw can still be bought from here, and is then whole.
            return True
        cheaper = cost <= (other.bought_mm, other.bars)
        return self.bars > 0 and cheaper and self.room_mm >= other.room_mm


def _best_filling(yard: _Yard) -> Filling:
    """Return the cheapest filling, by the cheapest ways to cut every set of pieces."""
    longest_first = sorted(range(len(yard.pieces)), key=lambda piece: -yard.pieces[piece])
    ways: list[list[_Way]] = [[] for _ in range(1 << len(longest_first))]
    ways[0] = [_Way(0.0, 0, 0, 0.0, 0.0, -1, False, None)]
    for done in range(len(ways) - 1):
        left = [place for place in range(len(longest_first)) if not done >> place & 1]
        for way in ways[done]:
            for place in left:
                # A bought bar is opened by the longest piece left: it must lie in one of them.
                for new in _next_ways(yard, way, longest_first[place], may_buy=place == left[0]):
                    _keep(ways[done | 1 << place], new)
        ways[done] = []
    if not ways[-1]:
        raise yard.used_up()
    return _traced(min(ways[-1], key=lambda way: (way.bought_mm, way.bars)))


def _next_ways(yard: _Yard, way: _Way, piece: int, *, may_buy: bool) -> Iterator[_Way]:
    need_mm = yard.pieces[piece] + yard.kerf_mm
    if need_mm <= way.room_mm + SLACK_MM:
        yield _Way(*way[:3], way.room_mm - need_mm, way.bar_mm, piece, False, way)
        return
    if way.bars == 0:
        for number in range(way.offcut, len(yard.offcuts)):
            room_mm = yard.room_mm(yard.offcuts[number]) - need_mm
            if room_mm >= -SLACK_MM:
                yield _Way(0.0, 0, number + 1, room_mm, yard.offcuts[number], piece, True, way)
                break
    for bar_mm in yard.bars if may_buy else ():
        room_mm = yard.room_mm(bar_mm) - need_mm
        if room_mm >= -SLACK_MM:
            bought_mm = way.bought_mm + bar_mm
            yield _Way(bought_mm, way.bars + 1, way.offcut, room_mm, bar_mm, piece, True, way)


def _keep(ways: list[_Way], new: _Way) -> None:
    if any(way.is_no_worse_than(new) for way in ways):
        return
    ways[:] = [way for way in ways if not new.is_no_worse_than(way)]
    ways.append(new)


def _traced(best: _Way) -> Filling:
    filling: Filling = []
    pieces: list[int] = []
    way: _Way | None = best
    while way is not None and way.piece >= 0:
        pieces.append(way.piece)
        if way.opened:
            filling.append((way.bar_mm, way.bars > 0, pieces[::-1]))
            pieces = []
        way = way.before
    return filling[::-1]


def _longest_first(yard: _Yard) -> Filling:
    """Return a good filling: each piece, longest first, into the fullest bar that takes it."""
    filling: Filling = []
    rooms: list[float] = []
    spare = sorted(yard.offcuts)
    for piece in sorted(range(len(yard.pieces)), key=lambda piece: -yard.pieces[piece]):
        need_mm = yard.pieces[piece] + yard.kerf_mm
        fitting = [i for i, room_mm in enumerate(rooms) if need_mm <= room_mm + SLACK_MM]
        if not fitting:
            bar_mm, bought = _next_bar(yard, spare, need_mm)
            filling.append((bar_mm, bought, []))
            rooms.append(yard.room_mm(bar_mm))
            fitting = [len(rooms) - 1]
        fullest = min(fitting, key=lambda i: rooms[i])
        filling[fullest][2].append(piece)
        rooms[fullest] -= need_mm
    return filling


def _next_bar(yard: _Yard, spare: list[float], need_mm: float) -> tuple[float, bool]:
    for bar_mm in spare:
        if need_mm <= yard.room_mm(bar_mm) + SLACK_MM:
            spare.remove(bar_mm)
            return bar_mm, False
    if need_mm > yard.room_mm(max(yard.bars)) + SLACK_MM:
        raise yard.used_up()
    return max(yard.bars), True


def _bound_mm(yard: _Yard) -> float:
    """Return a length of bar that has to be bought at the very least."""
    in_rack_mm = sum(max(0.0, yard.room_mm(bar_mm)) for bar_mm in yard.offcuts)
    need_mm = sum(length + yard.kerf_mm for length in yard.pieces) - in_rack_mm
    if len(yard.bars) > 1:
        return max(0.0, need_mm * min(bar / yard.room_mm(bar) for bar in yard.bars))
    bar_mm = yard.bars[0]
    return bar_mm * max(0, math.ceil((need_mm - SLACK_MM) / yard.room_mm(bar_mm)))


def _written_out(yard: _Yard, filling: Filling, *, proven: bool) -> CuttingPlan:
    bars = []
    for bar_mm, bought, pieces in filling:
        used_mm = sum(yard.pieces[piece] + yard.kerf_mm for piece in pieces)
        # A piece may overrun a bar by the slack of rounding, never by more.
        left_mm = max(0.0, yard.room_mm(bar_mm) - used_mm)
        bars.append(CutBar(bar_mm, tuple(pieces), left_mm, bought))
    bought_mm = math.fsum(bar.length_mm for bar in bars if bar.bought)
    doubts = (
        ()
        if proven
        else (caution("maybe_not_least", "With so many pieces another plan may need less tube."),)
    )
    return CuttingPlan(tuple(bars), bought_mm, proven, doubts)
