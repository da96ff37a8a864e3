"""Where ends and bends lie, in figures: the drawing for who cannot see it."""

from collections.abc import Sequence
from dataclasses import dataclass

from fabrication.core.centre_line import pieces
from fabrication.core.tube_table import BendTable


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an end or the middle of a bend lies, told from end A while bend 1 turns left."""

    name: str
    ahead_mm: float
    left_mm: float
    up_mm: float


def spots_of(table: BendTable, numbers: Sequence[int]) -> list[Spot]:
    line = pieces(table)
    middles = [piece.frame_at(0.5).at for piece in line if piece.bend is not None]
    named = [("End A", line[0].frame_at(0).at)]
    named += [(f"Bend {n}", at) for n, at in zip(numbers, middles, strict=True)]
    named.append(("End B", line[-1].frame_at(1).at))
    # The canonical frame: ahead along the first straight, left where bend 1 turns, up its axis.
    return [Spot(name, *at) for name, at in named]
