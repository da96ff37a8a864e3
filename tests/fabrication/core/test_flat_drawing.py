"""Flat drawings: what is refused, what moves how, and what a window cuts off."""

import math

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabrication.core.clipping import clipped
from fabrication.core.drawing import Arc, Box, Circle, Figure, Line, Polyline, Shape, Text
from fabrication.core.errors import CoreError, OutOfRange

places = st.tuples(st.floats(-50, 50), st.floats(-50, 50))
turns = st.floats(-720, 720)


def along(shape: Shape, count: int = 2001) -> np.ndarray:
    """Points evenly along a shape, worked out here and not by the drawing."""
    share = np.linspace(0, 1, count)
    if isinstance(shape, Line):
        return np.outer(1 - share, shape.start) + np.outer(share, shape.end)
    if isinstance(shape, Arc):
        turn = np.radians(shape.start_deg + (shape.end_deg - shape.start_deg) * share)
        ring = np.stack([np.cos(turn), np.sin(turn)], axis=1)
        return np.asarray(shape.centre) + shape.radius_mm * ring
    raise TypeError(shape)


def length_of(figure: Figure) -> float:
    return sum(
        math.dist(shape.start, shape.end)
        if isinstance(shape, Line)
        else shape.radius_mm * math.radians(shape.end_deg - shape.start_deg)
        for shape in figure
        if isinstance(shape, Line | Arc)
    )


class TestShapes:
    def test_a_pen_nobody_has_is_refused(self) -> None:
        with pytest.raises(CoreError, match="no pen called red"):
            Line((0, 0), (1, 0), "red")  # type: ignore[arg-type]

    def test_what_is_no_number_is_refused(self) -> None:
        with pytest.raises(OutOfRange):
            Line((0, math.nan), (1, 0))

    @pytest.mark.parametrize("end_deg", [10, 5, 371])
    def test_an_arc_runs_anticlockwise_by_at_most_a_turn(self, end_deg: float) -> None:
        with pytest.raises(CoreError, match="anticlockwise"):
            Arc((0, 0), 5, 10, end_deg)

    def test_nothing_has_no_bounds(self) -> None:
        with pytest.raises(CoreError, match="nothing on this drawing"):
            _ = Figure().bounds

    @given(centre=places, start=turns, angle=st.floats(1, 360))
    @settings(max_examples=60)
    def test_the_box_of_an_arc_is_that_of_its_points(
        self, centre: tuple[float, float], start: float, angle: float
    ) -> None:
        arc = Arc(centre, 20, start, start + angle)

        box, points = Figure((arc,)).bounds, along(arc, 20001)

        found = (box.left_mm, box.bottom_mm, box.right_mm, box.top_mm)
        assert found == pytest.approx((*points.min(0), *points.max(0)), abs=1e-4)

    @given(turn=turns, start=turns, angle=st.floats(1, 359))
    @settings(max_examples=60)
    def test_an_arc_turned_goes_through_the_turned_points(
        self, turn: float, start: float, angle: float
    ) -> None:
        arc = Arc((7, -3), 20, start, start + angle)
        cos, sin = math.cos(math.radians(turn)), math.sin(math.radians(turn))

        turned = along(arc.turned(turn), 7)

        assert turned == pytest.approx(
            along(arc, 7) @ np.array([[cos, sin], [-sin, cos]]), abs=1e-9
        )

    def test_a_mirror_changes_x_and_keeps_words_readable(self) -> None:
        figure = Figure((Arc((5, 0), 2, 0, 90), Text((3, 1), "END A", 3.5, 30.0)))

        arc, words = figure.mirrored()

        assert along(arc, 5)[::-1] == pytest.approx(along(figure.shapes[0], 5) * [-1, 1])
        assert (words.at, words.turn_deg, words.anchor) == ((-3, 1), -30.0, "end")
        assert figure.mirrored().mirrored().shapes[1] == figure.shapes[1]

    def test_a_quarter_turn_leaves_no_dust(self) -> None:
        assert Figure((Line((10, 0), (20, 0)),)).turned(90).shapes[0] == Line((0, 10), (0, 20))


class TestWindow:
    WINDOW = Box(-20, -10, 25, 15)

    def inside(self, points: np.ndarray) -> float:
        """Share of points inside the window."""
        low, high = (-20, -10), (25, 15)
        return float(np.all((points >= low) & (points <= high), axis=1).mean())

    @given(start=places, end=places)
    @settings(max_examples=100)
    def test_of_a_line_the_part_inside_is_kept(
        self, start: tuple[float, float], end: tuple[float, float]
    ) -> None:
        line = Line(start, end)

        kept = clipped(Figure((line,)), self.WINDOW)

        long = math.dist(start, end)
        assert length_of(kept) == pytest.approx(long * self.inside(along(line)), abs=long / 900)

    @given(centre=places, radius=st.floats(1, 60), start=turns, angle=st.floats(1, 360))
    @settings(max_examples=100)
    def test_of_an_arc_the_parts_inside_are_kept(
        self, centre: tuple[float, float], radius: float, start: float, angle: float
    ) -> None:
        arc = Arc(centre, radius, start, start + angle)

        kept = clipped(Figure((arc,)), self.WINDOW)

        whole = length_of(Figure((arc,)))
        assert length_of(kept) == pytest.approx(
            whole * self.inside(along(arc, 8001)), abs=whole / 1500
        )

    def test_what_is_whole_inside_stays_as_it_is(self) -> None:
        figure = Figure(
            (
                Circle((0, 0), 5, "note"),
                Arc((0, 0), 8, 350, 400, "bend"),
                Polyline(((0, 0), (5, 0), (5, 5)), closed=True),
                Text((1, 1), "P1"),
            )
        )

        assert clipped(figure, self.WINDOW) == figure

    def test_a_line_of_many_points_is_cut_into_its_pieces(self) -> None:
        fence = Polyline(((0, 0), (0, 30), (10, 30), (10, 0)), pen="dash")

        first, second = clipped(Figure((fence,)), self.WINDOW)

        assert first == Polyline(((0, 0), (0, 15)), pen="dash")
        assert second == Polyline(((10, 15), (10, 0)), pen="dash")

    def test_a_circle_round_the_window_is_not_seen(self) -> None:
        assert not clipped(Figure((Circle((0, 0), 200),)), self.WINDOW).shapes
