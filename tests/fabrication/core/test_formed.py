"""Folded strips: where points go, half-made parts, and what is in the way of a tool."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.drawing import Arc
from fabrication.core.errors import CoreError
from fabrication.core.flat_pattern import FlatPattern, Fold, Way, flat_pattern
from fabrication.core.formed import centre_of, formed, reach_problems, section_edges


def channel(leg: float, base: float, ways: tuple[Way, Way] = (Way.UP, Way.UP)) -> FlatPattern:
    return flat_pattern(
        lengths_mm=(leg, base, leg), folds=[Fold(90, 2, 0.4, way) for way in ways], thickness_mm=1.5
    )


def near(point: tuple[float, float], x: float, y: float) -> bool:
    return math.dist(point, (x, y)) < 1e-9


def test_a_channel_stands_where_a_square_would_find_it() -> None:
    """Legs 30, base 50, over the outside: its right leg ends above its left one."""
    part = channel(30, 50)

    folded = formed(part)

    first, last = folded.at(0), folded.at(part.total_mm)
    assert near(first.back, 0, 0) and near(first.front, 0, 1.5)
    assert near(last.back, 0, 50) and near(last.front, 0, 48.5)
    assert last.heading_deg == 180


def test_a_joggle_ends_on_its_own_way() -> None:
    part = channel(30, 50, (Way.UP, Way.DOWN))

    last = formed(part).at(part.total_mm)

    # The last flange is measured to the opposite face of the web: up by the web less t.
    assert near(last.front, 30 + 30 - 1.5, 50)
    assert last.heading_deg == 0


@given(st.floats(0, 1))
def test_every_point_keeps_its_two_faces_a_thickness_apart(share: float) -> None:
    part = channel(30, 50, (Way.DOWN, Way.UP))

    station = formed(part).at(part.total_mm * share)

    assert math.dist(station.back, station.front) == pytest.approx(1.5, abs=1e-9)


def test_cutting_stops_are_the_ends_the_tangent_lines_and_steps_between() -> None:
    part = channel(30, 50)
    stops = formed(part).stops()

    assert stops == sorted(set(stops))
    assert {0.0, part.total_mm} <= set(stops)
    for zone in part.zones:
        inside = [x for x in stops if zone.start_mm - 1e-9 <= x <= zone.end_mm + 1e-9]
        assert len(inside) == 10  # 90 degrees in steps of 10, with both tangent lines


def test_a_half_made_part_lies_flat_where_it_is_not_bent_yet() -> None:
    part = channel(30, 50)

    untouched, half = formed(part, made=()), formed(part, made=(0,))

    assert near(untouched.at(part.total_mm).back, part.total_mm, 0)
    assert len(half.pattern.zones) == 1
    assert half.at(part.total_mm).heading_deg == 90
    # Beyond the bend that is made, lengths run on straight.
    beyond = half.at(part.zones[0].end_mm), half.at(part.total_mm)
    assert math.dist(beyond[0].back, beyond[1].back) == pytest.approx(
        part.total_mm - part.zones[0].end_mm
    )


def test_there_is_no_bend_beyond_the_last() -> None:
    with pytest.raises(CoreError) as refused:
        formed(channel(30, 50), made=(2,))

    assert refused.value.kind == "no_such_bend"


def test_a_section_has_an_arc_a_face_a_bend_and_its_inside_radius() -> None:
    part = channel(30, 50, (Way.UP, Way.DOWN))
    folded = formed(part)

    arcs = [edge for edge in section_edges(folded) if isinstance(edge, Arc)]

    assert sorted(round(arc.radius_mm, 9) for arc in arcs) == [2.0, 2.0, 3.5, 3.5]
    start = folded.starts[1]
    assert near(centre_of(start, part.zones[0], 1.5), start.back[0], 3.5)


def test_a_flange_that_is_nothing_leaves_no_line() -> None:
    part = flat_pattern(lengths_mm=(20, 7, 20), folds=[Fold(90, 2, 0.4)] * 2, thickness_mm=1.5)

    lines = [edge for edge in section_edges(formed(part)) if not isinstance(edge, Arc)]

    assert len(lines) == 6


# ---- reach --------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("part", "order", "found"),
    [
        # Common practice: a channel closes over the punch once its legs are longer than its base.
        (channel(30, 50), (0, 1), []),
        (channel(60, 50), (0, 1), [("no_reach", 1)]),
        (channel(60, 50), (1, 0), [("no_reach", 0)]),
        (channel(60, 50, (Way.UP, Way.DOWN)), (0, 1), []),
    ],
)
def test_a_deep_channel_is_in_the_way_of_its_last_bend(
    part: FlatPattern, order: tuple[int, ...], found: list[tuple[str, int]]
) -> None:
    problems = reach_problems(part, order=order)

    assert [(one.kind, one.index) for one in problems] == found


def test_a_thick_punch_wants_more_room() -> None:
    part = channel(48, 50)

    assert reach_problems(part, order=(0, 1)) == ()
    assert [one.kind for one in reach_problems(part, order=(0, 1), punch_mm=6)] == ["no_reach"]


def test_flanges_between_are_looked_at_as_well() -> None:
    """A box of four bends: whichever comes last, the lip stands over it."""
    box = flat_pattern(
        lengths_mm=(12, 60, 40, 60, 12), folds=[Fold(90, 2, 0.4)] * 4, thickness_mm=1.5
    )

    lips_last = reach_problems(box, order=(1, 2, 0, 3))
    lips_first = reach_problems(box, order=(0, 3, 1, 2))

    assert {one.index for one in lips_first} == {2}
    assert {one.index for one in lips_last} >= {2}


@pytest.mark.parametrize("order", [(0,), (0, 0), (0, 2), ()])
def test_each_bend_is_made_once(order: tuple[int, ...]) -> None:
    with pytest.raises(CoreError) as refused:
        reach_problems(channel(30, 50), order=order)

    assert refused.value.kind == "bad_order"
