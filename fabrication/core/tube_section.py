"""What bending does to the section of a tube: strain, wall and shape.

Every function answers with a number and names its law. Whether the number is good enough is
said by `problems_of_bend`, as problems with a severity, never by a silent limit.
"""

import math
from enum import StrEnum
from itertools import pairwise

from .errors import (
    OutOfRange,
    Problem,
    blocker,
    caution,
    require_between,
    require_not_negative,
    require_positive,
)
from .tube_materials import RadiusAdvice, Temper

THINNING_LIMIT_RATIO = 0.17
"""A U-tube maker's tolerance sheet after TEMA, for radii above 1.5 diameters."""


def fibre_strain_ratio(*, od_mm: float, radius_mm: float) -> float:
    """Stretch of the outermost fibre of a bend, neutral line on the centre line.

    Parameters
    ----------
    od_mm : float
        Outside diameter, above zero. [mm]
    radius_mm : float
        Centre-line radius, more than half the diameter. [mm]

    Returns
    -------
    float
        OD / (2 CLR). [-]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    Geometry of a ring whose centre line keeps its length.

    Examples
    --------
    >>> fibre_strain_ratio(od_mm=22, radius_mm=44)
    0.25
    """
    _require_bend(od_mm, radius_mm)
    return od_mm / (2 * radius_mm)


def least_radius_mm(*, od_mm: float, elongation_ratio: float) -> float:
    """Smallest centre-line radius at which the outermost fibre keeps within its elongation.

    Parameters
    ----------
    od_mm : float
        Outside diameter, above zero. [mm]
    elongation_ratio : float
        Elongation at fracture, 0.30 for 30 per cent, more than 0 and at most 1. [-]

    Returns
    -------
    float
        OD / (2 elongation). [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    Elongation rule; see `fibre_strain_ratio`.

    Examples
    --------
    >>> least_radius_mm(od_mm=22, elongation_ratio=0.2)
    55.0
    """
    require_positive(od_mm=od_mm)
    require_between(0, 1 + 1e-12, elongation_ratio=elongation_ratio)
    return od_mm / (2 * elongation_ratio)


class ThinningLaw(StrEnum):
    """How the wall pays for the stretch."""

    NO_HOOP_CHANGE = "no_hoop_change"
    ISOTROPIC = "isotropic"


def heel_wall_mm(
    *, wall_mm: float, od_mm: float, radius_mm: float, law: ThinningLaw = ThinningLaw.NO_HOOP_CHANGE
) -> float:
    """Wall left at the outside of a bend.

    Parameters
    ----------
    wall_mm : float
        Wall before bending; above zero and less than half the diameter. [mm]
    od_mm, radius_mm : float
        Outside diameter and centre-line radius. [mm]
    law : ThinningLaw, optional
        All the stretch from the wall (the careful rule of thumb), or shared with the hoop.

    Returns
    -------
    float
        t R / (R + r), or t / sqrt(1 + r / R). [mm]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    No hoop change: a bend-tooling maker's formula page, Pt = (Ro - R) / Ro, there called a rule
    of thumb. Isotropic: derived from constant volume.

    Examples
    --------
    >>> round(heel_wall_mm(wall_mm=1.2, od_mm=22, radius_mm=66), 4)
    1.0286
    """
    return _wall_at(wall_mm, od_mm, radius_mm, law, od_mm / 2)


def throat_wall_mm(
    *, wall_mm: float, od_mm: float, radius_mm: float, law: ThinningLaw = ThinningLaw.NO_HOOP_CHANGE
) -> float:
    """Wall at the inside of a bend, where it thickens.

    Parameters
    ----------
    wall_mm : float
        Wall before bending; above zero and less than half the diameter. [mm]
    od_mm, radius_mm : float
        Outside diameter and centre-line radius. [mm]
    law : ThinningLaw, optional
        As for the heel.

    Returns
    -------
    float
        t R / (R - r), or t / sqrt(1 - r / R). [mm]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    As `heel_wall_mm`, on the other side.

    Examples
    --------
    >>> round(throat_wall_mm(wall_mm=1.2, od_mm=22, radius_mm=66), 4)
    1.44
    """
    return _wall_at(wall_mm, od_mm, radius_mm, law, -od_mm / 2)


def thinning_ratio(*, od_mm: float, radius_mm: float, law: ThinningLaw) -> float:
    """Share of the wall lost at the heel.

    Parameters
    ----------
    od_mm, radius_mm : float
        Outside diameter and centre-line radius. [mm]
    law : ThinningLaw
        As for the heel.

    Returns
    -------
    float
        1 - wall at the heel / wall. [-]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    As `heel_wall_mm`.

    Examples
    --------
    >>> round(thinning_ratio(od_mm=1, radius_mm=3, law=ThinningLaw.NO_HOOP_CHANGE), 4)
    0.1429
    """
    wall_mm = od_mm / 4  # any wall: the share does not depend on it
    left_mm = heel_wall_mm(wall_mm=wall_mm, od_mm=od_mm, radius_mm=radius_mm, law=law)
    return 1 - left_mm / wall_mm


def ordered_wall_factor(*, radius_per_diameter_ratio: float) -> float:
    """How much thicker to order a wall so that the heel of a bend keeps the wall it needs.

    Parameters
    ----------
    radius_per_diameter_ratio : float
        Centre-line radius over nominal diameter, 3 or more. [-]

    Returns
    -------
    float
        Factor on the least wall; between rows by straight line, 1.06 from 6 up. [-]

    Raises
    ------
    OutOfRange
        Below 3, where the table says nothing.

    Source
    ------
    ASME B31.1 Table 102.4.5, read in US Unified Facilities Criteria 4-159-01, Table 5-4;
    reading between rows is recalled from the table's note.

    Examples
    --------
    >>> ordered_wall_factor(radius_per_diameter_ratio=4)
    1.14
    """
    ratio = radius_per_diameter_ratio
    if not 3 <= ratio < math.inf:
        raise OutOfRange("radius_per_diameter_ratio", ratio, 3, math.inf)
    rows = ((3.0, 1.25), (4.0, 1.14), (5.0, 1.08), (6.0, 1.06))
    for (low, at_low), (high, at_high) in pairwise(rows):
        if ratio <= high:
            return at_low + (at_high - at_low) * (ratio - low) / (high - low)
    return rows[-1][1]


def tube_bundle_wall_factor(*, od_mm: float, radius_mm: float) -> float:
    """How much thicker a wall must be before bending, by the heat-exchanger makers' rule.

    Parameters
    ----------
    od_mm, radius_mm : float
        Outside diameter and centre-line radius. [mm]

    Returns
    -------
    float
        1 + OD / (4 CLR). [-]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    TEMA RCB-2.31, recalled, not read again.

    Examples
    --------
    >>> tube_bundle_wall_factor(od_mm=22, radius_mm=44)
    1.125
    """
    _require_bend(od_mm, radius_mm)
    return 1 + od_mm / (4 * radius_mm)


def metal_volume_mm3(*, length_mm: float, od_mm: float, wall_mm: float) -> float:
    """Metal in a tube, bent or straight.

    Parameters
    ----------
    length_mm : float
        Length along the centre line, not negative. [mm]
    od_mm, wall_mm : float
        Outside diameter, and wall of less than half of it. [mm]

    Returns
    -------
    float
        Section times length. [mm3]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    Second theorem of Pappus: bending does not change it while the centre line keeps its length.

    Examples
    --------
    >>> round(metal_volume_mm3(length_mm=100, od_mm=10, wall_mm=1), 3)
    2827.433
    """
    require_not_negative(length_mm=length_mm)
    _require_wall(wall_mm, od_mm)
    return math.pi * wall_mm * (od_mm - wall_mm) * length_mm


def problems_of_bend(
    *,
    od_mm: float,
    wall_mm: float,
    radius_mm: float,
    temper: Temper | None = None,
    advice: RadiusAdvice | None = None,
) -> tuple[Problem, ...]:
    """What may go wrong with the section when a tube is bent to a radius.

    Parameters
    ----------
    od_mm, wall_mm, radius_mm : float
        Outside diameter, wall and centre-line radius. [mm]
    temper : Temper, optional
        Material and state; given, its elongation is compared. [-]
    advice : RadiusAdvice, optional
        Least radius from a table; given, it is compared and its source named. [mm]

    Returns
    -------
    tuple of Problem
        Empty when nothing is known against the bend.

    Raises
    ------
    OutOfRange
        If a length is outside its limits.

    Source
    ------
    Elongation rule; thinning limit 17 per cent from a U-tube maker's sheet after TEMA; radii
    from the table named in `advice`.

    Examples
    --------
    >>> from .tube_materials import TEMPERS
    >>> hard = TEMPERS["EN 1057 R290"]
    >>> found = problems_of_bend(od_mm=15, wall_mm=0.7, radius_mm=60, temper=hard)
    >>> [(problem.kind, str(problem.severity)) for problem in found]
    [('stretch_beyond_elongation', 'blocker')]
    """
    strain = fibre_strain_ratio(od_mm=od_mm, radius_mm=radius_mm)
    _require_wall(wall_mm, od_mm)
    found = []
    if temper is not None and strain > temper.elongation_ratio(wall_mm):
        allowed = temper.elongation_ratio(wall_mm)
        least_mm = least_radius_mm(od_mm=od_mm, elongation_ratio=allowed)
        message = (
            f"The heel stretches by {strain:.0%}; {temper.name} breaks at {allowed:.0%}. Anneal "
            f"it, or bend no tighter than {least_mm:.0f} mm."
        )
        found.append(blocker("stretch_beyond_elongation", message))
    if advice is not None and radius_mm < advice.radius_mm:
        message = f"{advice.source} advises no less than {advice.radius_mm:.0f} mm for this tube."
        found.append(caution("below_advised_radius", message))
    law = ThinningLaw.NO_HOOP_CHANGE
    thinning = thinning_ratio(od_mm=od_mm, radius_mm=radius_mm, law=law)
    if thinning > THINNING_LIMIT_RATIO:
        message = f"The wall at the heel may lose up to {thinning:.0%}, by the rule of thumb."
        found.append(caution("thin_heel", message))
    return tuple(found)


def _require_bend(od_mm: float, radius_mm: float) -> None:
    require_positive(od_mm=od_mm)
    require_between(od_mm / 2, math.inf, radius_mm=radius_mm)


def _require_wall(wall_mm: float, od_mm: float) -> None:
    require_positive(od_mm=od_mm)
    require_between(0, od_mm / 2, wall_mm=wall_mm)


def _wall_at(
    wall_mm: float, od_mm: float, radius_mm: float, law: ThinningLaw, beyond_mm: float
) -> float:
    _require_bend(od_mm, radius_mm)
    _require_wall(wall_mm, od_mm)
    stretch_ratio = 1 + beyond_mm / radius_mm
    if law is ThinningLaw.ISOTROPIC:
        return wall_mm / math.sqrt(stretch_ratio)
    return wall_mm / stretch_ratio
