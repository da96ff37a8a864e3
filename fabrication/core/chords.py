"""Chords of a centre line: what is left of a row of them, and how far two are apart. [mm]"""

import math
from collections.abc import Sequence
from itertools import pairwise

from .vectors import Vec3

Chord = tuple[Vec3, Vec3]


def from_distance(points: Sequence[Vec3], distance_mm: float) -> tuple[Vec3, ...]:
    """Return what is left of a row of chords after a distance along it."""
    left_mm = distance_mm
    for index, (here, there) in enumerate(pairwise(points)):
        length_mm = here.distance_to(there)
        if left_mm < length_mm:
            cut = here + (there - here) * (left_mm / length_mm)
            return (cut, *points[index + 1 :])
        left_mm -= length_mm
    return ()


def least_between_mm(ones: Sequence[Vec3], others: Sequence[Vec3]) -> float:
    """Return the least distance between two rows of chords, infinite if either is empty."""
    balls = [(*ball_round(chord), chord) for chord in pairwise(others)]
    nearest_mm = math.inf
    for one in pairwise(ones):
        centre, reach_mm = ball_round(one)
        for other_centre, other_reach_mm, other in balls:
            # Balls round both chords that lie further apart than the best so far decide it.
            if centre.distance_to(other_centre) - reach_mm - other_reach_mm < nearest_mm:
                nearest_mm = min(nearest_mm, between_mm(one, other))
    return nearest_mm


def between_mm(one: Chord, other: Chord) -> float:
    """Return the least distance between two chords."""
    along, across, gap = one[1] - one[0], other[1] - other[0], one[0] - other[0]
    a, b, c = along.dot(along), along.dot(across), across.dot(across)
    d, e = along.dot(gap), across.dot(gap)
    spread = a * c - b * b
    # Where the lines run parallel any start will do; then each end is drawn onto its chord.
    s = _onto_chord((b * e - c * d) / spread) if spread > 1e-12 * a * c else 0.0
    t = _onto_chord((b * s + e) / c) if c > 0 else 0.0
    s = _onto_chord((b * t - d) / a) if a > 0 else 0.0
    return (one[0] + along * s).distance_to(other[0] + across * t)


def _onto_chord(share: float) -> float:
    return min(1.0, max(0.0, share))


def ball_round(chord: Chord) -> tuple[Vec3, float]:
    """Return the middle of a chord and half its length: a ball round all of it."""
    return (chord[0] + chord[1]) * 0.5, chord[0].distance_to(chord[1]) / 2
