"""One bend on scrap tells three things about a former with a tube: radius, start, springback.

And how to work up to an angle in small pulls, since a bend can be closed and never opened.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from .errors import (
    CoreError,
    Problem,
    caution,
    require_between,
    require_finite,
    require_not_negative,
    require_positive,
)
from .springback import SNEAK_MARGIN_DEG, SNEAK_SHARE, Springback, TrialBend

BEST_PRACTICE_DEG = (90.0, 135.0)
LARGEST_PRACTICE_DEG = 150.0
LARGEST_SKEW_DEG = 2.0
"""House defaults: where a practice bend tells the radius well, where it stops doing so, and how
far from 180 a return bend may be for its outside width to be read square across."""


@dataclass(frozen=True, slots=True)
class PracticeBend:
    """What one bend on scrap says about one former with one tube stock.

    `start_offset_mm` is how far beyond the mark, set at the tool's zero, the arc begins.
    `radius_error_ratio` is the error of the radius for each millimetre of error in a length.
    """

    radius_mm: float
    start_offset_mm: float
    test: TrialBend
    radius_error_ratio: float
    problems: tuple[Problem, ...] = ()

    @property
    def springback_deg(self) -> float:
        """Pull less result. [deg]"""
        return self.test.pulled_deg - self.test.result_deg


def practice_bend(
    *,
    stock_mm: float,
    mark_mm: float,
    centre_a_mm: float,
    centre_b_mm: float,
    pulled_deg: float,
    result_deg: float,
) -> PracticeBend:
    """Radius, start offset and springback from one bend of up to 150 degrees.

    Parameters
    ----------
    stock_mm : float
        Length of the piece before bending, above zero. [mm]
    mark_mm : float
        Mark set at the tool's zero, from the hooked end. [mm]
    centre_a_mm, centre_b_mm : float
        From the hooked end, and from the other, to the centre line of the other leg. [mm]
    pulled_deg, result_deg : float
        Pull, and angle after release; 0 < result <= 150. [deg]

    Returns
    -------
    PracticeBend
        With a caution outside 90 to 135 degrees, where lengths say little about the radius.

    Raises
    ------
    OutOfRange
        If a value lies outside these limits.
    CoreError
        no_radius, if the lengths leave no room for an arc.

    Source
    ------
    Derived: the two lengths to the corner exceed the stock by R (2 tan(a/2) - a).
    Checked against a bender maker's manual, p. 15: a 36 in piece of 1-1/2 in tube.

    Examples
    --------
    >>> made = practice_bend(stock_mm=36 * 25.4, mark_mm=12 * 25.4, centre_a_mm=19.25 * 25.4,
    ...     centre_b_mm=19.75 * 25.4, pulled_deg=90, result_deg=90)
    >>> round(made.radius_mm / 25.4, 3), round(made.start_offset_mm / 25.4, 3)
    (6.99, 0.26)
    """
    require_positive(
        stock_mm=stock_mm, centre_a_mm=centre_a_mm, centre_b_mm=centre_b_mm, pulled_deg=pulled_deg
    )
    require_finite(mark_mm=mark_mm)
    require_between(0, LARGEST_PRACTICE_DEG + 1e-9, result_deg=result_deg)
    angle_rad = math.radians(result_deg)
    gain_ratio = 2 * math.tan(angle_rad / 2) - angle_rad
    radius_mm = (centre_a_mm + centre_b_mm - stock_mm) / gain_ratio
    if radius_mm <= 0:
        message = "The two legs together are no longer than the piece was: measure again."
        raise CoreError("no_radius", None, message)
    start_mm = centre_a_mm - radius_mm * math.tan(angle_rad / 2)
    return PracticeBend(
        radius_mm,
        start_mm - mark_mm,
        TrialBend(pulled_deg, result_deg),
        1 / gain_ratio,
        _doubts(result_deg, 1 / gain_ratio),
    )


def practice_return_bend(
    *,
    outside_width_mm: float,
    back_mm: float,
    mark_mm: float,
    od_mm: float,
    pulled_deg: float,
    result_deg: float,
) -> PracticeBend:
    """Radius, start offset and springback from a full return bend, the first one anybody makes.

    Parameters
    ----------
    outside_width_mm : float
        Over both legs, square across; more than twice the diameter. [mm]
    back_mm : float
        From the hooked end to the back of the bend. [mm]
    mark_mm : float
        Mark set at the tool's zero, from the hooked end. [mm]
    od_mm : float
        Outside diameter, above zero. [mm]
    pulled_deg, result_deg : float
        Pull, and angle after release; the result within 2 degrees of 180. [deg]

    Returns
    -------
    PracticeBend
        Radius and start do not depend on the length of the piece. [mm, deg]

    Raises
    ------
    OutOfRange
        If a value lies outside these limits.

    Source
    ------
    Derived: a return bend is as wide as two radii and one diameter, and its back lies one
    radius and half a diameter beyond its start.

    Examples
    --------
    >>> made = practice_return_bend(outside_width_mm=154, back_mm=180, mark_mm=100, od_mm=22,
    ...     pulled_deg=186, result_deg=180)
    >>> made.radius_mm, made.start_offset_mm, made.springback_deg
    (66.0, 3.0, 6)
    """
    require_positive(od_mm=od_mm, back_mm=back_mm, pulled_deg=pulled_deg)
    require_finite(mark_mm=mark_mm)
    require_between(2 * od_mm, math.inf, outside_width_mm=outside_width_mm)
    skew = LARGEST_SKEW_DEG + 1e-9
    require_between(180 - skew, 180 + skew, result_deg=result_deg)
    radius_mm = (outside_width_mm - od_mm) / 2
    offset_mm = back_mm - radius_mm - od_mm / 2 - mark_mm
    return PracticeBend(radius_mm, offset_mm, TrialBend(pulled_deg, result_deg), 0.5)


class Advice(StrEnum):
    """What to do at the bender now."""

    PULL = "pull"
    DONE = "done"
    OVER = "over"
    AT_LIMIT = "at_limit"


@dataclass(frozen=True, slots=True)
class NextPull:
    """The next pull from the tool's zero, if there is one to make. [deg]"""

    advice: Advice
    pull_deg: float | None = None


def first_pull(
    *, springback: Springback, wanted_deg: float, gauge_error_deg: float = 0.5
) -> NextPull:
    """First pull towards an angle, stopped short of it on purpose.

    Parameters
    ----------
    springback : Springback
        Learnt on scrap of the same tube. [deg]
    wanted_deg : float
        Angle wanted after release, above zero. [deg]
    gauge_error_deg : float, optional
        How far the angle gauge may be off. [deg]

    Returns
    -------
    NextPull
        A pull to the angle less the larger of 2 degrees, twice the scatter and the gauge
        error, or half the angle for shallow bends. [deg]

    Raises
    ------
    OutOfRange
        If the angle is not above zero or the gauge error is negative.

    Source
    ------
    House default; a bend can be closed, never opened.

    Examples
    --------
    >>> from .springback import fixed_and_proportional
    >>> first_pull(springback=fixed_and_proportional(fixed_deg=0, share=0.05), wanted_deg=92)
    NextPull(advice=<Advice.PULL: 'pull'>, pull_deg=94.5)
    """
    require_positive(wanted_deg=wanted_deg)
    require_not_negative(gauge_error_deg=gauge_error_deg)
    margin_deg = max(SNEAK_MARGIN_DEG, 2 * springback.residual_deg, gauge_error_deg)
    return NextPull(Advice.PULL, springback.pull_deg(max(wanted_deg - margin_deg, wanted_deg / 2)))


def next_pull(
    *,
    springback: Springback,
    wanted_deg: float,
    last_pull_deg: float,
    measured_deg: float,
    tolerance_deg: float = 0.5,
    gauge_error_deg: float = 0.5,
) -> NextPull:
    """What to do after a pull was released and the angle read.

    Parameters
    ----------
    springback : Springback
        Learnt on scrap of the same tube. [deg]
    wanted_deg : float
        Angle wanted after release, above zero. [deg]
    last_pull_deg, measured_deg : float
        Pull just made, above zero, and angle read after release. [deg]
    tolerance_deg, gauge_error_deg : float, optional
        How near is near enough; how far the gauge may be off. [deg]

    Returns
    -------
    NextPull
        Done within the tolerance; over when past it; a pull to make up 0.8 of the rest; or
        at_limit when the fit says that more would pass the angle: then believe the gauge, log
        the pull as a test bend, and learn the springback again. [deg]

    Raises
    ------
    OutOfRange
        If an angle is not above zero, or a tolerance is negative.

    Source
    ------
    House default.

    Examples
    --------
    >>> from .springback import fixed_and_proportional
    >>> learnt = fixed_and_proportional(fixed_deg=0, share=0.05)
    >>> next_pull(springback=learnt, wanted_deg=90, last_pull_deg=90, measured_deg=86).pull_deg
    93.36
    """
    require_positive(wanted_deg=wanted_deg, last_pull_deg=last_pull_deg)
    require_not_negative(
        measured_deg=measured_deg, tolerance_deg=tolerance_deg, gauge_error_deg=gauge_error_deg
    )
    missing_deg = wanted_deg - measured_deg
    if abs(missing_deg) <= tolerance_deg:
        return NextPull(Advice.DONE)
    if missing_deg < 0:
        return NextPull(Advice.OVER)
    limit_deg = springback.pull_deg(max(wanted_deg - gauge_error_deg, wanted_deg / 2))
    if limit_deg <= last_pull_deg:
        return NextPull(Advice.AT_LIMIT)
    step_deg = SNEAK_SHARE * springback.factor * missing_deg
    return NextPull(Advice.PULL, min(last_pull_deg + step_deg, limit_deg))


def _doubts(result_deg: float, radius_error_ratio: float) -> tuple[Problem, ...]:
    low, high = BEST_PRACTICE_DEG
    if low <= result_deg <= high:
        return ()
    message = (
        f"At {result_deg:g} degrees one millimetre in a length is {radius_error_ratio:.1f} mm in "
        "the radius: practise between 90 and 135."
    )
    return (caution("practice_angle", message),)
