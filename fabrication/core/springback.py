"""How far to pull so that the tube ends at the angle wanted, learnt from bends on scrap.

The pull is predicted from the result (pull = fixed + factor x angle), because the pull is what
has to be found. Test bends belong to one former with one tube stock, and are never shared.
"""

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum

from .errors import CoreError, Problem, caution, require_between, require_finite, require_positive

LEAST_SPREAD_DEG = 30.0
"""House default: tests nearer together than this say nothing about a slope."""

LARGEST_RATIO = 1.25
"""House default: more springback than this is a slip of the pen, not a property of tube."""

SNEAK_MARGIN_DEG = 2.0
SNEAK_SHARE = 0.8
"""House defaults: stop the first pull 2 degrees short; then make up 0.8 of what is missing."""


@dataclass(frozen=True, slots=True)
class TrialBend:
    """One bend pulled on scrap: how far it was pulled, what was left after release. [deg]

    Only a bend pulled from straight in one go says how far to pull from straight.
    """

    pulled_deg: float
    result_deg: float
    from_straight: bool = True


class Fit(StrEnum):
    """How the pull follows from the angle."""

    RATIO = "ratio"
    AFFINE = "affine"


@dataclass(frozen=True, slots=True)
class Springback:
    """Pull = fixed_deg + factor x angle, with the span of results it was learnt from."""

    fit: Fit
    fixed_deg: float
    factor: float
    residual_deg: float
    least_deg: float
    most_deg: float
    problems: tuple[Problem, ...] = ()

    def pull_deg(self, angle_deg: float) -> float:
        """Return the pull that leaves an angle above zero after release. [deg]

        >>> fixed_and_proportional(fixed_deg=1.5, share=0.05).pull_deg(90)
        96.0
        """
        require_positive(angle_deg=angle_deg)
        return self.fixed_deg + self.factor * angle_deg

    def doubts_about(self, angle_deg: float) -> tuple[Problem, ...]:
        """Return the cautions of the fit, and one more if the angle lies outside the tests."""
        if 0.8 * self.least_deg <= angle_deg <= 1.2 * self.most_deg:
            return self.problems
        message = (
            f"An angle of {angle_deg:g} lies outside the test bends "
            f"({self.least_deg:g} to {self.most_deg:g}): make one more near it."
        )
        return (*self.problems, caution("outside_the_tests", message))


def fixed_and_proportional(*, fixed_deg: float, share: float) -> Springback:
    """Springback told as a fixed part and a share of the angle, as machine notes print it.

    Parameters
    ----------
    fixed_deg : float
        Part that does not depend on the angle. [deg]
    share : float
        Part that grows with the angle, per degree; 0.05 is five per cent. [-]

    Returns
    -------
    Springback
        Pull = angle + fixed + share x angle, for any angle. [deg]

    Raises
    ------
    OutOfRange
        If a value is not finite, or the share is not between -0.5 and 0.25.

    Source
    ------
    A bending-machine maker's note, "fixed + proportional"; its example: 1.5 and 0.05 make 96
    of 90. The limits are a house default.

    Examples
    --------
    >>> fixed_and_proportional(fixed_deg=1.5, share=0.05).pull_deg(90)
    96.0
    """
    require_finite(fixed_deg=fixed_deg)
    require_between(-0.5, LARGEST_RATIO - 1 + 1e-12, share=share)
    return Springback(Fit.AFFINE, fixed_deg, 1 + share, 0.0, 0.0, math.inf)


def fit(test_bends: Iterable[TrialBend]) -> Springback:
    """Springback learnt from test bends, by least squares of the pull on the result.

    Parameters
    ----------
    test_bends : iterable of TrialBend
        Bends of one former and one tube stock; those not pulled from straight are passed
        over. [deg]

    Returns
    -------
    Springback
        A straight line where the results spread over 30 degrees and more, else a ratio
        through the origin. A line with a factor below 1 is noise: the ratio is used, with a
        caution. [deg]

    Raises
    ------
    CoreError
        no_test_bends; not_finite; not_a_bend for an angle not above zero; ratio_too_large
        above 1.25.

    Source
    ------
    Least squares. Advice to use two bends, 20 and 120 degrees, or the span really used: a
    bending-machine maker's note. Limits are house defaults.

    Examples
    --------
    >>> pulled_and_left = [(30, 28.0), (60, 57.2), (90, 86.3), (120, 115.6)]
    >>> learnt = fit([TrialBend(pulled, left) for pulled, left in pulled_and_left])
    >>> round(learnt.fixed_deg, 6), round(learnt.factor, 6)
    (1.23342, 1.027748)
    """
    tests = [bend for bend in test_bends if bend.from_straight]
    _refuse_bad_tests(tests)
    ratio = _ratio(tests)
    if ratio > LARGEST_RATIO:
        message = (
            f"A pull of {ratio:.2f} times the angle is more than tube springs back: look at the "
            "readings again."
        )
        raise CoreError("ratio_too_large", None, message)
    results = [bend.result_deg for bend in tests]
    problems = []
    if max(results) - min(results) >= LEAST_SPREAD_DEG:
        fixed_deg, factor = _line(tests)
        if 1 - 1e-9 <= factor <= LARGEST_RATIO:
            return _judged(Fit.AFFINE, fixed_deg, factor, tests, ())
        message = "The test bends contradict each other about the slope: a plain ratio is used."
        problems.append(caution("slope_is_noise", message))
    if ratio < 1:
        message = "The tests say the tube opens no further than pulled: look at the scale's zero."
        problems.append(caution("ratio_below_one", message))
    return _judged(Fit.RATIO, 0.0, ratio, tests, problems)


def first_guess_ratio(
    *, yield_mpa: float, modulus_mpa: float, radius_mm: float, mid_wall_radius_mm: float
) -> float:
    """Share of the pull that stays in a thin tube after release, before any test is made.

    Parameters
    ----------
    yield_mpa, modulus_mpa : float
        Yield strength and modulus of elasticity, both above zero. [MPa]
    radius_mm : float
        Centre-line radius on the tool, above zero. [mm]
    mid_wall_radius_mm : float
        Radius of the middle of the wall, above zero. [mm]

    Returns
    -------
    float
        Final angle over pulled angle; real hand benders show more springback. [-]

    Raises
    ------
    OutOfRange
        If a value is not above zero.
    CoreError
        never_yields, if the tube would spring back straight.

    Source
    ------
    Derived for a thin elastic, perfectly plastic tube in pure bending:
    1 - (2/pi)(asin X + X sqrt(1 - X^2)), X = yield x radius / (modulus x mid-wall radius).

    Examples
    --------
    >>> guess = first_guess_ratio(
    ...     yield_mpa=235, modulus_mpa=210000, radius_mm=45, mid_wall_radius_mm=7)
    >>> round(guess, 6), round(90 / guess, 2)
    (0.990841, 90.83)
    """
    require_positive(
        yield_mpa=yield_mpa,
        modulus_mpa=modulus_mpa,
        radius_mm=radius_mm,
        mid_wall_radius_mm=mid_wall_radius_mm,
    )
    core = yield_mpa * radius_mm / (modulus_mpa * mid_wall_radius_mm)
    if core >= 1:
        message = "Round this radius the tube stays elastic and springs back straight."
        raise CoreError("never_yields", None, message)
    rest = math.sqrt(1 - core * core)
    return 1 - (2 / math.pi) * (math.atan2(core, rest) + core * rest)


def released_radius_mm(*, tool_radius_mm: float, pulled_deg: float, result_deg: float) -> float:
    """Centre-line radius after release: the arc keeps its length while its angle opens.

    Parameters
    ----------
    tool_radius_mm : float
        Centre-line radius while on the former, above zero. [mm]
    pulled_deg, result_deg : float
        Angle on the former and after release, both above zero. [deg]

    Returns
    -------
    float
        The radius all geometry must use. [mm]

    Raises
    ------
    OutOfRange
        If a value is not above zero.

    Source
    ------
    Derived: the neutral length is kept.

    Examples
    --------
    >>> released_radius_mm(tool_radius_mm=45, pulled_deg=96, result_deg=90)
    48.0
    """
    require_positive(tool_radius_mm=tool_radius_mm, pulled_deg=pulled_deg, result_deg=result_deg)
    return tool_radius_mm * pulled_deg / result_deg


def _refuse_bad_tests(tests: Sequence[TrialBend]) -> None:
    if not tests:
        message = "Nothing is known yet: bend a piece of scrap of this tube on this former."
        raise CoreError("no_test_bends", None, message)
    for index, bend in enumerate(tests):
        if not (math.isfinite(bend.pulled_deg) and math.isfinite(bend.result_deg)):
            raise CoreError("not_finite", index, f"Test bend {index + 1} is not a number.")
        if bend.pulled_deg <= 0 or bend.result_deg <= 0:
            message = f"Test bend {index + 1} left no bend: it says nothing about springback."
            raise CoreError("not_a_bend", index, message)


def _ratio(tests: Sequence[TrialBend]) -> float:
    both = math.fsum(bend.pulled_deg * bend.result_deg for bend in tests)
    return both / math.fsum(bend.result_deg**2 for bend in tests)


def _line(tests: Sequence[TrialBend]) -> tuple[float, float]:
    mean_pulled = math.fsum(bend.pulled_deg for bend in tests) / len(tests)
    mean_result = math.fsum(bend.result_deg for bend in tests) / len(tests)
    away = [(bend.result_deg - mean_result, bend.pulled_deg - mean_pulled) for bend in tests]
    slope = math.fsum(x * y for x, y in away) / math.fsum(x * x for x, _ in away)
    return mean_pulled - slope * mean_result, slope


def _judged(
    kind: Fit,
    fixed_deg: float,
    factor: float,
    tests: Sequence[TrialBend],
    problems: Iterable[Problem],
) -> Springback:
    squares = math.fsum((t.pulled_deg - fixed_deg - factor * t.result_deg) ** 2 for t in tests)
    spare = len(tests) - (2 if kind is Fit.AFFINE else 1)
    residual_deg = math.sqrt(squares / spare) if spare > 0 else 0.0
    found = list(problems)
    if residual_deg > 1:
        message = f"The test bends scatter by {residual_deg:.1f} degrees: work up to the angle."
        found.append(caution("tests_scatter", message))
    results = [bend.result_deg for bend in tests]
    return Springback(
        kind, fixed_deg, factor, residual_deg, min(results), max(results), tuple(found)
    )
