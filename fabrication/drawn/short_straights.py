"""Long straights drawn short: a thin pipe of some metres would be a hair on its paper.

As on any drawing a straight is broken: a length is left out of its middle, the two parts moved
together, and the break marked. All views are then of one shortened pipe, so they still belong to
each other; diameter, bends and twists stay true.
"""

from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace

from fabrication.core.tube_table import BendTable, assemble, rows_of

LEGIBLE_MM = 0.7  # a tube narrower than this on paper is a line; house default
LEAST_DIAMETERS = 12.0  # a straight broken shorter than this would not look long
STEPS = (0.8, 0.65, 0.5, 0.4, 0.3, 0.22, 0.15, 0.1, 0.07, 0.05)


@dataclass(frozen=True, slots=True)
class Shortened:
    """A pipe to be drawn, the straights of it that are broken, and its guessed ends as drawn."""

    table: BendTable
    broken: frozenset[int] = frozenset()
    guessed_mm: tuple[float, float] = (0.0, 0.0)


ScaleOf = Callable[[BendTable], int]


def shortened(
    table: BendTable, *, od_mm: float, guessed_mm: tuple[float, float], scale_of: ScaleOf
) -> Shortened:
    """The pipe with as little left out as makes its tube legible; whole where it is anyway."""
    best = Shortened(table, guessed_mm=guessed_mm)
    best_scale = scale_of(table)
    for most_mm in _lengths(table, od_mm):
        if od_mm / best_scale >= LEGIBLE_MM:
            break
        tried = _broken_at(table, most_mm, guessed_mm)
        scale = scale_of(tried.table)
        if scale < best_scale:
            best, best_scale = tried, scale
    return best


def _lengths(table: BendTable, od_mm: float) -> Iterator[float]:
    """What the longest straight may be cut to, long first."""
    longest_mm = max(table.straights_mm)
    for share in STEPS:
        if longest_mm * share >= LEAST_DIAMETERS * od_mm:
            yield longest_mm * share


def _broken_at(table: BendTable, most_mm: float, guessed_mm: tuple[float, float]) -> Shortened:
    # A straight that would lose hardly anything is left whole.
    drawn = [most_mm if length > 1.25 * most_mm else length for length in table.straights_mm]
    rows = [
        replace(row, straight_mm=length) for row, length in zip(rows_of(table), drawn, strict=False)
    ]
    whole = table.straights_mm
    broken = frozenset(n for n, length in enumerate(whole) if drawn[n] < length)
    first, last = (
        _as_drawn(lost_mm, whole[n], drawn[n])
        for lost_mm, n in zip(guessed_mm, (0, -1), strict=True)
    )
    return Shortened(assemble(rows=rows, last_straight_mm=drawn[-1]), broken, (first, last))


def _as_drawn(lost_mm: float, whole_mm: float, drawn_mm: float) -> float:
    """How long a guessed end is drawn: its share of the straight, and all that lies beyond it."""
    if whole_mm <= 0 or lost_mm >= whole_mm:
        return drawn_mm + max(lost_mm - whole_mm, 0.0)
    return lost_mm * drawn_mm / whole_mm
