"""What can still be done to a pipe, and what nobody may be told to do."""

import math
import subprocess
import sys
from pathlib import Path

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabrication.core.as_made import Hold, compare
from fabrication.core.bend_order import Side
from fabrication.core.corrections import Closing, Verdict, corrections
from fabrication.core.errors import CoreError, OutOfRange, Severity
from fabrication.core.table_forms import mirrored
from fabrication.core.tube_path import BendRow, BendTable, table_from_rows
from fabrication.core.tube_table import assemble, rows_of
from tests.fabrication.core.pipes import changed, rail, random_table


def closed(
    table: BendTable, bend: int, close_deg: float, way: Closing, wanted: BendTable
) -> BendTable:
    """Close one bend by hand, every millimetre of tube kept, over-long ends cut after."""
    rows = rows_of(table)
    row = rows[bend]
    straights = [*table.straights_mm]
    radius = row.radius_mm
    if way is Closing.ON_FORMER:
        straights[bend + 1] -= row.radius_mm * math.radians(close_deg)
    else:
        radius = row.radius_mm * row.angle_deg / (row.angle_deg + close_deg)
    for end in (0, len(rows)):
        straights[end] = min(straights[end], wanted.straights_mm[end])
    bent = [
        BendRow(
            straights[i],
            r.rotation_deg,
            r.angle_deg + (close_deg if i == bend else 0),
            radius if i == bend else r.radius_mm,
        )
        for i, r in enumerate(rows)
    ]
    return assemble(rows=bent, last_straight_mm=straights[-1])


def cost(table: BendTable, wanted: BendTable, hold: Hold = Hold.DATUM_END) -> float:
    return sum(s.distance_mm**2 for s in compare(table, wanted, hold=hold).stations)


class TestOneBend:
    @pytest.mark.parametrize("way", list(Closing))
    @pytest.mark.parametrize("bend", [0, 1, 2, 3])
    def test_an_open_bend_is_closed_as_far_as_trying_every_tenth_of_a_degree_finds_best(
        self, way: Closing, bend: int
    ) -> None:
        """Other bends may be closed too, so the answer must be at least as good as the scan."""
        made = changed(rail(), angles={bend: -3}, straights={4: 5})

        advice = corrections(made, rail(), closing=way, hold=Hold.DATUM_END)

        scan = min(
            cost(closed(made, bend, step / 10, way, rail()), rail()) for step in range(0, 60)
        )
        then = sum(s.distance_mm**2 for s in advice.then.stations)
        # The answer leaves out closings below 0.05 degrees.
        assert then <= scan * 1.02 + 0.05
        assert advice.close_deg[bend] == pytest.approx(3, abs=0.5)
        assert advice.then.worst_mm < advice.now.worst_mm / 2

    def test_a_single_bend_is_closed_to_its_angle(self) -> None:
        wanted = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=100)
        made = changed(wanted, angles={0: -3}, straights={1: 30 * math.radians(3)})

        advice = corrections(made, wanted)

        assert [*advice.close_deg] == pytest.approx([3], abs=0.01)
        assert advice.then.worst_mm < 0.02
        assert advice.verdict is Verdict.CORRECT
        assert advice.problems == ()

    def test_what_a_gauge_does_not_show_is_left_out_while_the_pipe_will_do_without(self) -> None:
        """Bend 1 is 3 degrees short, bend 2 a tenth: 0.2 mm at an end 120 mm away."""
        wanted = table_from_rows(
            rows=[BendRow(100, 0, 90, 30), BendRow(80, 90, 60, 30)], last_straight_mm=120
        )
        made = changed(
            wanted,
            angles={0: -3, 1: -0.1},
            straights={1: 30 * math.radians(3), 2: 30 * math.radians(0.1)},
        )

        fine = corrections(made, wanted)
        by_gauge = corrections(made, wanted, gauge_deg=0.25)

        assert fine.close_deg[1] == pytest.approx(0.1, abs=0.03)
        assert by_gauge.close_deg[1] == 0
        assert by_gauge.close_deg[0] == pytest.approx(3, abs=0.1)
        assert by_gauge.verdict is Verdict.CORRECT
        # What is left is told of the pipe without that closing.
        assert fine.then.worst_mm < by_gauge.then.worst_mm < 0.3

    def test_what_a_gauge_does_not_show_is_kept_where_the_pipe_will_do_only_with_it(self) -> None:
        """0.2 degrees at 1000 mm are 3.5 mm: no pipe is thrown away for that."""
        wanted = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=1000)
        made = changed(wanted, angles={0: -0.2}, straights={1: 30 * math.radians(0.2)})

        advice = corrections(made, wanted, gauge_deg=0.25, hold=Hold.DATUM_END)

        assert advice.now.worst_mm > 3
        assert advice.close_deg[0] == pytest.approx(0.2, abs=0.01)
        assert advice.verdict is Verdict.CORRECT

    def test_over_the_knee_the_radius_shrinks_and_straights_stay(self) -> None:
        wanted = table_from_rows(rows=[BendRow(100, 0, 90, 30)], last_straight_mm=100)
        made = changed(wanted, angles={0: -3})

        advice = corrections(made, wanted, closing=Closing.OVER_KNEE)

        # The arc is 3 degrees of radius short and stays so: a little less than 3 serves best.
        assert 2.5 < advice.close_deg[0] < 3
        assert advice.then.straights_mm == pytest.approx((0, 0), abs=1e-9)


class TestNobodyIsToldToOpen:
    def test_a_bend_two_over_is_not_opened(self) -> None:
        advice = corrections(changed(rail(), angles={1: 2}), rail())

        assert advice.close_deg[1] == 0
        assert min(advice.close_deg) >= 0
        assert [bend for bend, _ in advice.over_deg] == [1]
        assert advice.over_deg[0][1] == pytest.approx(2, abs=1e-9)
        assert advice.then.rms_mm <= advice.now.rms_mm

    def test_it_is_remade_and_the_bend_is_named(self) -> None:
        advice = corrections(changed(rail(), angles={1: 4}), rail())

        assert advice.verdict is Verdict.REMAKE
        assert [(p.kind, p.index, p.severity) for p in advice.problems] == [
            ("over_bent", 1, Severity.BLOCKER)
        ]
        assert "4.0 degrees over" in advice.problems[0].message

    @given(st.data())
    @settings(max_examples=60)
    def test_closings_are_never_negative_and_never_make_it_worse(self, data: st.DataObject) -> None:
        wanted = random_table(data.draw, data.draw(st.integers(1, 4)), angle_deg=(15, 140))
        off = {i: data.draw(st.floats(-4, 4)) for i in range(len(wanted.bends))}
        made = changed(wanted, angles=off, straights={0: data.draw(st.floats(-2, 6))})
        way = data.draw(st.sampled_from(list(Closing)))
        limit = data.draw(st.sampled_from([0.0, 2.0]))

        advice = corrections(made, wanted, closing=way, twist_limit_deg=limit)

        assert len(advice.close_deg) == len(advice.twist_deg) == len(made.bends)
        assert all(close >= 0 for close in advice.close_deg)
        assert all(abs(twist) <= limit for twist in advice.twist_deg)
        assert advice.twist_deg[0] == 0
        now, then = advice.now, advice.then
        cut = corrections(made, wanted, closing=way, twist_limit_deg=0)
        assert now.rms_mm >= 0
        if limit:
            assert then.rms_mm <= cut.then.rms_mm * 1.5 + 0.5


class TestBounds:
    def test_a_short_straight_limits_closing_on_the_former(self) -> None:
        """5 mm of straight on the roller's side are 5 / 30 radians, 9.5 degrees; 20 are missing."""
        rows = [BendRow(100, 0, 90, 30), BendRow(5, 40, 60, 30)]
        wanted = table_from_rows(rows=rows, last_straight_mm=100)
        made = changed(wanted, angles={0: -20})

        near = corrections(made, wanted, hooks=[Side.DATUM, Side.DATUM])
        far = corrections(made, wanted, hooks=[Side.FAR, Side.DATUM])

        assert near.close_deg[0] <= math.degrees(5 / 30) + 1e-9
        assert far.close_deg[0] > near.close_deg[0]

    def test_two_bends_that_shrink_one_straight_share_it(self) -> None:
        rows = [BendRow(100, 0, 90, 30), BendRow(6, 40, 60, 30)]
        wanted = table_from_rows(rows=rows, last_straight_mm=100)
        made = changed(wanted, angles={0: -20, 1: -20})

        advice = corrections(made, wanted, hooks=[Side.DATUM, Side.FAR])

        used = sum(30 * math.radians(close) for close in advice.close_deg)
        assert used <= 6 + 1e-9

    def test_a_return_bend_is_never_closed_to_a_full_turn(self) -> None:
        wanted = table_from_rows(rows=[BendRow(100, 0, 358, 30)], last_straight_mm=100)

        advice = corrections(changed(wanted, angles={0: -0.5}), wanted, closing=Closing.OVER_KNEE)

        assert 0 <= advice.close_deg[0] <= 1.5

    def test_a_twist_is_changed_only_where_allowed(self) -> None:
        made = changed(rail(), twists={2: 3})

        stiff = corrections(made, rail(), hold=Hold.DATUM_END)
        soft = corrections(made, rail(), hold=Hold.DATUM_END, twist_limit_deg=5)
        a_little = corrections(made, rail(), hold=Hold.DATUM_END, twist_limit_deg=1)

        assert [*stiff.twist_deg] == [0, 0, 0, 0]
        assert [*soft.twist_deg] == pytest.approx([0, 0, -3, 0], abs=0.06)
        assert soft.verdict is Verdict.CORRECT
        assert min(a_little.twist_deg) == pytest.approx(-1, abs=1e-9)


class TestVerdicts:
    def test_a_good_pipe_is_left_alone(self) -> None:
        advice = corrections(rail(), rail())

        assert advice.verdict is Verdict.GOOD
        assert set(advice.close_deg) == {0}
        assert advice.problems == ()

    def test_an_end_too_long_is_cut_and_no_reason_to_bend(self) -> None:
        advice = corrections(changed(rail(), straights={0: 20, 4: 9}), rail())

        assert advice.verdict is Verdict.GOOD
        assert advice.now.worst_mm > 5
        assert advice.then.worst_mm < 1e-6

    @pytest.mark.parametrize(
        ("straights", "kind", "index"),
        [
            ({1: -8}, "short_straight", 1),
            ({2: 8}, "long_straight", 2),
            ({0: -9}, "short_straight", 0),
        ],
    )
    def test_a_straight_between_bends_cannot_change(
        self, straights: dict[int, float], kind: str, index: int
    ) -> None:
        advice = corrections(changed(rail(), straights=straights), rail(), tolerance_mm=1.0)

        assert advice.verdict is Verdict.REMAKE
        assert (kind, index) in [(problem.kind, problem.index) for problem in advice.problems]

    def test_the_wrong_hand_is_remade(self) -> None:
        advice = corrections(mirrored(rail()), rail())

        assert advice.verdict is Verdict.REMAKE
        assert [problem.kind for problem in advice.problems] == ["beyond_correction"]

    def test_the_tolerance_decides(self) -> None:
        made = changed(rail(), angles={1: 2})
        left = corrections(made, rail()).then.worst_mm

        strict = corrections(made, rail(), tolerance_mm=left * 0.99)
        easy = corrections(made, rail(), tolerance_mm=left * 1.01)

        assert (strict.verdict, easy.verdict) == (Verdict.REMAKE, Verdict.CORRECT)

    def test_a_straight_tube_has_nothing_to_correct(self) -> None:
        wanted = table_from_rows(rows=[], last_straight_mm=90)

        advice = corrections(wanted, wanted, twist_limit_deg=3)

        assert (advice.close_deg, advice.twist_deg, advice.verdict) == ((), (), Verdict.GOOD)


class TestRefusals:
    @pytest.mark.parametrize("slip", [{"tolerance_mm": 0}, {"twist_limit_deg": -1}])
    def test_limits_that_cannot_be(self, slip: dict[str, float]) -> None:
        with pytest.raises(OutOfRange):
            corrections(rail(), rail(), **slip)  # type: ignore[arg-type]

    def test_hooks_for_another_number_of_bends(self) -> None:
        with pytest.raises(CoreError) as refusal:
            corrections(rail(), rail(), hooks=[Side.DATUM])

        assert refusal.value.kind == "hook_count"


ROOT = Path(__file__).parents[3]

TIMED = """
import time
from fabrication.core.corrections import corrections
from fabrication.core.tube_path import BendRow, table_from_rows
def pipe(off):
    rows = [
        BendRow(60 + 7 * i, 37 * i % 360 - 180 if i else 0, 25 + 9 * i + off(i), 30)
        for i in range(10)
    ]
    return table_from_rows(rows=rows, last_straight_mm=90)
wanted, made = pipe(lambda i: 0), pipe(lambda i: 0.4 * i - 2)
times = []
for _ in range(3):
    begun = time.process_time()
    advice = corrections(made, wanted)
    times.append(time.process_time() - begun)
print(min(times), advice.now.rms_mm, advice.then.rms_mm)
"""


def test_ten_bends_are_solved_while_a_page_loads() -> None:
    """Processor time, the best of three, in an interpreter that nothing else is watching."""
    found = subprocess.run(
        [sys.executable, "-c", TIMED], capture_output=True, text=True, check=True, cwd=ROOT
    )

    seconds, now_mm, then_mm = map(float, found.stdout.split())
    assert then_mm < now_mm
    assert seconds < 1.0
