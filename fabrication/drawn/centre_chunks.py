"""The centre line cut into pieces that one cubic each can draw."""

import math
from collections.abc import Iterable, Sequence
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


def between(line: Sequence[Piece], from_mm: float, to_mm: float) -> list[tuple[int, Piece]]:
    """The pieces of a centre line between two places told from end A, each with its number.

    Pieces are cut at both places; what has no length is left out.
    """
    found: list[tuple[int, Piece]] = []
    reached_mm = 0.0
    for number, piece in enumerate(line):
        begin = max(from_mm, reached_mm)
        stop = min(to_mm, reached_mm + piece.length_mm)
        if stop - begin > 1e-6:
            found.append((number, _cut(piece, begin - reached_mm, stop - reached_mm)))
        reached_mm += piece.length_mm
    return found


def _cut(piece: Piece, from_mm: float, to_mm: float) -> Piece:
    share = (to_mm - from_mm) / piece.length_mm
    start = piece.frame_at(from_mm / piece.length_mm)
    return Piece(start, to_mm - from_mm, piece.bend, piece.angle_deg * share, piece.radius_mm)


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
