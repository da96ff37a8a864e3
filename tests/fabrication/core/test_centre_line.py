"""The centre line in pieces and as chords."""

import math
from itertools import pairwise

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.centre_line import chord_count, pieces, polyline
from fabrication.core.errors import OutOfRange
from fabrication.core.tube_path import BendTable, nodes_from_table
from tests.fabrication.core.pipes import rail, tables


@given(tables(0, 6))
def test_pieces_join_without_a_kink_and_end_where_the_nodes_end(table: BendTable) -> None:
    line = pieces(table)

    for before, after in pairwise(line):
        end = before.frame_at(1)
        assert end.at.distance_to(after.start.at) < 1e-9
        assert end.ahead.distance_to(after.start.ahead) < 1e-9
    assert line[-1].frame_at(1).at.distance_to(nodes_from_table(table)[-1]) < 1e-9
    assert sum(piece.length_mm for piece in line) == pytest.approx(table.length_mm, abs=1e-9)


def test_bends_are_numbered_and_straights_are_not() -> None:
    assert [piece.bend for piece in pieces(rail())] == [None, 0, None, 1, None, 2, None, 3, None]


@given(tables(1, 4), st.floats(0.05, 5))
def test_no_chord_strays_further_than_the_sagitta(table: BendTable, sagitta: float) -> None:
    for piece in pieces(table):
        chords = chord_count(piece.angle_deg, piece.radius_mm, sagitta)
        half_rad = math.radians(piece.angle_deg) / chords / 2
        assert piece.radius_mm * (1 - math.cos(half_rad)) <= sagitta * (1 + 1e-6)
        if chords > 1 and sagitta < piece.radius_mm:
            coarser = math.radians(piece.angle_deg) / (chords - 1) / 2
            assert piece.radius_mm * (1 - math.cos(coarser)) >= sagitta * (1 - 1e-6)


@given(tables(1, 4))
def test_a_fine_polyline_is_as_long_as_the_tube(table: BendTable) -> None:
    points = polyline(table, sagitta_mm=1e-4)

    length = sum(a.distance_to(b) for a, b in pairwise(points))

    assert length == pytest.approx(table.length_mm, rel=1e-4)
    assert length <= table.length_mm + 1e-9


def test_a_sagitta_as_large_as_the_radius_still_takes_the_corner() -> None:
    assert chord_count(270, 20, 20) == 3
    assert chord_count(0, 0, 1) == 1


def test_no_sagitta_is_refused() -> None:
    with pytest.raises(OutOfRange):
        polyline(rail(), sagitta_mm=0)
