"""Radii and widths by templates and rules."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import OutOfRange
from fabrication.core.measured_radius import (
    Across,
    Edge,
    centre_distance_mm,
    radius_from_chord_mm,
    radius_from_template_mm,
    return_bend_radius_mm,
)


@pytest.mark.parametrize(
    ("across", "reading"),
    [(Across.BACK_TO_BACK, 154), (Across.INSIDE, 110), (Across.SAME_SIDE, 132)],
)
def test_two_parallel_legs_132_apart(across: Across, reading: float) -> None:
    assert centre_distance_mm(reading_mm=reading, across=across, od_mm=22) == 132


def test_legs_narrower_than_one_tube_are_refused() -> None:
    with pytest.raises(OutOfRange):
        centre_distance_mm(reading_mm=22, across=Across.BACK_TO_BACK, od_mm=22)


def test_a_return_bend_from_its_width() -> None:
    assert return_bend_radius_mm(outside_width_mm=154, od_mm=22) == 66
    with pytest.raises(OutOfRange):
        return_bend_radius_mm(outside_width_mm=44, od_mm=22)


@pytest.mark.parametrize(("template", "edge"), [(77, Edge.OUTER), (55, Edge.INNER)])
def test_a_template_on_either_edge(template: float, edge: Edge) -> None:
    assert radius_from_template_mm(template_radius_mm=template, edge=edge, od_mm=22) == 66


def test_an_outer_edge_inside_the_tube_is_refused() -> None:
    with pytest.raises(OutOfRange):
        radius_from_template_mm(template_radius_mm=22, edge=Edge.OUTER, od_mm=22)


@given(st.floats(30, 200), st.floats(5, 89))
def test_a_chord_and_its_sagitta(radius: float, half_angle: float) -> None:
    """Both measured on a circle of a known outer radius."""
    outer, half_rad = radius + 11, math.radians(half_angle)

    found = radius_from_chord_mm(
        chord_mm=2 * outer * math.sin(half_rad),
        sagitta_mm=outer * (1 - math.cos(half_rad)),
        od_mm=22,
    )

    assert found == pytest.approx(radius, rel=1e-9)


def test_a_sagitta_of_half_the_chord_is_a_half_circle_and_more_is_refused() -> None:
    assert radius_from_chord_mm(chord_mm=100, sagitta_mm=50, od_mm=22) == 39
    with pytest.raises(OutOfRange):
        radius_from_chord_mm(chord_mm=100, sagitta_mm=50.1, od_mm=22)
