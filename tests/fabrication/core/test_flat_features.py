"""Holes, slots, notches and outlines in the flat, and what stands against them."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange, Severity
from fabrication.core.flat_features import (
    CutNotch,
    Hole,
    carried_mm,
    flange_problems,
    flat_hole,
    hole_problems,
)
from fabrication.core.flat_pattern import Fold, Way, flat_pattern
from fabrication.core.outline import Corner, edge_distance_mm, is_inside, rounded, span_at
from fabrication.core.strip import End, EndShape, strip_outline

ANGLE = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
JOGGLE = flat_pattern(
    lengths_mm=(20, 35, 30),
    folds=(Fold(90, 3, 0.369, Way.UP), Fold(90, 3, 0.369, Way.DOWN)),
    thickness_mm=2,
)
SQUARE = EndShape()


def plain(width: float = 20.0) -> Any:
    return strip_outline(pattern=ANGLE, widths_mm=(width,) * 3, left=SQUARE, right=SQUARE)


# ---- carried to the flat ------------------------------------------------------------------


@given(st.floats(0, 25), st.integers(0, 2))
def test_a_point_told_from_either_end_of_its_flange_is_one_point(part: float, flange: int) -> None:
    before, after = (5.0 if flange else 0.0), (5.0 if flange < 2 else 0.0)
    flat = JOGGLE.flats[flange].length_mm
    along = before + min(part, flat)
    length = before + flat + after

    here = carried_mm(pattern=JOGGLE, flange=flange, along_mm=along, from_end=False)
    there = carried_mm(pattern=JOGGLE, flange=flange, along_mm=length - along, from_end=True)

    assert here == pytest.approx(there, abs=1e-9)


@pytest.mark.parametrize(
    ("flange", "along", "from_end", "kind", "index"),
    [
        (0, 37.0, False, "off_the_flange", 0),  # in the bend
        (0, -1.0, False, "off_the_flange", 0),
        (1, 3.0, False, "off_the_flange", 1),
        (1, 31.0, True, "off_the_flange", 1),
        (2, 5.0, False, "no_such_flange", None),
        (-1, 5.0, False, "no_such_flange", None),
    ],
)
def test_a_hole_beside_its_flange_is_refused(
    flange: int, along: float, from_end: bool, kind: str, index: int | None
) -> None:
    with pytest.raises(CoreError) as refused:
        carried_mm(pattern=ANGLE, flange=flange, along_mm=along, from_end=from_end)

    assert (refused.value.kind, refused.value.index) == (kind, index)


def test_a_slot_has_the_area_of_its_straight_and_its_two_halves() -> None:
    """(overall - width) width + pi/4 width^2; 20 x 6.6: 88.44 + 34.21."""
    slot = flat_hole(pattern=ANGLE, hole=Hole(0, 15, 6.6, slot_mm=20))

    assert slot.area_mm2 == pytest.approx(13.4 * 6.6 + math.pi / 4 * 6.6**2)
    assert slot.centres == ((15 - 6.7, 0.0), (15 + 6.7, 0.0))
    across = flat_hole(pattern=ANGLE, hole=Hole(0, 15, 6.6, slot_mm=20, slot_across=True))
    assert across.centres == ((15.0, -6.7), (15.0, 6.7))
    assert (slot.reach_mm, across.reach_mm) == (10.0, 3.3)
    assert slot.is_slot and not flat_hole(pattern=ANGLE, hole=Hole(0, 15, 6.6)).is_slot


def test_a_slot_shorter_than_wide_is_refused() -> None:
    with pytest.raises(CoreError) as refused:
        flat_hole(pattern=ANGLE, hole=Hole(1, 15, 6.6, slot_mm=5))

    assert (refused.value.kind, refused.value.index) == ("slot_too_short", 1)
    with pytest.raises(OutOfRange):
        flat_hole(pattern=ANGLE, hole=Hole(0, 15, 0))


# ---- doubts -------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("hole", "kinds"),
    [
        (Hole(0, 15, 6.6), []),
        # The bend begins at 36: 2 t clear is an edge at 32, the middle at 28.7.
        (Hole(0, 28.7, 6.6), []),
        (Hole(0, 28.8, 6.6), ["hole_by_bend"]),
        (Hole(0, 33.0, 6.6), ["hole_in_bend"]),
        # A slot wants 3 t: its end at 30.
        (Hole(0, 20.0, 6.6, slot_mm=20.0), []),
        (Hole(0, 20.1, 6.6, slot_mm=20.0), ["hole_by_bend"]),
        # On the second flange, told from its free end: the flat is 26 long.
        (Hole(1, 18.7, 6.6, from_end=True), []),
        (Hole(1, 18.8, 6.6, from_end=True), ["hole_by_bend"]),
        # 1.2 and 1.5 diameters of 6: 7.2 and 9 mm.
        (Hole(0, 15, 6.0, across_mm=1.0), []),
        (Hole(0, 15, 6.0, across_mm=2.8), ["edge_small"]),
        (Hole(0, 15, 6.0, across_mm=-2.81), ["edge_tears"]),
        (Hole(0, 7.1, 6.0), ["edge_tears"]),
        (Hole(0, 15, 6.0, across_mm=11), ["hole_off"]),
    ],
)
def test_what_stands_against_a_hole(hole: Hole, kinds: list[str]) -> None:
    found = hole_problems(
        pattern=ANGLE, outline=plain(), holes=[flat_hole(pattern=ANGLE, hole=hole)]
    )

    assert [one.kind for one in found] == kinds
    assert all(one.index == 0 for one in found)
    stops = {one.kind for one in found if one.severity is Severity.BLOCKER}
    assert stops <= {"edge_tears", "hole_off"}


def test_how_near_the_edge_is_told_so_that_it_differs_from_the_least_that_is_good() -> None:
    """10 - 1.3 = 8.7 mm from the edge: 1.45 diameters of 6, where 1.5 would do."""
    hole = Hole(0, 15, 6.0, across_mm=1.3)

    (found,) = hole_problems(
        pattern=ANGLE, outline=plain(), holes=[flat_hole(pattern=ANGLE, hole=hole)]
    )

    assert "Edge at 1.45 diameters" in found.message


def test_a_large_hole_wants_more_room_from_the_bend() -> None:
    """Over 25 mm: 2.5 t, an edge at 31."""
    wide = strip_outline(pattern=ANGLE, widths_mm=(90,) * 3, left=SQUARE, right=SQUARE)
    kinds = [
        [
            one.kind
            for one in hole_problems(
                pattern=ANGLE, outline=wide, holes=[flat_hole(pattern=ANGLE, hole=hole)]
            )
            if one.kind == "hole_by_bend"
        ]
        for hole in (Hole(0, 18.0, 26), Hole(0, 18.1, 26))
    ]

    assert kinds == [[], ["hole_by_bend"]]


def test_two_holes_too_close_are_told_at_the_second() -> None:
    holes = [flat_hole(pattern=ANGLE, hole=Hole(0, along, 5)) for along in (10, 20.9, 20.95)]

    found = hole_problems(pattern=ANGLE, outline=plain(30), holes=holes)

    assert [(one.kind, one.index) for one in found] == [
        ("holes_close", 1),
        ("holes_close", 2),
        ("holes_close", 2),
    ]
    assert "hole 1" in found[0].message


def test_end_flanges_are_held_to_what_the_tool_wants() -> None:
    found = flange_problems(JOGGLE, least_mm=(20.5, 20.5))
    fine = flange_problems(JOGGLE, least_mm=(20.0, 30.0))

    assert [(one.kind, one.index) for one in found] == [("short_flange", 0)]
    assert fine == ()


# ---- outlines -----------------------------------------------------------------------------


def test_a_round_end_takes_half_the_width() -> None:
    outline = strip_outline(
        pattern=ANGLE, widths_mm=(20,) * 3, left=EndShape(End.ROUND), right=SQUARE
    )

    assert outline.area_mm2 == pytest.approx((ANGLE.total_mm - 10) * 20 + math.pi * 50)
    assert not is_inside(outline, (0.5, 9.0)) and is_inside(outline, (66, 9.0))


def test_a_taper_keeps_its_width_through_a_bend() -> None:
    outline = strip_outline(pattern=ANGLE, widths_mm=(40, 20, 20), left=SQUARE, right=SQUARE)
    zone = ANGLE.zones[0]

    for x in (zone.start_mm, zone.line_mm, zone.end_mm):
        assert span_at(outline, x) == pytest.approx((-10, 10))
    assert span_at(outline, 18.0) == pytest.approx((-15, 15))
    assert span_at(outline, -1.0) is None
    assert span_at(outline, 0.0) == pytest.approx((-20, 20))


def test_a_flush_strip_counts_from_its_straight_edge() -> None:
    outline = strip_outline(
        pattern=ANGLE,
        widths_mm=(40, 20, 20),
        left=EndShape(End.CORNERS, 3),
        right=SQUARE,
        flush=True,
    )

    assert {corner.y_mm for corner in outline.corners} == {0, 20, 40}
    assert [corner.radius_mm for corner in outline.corners].count(3) == 2


@pytest.mark.parametrize("on_left", [True, False])
def test_a_notch_takes_its_area_out_of_its_edge(on_left: bool) -> None:
    notch = CutNotch(0, 15, 8, 5, on_left=on_left)

    outline = strip_outline(
        pattern=ANGLE, widths_mm=(20,) * 3, left=SQUARE, right=SQUARE, notches=[notch]
    )

    assert outline.area_mm2 == pytest.approx(ANGLE.total_mm * 20 - 40)
    low, high = span_at(outline, 15.0) or (0, 0)
    assert (low, high) == ((-10, 5) if on_left else (-5, 10))


def test_notches_of_both_edges_may_face_each_other() -> None:
    pair = [CutNotch(0, 15, 8, 5), CutNotch(0, 15, 8, 5, on_left=False), CutNotch(1, 20, 4, 2)]

    outline = strip_outline(
        pattern=ANGLE, widths_mm=(20,) * 3, left=SQUARE, right=SQUARE, notches=pair
    )

    assert outline.area_mm2 == pytest.approx(ANGLE.total_mm * 20 - 88)


@pytest.mark.parametrize(
    ("notches", "kind", "index"),
    [
        ([CutNotch(0, 15, 8, 20)], "notch_too_deep", 0),
        ([CutNotch(0, 3, 8, 5)], "notch_off", 0),
        ([CutNotch(1, 3, 8, 5, from_end=True)], "notch_off", 0),
        ([CutNotch(0, 15, 8, 5), CutNotch(0, 20, 8, 5)], "notches_meet", 1),
        ([CutNotch(0, 37, 8, 5)], "off_the_flange", 0),
    ],
)
def test_a_notch_that_cannot_be_is_refused(notches: list[CutNotch], kind: str, index: int) -> None:
    with pytest.raises(CoreError) as refused:
        strip_outline(
            pattern=ANGLE, widths_mm=(20,) * 3, left=SQUARE, right=SQUARE, notches=notches
        )

    assert (refused.value.kind, refused.value.index) == (kind, index)


def test_a_width_for_every_bend_is_wanted() -> None:
    with pytest.raises(CoreError) as refused:
        strip_outline(pattern=ANGLE, widths_mm=(20, 20), left=SQUARE, right=SQUARE)

    assert refused.value.kind == "width_count"


@pytest.mark.parametrize(
    ("corners", "kind", "index"),
    [
        ([(0, 0), (1, 0)], "too_few_corners", None),
        ([(0, 0), (10, 0), (10, 0), (0, 10)], "same_corner", 2),
        ([(0, 0), (10, 0), (5, 0), (0, 10)], "corner_folds_back", 1),
        ([(0, 0), (10, 10), (10, 0), (0, 8)], "outline_crosses", 3),
        ([(0, 0, 6), (10, 0, 6), (10, 10), (0, 10)], "radius_too_large", 0),
        ([(0, 10), (10, 10), (10, 0, 6), (0, 0, 3)], None, None),
        ([(0, 10), (10, 10), (10, 0, 8), (0, 0, 3)], "radius_too_large", 2),
    ],
)
def test_an_outline_that_cannot_be_is_refused_at_its_corner(
    corners: list[tuple[float, ...]], kind: str | None, index: int | None
) -> None:
    listed = [Corner(*corner) for corner in corners]
    if kind is None:
        assert rounded(listed).area_mm2 == pytest.approx(100 - (1 - math.pi / 4) * (36 + 9))
        return

    with pytest.raises(CoreError) as refused:
        rounded(listed)

    assert (refused.value.kind, refused.value.index) == (kind, index)


def test_a_rounded_inner_corner_gives_metal_back() -> None:
    """An L of 20 x 20 with a bite of 10 x 10; radius 4 in its inner corner."""
    listed = [(0, 0), (20, 0), (20, 10), (10, 10, 4), (10, 20), (0, 20)]

    outline = rounded([Corner(*corner) for corner in listed])

    assert outline.area_mm2 == pytest.approx(300 + 16 * (1 - math.pi / 4))
    assert is_inside(outline, (10.5, 10.5)) and not is_inside(outline, (12, 12))


def test_distance_to_the_edge_knows_lines_arcs_and_ends() -> None:
    outline = rounded([Corner(0, 0, 5), Corner(40, 0), Corner(40, 20), Corner(0, 20)])

    assert edge_distance_mm(outline, (20, 3)) == pytest.approx(3)
    assert edge_distance_mm(outline, (4, 4)) == pytest.approx(5 - math.sqrt(2))
    assert edge_distance_mm(outline, (0, 0)) == pytest.approx(5 * (math.sqrt(2) - 1))
    assert edge_distance_mm(outline, (43, 24)) == pytest.approx(5)
