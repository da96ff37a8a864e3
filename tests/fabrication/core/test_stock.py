"""Cutting plans against every way of cutting there is."""

import math
from collections.abc import Iterator

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, Infeasible, OutOfRange
from fabrication.core.stock import CuttingPlan, cutting_plan


def partitions(pieces: list[int]) -> Iterator[list[list[int]]]:
    """Yield every way to put pieces into heaps."""
    if not pieces:
        yield []
        return
    first, *rest = pieces
    for heaps in partitions(rest):
        yield [[first], *heaps]
        for index in range(len(heaps)):
            yield [*heaps[:index], [first, *heaps[index]], *heaps[index + 1 :]]


def least_bought(
    pieces: list[float], bars: list[float], offcuts: list[float], kerf: float, trim: float
) -> tuple[float, int]:
    """Return the least length and number of bars, by trying every heap on every bar."""

    def fits(heap: list[int], bar: float) -> bool:
        need = sum(pieces[i] for i in heap) + (len(heap) - 1) * kerf
        return need <= bar - trim + 1e-9

    def cost(heaps: list[list[int]], left: list[float]) -> tuple[float, int]:
        if not heaps:
            return 0.0, 0
        first, *rest = heaps
        found = [
            cost(rest, [*left[:i], *left[i + 1 :]])
            for i, bar in enumerate(left)
            if fits(first, bar)
        ]
        for bar in bars:
            if fits(first, bar):
                length, count = cost(rest, left)
                found.append((length + bar, count + 1))
        return min(found, default=(math.inf, 0))

    return min(cost(heaps, offcuts) for heaps in partitions(list(range(len(pieces)))))


def check_cut(
    plan: CuttingPlan, pieces: list[float], offcuts: list[float], kerf: float, trim: float
) -> None:
    """Check a plan with a tape: every piece once, every bar long enough, no offcut twice."""
    assert sorted(i for bar in plan.bars for i in bar.pieces) == list(range(len(pieces)))
    left = sorted(offcuts)
    for bar in plan.bars:
        need = sum(pieces[i] for i in bar.pieces) + (len(bar.pieces) - 1) * kerf
        assert need <= bar.length_mm - trim + 1e-6
        assert bar.left_mm == pytest.approx(max(0, bar.length_mm - trim - need), abs=1e-6)
        if not bar.bought:
            left.remove(bar.length_mm)
    assert plan.bought_mm == pytest.approx(sum(b.length_mm for b in plan.bars if b.bought))


class TestWorked:
    pieces: tuple[float, ...] = (1200, 1100, 900, 850, 700, 650, 600)

    @pytest.mark.parametrize(("kerf", "bars"), [(2, 3), (0, 2)])
    def test_kerf_makes_two_bars_into_three(self, kerf: float, bars: int) -> None:
        """Seven pieces add up to 6000: two bars of 3000 to the last hair."""
        plan = cutting_plan(pieces_mm=self.pieces, bar_lengths_mm=[3000], kerf_mm=kerf)

        assert (len(plan.bars), plan.bought_mm) == (bars, bars * 3000)

    @pytest.mark.parametrize(("length", "bars"), [(999, 1), (1000, 2)])
    def test_a_piece_that_ends_at_the_bars_end_needs_no_cut(self, length: float, bars: int) -> None:
        """Three of 999 and two cuts of 1.5 are 3000."""
        plan = cutting_plan(pieces_mm=[length] * 3, bar_lengths_mm=[3000], kerf_mm=1.5)

        assert len(plan.bars) == bars

    def test_the_end_trim_comes_off_every_bar(self) -> None:
        plan = cutting_plan(
            pieces_mm=[997.5] * 3, bar_lengths_mm=[3000], kerf_mm=1.5, end_trim_mm=5
        )

        assert len(plan.bars) == 2
        assert plan.bars[0].left_mm == pytest.approx(3000 - 5 - 2 * 997.5 - 1.5, abs=1e-9)

    def test_offcuts_are_used_before_a_bar_is_bought(self) -> None:
        plan = cutting_plan(
            pieces_mm=[700, 400], bar_lengths_mm=[3000], kerf_mm=2, offcuts_mm=[500, 702]
        )

        assert plan.bought_mm == 0
        assert {(bar.length_mm, bar.pieces, bar.bought) for bar in plan.bars} == {
            (500, (1,), False),
            (702, (0,), False),
        }

    def test_nothing_to_cut_needs_no_bar(self) -> None:
        plan = cutting_plan(pieces_mm=[], bar_lengths_mm=[3000], kerf_mm=2)

        assert (plan.bars, plan.bought_mm, plan.proven_least) == ((), 0, True)


lengths = st.integers(1, 20).map(lambda number: number * 50.0)


@given(
    st.lists(lengths, min_size=1, max_size=6),
    st.lists(st.sampled_from([400.0, 1000.0, 1300.0, 2000.0]), min_size=1, max_size=3, unique=True),
    st.lists(st.sampled_from([250.0, 600.0, 620.0, 900.0]), max_size=3),
    st.sampled_from([0.0, 2.0, 25.0]),
    st.sampled_from([0.0, 10.0]),
)
@settings(max_examples=250)
def test_no_way_of_cutting_buys_less(
    pieces: list[float], bars: list[float], offcuts: list[float], kerf: float, trim: float
) -> None:
    least = least_bought(pieces, bars, offcuts, kerf, trim)
    if math.isinf(least[0]):
        with pytest.raises(Infeasible):
            cutting_plan(
                pieces_mm=pieces,
                bar_lengths_mm=bars,
                kerf_mm=kerf,
                end_trim_mm=trim,
                offcuts_mm=offcuts,
            )
        return

    plan = cutting_plan(
        pieces_mm=pieces, bar_lengths_mm=bars, kerf_mm=kerf, end_trim_mm=trim, offcuts_mm=offcuts
    )

    check_cut(plan, pieces, offcuts, kerf, trim)
    bought = (plan.bought_mm, sum(bar.bought for bar in plan.bars))
    assert bought == pytest.approx(least)
    assert plan.proven_least


def test_sixteen_pieces_are_cut_from_as_few_bars_as_their_lengths_allow() -> None:
    """Made by cutting four bars of 3000 up: the answer is known to be four."""
    cuts = [[700, 1100, 500], [900, 900, 400, 300], [1500, 1200], [650, 350, 250, 750, 400]]
    pieces = [float(length) for bar in cuts for length in bar]
    pieces += [3000.0 - sum(bar) - 2 * len(bar) for bar in cuts[:2]]

    plan = cutting_plan(pieces_mm=pieces, bar_lengths_mm=[3000], kerf_mm=2)

    assert len(pieces) == 16
    assert plan.bought_mm == 12_000
    check_cut(plan, pieces, [], 2, 0)


class TestMoreThanSixteen:
    @given(st.lists(lengths, min_size=17, max_size=40), st.lists(lengths, max_size=3))
    def test_the_cut_is_sound_and_the_claim_is_honest(
        self, pieces: list[float], offcuts: list[float]
    ) -> None:
        plan = cutting_plan(pieces_mm=pieces, bar_lengths_mm=[2000], kerf_mm=2, offcuts_mm=offcuts)

        check_cut(plan, pieces, offcuts, 2, 0)
        total = sum(pieces) - sum(offcuts)
        assert plan.bought_mm >= total
        if plan.proven_least:
            # One bar less would not even hold the lengths, all offcuts used to the last hair.
            room = (plan.bought_mm / 2000 - 1) * 2002 + sum(offcut + 2 for offcut in offcuts)
            assert plan.bought_mm == 0 or sum(length + 2 for length in pieces) > room
        assert bool(plan.problems) == (not plan.proven_least)

    def test_with_two_lengths_to_buy_the_claim_is_careful(self) -> None:
        plan = cutting_plan(
            pieces_mm=[480.0] * 20, bar_lengths_mm=[1000, 2000], kerf_mm=2, end_trim_mm=10
        )

        check_cut(plan, [480.0] * 20, [], 2, 10)
        assert plan.bought_mm == 10_000
        assert [problem.kind for problem in plan.problems] == ["maybe_not_least"]


class TestRefusals:
    @pytest.mark.parametrize(
        "slip",
        [
            {"pieces_mm": [100, 0]},
            {"pieces_mm": [100, math.nan]},
            {"bar_lengths_mm": [0]},
            {"bar_lengths_mm": [3000, 5], "end_trim_mm": 5},
            {"offcuts_mm": [-1]},
            {"kerf_mm": -1},
            {"end_trim_mm": -1},
        ],
    )
    def test_lengths_that_cannot_be(self, slip: dict[str, list[float]]) -> None:
        sizes: dict[str, object] = {"pieces_mm": [100], "bar_lengths_mm": [3000], "kerf_mm": 2}

        with pytest.raises(OutOfRange):
            cutting_plan(**{**sizes, **slip})  # type: ignore[arg-type]

    def test_no_bar_to_buy(self) -> None:
        with pytest.raises(CoreError) as refusal:
            cutting_plan(pieces_mm=[100], bar_lengths_mm=[], kerf_mm=2)

        assert refusal.value.kind == "no_bars"

    def test_every_piece_too_long_is_named(self) -> None:
        with pytest.raises(Infeasible) as refusal:
            cutting_plan(
                pieces_mm=[3000, 2991, 100, 2990],
                bar_lengths_mm=[3000],
                kerf_mm=2,
                end_trim_mm=10,
            )

        assert refusal.value.kind == "piece_too_long"
        assert [problem.index for problem in refusal.value.problems] == [0, 1]

    @pytest.mark.parametrize("short_pieces", [0, 17])
    def test_pieces_for_which_the_offcuts_do_not_suffice_are_named(self, short_pieces: int) -> None:
        with pytest.raises(Infeasible) as refusal:
            cutting_plan(
                pieces_mm=[1500, 1400, *[50] * short_pieces],
                bar_lengths_mm=[1000],
                kerf_mm=2,
                offcuts_mm=[1600],
            )

        assert refusal.value.kind == "offcuts_used_up"
        assert [problem.index for problem in refusal.value.problems] == [0, 1]

    @pytest.mark.parametrize("short_pieces", [1, 17])
    def test_an_offcut_longer_than_any_bar_takes_the_piece_that_needs_it(
        self, short_pieces: int
    ) -> None:
        plan = cutting_plan(
            pieces_mm=[*[400] * short_pieces, 1500],
            bar_lengths_mm=[1000],
            kerf_mm=2,
            offcuts_mm=[500, 1600],
        )

        (offcut,) = (bar for bar in plan.bars if bar.length_mm == 1600)
        assert (offcut.pieces, offcut.bought) == ((short_pieces,), False)
