"""One bend in its own plane at true size, to lay the pipe on."""

import math

from .drawing import Arc, Figure, Line, Pen, Shape
from .errors import OutOfRange, require_between, require_not_negative, require_positive
from .tube_table import RETURN_BEND_DEG, setback_mm

RULE_STEP_MM = 10.0


def bend_figure(
    *,
    angle_deg: float,
    radius_mm: float,
    od_mm: float,
    leg_before_mm: float,
    leg_after_mm: float,
    starts_here: bool = False,
    ends_here: bool = False,
) -> Figure:
    """Outline and centre line of a bend and its two legs, the first leg lying along the x axis.

    Parameters
    ----------
    angle_deg : float
        Angle turned from straight on, above 0 and below 360. [deg]
    radius_mm : float
        Radius of the centre line, more than half the tube. [mm]
    od_mm : float
        Outside diameter. [mm]
    leg_before_mm, leg_after_mm : float
        Straight tube to draw beside the arc, not negative. [mm]
    starts_here, ends_here : bool, optional
        Whether the tube really ends where the leg does; its end is drawn. [-]

    Returns
    -------
    Figure
        The bend starts at the origin and turns left. Ticks along the centre line of the legs
        stand every 10 mm from the bend. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    The outline of a tube bent in a plane is the pair of arcs R - OD/2 and R + OD/2.

    Examples
    --------
    >>> figure = bend_figure(angle_deg=90, radius_mm=45, od_mm=15, leg_before_mm=60,
    ...     leg_after_mm=40)
    >>> [shape.radius_mm for shape in figure if isinstance(shape, Arc)]
    [37.5, 52.5, 45]
    >>> (round(figure.bounds.width_mm, 6), round(figure.bounds.height_mm, 6))
    (112.5, 92.5)
    """
    require_between(0, 360, angle_deg=angle_deg)
    require_positive(od_mm=od_mm)
    require_not_negative(leg_before_mm=leg_before_mm, leg_after_mm=leg_after_mm)
    half_mm = od_mm / 2
    if radius_mm <= half_mm:
        why = "The inside of the bend would be turned inside out."
        raise OutOfRange("radius_mm", radius_mm, half_mm, math.inf, why=why)
    centre, span = (0.0, radius_mm), (-90.0, angle_deg - 90.0)
    arcs: list[Shape] = [
        Arc(centre, radius_mm - half_mm, *span),
        Arc(centre, radius_mm + half_mm, *span),
        Arc(centre, radius_mm, *span, pen="centre"),
    ]
    # The leg after the bend is drawn along the x axis like the other, then laid where it belongs.
    before = Figure(tuple(_leg(leg_before_mm, half_mm, starts_here))).turned(180)
    after = Figure(tuple(_leg(leg_after_mm, half_mm, ends_here)))
    after = after.moved(0, -radius_mm).turned(angle_deg).moved(0, radius_mm)
    return Figure((*arcs, *before, *after, *_corner(angle_deg, radius_mm)))


def _leg(length_mm: float, half_mm: float, is_end: bool) -> list[Shape]:
    """A straight leg from the origin along x, with a line across where the bend begins."""
    found: list[Shape] = [Line((0.0, -half_mm), (0.0, half_mm), "bend")]
    if length_mm <= 0:
        return found
    found += [Line((0.0, side), (length_mm, side)) for side in (-half_mm, half_mm)]
    pen: Pen = "cut" if is_end else "dash"
    found.append(Line((length_mm, -half_mm), (length_mm, half_mm), pen))
    found.append(Line((0.0, 0.0), (length_mm, 0.0), "centre"))
    tick_mm = min(half_mm / 2, 1.5)
    for count in range(1, math.floor(length_mm / RULE_STEP_MM) + 1):
        along = count * RULE_STEP_MM
        found.append(Line((along, -tick_mm), (along, tick_mm), "note"))
    return found


def _corner(angle_deg: float, radius_mm: float) -> list[Shape]:
    """The centre lines of both legs run on to where they meet, unless that is far off."""
    if angle_deg >= min(RETURN_BEND_DEG, 135.0):
        return []
    corner = (setback_mm(angle_deg, radius_mm), 0.0)
    end = Arc((0.0, radius_mm), radius_mm, -90.0, angle_deg - 90.0).at(angle_deg - 90.0)
    return [Line((0.0, 0.0), corner, "dash"), Line(corner, end, "dash")]
