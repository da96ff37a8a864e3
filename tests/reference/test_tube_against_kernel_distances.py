"""Distances between chords against an open CAD kernel (Open CASCADE, cadquery-ocp-novtk)."""

import random

import pytest
from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge
from OCP.BRepExtrema import BRepExtrema_DistShapeShape
from OCP.gp import gp_Pnt

from fabrication.core.chords import Chord, between_mm
from fabrication.core.vectors import Vec3


def random_chord(choose: random.Random, spread_mm: float) -> Chord:
    start = Vec3(*(choose.uniform(-50, 50) for _ in range(3)))
    return start, start + Vec3(*(choose.uniform(-spread_mm, spread_mm) for _ in range(3)))


def kernel_distance_mm(one: Chord, other: Chord) -> float:
    edges = [
        BRepBuilderAPI_MakeEdge(*(gp_Pnt(point.x, point.y, point.z) for point in chord)).Edge()
        for chord in (one, other)
    ]
    return float(BRepExtrema_DistShapeShape(*edges).Value())


@pytest.mark.parametrize("spread_mm", [1.0, 30.0, 200.0])
def test_chords_lie_as_far_apart_as_the_kernel_says(spread_mm: float) -> None:
    choose = random.Random(f"chords {spread_mm}")
    for _ in range(200):
        one, other = random_chord(choose, spread_mm), random_chord(choose, spread_mm)

        assert between_mm(one, other) == pytest.approx(kernel_distance_mm(one, other), abs=1e-6)


def test_parallel_chords_too() -> None:
    choose = random.Random("parallel chords")
    for _ in range(200):
        start, end = random_chord(choose, 60)
        along = end - start
        aside = random_chord(choose, 1)[0]
        other = (aside, aside + along * choose.uniform(-2, 2))

        assert between_mm((start, end), other) == pytest.approx(
            kernel_distance_mm((start, end), other), abs=1e-6
        )
