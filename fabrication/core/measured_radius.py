"""Radii and widths of an old pipe from templates, rules and a straightedge."""

import math
from enum import StrEnum

from .errors import require_between, require_positive


class Across(StrEnum):
    """How two parallel legs were measured across."""

    BACK_TO_BACK = "back_to_back"
    INSIDE = "inside"
    SAME_SIDE = "same_side"


def centre_distance_mm(*, reading_mm: float, across: Across, od_mm: float) -> float:
    """Distance between the centre lines of two parallel legs.

    Parameters
    ----------
    reading_mm : float
        As measured, above zero. [mm]
    across : Across
        Outside over both, inside between them, or from one face to the same face of the other.
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Centre to centre. [mm]

    Raises
    ------
    OutOfRange
        If a length is not above zero, or the outside width not above the diameter.

    Source
    ------
    Derived.

    Examples
    --------
    >>> centre_distance_mm(reading_mm=154.0, across=Across.BACK_TO_BACK, od_mm=22)
    132.0
    """
    require_positive(reading_mm=reading_mm, od_mm=od_mm)
    if across is Across.BACK_TO_BACK:
        require_between(od_mm, math.inf, reading_mm=reading_mm)
    add_mm = {Across.BACK_TO_BACK: -od_mm, Across.INSIDE: od_mm, Across.SAME_SIDE: 0.0}[across]
    return reading_mm + add_mm


def return_bend_radius_mm(*, outside_width_mm: float, od_mm: float) -> float:
    """Centre-line radius of a bend of 180 degrees from its width over both legs.

    Parameters
    ----------
    outside_width_mm : float
        Over both legs, square across; more than twice the diameter. [mm]
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Centre-line radius. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero or the width leaves no inside.

    Source
    ------
    Derived.

    Examples
    --------
    >>> return_bend_radius_mm(outside_width_mm=154, od_mm=22)
    66.0
    """
    require_positive(od_mm=od_mm)
    require_between(2 * od_mm, math.inf, outside_width_mm=outside_width_mm)
    return (outside_width_mm - od_mm) / 2


class Edge(StrEnum):
    """Which edge of the tube a radius template was laid on."""

    OUTER = "outer"
    INNER = "inner"


def radius_from_template_mm(*, template_radius_mm: float, edge: Edge, od_mm: float) -> float:
    """Centre-line radius from a radius template laid on the outer or inner edge of a bend.

    Parameters
    ----------
    template_radius_mm : float
        Radius of the template that fits; on the outer edge more than the diameter. [mm]
    edge : Edge
        Heel side or throat side. Many tables print the inner radius.
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Centre-line radius. [mm]

    Raises
    ------
    OutOfRange
        If a value lies outside these limits.

    Source
    ------
    Derived: three diameters inside are three and a half on the centre line.

    Examples
    --------
    >>> radius_from_template_mm(template_radius_mm=66, edge=Edge.INNER, od_mm=22)
    77.0
    """
    require_positive(template_radius_mm=template_radius_mm, od_mm=od_mm)
    if edge is Edge.INNER:
        return template_radius_mm + od_mm / 2
    require_between(od_mm, math.inf, template_radius_mm=template_radius_mm)
    return template_radius_mm - od_mm / 2


def radius_from_chord_mm(*, chord_mm: float, sagitta_mm: float, od_mm: float) -> float:
    """Centre-line radius from a straightedge of known length held into the heel of a bend.

    Parameters
    ----------
    chord_mm : float
        Distance between the two points of the heel that touch, above zero. [mm]
    sagitta_mm : float
        Height of the heel over the middle of that chord; above zero, at most half of it. [mm]
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Centre-line radius. [mm]

    Raises
    ------
    OutOfRange
        If a value lies outside these limits, or the radius comes out inside the tube.

    Source
    ------
    Intersecting chords: outer radius = chord^2 / (8 sagitta) + sagitta / 2.

    Examples
    --------
    >>> radius_from_chord_mm(chord_mm=80, sagitta_mm=20, od_mm=22)
    39.0
    """
    require_positive(chord_mm=chord_mm, od_mm=od_mm)
    require_between(0, chord_mm / 2 * (1 + 1e-12), sagitta_mm=sagitta_mm)
    outer_mm = chord_mm**2 / (8 * sagitta_mm) + sagitta_mm / 2
    return radius_from_template_mm(template_radius_mm=outer_mm, edge=Edge.OUTER, od_mm=od_mm)
