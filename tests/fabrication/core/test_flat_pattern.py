"""Flat patterns: reversal, mirror, conventions, and what cannot be unfolded."""

import math
from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.bend_allowance import (
    bend_allowance_mm,
    inside_setback_mm,
    k_from_strip,
    outside_setback_mm,
    setback_ratio,
)
from fabrication.core.din_bend import din_k, din_v_mm
from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.flat_pattern import (
    Convention,
    FlatPattern,
    Fold,
    Way,
    agrees_from_both_ends,
    flat_pattern,
    mirrored_folds,
    reversed_pattern,
    setback_mm,
)

FOLDS = st.builds(
    Fold,
    angle_deg=st.floats(1, 170),
    radius_mm=st.floats(0.2, 12),
    k_ratio=st.floats(0.2, 0.5),
    way=st.sampled_from(Way),
)


@st.composite
def parts(draw: st.DrawFn) -> FlatPattern:
    """Any part whose flats are as long as drawn, told by any convention."""
    thickness = draw(st.floats(0.4, 6))
    folds = draw(st.lists(FOLDS, max_size=8))
    convention = draw(st.sampled_from(Convention))
    flats = draw(st.lists(st.floats(0, 200), min_size=len(folds) + 1, max_size=len(folds) + 1))
    takes = [0.0, *(told(fold, thickness, convention) for fold in folds), 0.0]
    lengths = [flat + takes[n] + takes[n + 1] for n, flat in enumerate(flats)]
    return flat_pattern(
        lengths_mm=lengths, folds=folds, thickness_mm=thickness, convention=convention
    )


def told(fold: Fold, thickness: float, convention: Convention) -> float:
    return setback_mm(fold=fold, thickness_mm=thickness, convention=convention)


@given(parts())
def test_reversing_a_part_keeps_its_total_and_turns_its_lines_about(part: FlatPattern) -> None:
    back = reversed_pattern(part)

    assert back.total_mm == pytest.approx(part.total_mm, abs=1e-9)
    assert back.lines_mm == pytest.approx(tuple(reversed(part.lines_from_right_mm)), abs=1e-9)
    assert agrees_from_both_ends(part)


@given(parts())
def test_mirroring_a_part_changes_no_length(part: FlatPattern) -> None:
    folds = mirrored_folds([zone.fold for zone in part.zones])

    mirrored = flat_pattern(
        lengths_mm=part.lengths_mm,
        folds=folds,
        thickness_mm=part.thickness_mm,
        convention=part.convention,
    )

    assert mirrored.flats == part.flats
    assert [zone.fold.way for zone in mirrored.zones] == [z.fold.way.other for z in part.zones]


@given(parts())
def test_total_is_lengths_less_deductions(part: FlatPattern) -> None:
    taken = sum(zone.deduction_mm for zone in part.zones)

    assert part.total_mm == pytest.approx(sum(part.lengths_mm) - taken, abs=1e-8)


@given(parts())
def test_flats_and_bends_follow_one_another_without_a_gap(part: FlatPattern) -> None:
    ends = [part.flats[0].end_mm]
    for zone, flat in zip(part.zones, part.flats[1:], strict=True):
        assert zone.start_mm == ends[-1] and flat.start_mm == zone.end_mm
        assert zone.start_mm < zone.line_mm < zone.end_mm
        ends.append(flat.end_mm)


def test_a_kept_pattern_that_was_altered_does_not_agree_from_both_ends() -> None:
    part = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    altered = FlatPattern((41.0, 30.0), part.thickness_mm, part.convention, part.flats, part.zones)

    assert not agrees_from_both_ends(altered)


def test_one_part_told_four_ways_is_one_flat() -> None:
    """Flats of 20 and 15; 120 degrees, r 3, t 2: corners 8.660 and 5.196 out, DIN 5."""
    corner = {
        Convention.OUTSIDE: math.tan(math.radians(60)) * 5,
        Convention.INSIDE: math.tan(math.radians(60)) * 3,
        Convention.TANGENT: 0.0,
        Convention.DIN: 5.0,
    }
    totals = {
        flat_pattern(
            lengths_mm=(20 + add, 15 + add),
            folds=(Fold(120, 3, 0.4),),
            thickness_mm=2,
            convention=convention,
        ).total_mm
        for convention, add in corner.items()
    }

    assert max(totals) - min(totals) < 1e-9


def test_a_wrap_of_more_than_half_a_turn_is_told_by_its_straights_alone() -> None:
    wrap = Fold(300, 10, 0.5)

    part = flat_pattern(
        lengths_mm=(10, 10), folds=(wrap,), thickness_mm=1, convention=Convention.TANGENT
    )

    assert part.total_mm == pytest.approx(20 + math.radians(300) * 10.5)
    with pytest.raises(CoreError) as refused:
        flat_pattern(lengths_mm=(10, 10), folds=(wrap,), thickness_mm=1)
    assert (refused.value.kind, refused.value.index) == ("bad_fold", 0)


@pytest.mark.parametrize(
    ("change", "kind", "index"),
    [
        ({"lengths_mm": ()}, "fold_count", None),
        ({"lengths_mm": (40.0,)}, "fold_count", None),
        ({"lengths_mm": (40.0, 3.9, 30.0), "folds": (Fold(90, 2, 0.4),) * 2}, "flange_negative", 1),
        ({"lengths_mm": (3.0, 30.0)}, "flange_negative", 0),
        ({"folds": (Fold(0, 2, 0.4),)}, "bad_fold", 0),
        ({"folds": (Fold(180, 2, 0.4),)}, "bad_fold", 0),
        ({"folds": (Fold(90, 0, 0.4),)}, "bad_fold", 0),
        ({"folds": (Fold(90, 2, 0.84),)}, "bad_fold", 0),
        ({"folds": (Fold(90, 2, 0.0),)}, "bad_fold", 0),
        ({"thickness_mm": 0.0}, "out_of_range", None),
        ({"lengths_mm": (-1.0, 30.0)}, "out_of_range", None),
        ({"lengths_mm": (math.nan, 30.0)}, "out_of_range", None),
    ],
)
def test_what_cannot_be_unfolded_is_refused_at_its_place(
    change: dict[str, Any], kind: str, index: int | None
) -> None:
    usual: dict[str, Any] = {
        "lengths_mm": (40.0, 30.0),
        "folds": (Fold(90, 2, 0.4),),
        "thickness_mm": 2.0,
    }

    with pytest.raises(CoreError) as refused:
        flat_pattern(**usual | change)

    assert (refused.value.kind, refused.value.index) == (kind, index)


def test_a_flange_that_is_nothing_but_its_bends_is_made() -> None:
    part = flat_pattern(lengths_mm=(20, 8, 20), folds=(Fold(90, 2, 0.4),) * 2, thickness_mm=2)

    assert part.flats[1].length_mm == 0


def test_a_steep_corner_is_doubted_where_lengths_run_to_it() -> None:
    """At 170 degrees the setback is 11.43 (r + t)."""
    steep = Fold(170, 2, 0.4)
    setback = outside_setback_mm(angle_deg=170, radius_mm=2, thickness_mm=1)

    part = flat_pattern(lengths_mm=(60, 60), folds=(steep,), thickness_mm=1)
    by_din = flat_pattern(
        lengths_mm=(60, 60), folds=(steep,), thickness_mm=1, convention=Convention.DIN
    )

    assert setback == pytest.approx(11.43 * 3, abs=0.01)
    assert [(one.kind, one.index) for one in part.problems] == [("steep_corner", 0)]
    assert by_din.problems == ()


# ---- one bend -----------------------------------------------------------------------------


@given(st.floats(1, 179), st.floats(0.1, 20), st.floats(0.2, 6))
def test_outer_corner_lies_farther_out_by_the_thickness(
    angle: float, radius: float, thickness: float
) -> None:
    outer = outside_setback_mm(angle_deg=angle, radius_mm=radius, thickness_mm=thickness)
    inner = inside_setback_mm(angle_deg=angle, radius_mm=radius)

    assert outer - inner == pytest.approx(setback_ratio(angle_deg=angle) * thickness, rel=1e-9)


@given(st.floats(20, 160), st.floats(0.5, 10), st.floats(0.5, 4), st.floats(0.05, 0.5))
def test_a_test_strip_gives_back_its_k_factor(
    angle: float, radius: float, thickness: float, k_ratio: float
) -> None:
    bend = {"angle_deg": angle, "radius_mm": radius, "thickness_mm": thickness}
    legs = 2 * (20 + outside_setback_mm(**bend))
    blank = 40 + bend_allowance_mm(**bend, k_ratio=k_ratio)

    reading = k_from_strip(blank_mm=blank, leg_a_mm=legs / 2, leg_b_mm=legs / 2, **bend)

    assert reading.k_ratio == pytest.approx(k_ratio, abs=1e-9)


@pytest.mark.parametrize("leg_mm", [40.0, 60.0])
def test_readings_that_no_sheet_can_give_are_refused(leg_mm: float) -> None:
    with pytest.raises(OutOfRange, match="Measure the strip again"):
        k_from_strip(blank_mm=100, leg_a_mm=leg_mm, leg_b_mm=50, radius_mm=2, thickness_mm=2)


@pytest.mark.parametrize("angle", [0, 180, -90, math.inf])
def test_a_bend_of_no_angle_has_no_corner(angle: float) -> None:
    with pytest.raises(OutOfRange):
        setback_ratio(angle_deg=angle)


def test_din_has_no_answer_for_a_crease() -> None:
    with pytest.raises(OutOfRange, match="as sharp as this"):
        din_k(radius_mm=0.1, thickness_mm=2)
    assert din_k(radius_mm=0.11, thickness_mm=2) > 0


@pytest.mark.parametrize("opening", [-1, 181, math.nan])
def test_din_refuses_an_opening_that_is_none(opening: float) -> None:
    with pytest.raises(OutOfRange):
        din_v_mm(opening_deg=opening, radius_mm=2, thickness_mm=2)
