"""Chords of a centre line."""

import math
from itertools import pairwise

import pytest

from fabrication.core.chords import between_mm, from_distance, least_between_mm
from fabrication.core.vectors import Vec3

LINE = (Vec3(0, 0, 0), Vec3(10, 0, 0), Vec3(10, 20, 0))


@pytest.mark.parametrize(
    ("distance", "wanted"),
    [
        (0, LINE),
        (4, (Vec3(4, 0, 0), *LINE[1:])),
        (10, LINE[1:]),
        (25, (Vec3(10, 15, 0), LINE[2])),
        (30, ()),
        (99, ()),
    ],
)
def test_what_is_left_after_a_distance(distance: float, wanted: tuple[Vec3, ...]) -> None:
    assert from_distance(LINE, distance) == wanted


@pytest.mark.parametrize(
    ("one", "other", "distance"),
    [
        (((0, 0, 0), (10, 0, 0)), ((5, -3, 4), (5, 3, 4)), 4),
        (((0, 0, 0), (10, 0, 0)), ((13, 4, 0), (20, 4, 0)), 5),
        (((0, 0, 0), (10, 0, 0)), ((2, 7, 0), (8, 7, 0)), 7),
        (((0, 0, 0), (10, 0, 0)), ((-4, 3, 0), (-4, 9, 0)), 5),
        (((0, 0, 0), (10, 0, 0)), ((5, 0, 0), (5, 5, 5)), 0),
        (((0, 0, 0), (0, 0, 0)), ((3, -1, 0), (3, 1, 0)), 3),
        (((3, -1, 0), (3, 1, 0)), ((0, 0, 0), (0, 0, 0)), 3),
        (((0, 0, 0), (0, 0, 0)), ((3, 4, 0), (3, 4, 0)), 5),
    ],
    ids=["crossing", "past an end", "side by side", "corner", "touching", "point", "to point",
         "points"],
)  # fmt: skip
def test_distances_by_hand(
    one: tuple[tuple[float, float, float], tuple[float, float, float]],
    other: tuple[tuple[float, float, float], tuple[float, float, float]],
    distance: float,
) -> None:
    first, second = (tuple(Vec3(*point) for point in chord) for chord in (one, other))

    assert between_mm((first[0], first[1]), (second[0], second[1])) == pytest.approx(distance)


def test_the_least_of_nothing_is_beyond_measure() -> None:
    assert least_between_mm(LINE, ()) == math.inf
    assert least_between_mm((), LINE) == math.inf


def test_the_least_of_rows_is_that_of_their_nearest_chords() -> None:
    other = (Vec3(40, 0, 0), Vec3(14, 18, 3), Vec3(40, 40, 0))

    assert least_between_mm(LINE, other) == pytest.approx(
        min(between_mm(one, two) for one in pairwise(LINE) for two in pairwise(other))
    )
