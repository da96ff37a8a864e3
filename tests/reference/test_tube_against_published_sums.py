"""Bends, lengths and setting out against sums printed in handbooks and trade pages.

The formula is ours; the printed figure is a witness within its own rounding. Where a page
rounds its constants (1.57 for pi/2, 0.01745 for pi/180) the tolerance says so.
"""

import math

import pytest

from fabrication.core.measured import BendReading, LegReading, To, straight_mm
from fabrication.core.practice_bend import practice_bend
from fabrication.core.springback import fixed_and_proportional
from fabrication.core.tube_path import BendRow, bend_table, table_from_rows

INCH = 25.4


def one_bend(angle: float, radius: float, straight: float = 1.0) -> float:
    """Return the arc of one bend, in the unit of its radius."""
    rows = [BendRow(straight, 0, angle, radius)]
    return table_from_rows(rows=rows, last_straight_mm=straight).bends[0].arc_mm


def offset_nodes(height: float, angle: float, tails: float) -> list[tuple[float, float, float]]:
    """Return the corner points of an offset: two equal bends, one each way."""
    run = height / math.tan(math.radians(angle))
    return [(-tails, 0, 0), (0, 0, 0), (run, height, 0), (run + tails, height, 0)]


def test_the_navy_pipe_of_two_legs_is_112_inches() -> None:
    """Hull Maintenance Technician, NAVEDTRA 14119, ch. 16, fig. 16-3: 30 + 54 + 28.26 = 112.26.

    Printed with 3.14 for pi, which is 0.0005 of 28.27 in too little.
    """
    table = bend_table(nodes_mm=[(0, 0, 0), (48, 0, 0), (48, 72, 0)], radii_mm=[18])

    assert table.straights_mm == pytest.approx((30, 54), abs=1e-9)
    assert table.bends[0].arc_mm == pytest.approx(28.26, abs=28.27 * 0.00051)
    assert table.length_mm == pytest.approx(112.26, abs=28.27 * 0.00051)


def test_the_navy_bend_allowance_of_90_round_3_25_is_5_10() -> None:
    """NAVEDTRA 14119, ch. 13, fig. 13-49: 5.10 in (pi taken as 3.14)."""
    assert one_bend(90, 3.25) == pytest.approx(5.10, abs=0.006)


def test_the_navy_u_bolt_round_1_25_is_3_925() -> None:
    """NAVEDTRA 14119, ch. 13, fig. 13-50: 3.925 in (pi taken as 3.14)."""
    assert one_bend(180, 1.25) == pytest.approx(3.925, abs=0.0025)


def test_a_rolled_90_of_radius_6_with_two_foot_long_tangents() -> None:
    """A tube roller's ordering page: 9.423 + 24 = 33.423 in (0.01745 a degree)."""
    rows = [BendRow(12, 0, 90, 6)]

    assert table_from_rows(rows=rows, last_straight_mm=12).length_mm == pytest.approx(
        33.423, abs=0.002
    )


@pytest.mark.parametrize("angle", [10, 37, 90, 145])
def test_arc_and_setback_by_the_hobbyists_rule(angle: float) -> None:
    """A public page on tube bending: arc = CLR x degrees x 0.01745, setback = R tan(a/2)."""
    rows = [BendRow(300, 0, angle, 25)]

    bend = table_from_rows(rows=rows, last_straight_mm=300).bends[0]

    assert bend.arc_mm == pytest.approx(25 * angle * 0.01745, rel=0.0002)
    assert bend.setback_mm == pytest.approx(25 * math.tan(math.radians(angle / 2)), rel=1e-12)


def test_the_conduit_gain_of_a_90_of_radius_20() -> None:
    """A conduit question-and-answer page: gain 8-9/16 in; 60 in offset by two 90s leaves
    51-7/16 in between marks. Both to the nearest sixteenth."""
    nodes = [(0, 0, 0), (60, 0, 0), (60, 60, 0), (120, 60, 0)]

    table = bend_table(nodes_mm=nodes, radii_mm=[20, 20])

    first, second = table.bends
    assert first.gain_mm == pytest.approx(8 + 9 / 16, abs=1 / 32)
    assert second.start_mm - first.start_mm == pytest.approx(51 + 7 / 16, abs=1 / 32)


@pytest.mark.parametrize(
    ("angle", "multiplier", "rounding"),
    [
        # Conduit practice rounds these to what an electrician remembers; 10 degrees is 5.76.
        (10, 6.0, 0.25),
        (15, 3.86, 0.005),
        (22.5, 2.6, 0.05),
        (30, 2.0, 1e-9),
        (45, 1.4, 0.05),
        (60, 1.2, 0.05),
        (10, 5.76, 0.005),
        (60, 1.15, 0.005),
    ],
)
def test_offset_multipliers(angle: float, multiplier: float, rounding: float) -> None:
    """Conduit practice: distance between bends = multiplier x offset."""
    table = bend_table(nodes_mm=offset_nodes(10, angle, 20), radii_mm=[1, 1])

    first, second = table.bends
    corner_to_corner = table.straights_mm[1] + (first.setback_mm or 0) + (second.setback_mm or 0)
    assert corner_to_corner / 10 == pytest.approx(multiplier, abs=rounding)


@pytest.mark.parametrize(
    ("angle", "shrink", "below"),
    [
        (10, 1 / 16, 0.026),
        (15, 1 / 8, 0.008),
        (22.5, 3 / 16, 0.012),
        (30, 1 / 4, 0.019),
        (45, 3 / 8, 0.04),
        (60, 1 / 2, 0.078),
    ],
)
def test_offset_shrink_is_the_trade_figure_or_a_little_more(
    angle: float, shrink: float, below: float
) -> None:
    """Conduit practice, shrink per inch of offset: rounded down to sixteenths, and short by
    the two gains, so sharp corners (a radius of nearly nothing) must come out above it."""
    nodes = offset_nodes(1, angle, 20)

    table = bend_table(nodes_mm=nodes, radii_mm=[1e-9, 1e-9])

    run = nodes[3][0] - nodes[0][0]
    assert 0 <= (table.length_mm - run) - shrink <= below


def test_a_measured_offset_of_7_at_60_shrinks_by_2_and_15_sixteenths() -> None:
    """A page of the same kind: rule of thumb 3-1/2, measured 2-15/16 in with a radius of 5."""
    nodes = offset_nodes(7, 60, 20)

    table = bend_table(nodes_mm=nodes, radii_mm=[4.9999, 4.9999])

    shrunk = table.length_mm - (nodes[3][0] - nodes[0][0])
    assert shrunk == pytest.approx(2 + 15 / 16, abs=1 / 32)


def test_an_offset_of_100_at_30_with_radius_24() -> None:
    """Closed form: h / sin a, less a gain between starts; shrink h tan(a/2) less two gains."""
    nodes = offset_nodes(100, 30, 100)
    gain = 24 * (2 * math.tan(math.radians(15)) - math.radians(30))

    table = bend_table(nodes_mm=nodes, radii_mm=[24, 24])

    first, second = table.bends
    assert second.start_mm - first.start_mm == pytest.approx(200 - gain, abs=1e-9)
    assert second.start_mm - first.start_mm == pytest.approx(199.7048, abs=5e-5)
    assert table.length_mm - (nodes[3][0] - nodes[0][0]) == pytest.approx(26.2045, abs=5e-5)


def test_conduit_gain_factor_of_a_90() -> None:
    """Conduit practice: gain = 0.42 x (inside radius + OD/2); the exact factor is 0.4292."""
    gain = table_from_rows(rows=[BendRow(9, 0, 90, 1)], last_straight_mm=9).bends[0].gain_mm

    assert gain == pytest.approx(0.42, abs=0.0093)


def test_segment_bends_develop_1_57_radii_for_90() -> None:
    """Conduit segment bends: developed length = R x 1.57."""
    assert one_bend(90, 1) == pytest.approx(1.57, abs=0.005)


def test_a_practice_bend_tells_the_true_radius_of_a_6_inch_die() -> None:
    """A bender maker's manual, p. 15: 36 in of 1-1/2 in tube, mark at 12 in, outsides of the 90
    at 20 and 20-1/2 in. The die is sold as 6 in. The printed answer: R 6.990, offset 0.260."""
    outside = 0.75 * INCH

    made = practice_bend(
        stock_mm=36 * INCH,
        mark_mm=12 * INCH,
        centre_a_mm=20 * INCH - outside,
        centre_b_mm=20.5 * INCH - outside,
        pulled_deg=90,
        result_deg=90,
    )

    assert made.radius_mm / INCH == pytest.approx(6.990, abs=0.0005)
    assert made.start_offset_mm / INCH == pytest.approx(0.260, abs=0.0005)
    assert made.problems == ()


def test_the_outside_of_a_90_read_with_a_square_gives_the_same_straight() -> None:
    """The same piece, now through the readings: 20 in to the back, less radius and half OD."""
    bend = BendReading(rotation_deg=0, angle_deg=90, radius_mm=6.990 * INCH)
    reading = LegReading(reading_mm=20 * INCH, near=To.END, far=To.BACK)

    straight = straight_mm(reading=reading, before=None, after=bend, od_mm=1.5 * INCH)

    assert straight / INCH == pytest.approx(12.260, abs=0.0005)


def test_fixed_and_proportional_springback_makes_96_of_90() -> None:
    """A bending-machine maker's note: fixed 1.5, proportional 0.05, bend 90 -> pull 96."""
    assert fixed_and_proportional(fixed_deg=1.5, share=0.05).pull_deg(90) == pytest.approx(
        96, abs=1e-12
    )


def test_the_forums_pipe_of_four_points() -> None:
    """A public mathematics forum, May 2018, "Converting XYZ Coordinates to LRA": the points.

    The copy read has no answer; the answer here is by hand. Both bends turn by 90, since each
    leg has a zero where the next has none, and the outer legs run the same way: rotation 180.
    """
    nodes = [
        (38.5202, -14.0264, 0),
        (45.3142, -14.0264, 0),
        (45.3142, -17.5214, 0.9654),
        (48.6822, -17.5214, 0.9654),
    ]

    table = bend_table(nodes_mm=nodes, radii_mm=[1, 1])

    legs = [table.straights_mm[0] + 1, table.straights_mm[1] + 2, table.straights_mm[2] + 1]
    assert legs == pytest.approx([6.794, math.hypot(3.495, 0.9654), 3.368], abs=1e-9)
    assert [bend.angle_deg for bend in table.bends] == pytest.approx([90, 90], abs=1e-9)
    assert table.bends[1].rotation_deg == pytest.approx(180, abs=1e-9)


def test_setting_out_a_spring_bend_of_90() -> None:
    """A UK copper leaflet, "setting out for spring loading": for a 4 D bend, marks 4 D back from
    and 2 D forward of the end-to-centre measure. The exact arc is 6.28 D, so 2.28 D forward."""
    corner = 20.0
    rows = [BendRow(corner - 4, 0, 90, 4)]

    bend = table_from_rows(rows=rows, last_straight_mm=10).bends[0]

    assert corner - bend.start_mm == pytest.approx(4, abs=1e-12)
    assert bend.end_mm - corner == pytest.approx(2, abs=0.29)
    assert bend.end_mm - corner == pytest.approx(2.28, abs=0.005)


@pytest.mark.parametrize(
    ("angle", "setback", "arc", "gain"),
    [
        (10, 0.087489, 0.174533, 0.000444),
        (22.5, 0.198912, 0.392699, 0.005126),
        (45, 0.414214, 0.785398, 0.043029),
        (90, 1, 1.570796, 0.429204),
        (135, 2.414214, 2.356194, 2.472233),
        (170, 11.430052, 2.967060, 19.893045),
    ],
)
def test_setback_arc_and_gain_for_unit_radius(
    angle: float, setback: float, arc: float, gain: float
) -> None:
    """Six-figure tables of the tangent of half angles and of arcs, as any handbook prints them."""
    rows = [BendRow(30, 0, angle, 1)]

    bend = table_from_rows(rows=rows, last_straight_mm=30).bends[0]

    assert bend.setback_mm == pytest.approx(setback, abs=5.1e-7)
    assert bend.arc_mm == pytest.approx(arc, abs=5.1e-7)
    assert bend.gain_mm == pytest.approx(gain, abs=1e-6)
