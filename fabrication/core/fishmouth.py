"""Wrap template for cutting the end of a tube to sit on another, or to meet it at a mitre.

The template is a strip wound round the branch. `around_deg` counts from the acute side of the
joint, positive towards the side to which the branch is offset.
"""

import math
from dataclasses import dataclass

from .errors import (
    OutOfRange,
    require_between,
    require_finite,
    require_not_negative,
    require_positive,
)


@dataclass(frozen=True, slots=True)
class WrapPoint:
    """One point of the cut line: place round the tube, place on the paper, height. [deg, mm]

    `height_mm` runs along the branch axis from the point of that axis nearest the header's axis.
    """

    around_deg: float
    paper_mm: float
    height_mm: float


def saddle_height_mm(
    *,
    around_deg: float,
    branch_radius_mm: float,
    header_radius_mm: float,
    angle_deg: float,
    offset_mm: float = 0.0,
) -> float:
    """Height of the cut at one place round a branch that sits on a round header.

    Parameters
    ----------
    around_deg : float
        Place round the branch, 0 on the acute side. [deg]
    branch_radius_mm : float
        Radius of the branch: outside, or of its bore for a joint closed at the root. [mm]
    header_radius_mm : float
        Outside radius of the header; at least branch radius plus offset. [mm]
    angle_deg : float
        Angle between the axes, above 0 and at most 90. [deg]
    offset_mm : float, optional
        Distance between the axes. [mm]

    Returns
    -------
    float
        Along the branch axis, from its point nearest the header's axis. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits: the branch would miss the header.

    Source
    ------
    Derived: a point of the branch put into the equation of the header's cylinder.

    Examples
    --------
    >>> round(saddle_height_mm(around_deg=0, branch_radius_mm=11, header_radius_mm=17.5,
    ...     angle_deg=60, offset_mm=3), 6)
    26.258975
    """
    require_finite(around_deg=around_deg, offset_mm=offset_mm)
    require_positive(branch_radius_mm=branch_radius_mm, header_radius_mm=header_radius_mm)
    require_between(0, 90 + 1e-9, angle_deg=angle_deg)
    reach_mm = branch_radius_mm + abs(offset_mm)
    if reach_mm > header_radius_mm * (1 + 1e-12):
        why = "The branch reaches past the header."
        raise OutOfRange("header_radius_mm", header_radius_mm, reach_mm, math.inf, why=why)
    around_rad, angle_rad = math.radians(around_deg), math.radians(angle_deg)
    aside_mm = branch_radius_mm * math.sin(around_rad) + offset_mm
    # At the widest point of equal tubes the root is zero, and may round to a hair below.
    depth_mm = math.sqrt(max(0.0, header_radius_mm**2 - aside_mm**2))
    toward_mm = branch_radius_mm * math.cos(around_rad) * math.cos(angle_rad)
    return (depth_mm + toward_mm) / math.sin(angle_rad)


def mitre_height_mm(*, around_deg: float, tube_radius_mm: float, turn_deg: float) -> float:
    """Height of the cut at one place round a tube that meets its equal at a mitre.

    Parameters
    ----------
    around_deg : float
        Place round the tube, 0 on the outside of the turn. [deg]
    tube_radius_mm : float
        Outside radius, above zero. [mm]
    turn_deg : float
        How far the two tubes turn, between 0 and 180. [deg]

    Returns
    -------
    float
        From the corner of the two axes, along the tube. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside these limits.

    Source
    ------
    A public calculator page: long side less short side = OD tan(turn / 2).

    Examples
    --------
    >>> round(mitre_height_mm(around_deg=0, tube_radius_mm=11, turn_deg=90), 6)
    11.0
    """
    require_finite(around_deg=around_deg)
    require_positive(tube_radius_mm=tube_radius_mm)
    require_between(0, 180, turn_deg=turn_deg)
    slope = math.tan(math.radians(turn_deg) / 2)
    return tube_radius_mm * slope * math.cos(math.radians(around_deg))


def saddle_template(
    *,
    branch_od_mm: float,
    header_od_mm: float,
    angle_deg: float,
    offset_mm: float = 0.0,
    bore_mm: float | None = None,
    paper_mm: float = 0.0,
    points: int = 73,
) -> tuple[WrapPoint, ...]:
    """Cut line of a branch on a header, as points on a strip wound round the branch.

    Parameters
    ----------
    branch_od_mm, header_od_mm : float
        Outside diameters. [mm]
    angle_deg : float
        Angle between the axes, above 0 and at most 90. [deg]
    offset_mm : float, optional
        Distance between the axes. [mm]
    bore_mm : float, optional
        Bore of the branch; given, the joint closes at the root, as a radial cut needs. [mm]
    paper_mm : float, optional
        Thickness of the paper. [mm]
    points : int, optional
        Points once round, first and last the same place; 5 or more. [-]

    Returns
    -------
    tuple of WrapPoint
        The cut line is the length of the branch less the height. [deg, mm]

    Raises
    ------
    OutOfRange
        If a value is outside its limits, or the bore not less than the diameter.

    Source
    ------
    See `saddle_height_mm`. A strip lies half its thickness outside the tube.

    Examples
    --------
    >>> strip = saddle_template(branch_od_mm=22, header_od_mm=22, angle_deg=90, points=5)
    >>> [round(point.height_mm, 4) for point in strip[::2]]
    [11.0, 11.0, 11.0]
    """
    require_positive(branch_od_mm=branch_od_mm)
    require_not_negative(paper_mm=paper_mm)
    require_between(4, math.inf, points=points)
    cut_mm = branch_od_mm
    if bore_mm is not None:
        require_between(0, branch_od_mm, bore_mm=bore_mm)
        cut_mm = bore_mm
    strip = []
    for count in range(points):
        around_deg = 360 * count / (points - 1)
        height_mm = saddle_height_mm(
            around_deg=around_deg,
            branch_radius_mm=cut_mm / 2,
            header_radius_mm=header_od_mm / 2,
            angle_deg=angle_deg,
            offset_mm=offset_mm,
        )
        round_mm = math.pi * (branch_od_mm + paper_mm) * around_deg / 360
        strip.append(WrapPoint(around_deg, round_mm, height_mm))
    return tuple(strip)
