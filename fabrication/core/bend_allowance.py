"""One bend in sheet: how much metal it takes, by K-factor, by old constants, by a test strip.

Three different things are called K. Here a `k_ratio` is always the K-factor: how far the neutral
fibre lies from the inside face, in thicknesses. DIN's k multiplies half the thickness and is twice
that. The K of the old charts is the tangent of half the bend and is called `setback_ratio`.
A bend angle is what the sheet turns, flat being 0; DIN's opening angle is 180 less it.
"""

import math
from dataclasses import dataclass

from .errors import OutOfRange, require_between, require_positive

STEEP_FROM_DEG = 150.0
"""Bend angle from which the outside corner runs away: at 170 degrees its setback is 11.43 (r+t)."""


def setback_ratio(*, angle_deg: float) -> float:
    """Setback of a bend for one of radius plus thickness: the K of the old charts.

    Parameters
    ----------
    angle_deg : float
        Bend angle, above 0 and below 180. [deg]

    Returns
    -------
    float
        Tangent of half the angle. [-]

    Raises
    ------
    OutOfRange
        If the angle is outside these limits.

    Source
    ------
    FAA AC 43.13-1B, table 4-7.

    Examples
    --------
    >>> round(setback_ratio(angle_deg=120), 3)
    1.732
    """
    require_between(0, 180, angle_deg=angle_deg)
    return math.tan(math.radians(angle_deg) / 2)


def bend_allowance_mm(
    *, angle_deg: float, radius_mm: float, thickness_mm: float, k_ratio: float
) -> float:
    """Length of flat sheet that goes into a bend.

    Parameters
    ----------
    angle_deg : float
        Bend angle, above 0 and below 360. [deg]
    radius_mm : float
        Inside radius, above zero. [mm]
    thickness_mm : float
        Of the sheet. [mm]
    k_ratio : float
        K-factor, above 0 and at most 0.5 and a hair. [-]

    Returns
    -------
    float
        Arc of the neutral fibre. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    Geometry: angle times (r + K t).

    Examples
    --------
    >>> round(bend_allowance_mm(angle_deg=90, radius_mm=2, thickness_mm=2, k_ratio=0.42), 3)
    4.461
    """
    require_between(0, 360, angle_deg=angle_deg)
    require_positive(radius_mm=radius_mm, thickness_mm=thickness_mm)
    require_k_ratio(k_ratio)
    return math.radians(angle_deg) * (radius_mm + k_ratio * thickness_mm)


def require_k_ratio(k_ratio: float) -> None:
    """Raise `OutOfRange` for a K-factor no sheet can have: the fibre never passes the middle."""
    if not 0 < k_ratio <= 0.5 + 1e-9:
        why = "A K-factor lies between 0 and 0.5; a DIN k is twice that."
        raise OutOfRange("k_ratio", k_ratio, 0, 0.5, why=why)


def outside_setback_mm(*, angle_deg: float, radius_mm: float, thickness_mm: float) -> float:
    """From the outside corner, where the outer faces would meet, to where the bend begins.

    Parameters
    ----------
    angle_deg : float
        Bend angle, above 0 and below 180. [deg]
    radius_mm : float
        Inside radius. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        Setback. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    FAA AC 43.13-1B, table 4-7; geometry.

    Examples
    --------
    >>> round(outside_setback_mm(angle_deg=90, radius_mm=2, thickness_mm=2), 6)
    4.0
    """
    require_positive(radius_mm=radius_mm, thickness_mm=thickness_mm)
    return setback_ratio(angle_deg=angle_deg) * (radius_mm + thickness_mm)


def inside_setback_mm(*, angle_deg: float, radius_mm: float) -> float:
    """From the inside corner, where the inner faces would meet, to where the bend begins.

    Parameters
    ----------
    angle_deg : float
        Bend angle, above 0 and below 180. [deg]
    radius_mm : float
        Inside radius. [mm]

    Returns
    -------
    float
        Setback. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> round(inside_setback_mm(angle_deg=60, radius_mm=3), 4)
    1.7321
    """
    require_positive(radius_mm=radius_mm)
    return setback_ratio(angle_deg=angle_deg) * radius_mm


def bend_deduction_mm(
    *, angle_deg: float, radius_mm: float, thickness_mm: float, k_ratio: float
) -> float:
    """What one bend takes off the sum of the outside lengths.

    Parameters
    ----------
    angle_deg : float
        Bend angle, above 0 and below 180. [deg]
    radius_mm : float
        Inside radius. [mm]
    thickness_mm : float
        Of the sheet. [mm]
    k_ratio : float
        K-factor. [-]

    Returns
    -------
    float
        Twice the outside setback less the allowance. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> round(bend_deduction_mm(angle_deg=90, radius_mm=2, thickness_mm=2, k_ratio=0.42), 3)
    3.539
    """
    setback_mm = outside_setback_mm(
        angle_deg=angle_deg, radius_mm=radius_mm, thickness_mm=thickness_mm
    )
    return 2 * setback_mm - bend_allowance_mm(
        angle_deg=angle_deg, radius_mm=radius_mm, thickness_mm=thickness_mm, k_ratio=k_ratio
    )


def empirical_allowance_mm(*, angle_deg: float, radius_mm: float, thickness_mm: float) -> float:
    """Length of flat sheet in a bend by the constants of the aircraft trade.

    Parameters
    ----------
    angle_deg : float
        Bend angle, above 0 and below 360. [deg]
    radius_mm : float
        Inside radius. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        The same as a K-factor of 0.447. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    FAA airframe handbook FAA-H-8083-31, chapter 4: (0.01743 r + 0.0078 t) for each degree.

    Examples
    --------
    >>> round(empirical_allowance_mm(angle_deg=90, radius_mm=6.35, thickness_mm=0.635), 3)
    10.407
    """
    require_between(0, 360, angle_deg=angle_deg)
    require_positive(radius_mm=radius_mm, thickness_mm=thickness_mm)
    return (0.01743 * radius_mm + 0.0078 * thickness_mm) * angle_deg


@dataclass(frozen=True, slots=True)
class StripReading:
    """What a test strip says: its K-factor, and how far a slip of 0.1 mm would move it. [-]"""

    k_ratio: float
    slip_ratio: float


def k_from_strip(
    *,
    blank_mm: float,
    leg_a_mm: float,
    leg_b_mm: float,
    radius_mm: float,
    thickness_mm: float,
    angle_deg: float = 90.0,
) -> StripReading:
    """K-factor of this sheet on this tool, from a strip that was measured before and after.

    Parameters
    ----------
    blank_mm : float
        Length of the strip before bending. [mm]
    leg_a_mm, leg_b_mm : float
        Its two legs after, outside to outside corner. [mm]
    radius_mm : float
        Inside radius as measured on the strip. [mm]
    thickness_mm : float
        Of the sheet. [mm]
    angle_deg : float, optional
        How far it was bent, as measured. [deg]

    Returns
    -------
    StripReading
        K-factor, and what 0.1 mm in the sum of the readings makes of it. [-]

    Raises
    ------
    OutOfRange
        If a value is outside its limits, or the readings give a K-factor outside 0 to 0.5.

    Source
    ------
    Derived: the allowance put into the sum of the legs and solved for K.

    Examples
    --------
    >>> k_from_strip(blank_mm=100, leg_a_mm=53.54, leg_b_mm=50, radius_mm=2, thickness_mm=2)
    StripReading(k_ratio=0.41966209237970875, slip_ratio=0.03183098861837907)
    """
    require_positive(blank_mm=blank_mm, leg_a_mm=leg_a_mm, leg_b_mm=leg_b_mm)
    setback_mm = outside_setback_mm(
        angle_deg=angle_deg, radius_mm=radius_mm, thickness_mm=thickness_mm
    )
    allowance_mm = blank_mm - (leg_a_mm + leg_b_mm) + 2 * setback_mm
    turned_rad = math.radians(angle_deg)
    k_ratio = (allowance_mm / turned_rad - radius_mm) / thickness_mm
    if not 0 < k_ratio <= 0.5 + 1e-9:
        why = "Measure the strip again: legs over the outside, the radius inside."
        raise OutOfRange("k_ratio", k_ratio, 0, 0.5, why=why)
    return StripReading(k_ratio, 0.1 / (turned_rad * thickness_mm))
