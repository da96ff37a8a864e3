"""Where ends and bends lie: in figures for who cannot see the drawing, in space for balloons."""

from collections.abc import Sequence
from dataclasses import dataclass

from fabrication.core.centre_line import pieces
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import CANONICAL, Frame, Vec3


@dataclass(frozen=True, slots=True)
class Spot:
    """Where an end or the middle of a bend lies, told from end A while bend 1 turns left."""

    name: str
    ahead_mm: float
    left_mm: float
    up_mm: float


@dataclass(frozen=True, slots=True)
class Place:
    """What a balloon says, the point it means, and the way off the tube in which it leans."""

    name: str
    at: Vec3
    lean: Vec3


def places_of(table: BendTable, numbers: Sequence[int], *, start: Frame = CANONICAL) -> list[Place]:
    """End A, the middles of the bends under their numbers, end B."""
    line = pieces(table, start=start)
    first, last = line[0].frame_at(0), line[-1].frame_at(1)
    middles = [piece.frame_at(0.5) for piece in line if piece.bend is not None]
    return [
        Place("A", first.at, first.ahead * -1),
        *(
            Place(str(number), middle.at, middle.inward * -1)
            for number, middle in zip(numbers, middles, strict=True)
        ),
        Place("B", last.at, last.ahead),
    ]


def spots_of(table: BendTable, numbers: Sequence[int]) -> list[Spot]:
    """The same in figures, in words that need no drawing."""
    # The canonical frame: ahead along the first straight, left where bend 1 turns, up its axis.
    return [
        Spot(f"End {one.name}" if one.name in "AB" else f"Bend {one.name}", *one.at)
        for one in places_of(table, numbers)
    ]
