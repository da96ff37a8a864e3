"""Saddles and clips: how they meet pipe and face, and what they refuse."""

from typing import Any

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.saddle import (
    Liner,
    Strap,
    closed_clip,
    half_saddle,
    resting_height_mm,
    two_ear_saddle,
)

LINED = Strap(22, 1.5, 2, 3, 20)


def test_pipe_rests_on_its_liner_or_on_the_bare_face() -> None:
    assert resting_height_mm(strap=LINED, liner=Liner.ALL_ROUND) == 12.5
    assert resting_height_mm(strap=LINED, liner=Liner.IN_STRAP) == 11.0
    assert resting_height_mm(strap=LINED, liner=Liner.IN_STRAP, nip_mm=0.4) == 10.6


@given(st.floats(-3, 14))
def test_a_saddle_is_the_same_from_both_ends(height: float) -> None:
    saddle = two_ear_saddle(strap=LINED, height_mm=height)

    lines = saddle.pattern.lines_mm
    assert lines[0] + lines[2] == pytest.approx(saddle.total_mm)
    assert lines[1] == pytest.approx(saddle.total_mm / 2)


@given(st.floats(-3, 5))
def test_a_low_pipe_is_wrapped_less_and_its_ears_bend_less(height: float) -> None:
    saddle = two_ear_saddle(strap=LINED, height_mm=height)

    assert saddle.wrap_deg == pytest.approx(2 * saddle.ear_bend_deg, abs=1e-9)
    assert saddle.wrap_deg <= 180


def test_upright_vanishes_without_a_step() -> None:
    """At the height where nothing of it is left, both sums agree."""
    above, below = (two_ear_saddle(strap=LINED, height_mm=5 + step) for step in (1e-9, -1e-9))

    assert above.total_mm == pytest.approx(below.total_mm, abs=1e-6)
    assert above.from_middle_mm == pytest.approx(below.from_middle_mm, abs=1e-6)


def test_a_saddle_on_the_middle_of_its_pipe_has_the_closed_clips_ears() -> None:
    flat = two_ear_saddle(strap=LINED, height_mm=0)
    clip = closed_clip(strap=LINED)

    assert flat.ear_bend_deg == pytest.approx(clip.ear_bend_deg)


def test_brake_pipe_can_be_strapped() -> None:
    """4.75 mm with a liner of 1 in 1.2 mm sheet: no upright, and yet a saddle."""
    strap = Strap(4.75, 1.0, 1.2, 3, 14)
    height = resting_height_mm(strap=strap, liner=Liner.ALL_ROUND)

    saddle = two_ear_saddle(strap=strap, height_mm=height)

    assert saddle.pattern.flats[1].length_mm == 0
    assert 0 < saddle.wrap_deg < 180
    with pytest.raises(CoreError) as refused:
        half_saddle(strap=strap, height_mm=height)
    assert refused.value.kind == "pipe_too_low"


def test_holes_of_the_ears_stand_on_either_side_of_the_pipe() -> None:
    """Pipe 22, liner 1.5, sheet 2: uprights 14.5 from the middle, holes 9 outside them: 47 mm."""
    saddle = two_ear_saddle(strap=LINED, height_mm=12.5)

    assert saddle.hole_spacing_mm(9) == pytest.approx(47)


def test_k_factors_may_be_given() -> None:
    shorter = two_ear_saddle(strap=LINED, height_mm=12.5, wrap_k_ratio=0.4, ear_k_ratio=0.33)

    assert shorter.total_mm < two_ear_saddle(strap=LINED, height_mm=12.5).total_mm
    assert {zone.fold.k_ratio for zone in shorter.pattern.zones} == {0.4, 0.33}


def test_half_saddle_and_bare_clip_are_doubted() -> None:
    half = half_saddle(strap=LINED, height_mm=12.5)
    bare = closed_clip(strap=Strap(15, 0, 1.2, 2, 18))

    assert [one.kind for one in half.problems] == ["one_ear"]
    assert [one.kind for one in bare.problems] == ["no_liner"]
    assert two_ear_saddle(strap=LINED, height_mm=12.5).problems == ()


@pytest.mark.parametrize(
    ("strap", "kind"),
    [
        (Strap(22, 1.5, 2, 3, 2), "ear_too_short"),
        (Strap(0, 1.5, 2, 3, 20), "out_of_range"),
        (Strap(22, -1, 2, 3, 20), "out_of_range"),
        (Strap(22, 1.5, 0, 3, 20), "out_of_range"),
        (Strap(22, 1.5, 2, 0, 20), "out_of_range"),
        (Strap(22, 1.5, 2, 3, 0), "out_of_range"),
    ],
)
@pytest.mark.parametrize("form", [two_ear_saddle, half_saddle])
def test_a_strap_that_cannot_be_is_refused(strap: Strap, kind: str, form: Any) -> None:
    with pytest.raises(CoreError) as refused:
        form(strap=strap, height_mm=12.5)

    assert refused.value.kind == kind


def test_a_pipe_far_under_its_face_is_refused() -> None:
    with pytest.raises(CoreError) as refused:
        two_ear_saddle(strap=LINED, height_mm=-13)

    assert refused.value.kind == "pipe_too_low"
    with pytest.raises(OutOfRange):
        two_ear_saddle(strap=LINED, height_mm=float("nan"))
