"""Angles, twists and axes as a bench can read them: gauges, rules, heights, words."""

import math
from dataclasses import dataclass
from enum import StrEnum

from .errors import (
    CoreError,
    OutOfRange,
    Problem,
    caution,
    require_between,
    require_finite,
    require_positive,
)
from .vectors import Vec3

TWIST_SENSITIVITY_LIMIT = 3.0
"""House default: one degree on the gauge must not be more than this many degrees of twist."""

HEIGHTS_LIMIT_RATIO = 0.05
"""House default: how far sine and cosine of a twist may miss the unit circle."""


def deflection_from_included_deg(*, included_deg: float) -> float:
    """Bend angle from a bevel gauge laid in the bend.

    Parameters
    ----------
    included_deg : float
        Angle between the legs, between 0 and 180. [deg]

    Returns
    -------
    float
        Deflection from straight. [deg]

    Raises
    ------
    OutOfRange
        If the angle is outside these limits.

    Source
    ------
    Common practice: the trade's bend angle is the outside angle.

    Examples
    --------
    >>> deflection_from_included_deg(included_deg=120)
    60
    """
    require_between(0, 180, included_deg=included_deg)
    return 180 - included_deg


def deflection_from_marks_deg(*, gap_mm: float, arm_mm: float = 100.0) -> float:
    """Bend angle by rule only: marks an arm's length up each leg, and the gap between them.

    Parameters
    ----------
    gap_mm : float
        Straight from mark to mark, more than nothing and less than two arms. [mm]
    arm_mm : float, optional
        From the corner to either mark, along the centre lines. [mm]

    Returns
    -------
    float
        Deflection from straight; half a millimetre is 0.4 degrees at 90. [deg]

    Raises
    ------
    OutOfRange
        If a length is outside these limits.

    Source
    ------
    Isosceles triangle: included angle = 2 asin(gap / (2 arm)).

    Examples
    --------
    >>> round(deflection_from_marks_deg(gap_mm=141.42), 2)
    90.0
    """
    return 180 - _apex_deg(gap_mm, arm_mm)


def deflection_from_produced_leg_deg(*, gap_mm: float, arm_mm: float = 100.0) -> float:
    """Angle of a shallow bend by rule only: one leg produced, and how far the other leaves it.

    Parameters
    ----------
    gap_mm : float
        From the mark on the produced line to the mark on the leg. [mm]
    arm_mm : float, optional
        From the corner to either mark. [mm]

    Returns
    -------
    float
        Deflection from straight. [deg]

    Raises
    ------
    OutOfRange
        If the gap is not between nothing and two arms, or the arm not above zero.

    Source
    ------
    Isosceles triangle: angle = 2 asin(gap / (2 arm)).

    Examples
    --------
    >>> round(deflection_from_produced_leg_deg(gap_mm=8.72), 2)
    5.0
    """
    return _apex_deg(gap_mm, arm_mm)


class ThirdLeg(StrEnum):
    """On which side of the leg in the middle the third leg lies, seen from above."""

    SAME_SIDE = "same_side"
    OTHER_SIDE = "other_side"


@dataclass(frozen=True, slots=True)
class Twist:
    """A rotation and how far it can be trusted.

    `sensitivity_ratio` is degrees of twist per degree on the gauge; `misfit_mm` is what the
    redundant measure is off by, computed less measured. Each is None where it has no meaning.
    """

    rotation_deg: float
    sensitivity_ratio: float | None = None
    misfit_mm: float | None = None
    problems: tuple[Problem, ...] = ()


def twist_from_slope(*, slope_deg: float, angle_deg: float, third_leg: ThirdLeg) -> Twist:
    """Rotation of a bend from an angle gauge on the leg behind it.

    Parameters
    ----------
    slope_deg : float
        Slope of the third leg, with the first two flat on the plate and the first bend turning
        left; positive when it rises. [deg]
    angle_deg : float
        Angle of the second bend, between 0 and 180. [deg]
    third_leg : ThirdLeg
        Which side it lies on: the gauge cannot tell.

    Returns
    -------
    Twist
        A caution where the slope hardly changes with the twist. [deg]

    Raises
    ------
    OutOfRange
        If the leg rises more than its bend allows.

    Source
    ------
    Derived: sin(slope) = sin(angle) sin(rotation); only at 90 is the slope the twist.

    Examples
    --------
    >>> read = twist_from_slope(slope_deg=20, angle_deg=45, third_leg=ThirdLeg.SAME_SIDE)
    >>> round(read.rotation_deg, 3)
    28.927
    """
    require_between(0, 180, angle_deg=angle_deg)
    require_finite(slope_deg=slope_deg)
    steepest_deg = min(angle_deg, 180 - angle_deg)
    if abs(slope_deg) > steepest_deg:
        why = "A leg cannot rise more steeply than its bend turns it."
        raise OutOfRange("slope_deg", slope_deg, -steepest_deg, steepest_deg, why=why)
    share = math.sin(math.radians(slope_deg)) / math.sin(math.radians(angle_deg))
    rest = math.sqrt(max(0.0, 1 - share * share))  # slope = angle rounds to a hair above 1
    near_deg = math.degrees(math.atan2(share, rest))
    far_deg = math.copysign(180, slope_deg) - near_deg
    rotation_deg = near_deg if third_leg is ThirdLeg.SAME_SIDE else far_deg
    across = math.sin(math.radians(angle_deg)) * rest
    sensitivity = math.cos(math.radians(slope_deg)) / across if across > 0 else math.inf
    return Twist(rotation_deg, sensitivity, None, _doubts_about_slope(sensitivity))


def twist_from_heights(
    *,
    leg_before_mm: float,
    leg_between_mm: float,
    leg_after_mm: float,
    angle_before_deg: float,
    angle_after_deg: float,
    height_mm: float,
    across_mm: float,
) -> Twist:
    """Rotation between two bends, without ambiguity, from a height and a distance.

    Parameters
    ----------
    leg_before_mm, leg_between_mm, leg_after_mm : float
        The three legs, corner to corner or to the outer nodes, above zero. [mm]
    angle_before_deg, angle_after_deg : float
        The two bends, between 0 and 180. [deg]
    height_mm : float
        Far node over the plane of the first two legs, centre to centre; positive when it rises
        with the first bend turning left. [mm]
    across_mm : float
        Straight between the two outer nodes, above zero. [mm]

    Returns
    -------
    Twist
        With the misfit of the distance across: height and distance say the same thing twice.

    Raises
    ------
    OutOfRange
        If a value lies outside these limits.

    Source
    ------
    Derived: the squared distance gives the cosine of the twist, the height its sine.

    Examples
    --------
    >>> read = twist_from_heights(leg_before_mm=100, leg_between_mm=150, leg_after_mm=120,
    ...     angle_before_deg=90, angle_after_deg=90, height_mm=60, across_mm=161.603)
    >>> round(read.rotation_deg, 1), abs(read.misfit_mm) < 0.01
    (30.0, True)
    """
    require_positive(
        leg_before_mm=leg_before_mm,
        leg_between_mm=leg_between_mm,
        leg_after_mm=leg_after_mm,
        across_mm=across_mm,
    )
    require_between(0, 180, angle_before_deg=angle_before_deg, angle_after_deg=angle_after_deg)
    require_finite(height_mm=height_mm)
    before, after = math.radians(angle_before_deg), math.radians(angle_after_deg)
    flat_mm2 = (
        leg_before_mm**2
        + leg_between_mm**2
        + leg_after_mm**2
        + 2 * leg_before_mm * leg_between_mm * math.cos(before)
        + 2 * leg_between_mm * leg_after_mm * math.cos(after)
    )
    outer_legs_mm2 = 2 * leg_before_mm * leg_after_mm
    towards = (across_mm**2 - flat_mm2) / outer_legs_mm2
    sine = height_mm / (leg_after_mm * math.sin(after))
    cosine = (math.cos(before) * math.cos(after) - towards) / (math.sin(before) * math.sin(after))
    rotation_rad = math.atan2(sine, cosine)
    expected = math.cos(before) * math.cos(after) - math.sin(before) * math.sin(after) * math.cos(
        rotation_rad
    )
    misfit_mm = math.sqrt(max(0.0, flat_mm2 + outer_legs_mm2 * expected)) - across_mm
    return Twist(math.degrees(rotation_rad), None, misfit_mm, _doubts_about_heights(sine, cosine))


class GaugeAt(StrEnum):
    """Where a height gauge touched the raised tube."""

    TOP = "top"
    UNDER = "under"


def centre_height_mm(*, reading_mm: float, gauge_at: GaugeAt, od_mm: float) -> float:
    """Height of a raised leg's centre over the centres of legs that lie on the plate.

    Parameters
    ----------
    reading_mm : float
        Height over the plate, not negative. [mm]
    gauge_at : GaugeAt
        On top of the raised tube, or under it.
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Centre over centre: legs on the plate have theirs half a diameter above it. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero, or the reading below what a lying tube gives.

    Source
    ------
    Derived.

    Examples
    --------
    >>> centre_height_mm(reading_mm=82, gauge_at=GaugeAt.TOP, od_mm=22)
    60.0
    """
    require_positive(od_mm=od_mm)
    lying_mm = od_mm if gauge_at is GaugeAt.TOP else 0.0
    if not lying_mm <= reading_mm < math.inf:
        raise OutOfRange("reading_mm", reading_mm, lying_mm, math.inf)
    return float(reading_mm - lying_mm)


_DIRECTIONS = {
    "forward": Vec3(1, 0, 0),
    "rear": Vec3(-1, 0, 0),
    "left": Vec3(0, 1, 0),
    "right": Vec3(0, -1, 0),
    "up": Vec3(0, 0, 1),
    "down": Vec3(0, 0, -1),
}


def axes_from_words(*, x: str, y: str, z: str) -> tuple[Vec3, Vec3, Vec3]:
    """Directions of a person's axes, told in words, in the frame forward, left, up.

    Parameters
    ----------
    x, y, z : str
        Each one of forward, rear, left, right, up, down, as seen by the driver. [-]

    Returns
    -------
    tuple of Vec3
        Unit vectors of x, y and z. [-]

    Raises
    ------
    CoreError
        unknown_direction; axes_repeat, if two lie along one line; left_handed_axes, which
        would turn every twist round and make a scrap pipe.

    Source
    ------
    ISO 8855 (forward, left, up) and SAE J670 (forward, right, down) are both right-handed;
    recalled, not read again.

    Examples
    --------
    >>> axes_from_words(x="rear", y="right", z="up")[1]
    Vec3(x=0, y=-1, z=0)
    """
    for word in (x, y, z):
        if word not in _DIRECTIONS:
            message = f"“{word}” is none of {', '.join(_DIRECTIONS)}."
            raise CoreError("unknown_direction", None, message)
    first, second, third = _DIRECTIONS[x], _DIRECTIONS[y], _DIRECTIONS[z]
    handed = first.cross(second).dot(third)
    if handed == 0:
        raise CoreError("axes_repeat", None, "Two of the axes lie along one line.")
    if handed < 0:
        message = (
            f"x {x}, y {y}, z {z} is a left-handed set: it would make the mirror image of the "
            "pipe. Turn one of the three round."
        )
        raise CoreError("left_handed_axes", None, message)
    return first, second, third


def _apex_deg(gap_mm: float, arm_mm: float) -> float:
    require_positive(arm_mm=arm_mm)
    require_between(0, 2 * arm_mm, gap_mm=gap_mm)
    half_mm = gap_mm / 2
    return math.degrees(2 * math.atan2(half_mm, math.sqrt(arm_mm**2 - half_mm**2)))


def _doubts_about_slope(sensitivity_ratio: float) -> tuple[Problem, ...]:
    if sensitivity_ratio <= TWIST_SENSITIVITY_LIMIT:
        return ()
    message = "Near its steepest a leg says little about twist: measure a height and a distance."
    return (caution("slope_says_little", message),)


def _doubts_about_heights(sine: float, cosine: float) -> tuple[Problem, ...]:
    if abs(math.hypot(sine, cosine) - 1) <= HEIGHTS_LIMIT_RATIO:
        return ()
    message = "Height and distance do not agree about this twist: measure one of them again."
    return (caution("does_not_close", message),)
