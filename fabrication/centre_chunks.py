"""The centre line cut into pieces that one cubic each can draw."""

import math
from collections.abc import Iterable
from dataclasses import dataclass
from itertools import pairwise

from fabrication.core.centre_line import Piece
from fabrication.core.vectors import Frame, Vec3

ARC_STEP_DEG = 30.0


@dataclass(frozen=True, slots=True)
class Chunk:
    """A straight, or an arc of 30 degrees or less: the four points of a cubic."""

    points: tuple[Vec3, Vec3, Vec3, Vec3]


def chunks_of(line: Iterable[Piece]) -> list[Chunk]:
    found: list[Chunk] = []
    for piece in line:
        if piece.bend is None:
            if piece.length_mm > 1e-6:
                start, end = piece.frame_at(0).at, piece.frame_at(1).at
                found.append(Chunk((start, _mid(start, end), _mid(start, end), end)))
            continue
        count = math.ceil(piece.angle_deg / ARC_STEP_DEG - 1e-9)
        frames = [piece.frame_at(step / count) for step in range(count + 1)]
        reach = _handle(piece.angle_deg / count, piece.radius_mm)
        found += [Chunk(_cubic(a, b, reach)) for a, b in pairwise(frames)]
    return found


def _handle(angle_deg: float, radius_mm: float) -> float:
    """Length of a cubic's handles that follow an arc: 4/3 R tan(a/4)."""
    return 4 / 3 * radius_mm * math.tan(math.radians(angle_deg) / 4)


def _cubic(first: Frame, second: Frame, reach_mm: float) -> tuple[Vec3, Vec3, Vec3, Vec3]:
    return (
        first.at,
        first.at + first.ahead * reach_mm,
        second.at - second.ahead * reach_mm,
        second.at,
    )


def _mid(one: Vec3, other: Vec3) -> Vec3:
    return (one + other) * 0.5
