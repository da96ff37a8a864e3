"""Every way of measuring an old pipe, to its straights, twists and bends.

Check values: trigonometry written out beside each, from the definitions of a gauge or an edge; the
one of heel and throat was worked out by hand for 22 mm tube on a radius of 66: corner 200 from the
end, tan 30 = 0.577350, so heel 200 + 11 x 0.57735, throat 200 - 11 x 0.57735, straight
200 - 66 x 0.57735.
"""

import math

import pytest

from fabrication.pipe.bend_readings import WayError, pipe_from
from fabrication.pipe.inputs import BendRead, Bends, End, Leg, Length, PipeInputs, Typed
from fabrication.pipe.inputs import TwistRead as Twist
from tests.fabrication.told import bend, gap, leg, measured, row

OD_MM, RADIUS_MM = 22.0, 66.0


def pipe_of(typed: Typed, radius_mm: float = RADIUS_MM, **ends: End) -> PipeInputs:
    assert typed.bends is not None
    both = (ends.get("end_a", End()), ends.get("end_b", End()))
    return pipe_from(typed.bends, ends=both, radius_mm=radius_mm, od_mm=OD_MM)


def straights(pipe: PipeInputs) -> list[float]:
    return [*(one.straight.mm for one in pipe.rows), pipe.last.mm]


# ---- straights ----------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("edge", "reading_mm"),
    [("centre", 200.0), ("heel", 206.3509), ("throat", 193.6491), ("tangent", 161.8949)],
)
def test_a_straight_is_the_same_whatever_edge_of_the_bend_it_was_measured_to(
    edge: str, reading_mm: float
) -> None:
    pipe = pipe_of(measured(row(leg(reading_mm, far=edge), bend(60)), last=leg(100)))

    assert pipe.rows[0].straight.mm == pytest.approx(161.8949, abs=1e-3)


def test_the_back_of_a_right_angle_lies_half_a_tube_beyond_its_corner() -> None:
    """A square on the outer face of the far leg: corner at 200 - 11, arc starts a radius before."""
    pipe = pipe_of(measured(row(leg(200, far="back"), bend(90)), last=leg(100)))

    assert pipe.rows[0].straight.mm == pytest.approx(200 - 11 - 66)


@pytest.mark.parametrize(
    ("near", "far", "sign"), [("heel", "heel", 1), ("heel", "throat", 0), ("throat", "throat", -1)]
)
def test_a_straight_between_two_bends_is_corrected_at_both(near: str, far: str, sign: int) -> None:
    """Two right angles of 66 on 22 mm tube: each heel lies 11 beyond its corner, each throat 11
    before it, each arc starts 66 from it."""
    typed = measured(row(leg(100), bend(90)), row(leg(300, near, far), bend(90)), last=leg(100))

    assert straights(pipe_of(typed))[1] == pytest.approx(300 - sign * 22 - 2 * 66)


def test_a_straight_of_nothing_is_read_as_such_where_two_bends_touch() -> None:
    typed = measured(row(leg(100), bend(90)), row(leg(0), bend(90)), last=leg(100))

    assert straights(pipe_of(typed)) == [100, 0, 100]


def test_a_reading_shorter_than_its_bends_is_refused_at_its_row_with_the_shortfall() -> None:
    typed = measured(
        row(leg(100), bend(90)), row(leg(120, "heel", "heel"), bend(90)), last=leg(100)
    )

    with pytest.raises(WayError) as wrong:
        pipe_of(typed)

    assert (wrong.value.noted[0].row, wrong.value.noted[0].stops) == (2, True)
    assert "34.0 mm more" in wrong.value.noted[0].text  # 22 + 132 - 120


@pytest.mark.parametrize(
    ("edge", "deg", "says"),
    [
        ("back", 60, "A bend of 60 degrees has no back"),
        ("heel", 180, "A return bend of 180 degrees has no corner"),
        ("centre", 200, "A return bend of 200 degrees has no corner"),
    ],
)
def test_an_edge_that_a_bend_does_not_have_is_refused_with_what_to_measure_instead(
    edge: str, deg: float, says: str
) -> None:
    with pytest.raises(WayError, match=says):
        pipe_of(measured(row(leg(200, far=edge), bend(deg)), last=leg(100)))


def test_the_back_of_a_return_bend_lies_a_radius_and_half_a_tube_past_where_it_starts() -> None:
    pipe = pipe_of(measured(row(leg(200, far="back"), bend(180)), last=leg(100)))

    assert pipe.rows[0].straight.mm == pytest.approx(200 - 66 - 11)


# ---- bends --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("read", "wanted_deg"),
    [
        (bend(60), 60),
        (bend(60, "gauge"), 60),
        (bend(120, "included"), 60),
        (gap(100 * math.sqrt(2)), 90),  # a square's diagonal
        (gap(100), 120),  # an equilateral triangle
        (gap(200 * math.sin(math.radians(2.5)), "produced"), 5),
        (gap(60, "marks", arm_mm=60), 120),
    ],
)
def test_a_bend_is_the_same_whatever_it_was_read_with(read: BendRead, wanted_deg: float) -> None:
    pipe = pipe_of(measured(row(leg(100), read), last=leg(100)))

    assert pipe.rows[0].bend_deg == pytest.approx(wanted_deg)


def test_a_gap_wider_than_two_arms_is_refused_in_words() -> None:
    with pytest.raises(WayError, match="The gap is 230 mm; it must lie between 0 mm and 200 mm"):
        pipe_of(measured(row(leg(100), gap(230)), last=leg(100)))


def test_a_return_bend_is_typed_as_a_row() -> None:
    pipe = pipe_of(measured(row(leg(100), bend(180)), row(leg(50), bend(200)), last=leg(60)))

    assert [one.bend_deg for one in pipe.rows] == [180, 200]


# ---- twists -------------------------------------------------------------------------------


def twisted(twist: Twist, second: BendRead | None = None) -> PipeInputs:
    """Legs of 100, 150, 120 from corner to corner, two right angles on a radius of 30."""
    typed = measured(row(leg(70), bend(90)), row(leg(90), second or bend(90), twist), last=leg(90))
    return pipe_of(typed, radius_mm=30)


@pytest.mark.parametrize(
    ("slope_deg", "side", "wanted_deg"),
    [
        (30, "same_side", 30),
        (30, "other_side", 150),
        (-30, "same_side", -30),
        (-30, "other_side", -150),
    ],
)
def test_at_a_right_angle_the_slope_is_the_twist_and_the_side_says_which(
    slope_deg: float, side: str, wanted_deg: float
) -> None:
    pipe = twisted(Twist("slope", deg=slope_deg, side=side))

    assert pipe.rows[1].twist_deg == pytest.approx(wanted_deg)


def test_at_another_angle_the_slope_is_less_than_the_twist() -> None:
    """sin(slope) = sin(bend) sin(twist): a leg turned by 45 out of the plane, rolled by 40."""
    slope_deg = math.degrees(math.asin(math.sin(math.radians(45)) * math.sin(math.radians(40))))

    pipe = twisted(Twist("slope", deg=slope_deg), bend(45))

    assert pipe.rows[1].twist_deg == pytest.approx(40)


def test_a_slope_near_its_steepest_is_doubted_at_its_row() -> None:
    pipe = twisted(Twist("slope", deg=59), bend(60))

    assert [one.row for one in pipe.noted] == [2]
    assert "says little about twist" in pipe.noted[0].text


def test_a_slope_steeper_than_its_bend_is_refused_with_the_reason() -> None:
    with pytest.raises(WayError, match="cannot rise more steeply than its bend turns it"):
        twisted(Twist("slope", deg=50), bend(45))


# By hand: corners (0,0,0), (100,0,0), (100,150,0); the third leg runs 120 along
# (-cos 30, 0, sin 30), so its end is at (-3.923, 150, 60).
ACROSS_MM = math.hypot(100 - 120 * math.cos(math.radians(30)), 150, 60)


@pytest.mark.parametrize(("gauge_at", "reading_mm"), [("top", 82.0), ("under", 60.0)])
def test_height_and_distance_give_the_twist_without_a_choice(
    gauge_at: str, reading_mm: float
) -> None:
    """Legs on the plate have their centres half a tube above it: on top reads 22 more."""
    read = Twist("heights", height=Length(reading_mm), gauge_at=gauge_at, across=Length(ACROSS_MM))

    pipe = twisted(read)

    assert pipe.rows[1].twist_deg == pytest.approx(30)
    assert pipe.misfits[0].row == 2
    assert pipe.misfits[0].mm == pytest.approx(0, abs=1e-9)


def test_a_leg_that_goes_down_twists_the_other_way() -> None:
    read = Twist("heights", height=Length(82), falls=True, across=Length(ACROSS_MM))

    assert twisted(read).rows[1].twist_deg == pytest.approx(-30)


def test_height_and_distance_that_disagree_are_said_with_their_misfit() -> None:
    read = Twist("heights", height=Length(82), across=Length(ACROSS_MM + 15))

    pipe = twisted(read)

    assert pipe.misfits[0].is_large
    assert "do not agree about this twist" in pipe.noted[0].text


def test_the_first_row_keeps_its_twist_and_does_not_use_it() -> None:
    pipe = pipe_of(measured(row(leg(100), bend(90), 40.0), last=leg(100)))

    assert pipe.rows[0].twist_deg == 0


# ---- what is measured twice ----------------------------------------------------------------


def test_a_straight_read_twice_says_by_how_much_it_does_not_close() -> None:
    """To the heel 206.3509 is the same as 161.8949 to the arc; 165.0949 is 3.2 too long."""
    again = row(leg(206.3509, far="heel"), bend(60), leg_again=leg(165.0949))

    misfit = pipe_of(measured(again, last=leg(100))).misfits[0]

    assert (misfit.row, misfit.what, misfit.is_large) == (1, "straight", True)
    assert misfit.mm == pytest.approx(-3.2, abs=1e-3)


def test_a_bend_read_twice_says_by_how_many_degrees_the_readings_differ() -> None:
    rows = [
        row(leg(100), bend(60), bend_again=bend(119.5, "included")),
        row(leg(100), bend(60), bend_again=bend(118, "included")),
    ]

    first, second = pipe_of(measured(*rows, last=leg(100))).misfits

    assert (first.deg, first.is_large) == (pytest.approx(-0.5), False)
    assert (second.deg, second.is_large) == (pytest.approx(-2), True)


def test_the_distance_across_the_ends_checks_all_the_rest() -> None:
    """A right angle of legs 106 and 126 from corner to end: the hypotenuse is 164.657."""
    typed = measured(row(leg(40), bend(90)), last=leg(60), across=Length(164.657))

    misfit = pipe_of(typed).misfits[-1]

    assert (misfit.row, misfit.what, misfit.is_large) == (2, "end to end", False)
    assert misfit.mm == pytest.approx(math.hypot(106, 126) - 164.657)


# ---- from the other end --------------------------------------------------------------------


def test_read_from_end_b_the_pipe_is_the_same_and_every_doubt_keeps_its_row() -> None:
    """Handedness is the same from both ends: lists reverse, twists keep their sign."""
    rows = (row(leg(10), bend(90)), row(leg(40), bend(60), 30.0), row(leg(50), bend(45), -20.0))
    bends = Bends(rows, Leg(Length(70)), from_end="b")

    pipe = pipe_from(bends, ends=(End(), End()), radius_mm=20, od_mm=OD_MM)

    assert straights(pipe) == [70, 50, 40, 10]
    assert [one.bend_deg for one in pipe.rows] == [45, 60, 90]
    assert [one.twist_deg for one in pipe.rows] == [0, -20, 30]
    assert (pipe.bend_rows, pipe.straight_rows) == ((3, 2, 1), (4, 3, 2, 1))
