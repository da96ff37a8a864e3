"""How a pipe is laid on its paper: turned, in a row, broken where long, dashed where guessed."""

import math
import re

import pytest

from fabrication.core.tube_path import BendRow, table_from_rows
from fabrication.core.tube_table import BendTable
from fabrication.drawn.drawing import Break, Drawing, Mouth, Stroke, draw
from fabrication.drawn.third_angle import FRONT, PLAN, QUARTER, SIDE, Paper, start_of

A4_MM = (172.0, 92.0)


def bent(*rows: tuple[float, float, float], last_mm: float, radius_mm: float = 45.0) -> BendTable:
    typed = [BendRow(straight, twist, angle, radius_mm) for straight, twist, angle in rows]
    return table_from_rows(rows=typed, last_straight_mm=last_mm)


def drawn(
    table: BendTable, *, od_mm: float = 15.0, size_mm: tuple[float, float] = A4_MM, **more: object
) -> Drawing:
    numbers = range(1, len(table.bends) + 1)
    wide, high = size_mm
    return draw(table, od_mm=od_mm, numbers=numbers, width_mm=wide, height_mm=high, **more)


def points_of(path: str) -> list[tuple[float, float]]:
    numbers = [float(text) for text in re.findall(r"-?[0-9.]+", path)]
    return list(zip(numbers[::2], numbers[1::2], strict=True))


def strokes(drawing: Drawing, view: int = 0) -> list[Stroke]:
    return [one for one in drawing.views[view].painted if isinstance(one, Stroke)]


def all_points(drawing: Drawing, view: int) -> list[tuple[float, float]]:
    return [point for one in strokes(drawing, view) for point in points_of(one.edge)]


def spot_of(drawing: Drawing, name: str, view: int = 0) -> tuple[float, float]:
    ring = next(ring for ring in drawing.views[view].balloons if ring.text == name)
    return float(ring.x), float(ring.y)


# Short, then a long way to the left: as it lies the view from above is a tower.
TOWER = bent((60, 0, 90), last_mm=900)
# A mast: from below it goes up.
MAST = bent((120, 0, 90), (200, 90, 60), (60, 0, 30), last_mm=150, radius_mm=60)
BRAKE_ROWS = (160, 0, 90), (420, 90, 90), (380, 90, 45), (600, -90, 60), (90, 180, 90)
BRAKE = bent(*BRAKE_ROWS, last_mm=60, radius_mm=15)


# ---- how it lies --------------------------------------------------------------------------


def test_a_pipe_that_goes_far_to_the_left_is_turned_to_fill_the_paper() -> None:
    turned = drawn(TOWER)
    plan = all_points(turned, 0)

    wide = max(x for x, _ in plan) - min(x for x, _ in plan)
    high = max(y for _, y in plan) - min(y for _, y in plan)
    assert wide * turned.scale == pytest.approx(45 + 900)
    assert high * turned.scale == pytest.approx(60 + 45)
    # End A lies on top, the pipe runs down first, and bend 1 still turns to its own left.
    assert spot_of(turned, "A")[1] < spot_of(turned, "1")[1]
    assert spot_of(turned, "B")[0] > spot_of(turned, "A")[0]


def test_the_spots_in_words_are_told_from_end_a_however_the_drawing_lies() -> None:
    end = drawn(TOWER).spots[-1]

    assert (end.ahead_mm, end.left_mm, end.up_mm) == pytest.approx((60 + 45, 45 + 900, 0))


def test_a_pipe_that_gains_little_by_it_is_not_turned() -> None:
    lying = bent((100, 0, 90), last_mm=120)

    start = start_of(lying, od_mm=15, paper=Paper(*A4_MM))

    assert start != QUARTER


def test_a_half_made_pipe_lies_as_the_finished_one_does() -> None:
    start = start_of(TOWER, od_mm=15, paper=Paper(*A4_MM))
    straight = table_from_rows(rows=[], last_straight_mm=TOWER.length_mm)

    plan = all_points(drawn(straight, start=start), 0)

    assert start == QUARTER
    assert max(x for x, _ in plan) == pytest.approx(min(x for x, _ in plan))


def test_a_tall_pipe_has_its_views_in_a_row_and_they_still_belong_together() -> None:
    drawing = drawn(MAST, od_mm=28, size_mm=(262, 130))
    plan, front, side = (all_points(drawing, view) for view in range(3))

    assert len({view.y for view in drawing.views}) == 1
    # Front and side stand on one level, and show the same height.
    assert min(y for _, y in front) == pytest.approx(min(y for _, y in side))
    assert max(y for _, y in front) == pytest.approx(max(y for _, y in side))
    # The view from above is as wide as the front and as deep as the side.
    spans = [
        max(values) - min(values)
        for values in (
            [x for x, _ in plan],
            [x for x, _ in front],
            [y for _, y in plan],
            [x for x, _ in side],
        )
    ]
    assert spans[0] == pytest.approx(spans[1]) and spans[2] == pytest.approx(spans[3])


def test_on_a_narrow_paper_a_long_pipe_has_its_views_one_under_the_other() -> None:
    long_pipe = bent((78, 0, 41), (76, 130, 54), (122, 170, 48), (116, -73, 44), last_mm=94)

    drawing = drawn(long_pipe, size_mm=(100, 170), ring_mm=4.2)

    assert len({view.x for view in drawing.views}) == 1
    tops = [float(view.y) for view in drawing.views]
    assert tops == sorted(tops) and len(set(tops)) == 3
    for number, below in enumerate(tops[1:]):
        assert max(y for _, y in all_points(drawing, number)) < below


def test_the_plain_layout_is_third_angle() -> None:
    """ISO 5456-2, from memory: plan over front, the right side to the right of the front."""
    drawing = drawn(bent((78, 0, 41), (76, 130, 54), (122, 170, 48), last_mm=94))
    corners = {view.name: (float(view.x), float(view.y)) for view in drawing.views}

    assert corners[PLAN.name][0] == corners[FRONT.name][0]
    assert corners[PLAN.name][1] < corners[FRONT.name][1]
    assert corners[SIDE.name][1] == corners[FRONT.name][1]
    assert corners[SIDE.name][0] > corners[FRONT.name][0]


@pytest.mark.parametrize("ring_mm", [2.7, 4.2])
@pytest.mark.parametrize("size_mm", [(262.0, 130.0), (172.0, 92.0), (176.0, 76.0)])
@pytest.mark.parametrize(("table", "od_mm"), [(TOWER, 15), (MAST, 28), (BRAKE, 4.75)])
def test_tube_and_balloons_lie_on_the_paper(
    table: BendTable, od_mm: float, size_mm: tuple[float, float], ring_mm: float
) -> None:
    drawing = drawn(table, od_mm=od_mm, size_mm=size_mm, ring_mm=ring_mm)
    wide, high = float(drawing.width), float(drawing.height)

    assert wide <= size_mm[0] and high <= size_mm[1] + 1e-6
    for number, view in enumerate(drawing.views):
        rings = [(float(ring.x), float(ring.y)) for ring in view.balloons]
        assert all(ring_mm <= x <= wide - ring_mm for x, _ in rings)
        assert all(ring_mm <= y <= high - ring_mm for _, y in rings)
        assert all(0 <= x <= wide and 0 <= y <= high for x, y in all_points(drawing, number))


# ---- breaks -------------------------------------------------------------------------------


def breaks(drawing: Drawing, view: int) -> list[Break]:
    return [one for one in drawing.views[view].painted if isinstance(one, Break)]


def test_a_brake_pipe_of_two_metres_is_broken_to_be_seen() -> None:
    drawing = drawn(BRAKE, od_mm=4.75)

    assert any(breaks(drawing, view) for view in range(3))
    assert drawing.note_y
    assert "long straights drawn short" in drawing.says
    assert float(drawing.edge) >= 0.5


def test_diameter_and_bends_stay_true_where_straights_are_broken() -> None:
    """A level pipe: the arcs of the view from above have their own radius, to the scale."""
    level = bent((900, 0, 90), (900, 0, 90), last_mm=900, radius_mm=15)
    drawing = drawn(level, od_mm=4.75)
    corner = points_of(next(one.edge for one in strokes(drawing) if not is_straight(one)))

    assert breaks(drawing, 0)
    assert float(drawing.edge) * drawing.scale == pytest.approx(4.75, abs=0.01)
    # The first cubic of a bend covers 30 degrees: 15 (sin 30) along, 15 (1 - cos 30) to the side.
    along = abs(corner[-1][0] - corner[0][0]) * drawing.scale
    aside = abs(corner[-1][1] - corner[0][1]) * drawing.scale
    assert sorted((along, aside)) == pytest.approx(
        sorted((15 * math.sin(math.pi / 6), 15 * (1 - math.cos(math.pi / 6)))), abs=0.02
    )


def is_straight(stroke: Stroke) -> bool:
    (x0, y0), *_, (x1, y1) = points = points_of(stroke.edge)
    return all(abs((x1 - x0) * (y - y0) - (y1 - y0) * (x - x0)) < 1e-3 for x, y in points)


def test_spots_in_words_are_those_of_the_whole_pipe() -> None:
    level = bent((900, 0, 90), last_mm=700, radius_mm=15)
    drawing = drawn(level, od_mm=4.75)
    end = drawing.spots[-1]

    assert breaks(drawing, 0)
    assert (end.ahead_mm, end.left_mm) == pytest.approx((915, 715))


def test_a_pipe_that_can_be_seen_whole_is_not_broken() -> None:
    drawing = drawn(bent((100, 0, 90), (80, 90, 60), last_mm=120))

    assert not any(breaks(drawing, view) for view in range(3))
    assert not drawing.note_y
    assert "short" not in drawing.says


# ---- guessed ends -------------------------------------------------------------------------


def dashed_mm(drawing: Drawing, view: int) -> float:
    """How long the dashed part of a straight tube is, in millimetres of tube."""
    ends = [points_of(one.edge) for one in strokes(drawing, view) if one.dashed]
    return drawing.scale * sum(math.dist(points[0], points[-1]) for points in ends)


def test_what_is_guessed_is_dashed_as_long_as_it_was_said() -> None:
    straight = table_from_rows(rows=[], last_straight_mm=300)

    drawing = drawn(straight, guessed=(40.0, 25.0))

    assert dashed_mm(drawing, 0) == pytest.approx(65, abs=0.05)
    assert [one.dashed for one in drawing.views[0].painted if isinstance(one, Mouth)] == [True] * 2


def test_nothing_is_dashed_where_nothing_is_guessed() -> None:
    drawing = drawn(MAST, od_mm=28)

    assert not [one for one in drawing.views[0].painted if getattr(one, "dashed", False)]


def test_a_guess_may_reach_beyond_the_last_bend() -> None:
    """The last straight is 120 long: 20 of the bend, on 45 mm, are guessed as well."""
    quarter = bent((100, 0, 90), last_mm=120)

    drawing = drawn(quarter, guessed=(0.0, 140.0))

    dashed = [one for one in strokes(drawing) if one.dashed]
    assert any(is_straight(one) for one in dashed)
    assert any(not is_straight(one) for one in dashed)


def test_a_guessed_end_of_a_broken_straight_keeps_its_share() -> None:
    level = bent((900, 0, 90), last_mm=900, radius_mm=15)
    drawing = drawn(level, od_mm=4.75, guessed=(0.0, 300.0))

    last = [one for one in strokes(drawing) if is_straight(one) and is_upright(one)]
    long = {one.dashed: math.dist(points_of(one.edge)[0], points_of(one.edge)[-1]) for one in last}
    assert breaks(drawing, 0)
    assert long[True] == pytest.approx((long[True] + long[False]) / 3, rel=0.01)


def is_upright(stroke: Stroke) -> bool:
    (x0, _), *_, (x1, _) = points_of(stroke.edge)
    return abs(x0 - x1) < 1e-3
