"""Pipes to test with: random ones for properties, and a few with names."""

import math
from collections.abc import Callable
from dataclasses import replace
from typing import Any

from hypothesis import strategies as st

from fabrication.core.tube_path import BendRow, BendTable, bend_table, table_from_rows
from fabrication.core.tube_table import assemble, rows_of
from fabrication.core.vectors import Vec3

Draw = Callable[[st.SearchStrategy[Any]], Any]
Motion = Callable[[Vec3], Vec3]

NODES_OF_A_RAIL = (
    Vec3(0, 0, 0),
    Vec3(180, 0, 0),
    Vec3(230, 140, 0),
    Vec3(280, 170, 120),
    Vec3(300, 330, 160),
    Vec3(380, 360, 60),
)
"""A four-bend rail with twists of both signs, invented."""


def rail() -> BendTable:
    return bend_table(nodes_mm=NODES_OF_A_RAIL, radii_mm=[30] * 4, od_mm=12, wall_mm=0.8)


def changed(
    table: BendTable,
    *,
    angles: dict[int, float] | None = None,
    twists: dict[int, float] | None = None,
    straights: dict[int, float] | None = None,
) -> BendTable:
    """Return a pipe with some of its bends, twists and straights off by so much."""
    angles, twists, straights = angles or {}, twists or {}, straights or {}
    rows = [
        replace(
            row,
            straight_mm=row.straight_mm + straights.get(i, 0),
            angle_deg=row.angle_deg + angles.get(i, 0),
            rotation_deg=row.rotation_deg + twists.get(i, 0),
        )
        for i, row in enumerate(rows_of(table))
    ]
    last = table.straights_mm[-1] + straights.get(len(rows), 0)
    return assemble(rows=rows, last_straight_mm=last)


def apart_deg(one: float, other: float) -> float:
    """Return how far two angles are apart on the circle. [deg]"""
    return abs(math.remainder(one - other, 360))


def random_table(
    draw: Draw,
    bends: int,
    *,
    straight_mm: tuple[float, float] = (5, 300),
    angle_deg: tuple[float, float] = (1, 170),
) -> BendTable:
    """Return a table of so many bends with values drawn one by one."""
    straights = st.floats(*straight_mm)
    rows = [
        BendRow(
            draw(straights),
            draw(st.floats(-180, 180)) if number else 0.0,
            draw(st.floats(*angle_deg)),
            draw(st.floats(8, 120)),
        )
        for number in range(bends)
    ]
    return table_from_rows(rows=rows, last_straight_mm=draw(straights))


@st.composite
def tables(
    draw: Draw,
    least: int = 1,
    most: int = 8,
    *,
    straight_mm: tuple[float, float] = (5, 300),
    angle_deg: tuple[float, float] = (1, 170),
) -> BendTable:
    bends = int(draw(st.integers(least, most)))
    return random_table(draw, bends, straight_mm=straight_mm, angle_deg=angle_deg)


@st.composite
def rigid_motions(draw: Draw) -> Motion:
    """Return a function that turns a point about some axis and then shifts it."""
    number = st.floats(-1, 1)
    axis = Vec3(draw(number), draw(number), draw(number) + 1.5).unit()
    angle_rad = draw(st.floats(-math.pi, math.pi))
    shift = Vec3(draw(number), draw(number), draw(number)) * 500

    def move(point: Vec3) -> Vec3:
        """Turn by the formula of Rodrigues, written apart from the code under test."""
        along = axis * (axis.dot(point) * (1 - math.cos(angle_rad)))
        turned = point * math.cos(angle_rad) + axis.cross(point) * math.sin(angle_rad) + along
        return turned + shift

    return move
