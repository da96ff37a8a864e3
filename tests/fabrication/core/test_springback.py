"""Pulls learnt from test bends, guard rails, and working up to an angle."""

import math

import pytest
from hypothesis import given
from hypothesis import strategies as st

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.practice_bend import Advice, first_pull, next_pull
from fabrication.core.springback import (
    Fit,
    TrialBend,
    first_guess_ratio,
    fit,
    fixed_and_proportional,
    released_radius_mm,
)


def trials(*pairs: tuple[float, float]) -> list[TrialBend]:
    return [TrialBend(pulled, left) for pulled, left in pairs]


FOUR = trials((30, 28.0), (60, 57.2), (90, 86.3), (120, 115.6))


class TestFit:
    def test_spread_bends_give_a_line(self) -> None:
        """Least squares of pull on result, worked by the normal equations on paper."""
        x, y = [28.0, 57.2, 86.3, 115.6], [30.0, 60.0, 90.0, 120.0]
        n, sx, sy = 4, sum(x), sum(y)
        sxx, sxy = sum(a * a for a in x), sum(a * b for a, b in zip(x, y, strict=True))
        slope = (n * sxy - sx * sy) / (n * sxx - sx * sx)

        learnt = fit(FOUR)

        assert learnt.fit is Fit.AFFINE
        assert learnt.factor == pytest.approx(slope, rel=1e-12)
        assert learnt.fixed_deg == pytest.approx((sy - slope * sx) / n, rel=1e-9)
        assert learnt.pull_deg(90) == pytest.approx(93.731, abs=5e-4)
        assert (learnt.least_deg, learnt.most_deg) == (28.0, 115.6)

    def test_bends_all_alike_give_a_ratio(self) -> None:
        learnt = fit(trials((94, 90), (95, 90.5), (94, 89.8)))

        assert learnt.fit is Fit.RATIO
        assert learnt.fixed_deg == 0
        both = 94 * 90 + 95 * 90.5 + 94 * 89.8
        assert learnt.factor == pytest.approx(both / (90**2 + 90.5**2 + 89.8**2), rel=1e-12)

    def test_the_ratio_of_the_four_is_1_042(self) -> None:
        """The same four through the origin: sum P M / sum M^2 = 1.041988, pull 93.779."""
        apart_by_too_little = [TrialBend(t.pulled_deg, t.result_deg) for t in FOUR[1:3]]

        assert fit(apart_by_too_little).fit is Fit.RATIO
        ratio = sum(t.pulled_deg * t.result_deg for t in FOUR) / sum(t.result_deg**2 for t in FOUR)
        assert ratio == pytest.approx(1.041988, abs=5e-7)

    @pytest.mark.parametrize(("second", "kind"), [(29.99, Fit.RATIO), (30.0, Fit.AFFINE)])
    def test_a_line_needs_30_degrees_of_spread(self, second: float, kind: Fit) -> None:
        assert fit(trials((62, 60), (62 + 1.03 * second, 60 + second))).fit is kind

    def test_a_slope_below_one_is_noise(self) -> None:
        learnt = fit(trials((63, 60), (92.9, 90)))

        assert learnt.fit is Fit.RATIO
        assert [problem.kind for problem in learnt.problems] == ["slope_is_noise"]
        assert learnt.factor == pytest.approx((63 * 60 + 92.9 * 90) / (60**2 + 90**2), rel=1e-12)

    def test_a_slope_far_above_one_is_noise_too(self) -> None:
        learnt = fit(trials((60, 60), (110, 95)))

        assert learnt.fit is Fit.RATIO
        assert [problem.kind for problem in learnt.problems] == ["slope_is_noise", "tests_scatter"]

    def test_a_ratio_below_one_is_said(self) -> None:
        learnt = fit(trials((89, 90)))

        assert [problem.kind for problem in learnt.problems] == ["ratio_below_one"]
        assert learnt.pull_deg(90) == pytest.approx(89, abs=1e-12)

    def test_scatter_is_said(self) -> None:
        learnt = fit(trials((94, 90), (97, 90), (91, 90)))

        assert learnt.residual_deg == pytest.approx(3, abs=1e-9)
        assert [problem.kind for problem in learnt.problems] == ["tests_scatter"]

    def test_the_scatter_of_a_line_counts_two_unknowns(self) -> None:
        learnt = fit(trials((30, 30), (61, 60), (90, 90)))

        # Residuals of a line through (30, 60, 90) with one point 1 up are -1/3, 2/3, -1/3.
        assert learnt.residual_deg == pytest.approx(math.sqrt(6 / 9), abs=1e-9)

    def test_one_bend_says_nothing_about_scatter(self) -> None:
        assert fit(trials((94, 90))).residual_deg == 0

    def test_bends_not_pulled_from_straight_are_passed_over(self) -> None:
        assert fit([*trials((94, 90)), TrialBend(120, 90, from_straight=False)]) == fit(
            trials((94, 90))
        )

    @pytest.mark.parametrize(
        ("tests", "kind", "index"),
        [
            ([], "no_test_bends", None),
            ([TrialBend(94, 90, from_straight=False)], "no_test_bends", None),
            (trials((94, 90), (math.nan, 90)), "not_finite", 1),
            (trials((94, math.inf)), "not_finite", 0),
            (trials((94, 0)), "not_a_bend", 0),
            (trials((0, 90)), "not_a_bend", 0),
            (trials((114, 90)), "ratio_too_large", None),
        ],
    )
    def test_it_refuses(self, tests: list[TrialBend], kind: str, index: int | None) -> None:
        with pytest.raises(CoreError) as refusal:
            fit(tests)

        assert (refusal.value.kind, refusal.value.index) == (kind, index)

    @pytest.mark.parametrize(
        ("angle", "doubts"),
        [(22, ["outside_the_tests"]), (23, []), (138, []), (140, ["outside_the_tests"])],
    )
    def test_an_angle_far_from_the_tests_is_doubted(self, angle: float, doubts: list[str]) -> None:
        assert [problem.kind for problem in fit(FOUR).doubts_about(angle)] == doubts

    @pytest.mark.parametrize("angle", [0, -5, math.nan])
    def test_no_angle_no_pull(self, angle: float) -> None:
        with pytest.raises(OutOfRange):
            fit(FOUR).pull_deg(angle)

    @given(
        st.floats(0.5, 6), st.floats(0, 0.12), st.lists(st.floats(10, 160), min_size=3, max_size=9)
    )
    def test_a_perfect_bender_is_learnt_exactly(
        self, fixed: float, share: float, angles: list[float]
    ) -> None:
        angles = [*angles, 20.0, 120.0]
        learnt = fit([TrialBend(a + fixed + share * a, a) for a in angles])

        assert learnt.pull_deg(75) == pytest.approx(75 + fixed + share * 75, abs=1e-8)


class TestFirstGuess:
    @pytest.mark.parametrize(
        ("yield_mpa", "modulus_mpa", "radius_mm", "mid_mm"),
        [(235, 210_000, 45, 7), (250, 117_000, 66, 10.55), (140, 140_000, 15, 2.025)],
    )
    def test_it_is_the_moment_of_an_elastic_plastic_ring_added_up(
        self, yield_mpa: float, modulus_mpa: float, radius_mm: float, mid_mm: float
    ) -> None:
        """Independent of the closed form: stress over a thin ring, added up strip by strip."""
        strips = 200_000
        moment = elastic = 0.0
        for strip in range(strips):
            height = mid_mm * math.sin(math.pi * ((strip + 0.5) / strips - 0.5))
            stress = modulus_mpa * height / radius_mm
            moment += max(-yield_mpa, min(yield_mpa, stress)) * height
            elastic += stress * height
        wanted = 1 - moment / elastic

        guess = first_guess_ratio(
            yield_mpa=yield_mpa,
            modulus_mpa=modulus_mpa,
            radius_mm=radius_mm,
            mid_wall_radius_mm=mid_mm,
        )

        assert guess == pytest.approx(wanted, abs=1e-7)

    def test_a_tube_that_never_yields_is_refused(self) -> None:
        with pytest.raises(CoreError) as refusal:
            first_guess_ratio(
                yield_mpa=235, modulus_mpa=210_000, radius_mm=9000, mid_wall_radius_mm=7
            )

        assert refusal.value.kind == "never_yields"

    def test_the_arc_keeps_its_length_on_release(self) -> None:
        radius = released_radius_mm(tool_radius_mm=45, pulled_deg=94, result_deg=90)

        assert radius * math.radians(90) == pytest.approx(45 * math.radians(94), rel=1e-12)


class TestSneakingUp:
    def test_the_first_pull_stops_short(self) -> None:
        springback = fixed_and_proportional(fixed_deg=1, share=0.04)

        pull = first_pull(springback=springback, wanted_deg=60).pull_deg

        assert pull == pytest.approx(1 + 1.04 * 58, abs=1e-12)

    def test_it_stops_shorter_where_the_tests_scatter(self) -> None:
        learnt = fit(trials((94, 90), (97, 90), (91, 90)))

        pull = first_pull(springback=learnt, wanted_deg=60).pull_deg

        assert pull == pytest.approx(learnt.pull_deg(60 - 6), abs=1e-9)

    def test_a_shallow_bend_is_started_from_half(self) -> None:
        springback = fixed_and_proportional(fixed_deg=0, share=0)

        assert first_pull(springback=springback, wanted_deg=3).pull_deg == pytest.approx(1.5)

    @pytest.mark.parametrize(
        ("measured", "advice"),
        [
            (89.4, Advice.PULL),
            (89.5, Advice.DONE),
            (90.0, Advice.DONE),
            (90.5, Advice.DONE),
            (90.6, Advice.OVER),
        ],
    )
    def test_what_to_do_after_a_reading(self, measured: float, advice: Advice) -> None:
        springback = fixed_and_proportional(fixed_deg=0, share=0.05)

        found = next_pull(
            springback=springback, wanted_deg=90, last_pull_deg=92, measured_deg=measured
        )

        assert found.advice is advice
        assert (found.pull_deg is None) == (advice is not Advice.PULL)

    def test_it_makes_up_most_of_what_is_missing_and_never_passes_the_prediction(self) -> None:
        springback = fixed_and_proportional(fixed_deg=0, share=0.05)
        read = {"wanted_deg": 90, "gauge_error_deg": 0.5}

        some = next_pull(springback=springback, last_pull_deg=90, measured_deg=86, **read)
        most = next_pull(springback=springback, last_pull_deg=93, measured_deg=86, **read)
        none = next_pull(springback=springback, last_pull_deg=94, measured_deg=88, **read)

        assert some.pull_deg == pytest.approx(90 + 0.8 * 1.05 * 4, abs=1e-12)
        assert most.pull_deg == pytest.approx(1.05 * 89.5, abs=1e-12)
        assert none == type(none)(Advice.AT_LIMIT)

    @given(
        st.floats(0, 3),
        st.floats(0.0, 0.12),
        st.floats(0, 3),
        st.floats(0.0, 0.12),
        st.floats(10, 170),
    )
    def test_the_series_never_passes_the_angle_by_more_than_the_bender_differs(
        self, fixed: float, share: float, true_fixed: float, true_share: float, wanted: float
    ) -> None:
        """A bender that springs back otherwise than learnt is walked up to the angle.

        The first pull is the only blind one: it may pass only if the learnt springback exceeds
        the true one by more than the margin. After that a pull adds less than is missing, for
        0.8 of a factor of at most 1.12 is less than any true factor of at least 1.
        """
        learnt = fixed_and_proportional(fixed_deg=fixed, share=share)

        def released(pull: float) -> float:
            return (pull - true_fixed) / (1 + true_share)

        pull = first_pull(springback=learnt, wanted_deg=wanted).pull_deg
        assert pull is not None
        blind = released(pull)
        left = [blind]
        for _ in range(20):
            if left[-1] <= 0:
                break
            found = next_pull(
                springback=learnt, wanted_deg=wanted, last_pull_deg=pull, measured_deg=left[-1]
            )
            if found.pull_deg is None:
                break
            assert found.pull_deg > pull
            pull = found.pull_deg
            left.append(released(pull))

        assert max(left) <= max(blind, wanted + 1e-9)
        if learnt.pull_deg(wanted) <= true_fixed + (1 + true_share) * wanted:
            assert max(left) <= wanted + 1e-9
