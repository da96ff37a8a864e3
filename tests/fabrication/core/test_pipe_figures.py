"""Templates, plan, posts, strips and sheets of a drawing, each against another road to it."""

import itertools
import math

import numpy as np
import pytest

from fabrication.core.bend_template import bend_figure
from fabrication.core.centre_line import pieces
from fabrication.core.drawing import Arc, Figure, Line, Polyline, Text
from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.fishmouth import saddle_template
from fabrication.core.plan_view import lowest_mm, plan_figure, posts
from fabrication.core.tiling import OVERLAP_MM, best_turns_deg, crosses_figure, tiled
from fabrication.core.tube_path import table_from_rows
from fabrication.core.tube_table import BendRow, BendTable
from fabrication.core.wrap_strip import clock_strip, saddle_strip

OD_MM = 15.0


def pipe(*rows: tuple[float, float, float], last_mm: float = 94.0, radius: float = 45) -> BendTable:
    bends = [BendRow(straight, twist, bend, radius) for straight, twist, bend in rows]
    return table_from_rows(rows=bends, last_straight_mm=last_mm, od_mm=OD_MM, wall_mm=1.0)


SPACE = pipe((78, 0, 41), (276, 130, 54), (122, 40, 148), (100, -90, 90), last_mm=194)


def surface(table: BendTable) -> np.ndarray:
    """Points all over the tube, from rings of 1 degree about points of its centre line."""
    rings = []
    turn = np.radians(np.arange(360.0))
    for piece in pieces(table):
        for share in np.linspace(0, 1, 181):
            frame = piece.frame_at(share)
            at, inward, axis = (np.array(tuple(v)) for v in (frame.at, frame.inward, frame.axis))
            ring = np.outer(np.cos(turn), inward) + np.outer(np.sin(turn), axis)
            rings.append(at + OD_MM / 2 * ring)
    return np.concatenate(rings)


def lines(figure: Figure, pen: str) -> list[Line]:
    return [shape for shape in figure if isinstance(shape, Line) and shape.pen == pen]


def heading_deg(line: Line) -> float:
    (x1, y1), (x2, y2) = line.start, line.end
    return math.degrees(math.atan2(y2 - y1, x2 - x1))


class TestBendTemplate:
    @pytest.mark.parametrize("angle_deg", [12.5, 90, 137, 180, 225])
    def test_legs_lie_at_the_angle_and_touch_the_arcs(self, angle_deg: float) -> None:
        figure = bend_figure(
            angle_deg=angle_deg, radius_mm=45, od_mm=15, leg_before_mm=60, leg_after_mm=70
        )

        legs = [line for line in lines(figure, "cut") if math.dist(line.start, line.end) > 50]
        arcs = [arc for arc in figure if isinstance(arc, Arc) and arc.pen == "cut"]
        wanted_deg = [0, 0, angle_deg, angle_deg]

        off_deg = [heading_deg(leg) - wanted for leg, wanted in zip(legs, wanted_deg, strict=True)]
        assert [math.sin(math.radians(off)) for off in off_deg] == pytest.approx([0] * 4, abs=1e-9)
        assert sorted(arc.radius_mm for arc in arcs) == [37.5, 52.5]
        ends = [arc.at(turn) for arc in arcs for turn in (arc.start_deg, arc.end_deg)]
        starts = [end for leg in legs for end in (leg.start, leg.end)]
        assert all(min(math.dist(end, start) for start in starts) < 1e-9 for end in ends)

    def test_the_corner_stands_where_a_table_of_setbacks_has_it(self) -> None:
        """R tan(a/2): 45 tan 45 deg = 45; of any trade table for 90 degrees."""
        figure = bend_figure(angle_deg=90, radius_mm=45, od_mm=15, leg_before_mm=0, leg_after_mm=0)

        first, second = (line for line in lines(figure, "dash"))

        assert first.end == pytest.approx((45, 0))
        assert second.end == pytest.approx((45, 45))

    def test_a_bend_turned_inside_out_is_refused(self) -> None:
        with pytest.raises(OutOfRange, match="inside out"):
            bend_figure(angle_deg=90, radius_mm=7.5, od_mm=15, leg_before_mm=9, leg_after_mm=9)

    def test_only_a_real_end_is_drawn_as_one(self) -> None:
        def across(**here: bool) -> int:
            figure = bend_figure(
                angle_deg=90, radius_mm=45, od_mm=15, leg_before_mm=60, leg_after_mm=60, **here
            )
            return sum(
                math.dist(line.start, line.end) == pytest.approx(15)
                for line in lines(figure, "cut")
            )

        assert (across(), across(starts_here=True, ends_here=True)) == (0, 2)


class TestPlan:
    def test_the_box_from_above_is_that_of_the_tube_in_space(self) -> None:
        box, points = plan_figure(SPACE, od_mm=OD_MM).bounds, surface(SPACE)

        found = (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)
        assert found == pytest.approx((*points.min(0)[:2], *points.max(0)[:2]), abs=0.01)

    def test_no_point_of_the_tube_lies_outside_its_outline(self) -> None:
        """From above, every point of the surface is within OD/2 of the centre line drawn."""
        centre = [
            points
            for shape in plan_figure(SPACE, od_mm=OD_MM)
            if shape.pen == "centre"
            for points in _sampled(shape)
        ]
        line = np.array(centre)

        strays = [float(np.min(np.hypot(*(line - at).T))) for at in surface(SPACE)[::1009, :2]]

        # Points of the line are up to 1.4 mm apart: sqrt(7.5^2 + 0.7^2) is 7.53.
        assert max(strays) == pytest.approx(OD_MM / 2, abs=0.04)

    def test_what_is_guessed_at_an_end_is_dashed_and_nothing_else(self) -> None:
        table = pipe((100, 0, 90), last_mm=120)

        figure = plan_figure(table, od_mm=OD_MM, guessed_mm=(30.0, 200.0))

        def sides(pen: str) -> list[float]:
            long = [math.dist(one.start, one.end) for one in lines(figure, pen)]
            return sorted(mm for mm in long if mm > OD_MM + 1)

        assert sides("dash") == pytest.approx([30, 30, 120, 120])
        assert sides("cut") == pytest.approx([70, 70])
        assert figure.bounds == plan_figure(table, od_mm=OD_MM).bounds

    def test_the_lowest_point_is_that_of_the_surface(self) -> None:
        for table in (SPACE, pipe((60, 0, 90), (50, 90, 120)), pipe((60, 0, 90), (50, -60, 80))):
            assert lowest_mm(table, od_mm=OD_MM) == pytest.approx(
                surface(table)[:, 2].min(), abs=0.01
            )

    def test_a_post_reaches_the_underside_straight_above_it(self) -> None:
        """The distance of the top of the post from the axis of its straight is OD/2."""
        board_mm = lowest_mm(SPACE, od_mm=OD_MM)
        straights = [piece for piece in pieces(SPACE) if piece.bend is None]

        found = posts(SPACE, od_mm=OD_MM)

        assert len(found) >= 6
        for post in found:
            start = straights[post.straight].start
            ahead = np.array(tuple(start.ahead))
            top = np.array([*post.at, board_mm + post.height_mm]) - np.array(tuple(start.at))
            assert np.linalg.norm(np.cross(ahead, top)) == pytest.approx(OD_MM / 2, abs=1e-9)
            assert post.height_mm > -1e-9

    def test_no_post_stands_under_a_straight_that_climbs_steeply(self) -> None:
        table = pipe((100, 0, 90), (200, 90, 90), last_mm=150)

        assert {post.straight for post in posts(table, od_mm=OD_MM)} == {0, 1}

    def test_posts_stand_along_the_finished_tube(self) -> None:
        """By hand: 100 straight, arc 45 * pi / 2 = 70.686, then 30 and 170 along the next."""
        table = pipe((100, 0, 90), last_mm=200)

        assert [post.along_mm for post in posts(table, od_mm=OD_MM)] == pytest.approx(
            [50, 200.686, 340.686], abs=1e-3
        )


def _sampled(shape: Line | Arc | Polyline) -> list[tuple[float, float]]:
    if isinstance(shape, Arc):
        turns = np.linspace(shape.start_deg, shape.end_deg, 400)
        return [shape.at(float(turn)) for turn in turns]
    corners = (shape.start, shape.end) if isinstance(shape, Line) else shape.points
    found = []
    for (x1, y1), (x2, y2) in itertools.pairwise(corners):
        found += list(zip(np.linspace(x1, x2, 200), np.linspace(y1, y2, 200), strict=True))
    return found


class TestStrips:
    @pytest.mark.parametrize(("od_mm", "round_mm"), [(4.75, 14.923), (22, 69.115), (63.5, 199.491)])
    def test_a_strip_is_as_long_as_the_tube_is_round(self, od_mm: float, round_mm: float) -> None:
        """Circumferences of a pocket table of circles."""
        strip = clock_strip(od_mm=od_mm, clocks_deg=[0], labels=["1"])

        frame = next(shape for shape in strip if isinstance(shape, Polyline) and shape.closed)
        xs = [x for x, _ in frame.points]

        assert max(xs) - min(xs) == pytest.approx(round_mm, abs=0.001)

    def test_a_clock_position_before_twelve_lies_at_the_far_end(self) -> None:
        strip = clock_strip(od_mm=22, clocks_deg=[-30], labels=["2"])

        assert lines(strip, "bend")[0].start[0] == pytest.approx(69.115 * 11 / 12, abs=0.001)

    def test_ticks_close_together_are_numbered_one_above_the_other(self) -> None:
        strip = clock_strip(od_mm=4.75, clocks_deg=[0, 5, 10, 15], labels=["1", "2", "3", "4"])

        numbers = [shape for shape in strip if isinstance(shape, Text) and shape.height_mm == 2.6]

        assert len({number.at[1] for number in numbers}) == 4

    @pytest.mark.parametrize("offset_mm", [4.0, -4.0])
    def test_wound_on_the_branch_the_cut_line_lies_on_the_main_tube(self, offset_mm: float) -> None:
        """Print outside and curve downward, the strip runs anticlockwise seen from above.

        The main tube lies along +x, which is the acute side; seen down the branch with the acute
        side on top, left is +y, and there the branch stands when the offset is positive.
        """
        branch_mm, main_mm, angle_deg = 22.0, 35.0, 60.0
        points = saddle_template(
            branch_od_mm=branch_mm,
            header_od_mm=main_mm,
            angle_deg=angle_deg,
            offset_mm=offset_mm,
            points=361,
        )
        line = next(iter(saddle_strip(points)))
        lean = math.radians(angle_deg)
        along = np.array([math.cos(lean), 0, math.sin(lean)])
        acute = np.array([math.sin(lean), 0, -math.cos(lean)])
        left = np.cross(along, acute)

        for paper_mm, height_mm in line.points[::15]:
            turn = 2 * math.pi * paper_mm / (math.pi * branch_mm)
            out = branch_mm / 2 * (math.cos(turn) * acute + math.sin(turn) * left)
            at = np.array([0, offset_mm, 0]) + height_mm * along + out
            assert math.hypot(at[1], at[2]) == pytest.approx(main_mm / 2, abs=1e-9)


class TestSheets:
    FIGURE = plan_figure(SPACE, od_mm=OD_MM)

    def test_sheets_together_show_the_whole_drawing(self) -> None:
        found = tiled(self.FIGURE, width_mm=170, height_mm=234)

        for shape in self.FIGURE:
            for x, y in _sampled(shape) if not isinstance(shape, Text) else []:
                assert any(
                    tile.window.left_mm - 1e-6 <= x <= tile.window.right_mm + 1e-6
                    and tile.window.bottom_mm - 1e-6 <= y <= tile.window.top_mm + 1e-6
                    for tile in found.tiles
                )

    def test_a_cross_and_its_arms_lie_on_exactly_the_two_sheets_it_joins(self) -> None:
        found = tiled(self.FIGURE, width_mm=120, height_mm=100)

        for cross in found.crosses:
            arms = crosses_figure([cross]).shapes[:2]
            ends = [end for arm in arms for end in (arm.start, arm.end)]
            on = [
                tile.name
                for tile in found.tiles
                if all(
                    tile.window.left_mm < x < tile.window.right_mm
                    and tile.window.bottom_mm < y < tile.window.top_mm
                    for x, y in ends
                )
            ]
            assert len(on) == 2, cross

    def test_neighbours_overlap_by_what_was_said(self) -> None:
        found = tiled(Figure((Line((0, 0), (400, 0)),)), width_mm=170, height_mm=234)

        windows = [tile.window for tile in found.tiles]

        assert len(windows) == 3
        for one, next_one in itertools.pairwise(windows):
            assert one.right_mm - next_one.left_mm == pytest.approx(OVERLAP_MM)

    def test_what_fits_takes_one_sheet_and_no_cross(self) -> None:
        found = tiled(Figure((Line((0, 0), (170, 0)),)), width_mm=170, height_mm=234)

        assert ([tile.name for tile in found.tiles], found.crosses) == (["A1"], ())

    def test_sheets_with_nothing_on_them_are_left_out(self) -> None:
        corner = Figure((Line((0, 0), (0, 600)), Line((0, 600), (600, 600))))

        found = tiled(corner, width_mm=170, height_mm=234)

        assert len(found.tiles) < found.rows * found.columns

    def test_a_wall_of_paper_is_refused(self) -> None:
        with pytest.raises(CoreError, match="more than 80"):
            tiled(Figure((Line((0, 0), (9000, 9000)),)), width_mm=170, height_mm=234)

    def test_the_likely_best_turn_is_a_best_turn(self) -> None:
        """Of a long pipe, against all turns laid out in full."""
        window = {"width_mm": 170.0, "height_mm": 234.0}

        first = best_turns_deg(self.FIGURE, **window, step_deg=15)[0]

        counts = {
            turn: len(tiled(self.FIGURE.turned(turn), **window).tiles) for turn in range(0, 180, 15)
        }
        assert counts[first] <= min(counts.values()) + 1
        assert counts[first] < max(counts.values())
