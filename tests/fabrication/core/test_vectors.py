"""Vectors and frames."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError
from fabrication.core.vectors import CANONICAL, Vec3, angle_between_rad, any_perpendicular

numbers = st.floats(-1e3, 1e3)
vectors = st.builds(Vec3, numbers, numbers, numbers)


def test_nothing_has_no_direction() -> None:
    with pytest.raises(CoreError) as refusal:
        Vec3(0, 0, 0).unit()

    assert refusal.value.kind == "no_direction"


@pytest.mark.parametrize("angle_rad", [1e-12, 1e-7, 0.3, math.pi / 2, 3, math.pi - 1e-7])
def test_angles_keep_their_digits_near_nothing_and_near_a_half_turn(angle_rad: float) -> None:
    """Where the arc cosine would lose half of them."""
    turned = Vec3(math.cos(angle_rad), math.sin(angle_rad), 0)

    assert angle_between_rad(Vec3(1, 0, 0), turned) == pytest.approx(angle_rad, rel=1e-9)


@given(vectors.filter(lambda vector: vector.norm() > 1e-3))
def test_a_perpendicular_is_square_and_of_unit_length(direction: Vec3) -> None:
    across = any_perpendicular(direction)

    assert abs(across.dot(direction)) < 1e-9 * direction.norm()
    assert across.norm() == pytest.approx(1, abs=1e-12)


def test_arithmetic_is_by_coordinates() -> None:
    a, b = Vec3(1, 2, 3), Vec3(4, 6, 9)

    assert (a + b, b - a, -a, a * 2) == (
        Vec3(5, 8, 12),
        Vec3(3, 4, 6),
        Vec3(-1, -2, -3),
        Vec3(2, 4, 6),
    )
    assert a.dot(b) == 43
    assert a.cross(b) == Vec3(0, 3, -2)
    assert [*a] == [1, 2, 3]


@given(st.floats(-360, 360), st.floats(1, 359), st.floats(1, 100))
def test_a_frame_stays_square_and_right_handed(
    rotation: float, angle: float, radius: float
) -> None:
    frame = CANONICAL.rolled(rotation).forward(10).along_bend(angle, radius)

    assert frame.ahead.cross(frame.inward).distance_to(frame.axis) < 1e-12
    assert frame.ahead.norm() == pytest.approx(1, abs=1e-12)
    assert abs(frame.ahead.dot(frame.inward)) < 1e-12


def test_quarter_turns_are_exact() -> None:
    frame = CANONICAL.rolled(90).along_bend(180, 10)

    assert (frame.at, frame.ahead) == (Vec3(0, 0, 20), Vec3(-1, 0, 0))


def test_local_coordinates_undo_the_frame() -> None:
    frame = CANONICAL.forward(5).rolled(30).along_bend(70, 20)
    point = frame.at + frame.ahead * 1 + frame.inward * 2 + frame.axis * 3

    assert frame.local(point).distance_to(Vec3(1, 2, 3)) < 1e-12
