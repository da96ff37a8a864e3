"""Doubts about a list of bends, and how directions are told."""

import math

import pytest

from fabrication.core.tube_path import BendRow, table_from_rows, wrapped_deg
from fabrication.core.tube_table import rotation_doubt_deg


class TestCautions:
    @pytest.mark.parametrize(
        ("rows", "last", "kinds"),
        [
            ([BendRow(50, 0, 90, 30)], 50, []),
            ([BendRow(0, 0, 90, 30)], 50, [("no_end_straight", 0)]),
            ([BendRow(50, 0, 90, 30)], 0, [("no_end_straight", 1)]),
            ([BendRow(50, 0, 90, 30), BendRow(0, 5, 90, 30)], 50, [("no_straight_between", 1)]),
            ([BendRow(50, 0, 90, 11.9)], 50, [("tight_radius", 1)]),
            ([BendRow(50, 0, 90, 12)], 50, []),
            ([BendRow(50, 0, 0.19, 30)], 50, [("nearly_straight", 1)]),
            ([BendRow(50, 0, 0.2, 30)], 50, []),
            ([BendRow(50, 0, 170.1, 30)], 50, [("steep_corner", 1)]),
            ([BendRow(50, 0, 170, 30)], 50, []),
            ([BendRow(50, 0, 180, 30)], 50, []),
            ([BendRow(50, 0, 90, 30), BendRow(50, 5, 5, 30)], 50, [("shallow_bend", 2)]),
            ([BendRow(50, 0, 90, 30), BendRow(50, 5, 6, 30)], 50, []),
            ([BendRow(50, 0, 180, 30), BendRow(50, 5, 200, 30)], 50, []),
        ],
    )
    def test_a_doubtful_case_is_answered_and_named(
        self, rows: list[BendRow], last: float, kinds: list[tuple[str, int]]
    ) -> None:
        table = table_from_rows(rows=rows, last_straight_mm=last, od_mm=12)

        assert [(problem.kind, problem.index) for problem in table.problems] == kinds
        assert {str(problem.severity) for problem in table.problems} <= {"caution"}


@pytest.mark.parametrize(("first", "last", "end"), [(0, 50, "End A"), (50, 0, "End B")])
def test_the_end_without_a_straight_is_named(first: float, last: float, end: str) -> None:
    table = table_from_rows(rows=[BendRow(first, 0, 90, 30)], last_straight_mm=last)

    assert [problem.message[:5] for problem in table.problems] == [end]


@pytest.mark.parametrize(
    ("before", "after", "doubt"),
    [
        (90, 90, 0.1 * math.sqrt(2)),
        (30, 90, 0.1 * math.sqrt(5)),
        (90, 150, 0.1 * math.sqrt(5)),
        (300, 90, 0.1 * math.sqrt(5)),  # each half turns by 150
        (180, 240, 0.1 * math.sqrt(1 + 4 / 3)),
    ],
)
def test_a_twist_is_as_doubtful_as_its_two_planes(
    before: float, after: float, doubt: float
) -> None:
    """Directions good to 0.1 degree tell the plane of a bend to 0.1 / sin(angle)."""
    assert rotation_doubt_deg(before, after) == pytest.approx(doubt, rel=1e-9)


@pytest.mark.parametrize(
    ("angle", "wanted"),
    [
        (0, 0),
        (180, 180),
        (-180, 180),
        (-180 + 1e-9, 180),
        (-180 + 2e-9, -180 + 2e-9),
        (181, -179),
        (-450, -90),
        (720, 0),
    ],
)
def test_a_direction_is_told_in_half_turns(angle: float, wanted: float) -> None:
    assert wrapped_deg(angle) == pytest.approx(wanted, rel=0, abs=1e-12)
