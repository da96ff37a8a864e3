"""The three views against hand sums: where the tube lies, how wide it is, what can be read."""

import math
import re

import pytest

from fabrication.core.tube_path import BendRow, table_from_rows
from fabrication.core.tube_table import BendTable
from fabrication.drawn.drawing import Drawing, Stroke, draw

OD_MM, RADIUS_MM = 15.0, 45.0


def bent(*rows: tuple[float, float, float], last_mm: float) -> BendTable:
    typed = [BendRow(straight, twist, angle, RADIUS_MM) for straight, twist, angle in rows]
    return table_from_rows(rows=typed, last_straight_mm=last_mm)


def drawn(table: BendTable, width_mm: float = 262, height_mm: float = 130) -> Drawing:
    numbers = range(1, len(table.bends) + 1)
    return draw(table, od_mm=OD_MM, numbers=numbers, width_mm=width_mm, height_mm=height_mm)


def points_of(path: str) -> list[tuple[float, float]]:
    numbers = [float(text) for text in re.findall(r"-?[0-9.]+", path)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


QUARTER = bent((100, 0, 90), last_mm=120)


def test_a_quarter_bend_lies_where_a_hand_sum_puts_it() -> None:
    """100 + 45 ahead, 45 + 120 to the left; the middle of the arc is 45 (1 - cos 45) off."""
    start, middle, end = drawn(QUARTER).spots

    assert (start.ahead_mm, start.left_mm, start.up_mm) == (0, 0, 0)
    assert (end.ahead_mm, end.left_mm, end.up_mm) == pytest.approx((145, 165, 0))
    assert middle.left_mm == pytest.approx(45 * (1 - math.sqrt(0.5)))


def test_with_a_positive_twist_the_next_straight_rises() -> None:
    """The bench test of the sign: bend 1 turns left, lying flat."""
    end = drawn(bent((100, 0, 90), (50, 90, 90), last_mm=60)).spots[-1]

    assert end.up_mm == pytest.approx(45 + 60)


def test_bend_one_turns_left_in_the_view_from_above() -> None:
    """Travel is to the right and left is up on paper, where y grows downward."""
    plan = drawn(QUARTER).views[0]
    points = [p for one in plan.painted if isinstance(one, Stroke) for p in points_of(one.edge)]

    leftmost, last = min(points), max(points, key=lambda p: (p[0], -p[1]))
    assert last[1] < leftmost[1]


def test_the_views_have_the_scale_that_they_say() -> None:
    drawing = drawn(QUARTER)
    points = [
        p
        for one in drawing.views[0].painted
        if isinstance(one, Stroke)
        for p in points_of(one.edge)
    ]
    wide_mm = max(x for x, _ in points) - min(x for x, _ in points)

    assert wide_mm * drawing.scale == pytest.approx(145, abs=0.01)
    assert float(drawing.edge) * drawing.scale == pytest.approx(OD_MM, abs=0.01)


@pytest.mark.parametrize("size_mm", [(262.0, 130.0), (172.0, 92.0), (176.0, 76.0)])
def test_everything_lies_on_the_paper(size_mm: tuple[float, float]) -> None:
    table = bent((78, 0, 41), (76, 130, 54), (122, 170, 48), (116, -73, 44), last_mm=94)
    drawing = drawn(table, *size_mm)
    wide, high = float(drawing.width), float(drawing.height)

    assert wide <= size_mm[0] and high <= size_mm[1]
    for view in drawing.views:
        rings = [(float(ring.x), float(ring.y)) for ring in view.balloons]
        assert all(2.7 <= x <= wide - 2.7 and 2.7 <= y <= high - 2.7 for x, y in rings)
        strokes = [one for one in view.painted if isinstance(one, Stroke)]
        points = [p for one in strokes for p in points_of(one.edge)]
        assert all(0 <= x <= wide and 0 <= y <= high for x, y in points)


def test_no_two_numbers_touch() -> None:
    table = bent((78, 0, 41), (76, 130, 54), (122, 170, 48), (116, -73, 44), last_mm=94)

    for view in drawn(table).views:
        rings = [(float(ring.x), float(ring.y)) for ring in view.balloons]
        gaps = [math.dist(a, b) for i, a in enumerate(rings) for b in rings[:i]]
        assert min(gaps) >= 2 * 2.7


def test_ends_and_bends_are_named_in_every_view() -> None:
    table = bent((100, 0, 90), (50, 90, 90), last_mm=60)

    assert [[ring.text for ring in view.balloons] for view in drawn(table).views] == [
        ["A", "1", "2", "B"]
    ] * 3


def test_the_nearer_piece_is_painted_last() -> None:
    """The last straight rises towards the eye of the view from above."""
    plan = drawn(bent((100, 0, 90), (50, 90, 45), last_mm=60)).views[0]
    strokes = [one for one in plan.painted if isinstance(one, Stroke)]

    risen = points_of(strokes[-1].edge)
    assert min(y for _, y in risen) == min(y for one in strokes for _, y in points_of(one.edge))
