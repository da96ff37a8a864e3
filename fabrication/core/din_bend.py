"""One bend in sheet as DIN 6935 reckons it.

DIN's k multiplies half the thickness, and its angle is the opening left between the legs: 180 less
the bend angle. Read as bend angles, its limits of 90 and 165 degrees give nonsense.
"""

import math

from .errors import OutOfRange, require_finite, require_positive

LEAST_RATIO = 0.05
"""r/s where k falls to nothing; below it the formula answers nonsense."""


def din_k(*, radius_mm: float, thickness_mm: float) -> float:
    """Correction factor k of DIN 6935; the K-factor is half of it.

    Parameters
    ----------
    radius_mm : float
        Inside radius, more than 0.05 of the thickness. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        0.65 + 0.5 lg(r/s), and 1 where r/s is above 5. [-]

    Raises
    ------
    OutOfRange
        If a length is not above zero, or the radius so small that k comes to nothing.

    Source
    ------
    DIN 6935:2011-10, read in two independent copies of its formula.

    Examples
    --------
    >>> round(din_k(radius_mm=6, thickness_mm=5), 3), din_k(radius_mm=12, thickness_mm=2)
    (0.69, 1.0)
    """
    require_positive(radius_mm=radius_mm, thickness_mm=thickness_mm)
    ratio = radius_mm / thickness_mm
    if ratio > 5:
        return 1.0
    if ratio <= LEAST_RATIO:
        why = "DIN 6935 has no answer for a bend as sharp as this."
        raise OutOfRange("radius_mm", radius_mm, LEAST_RATIO * thickness_mm, math.inf, why=why)
    # The formula reaches 0.9995 at five, where the standard sets 1: the step is its own.
    return 0.65 + 0.5 * math.log10(ratio)


def din_k_ratio(*, radius_mm: float, thickness_mm: float) -> float:
    """K-factor that follows from DIN 6935.

    Parameters
    ----------
    radius_mm : float
        Inside radius, more than 0.05 of the thickness. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        Half of DIN's k. [-]

    Raises
    ------
    OutOfRange
        As `din_k`.

    Source
    ------
    DIN 6935:2011-10; a CAD house's conversion note.

    Examples
    --------
    >>> round(din_k_ratio(radius_mm=3, thickness_mm=2), 3)
    0.369
    """
    return din_k(radius_mm=radius_mm, thickness_mm=thickness_mm) / 2


def din_v_mm(*, opening_deg: float, radius_mm: float, thickness_mm: float) -> float:
    """What DIN 6935 adds to the sum of the two legs of a bend; as a rule less than nothing.

    Parameters
    ----------
    opening_deg : float
        Angle left open between the legs, from 0 to 180. A flat sheet has 180. [deg]
    radius_mm : float
        Inside radius. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        v: legs to the outer tangent planes up to 90 degrees of opening, to the corner above;
        nothing above 165. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    DIN 6935:2011-10, read in a metal-trades table book.

    Examples
    --------
    >>> round(din_v_mm(opening_deg=60, radius_mm=6, thickness_mm=5), 2)
    -5.82
    """
    require_finite(opening_deg=opening_deg)
    if not 0 <= opening_deg <= 180:
        raise OutOfRange("opening_deg", opening_deg, 0, 180)
    k = din_k(radius_mm=radius_mm, thickness_mm=thickness_mm)
    if opening_deg > 165:
        return 0.0
    turned_rad = math.radians(180 - opening_deg)
    reach = 1.0 if opening_deg <= 90 else math.tan(turned_rad / 2)
    return turned_rad * (radius_mm + k * thickness_mm / 2) - 2 * (radius_mm + thickness_mm) * reach
