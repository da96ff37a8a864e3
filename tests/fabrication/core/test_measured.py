"""Readings of a hand on an old pipe, undone from a pipe whose corners are known."""

import math
from collections.abc import Callable

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.measured import (
    BendReading,
    LegReading,
    To,
    closing_misfit_mm,
    leg_mm,
    measured_pipe,
    straight_mm,
)
from fabrication.core.tube_path import bend_table, nodes_from_table
from tests.fabrication.core.pipes import NODES_OF_A_RAIL, apart_deg, rail

OD = 22.0
HALF = OD / 2
SIXTY = BendReading(rotation_deg=0, angle_deg=60, radius_mm=66)


def from_end(reading_mm: float, to: To, bend: BendReading = SIXTY) -> tuple[float, float]:
    """Return (leg, straight) of an end leg."""
    reading = LegReading(reading_mm=reading_mm, near=To.END, far=to)
    legs: list[float] = [
        measure(reading=reading, before=None, after=bend, od_mm=OD)
        for measure in (leg_mm, straight_mm)
    ]
    return legs[0], legs[1]


@pytest.mark.parametrize(
    ("reading", "to"),
    [(161.8949, To.TANGENT), (200, To.CENTRE), (206.3509, To.HEEL), (193.6491, To.THROAT)],
)
def test_four_readings_of_one_leg_agree(reading: float, to: To) -> None:
    """OD 22, CLR 66, bend 60, end to centre 200: the other three are 66, 77 and 55 tan(30) off,
    worked from a right triangle with the centre of the bend."""
    leg, straight = from_end(reading, to)

    assert leg == pytest.approx(200, abs=5e-5)
    assert straight == pytest.approx(200 - 66 * math.tan(math.radians(30)), abs=5e-5)


@given(st.floats(90, 175), st.floats(12, 100), st.floats(20, 300))
def test_a_square_on_the_back_of_a_bend_touches_the_furthest_point(
    angle: float, radius: float, straight: float
) -> None:
    """The furthest the heel reaches along the leg: from 90 on it is the arc's, at the middle of
    a quarter turn; found here by walking along the heel."""
    walked = max(
        straight + (radius + HALF) * math.sin(math.radians(angle * step / 2000))
        for step in range(2001)
    )

    _, found = from_end(walked, To.BACK, BendReading(0, angle, radius))

    assert found == pytest.approx(straight, abs=1e-4 * (radius + HALF))


def test_the_back_of_a_90_is_half_a_diameter_past_the_centre_line() -> None:
    leg, _ = from_end(211, To.BACK, BendReading(0, 90, 66))

    assert leg == pytest.approx(200, abs=1e-9)


def test_the_back_of_less_than_90_is_refused() -> None:
    with pytest.raises(OutOfRange):
        from_end(211, To.BACK)


@pytest.mark.parametrize(("angle", "to"), [(180, To.CENTRE), (200, To.HEEL), (180, To.THROAT)])
def test_a_return_bend_has_no_corner_to_measure_to(angle: float, to: To) -> None:
    with pytest.raises(OutOfRange):
        from_end(211, to, BendReading(0, angle, 66))


@pytest.mark.parametrize("angle", [180, 270])
def test_the_back_and_the_tangent_of_a_return_bend_can_be_measured(angle: float) -> None:
    bend = BendReading(0, angle, 66)

    for reading, to in ((200 + 66 + HALF, To.BACK), (200, To.TANGENT)):
        found = LegReading(reading, To.END, to)
        assert straight_mm(reading=found, before=None, after=bend, od_mm=OD) == pytest.approx(200)


@pytest.mark.parametrize(
    ("near", "far", "correction"),
    [
        (To.HEEL, To.HEEL, lambda t1, t2: -HALF * (t1 + t2)),
        (To.HEEL, To.THROAT, lambda t1, t2: -HALF * (t1 - t2)),
        (To.THROAT, To.THROAT, lambda t1, t2: HALF * (t1 + t2)),
        (To.TANGENT, To.TANGENT, lambda t1, t2: 40 * t1 + 60 * t2),
        (To.CENTRE, To.CENTRE, lambda t1, t2: 0),
    ],
    ids=["U, heel to heel", "S, outside to inside", "throats", "tangents", "centres"],
)
def test_a_leg_between_two_bends(
    near: To, far: To, correction: Callable[[float, float], float]
) -> None:
    before, after = BendReading(0, 50, 40), BendReading(30, 110, 60)
    half_tangents = [math.tan(math.radians(bend.angle_deg / 2)) for bend in (before, after)]

    leg = leg_mm(reading=LegReading(300, near, far), before=before, after=after, od_mm=OD)

    assert leg == pytest.approx(300 + correction(*half_tangents), abs=1e-9)


def readings_of_the_rail(tos: list[tuple[To, To]]) -> tuple[list[LegReading], list[BendReading]]:
    """Measure the rail with a rule that knows its corner points, by heels and throats."""
    table = rail()
    half_mm = 6.0
    nodes = NODES_OF_A_RAIL
    halves = [0.0, *(math.tan(math.radians(b.angle_deg / 2)) for b in table.bends), 0.0]
    beyond = {
        To.END: lambda i: 0.0,
        To.CENTRE: lambda i: 0.0,
        To.HEEL: lambda i: half_mm * halves[i],
        To.THROAT: lambda i: -half_mm * halves[i],
        To.TANGENT: lambda i: -30 * halves[i],
    }
    legs = [
        LegReading(
            nodes[i].distance_to(nodes[i + 1]) + beyond[near](i) + beyond[far](i + 1), near, far
        )
        for i, (near, far) in enumerate(tos)
    ]
    bends = [BendReading(b.rotation_deg, b.angle_deg, b.radius_mm) for b in table.bends]
    return legs, bends


MIXED = [
    (To.END, To.HEEL),
    (To.THROAT, To.HEEL),
    (To.TANGENT, To.TANGENT),
    (To.CENTRE, To.THROAT),
    (To.HEEL, To.END),
]


class TestMeasuredPipe:
    def test_mixed_readings_give_back_the_rail(self) -> None:
        legs, bends = readings_of_the_rail(MIXED)
        across = NODES_OF_A_RAIL[0].distance_to(NODES_OF_A_RAIL[-1])

        pipe = measured_pipe(
            legs=legs, bends=bends, od_mm=12, wall_mm=0.8, end_to_end_mm=across - 1.25
        )

        assert pipe.table.straights_mm == pytest.approx(rail().straights_mm, abs=1e-9)
        for mine, theirs in zip(pipe.table.bends, rail().bends, strict=True):
            assert apart_deg(mine.rotation_deg, theirs.rotation_deg) < 1e-9
        assert pipe.misfit_mm == pytest.approx(1.25, abs=1e-9)
        assert pipe.problems == ()
        assert (pipe.lost_datum_end, pipe.lost_far_end) == (False, False)

    @pytest.mark.parametrize("off", [3.1, -3.1])
    def test_a_pipe_that_does_not_close_says_so(self, off: float) -> None:
        legs, bends = readings_of_the_rail(MIXED)
        across = NODES_OF_A_RAIL[0].distance_to(NODES_OF_A_RAIL[-1])

        pipe = measured_pipe(legs=legs, bends=bends, od_mm=12, end_to_end_mm=across + off)

        assert [problem.kind for problem in pipe.problems] == ["does_not_close"]
        assert "3.1 mm" in pipe.problems[0].message

    def test_without_a_check_it_asks_for_one(self) -> None:
        legs, bends = readings_of_the_rail(MIXED)

        pipe = measured_pipe(legs=legs, bends=bends, od_mm=12)

        assert pipe.misfit_mm is None
        assert [problem.kind for problem in pipe.problems] == ["no_check_measure"]

    @pytest.mark.parametrize(("place", "ends"), [(0, (True, False)), (4, (False, True))])
    def test_a_lost_end_is_guessed_and_marked(self, place: int, ends: tuple[bool, bool]) -> None:
        legs, bends = readings_of_the_rail(MIXED)
        legs[place] = LegReading(legs[place].reading_mm, legs[place].near, legs[place].far, True)

        pipe = measured_pipe(legs=legs, bends=bends, od_mm=12)

        assert (pipe.lost_datum_end, pipe.lost_far_end) == ends
        assert [(p.kind, p.index) for p in pipe.problems][-1] == ("lost_guessed", place)

    def test_a_straight_piece_may_have_lost_its_end(self) -> None:
        pipe = measured_pipe(
            legs=[LegReading(150, To.END, To.END, lost=True)], bends=[], od_mm=12, end_to_end_mm=150
        )

        assert pipe.table.length_mm == 150
        assert [(p.kind, p.index) for p in pipe.problems] == [("lost_guessed", 0)]

    def test_nothing_is_lost_between_two_bends(self) -> None:
        legs, bends = readings_of_the_rail(MIXED)
        legs[2] = LegReading(80, To.TANGENT, To.TANGENT, lost=True)

        with pytest.raises(CoreError) as refusal:
            measured_pipe(legs=legs, bends=bends, od_mm=12)

        assert (refusal.value.kind, refusal.value.index) == ("lost_inside", 2)

    def test_bends_need_one_leg_more(self) -> None:
        legs, bends = readings_of_the_rail(MIXED)

        with pytest.raises(CoreError) as refusal:
            measured_pipe(legs=legs[:-1], bends=bends, od_mm=12)

        assert refusal.value.kind == "leg_count"

    @pytest.mark.parametrize(
        ("near", "far"), [(To.HEEL, To.HEEL), (To.END, To.END), (To.TANGENT, To.END)]
    )
    def test_only_an_end_reaches_an_end(self, near: To, far: To) -> None:
        with pytest.raises(CoreError) as refusal:
            straight_mm(reading=LegReading(90, near, far), before=None, after=SIXTY, od_mm=OD)

        assert refusal.value.kind == "end_not_at_end"

    def test_a_reading_of_nothing_is_refused(self) -> None:
        with pytest.raises(OutOfRange):
            from_end(0, To.TANGENT)

    def test_readings_that_contradict_each_other_are_refused_as_a_tube(self) -> None:
        legs = [LegReading(30, To.END, To.CENTRE), LegReading(90, To.TANGENT, To.END)]

        with pytest.raises(CoreError) as refusal:
            measured_pipe(legs=legs, bends=[SIXTY], od_mm=OD)

        assert (refusal.value.kind, refusal.value.index) == ("straight_negative", 0)


def test_the_misfit_is_computed_less_measured() -> None:
    table = bend_table(nodes_mm=[(0, 0, 0), (30, 0, 0), (30, 40, 0)], radii_mm=[10])

    assert nodes_from_table(table)[-1].norm() == pytest.approx(50, abs=1e-9)
    assert closing_misfit_mm(table=table, end_to_end_mm=48) == pytest.approx(2, abs=1e-9)
