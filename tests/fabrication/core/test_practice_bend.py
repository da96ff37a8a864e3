"""Radius, start and springback from one bend on scrap."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.practice_bend import practice_bend, practice_return_bend
from fabrication.core.springback import TrialBend
from fabrication.core.tube_path import BendRow, nodes_from_table, table_from_rows


@given(
    st.floats(15, 150), st.floats(-20, 20), st.floats(20, 150), st.floats(30, 200), st.floats(1, 9)
)
def test_a_piece_bent_in_thought_gives_back_its_radius_and_offset(
    radius: float, offset: float, angle: float, mark: float, over: float
) -> None:
    """The piece is laid out as nodes; its corner lengths are then measured like on the bench."""
    straight = mark + offset + 100
    table = table_from_rows(rows=[BendRow(straight, 0, angle, radius)], last_straight_mm=90)
    end_a, corner, end_b = nodes_from_table(table)

    made = practice_bend(
        stock_mm=table.length_mm,
        mark_mm=mark + 100,
        centre_a_mm=end_a.distance_to(corner),
        centre_b_mm=corner.distance_to(end_b),
        pulled_deg=angle + over,
        result_deg=angle,
    )

    assert made.radius_mm == pytest.approx(radius, rel=1e-6)
    assert made.start_offset_mm == pytest.approx(offset, abs=1e-4)
    assert made.springback_deg == pytest.approx(over, abs=1e-9)
    assert made.test == TrialBend(angle + over, angle)
    assert bool(made.problems) == (not 90 <= angle <= 135)


@pytest.mark.parametrize(("angle", "error"), [(45, 23), (90, 2.3), (120, 0.7)])
def test_a_millimetre_says_less_about_the_radius_of_a_shallow_bend(
    angle: float, error: float
) -> None:
    """Checked by measuring one leg a millimetre longer, not by the formula for the error."""
    gain = 50 * (2 * math.tan(math.radians(angle / 2)) - math.radians(angle))

    def radius(slip: float) -> float:
        return practice_bend(
            stock_mm=400 - gain,
            mark_mm=100,
            centre_a_mm=200 + slip,
            centre_b_mm=200,
            pulled_deg=angle + 4,
            result_deg=angle,
        ).radius_mm

    assert radius(1) - radius(0) == pytest.approx(error, rel=0.06)


def test_the_error_told_is_that_error() -> None:
    made = practice_bend(
        stock_mm=378.5, mark_mm=100, centre_a_mm=200, centre_b_mm=200, pulled_deg=94, result_deg=90
    )

    assert made.radius_error_ratio == pytest.approx(2.33, abs=0.005)


@pytest.mark.parametrize("angle", [150.1, 180, 0, -90])
def test_above_150_the_formula_explodes_and_is_refused(angle: float) -> None:
    with pytest.raises(OutOfRange):
        practice_bend(
            stock_mm=300,
            mark_mm=100,
            centre_a_mm=200,
            centre_b_mm=200,
            pulled_deg=185,
            result_deg=angle,
        )


def test_legs_that_gained_nothing_are_refused() -> None:
    with pytest.raises(CoreError) as refusal:
        practice_bend(
            stock_mm=400,
            mark_mm=100,
            centre_a_mm=200,
            centre_b_mm=200,
            pulled_deg=94,
            result_deg=90,
        )

    assert refusal.value.kind == "no_radius"


@given(st.floats(20, 150), st.floats(-20, 20), st.floats(30, 200), st.floats(4, 30))
def test_a_return_bend_gives_back_its_radius_and_offset(
    radius: float, offset: float, mark: float, od: float
) -> None:
    table = table_from_rows(rows=[BendRow(mark + offset + 50, 0, 180, radius)], last_straight_mm=90)
    nodes = nodes_from_table(table)

    made = practice_return_bend(
        outside_width_mm=nodes[-1].y + od,
        back_mm=nodes[1].x + od / 2,
        mark_mm=mark + 50,
        od_mm=od,
        pulled_deg=187,
        result_deg=180,
    )

    assert made.radius_mm == pytest.approx(radius, abs=1e-9)
    assert made.start_offset_mm == pytest.approx(offset, abs=1e-9)
    assert made.springback_deg == 7


@pytest.mark.parametrize(
    "slip", [{"result_deg": 177}, {"result_deg": 183}, {"outside_width_mm": 44}, {"od_mm": 0}]
)
def test_a_return_bend_out_of_square_is_refused(slip: dict[str, float]) -> None:
    sizes = {
        "outside_width_mm": 154.0,
        "back_mm": 180.0,
        "mark_mm": 100.0,
        "od_mm": 22.0,
        "pulled_deg": 186.0,
        "result_deg": 180.0,
    }

    with pytest.raises(OutOfRange):
        practice_return_bend(**{**sizes, **slip})


@pytest.mark.parametrize("angle", [178, 182])
def test_two_degrees_out_of_square_will_do(angle: float) -> None:
    made = practice_return_bend(
        outside_width_mm=154, back_mm=180, mark_mm=100, od_mm=22, pulled_deg=186, result_deg=angle
    )

    assert made.radius_mm == 66
