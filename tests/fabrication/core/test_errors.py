"""Refusals and problems as values."""

import math

import pytest

from fabrication.core.errors import (
    CoreError,
    Infeasible,
    OutOfRange,
    Severity,
    blocker,
    caution,
    require_between,
    require_finite,
    require_not_negative,
    require_positive,
)


def test_a_refusal_carries_kind_index_and_sentence() -> None:
    refusal = CoreError("fold_back", 3, "The tube folds back.")

    assert (refusal.kind, refusal.index, refusal.message) == (
        "fold_back",
        3,
        "The tube folds back.",
    )
    assert str(refusal) == "The tube folds back."
    assert isinstance(refusal, ValueError)


def test_a_refusal_without_a_sentence_says_its_kind() -> None:
    assert str(CoreError("fold_back")) == CoreError("fold_back").message == "fold_back"


def test_out_of_range_says_what_the_limits_are() -> None:
    refusal = OutOfRange("angle_deg", 200, 0, 180, why="A corner turns less.")

    assert (refusal.field, refusal.value, refusal.low, refusal.high) == ("angle_deg", 200, 0, 180)
    assert refusal.kind == "out_of_range"
    assert str(refusal) == "angle_deg is 200; it must lie between 0 and 180. A corner turns less."


def test_infeasible_keeps_every_problem_and_tells_them_all() -> None:
    problems = (blocker("short", "Too short.", 2), blocker("short", "Also short.", 4))

    refusal = Infeasible("short_straight", problems)

    assert (refusal.kind, refusal.index, refusal.problems) == ("short_straight", 2, problems)
    assert str(refusal) == "Too short. Also short."


def test_a_problem_has_its_severity() -> None:
    assert caution("a", "b").severity is Severity.CAUTION
    assert blocker("a", "b").severity is Severity.BLOCKER


@pytest.mark.parametrize(
    ("check", "good", "bad"),
    [
        (require_positive, [1e-9, 5], [0, -1, math.nan, math.inf]),
        (require_not_negative, [0, 5], [-1e-9, math.nan, math.inf]),
        (require_finite, [-5, 0, 5], [math.nan, math.inf, -math.inf]),
        (lambda **named: require_between(1, 2, **named), [1.5], [1, 2, 0, 3, math.nan]),
    ],
)
def test_limits_are_held(check, good: list[float], bad: list[float]) -> None:  # type: ignore[no-untyped-def]
    for value in good:
        check(length_mm=value)
    for value in bad:
        with pytest.raises(OutOfRange) as refusal:
            check(fine_mm=good[0], length_mm=value)
        assert refusal.value.field == "length_mm"
