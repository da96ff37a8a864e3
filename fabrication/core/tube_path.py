"""Corner points of a bent tube to its list of bends, and back.

A tube is a chain of straights joined by arcs that touch both. It can be told in two ways:

* by **nodes**: the datum end, the corner points where neighbouring centre lines meet, the far
  end, and a centre-line radius at every corner;
* by a **table**: the straights, and for each bend its angle (deflection from straight), its
  rotation against the bend before, and its radius.

Rotation is right-handed about the direction of travel: positive means that the plane of the
next bend is turned clockwise seen from the datum end along the pipe. Lay the first two legs
flat so that bend 1 turns left, walking from the datum end: if the next leg rises, its rotation
is positive. It lies in (-180, 180], and the first bend has none.
"""

import math
from collections.abc import Iterable, Sequence
from itertools import pairwise

from .errors import CoreError, caution
from .path_checks import (
    overlap,
    refuse_bad_numbers,
    refuse_bad_rows,
    refuse_bad_section,
    refuse_tight_radius,
)
from .tube_table import (
    LENGTH_TOLERANCE_MM,
    Bend,
    BendRow,
    BendTable,
    assemble,
    setback_mm,
    wrapped_deg,
)
from .vectors import (
    CANONICAL,
    Frame,
    Points,
    Vec3,
    angle_between_rad,
    any_perpendicular,
    points_from,
)

__all__ = [
    "Bend",
    "BendRow",
    "BendTable",
    "bend_table",
    "canonical_frame",
    "canonical_nodes",
    "nodes_from_table",
    "setback_mm",
    "table_from_rows",
    "wrapped_deg",
]

STRAIGHT_TOLERANCE_RAD = 1e-9
"""A corner that turns less than this is no bend; one that turns to within this of pi folds back."""


def bend_table(
    *,
    nodes_mm: Points,
    radii_mm: Iterable[float],
    od_mm: float | None = None,
    wall_mm: float | None = None,
) -> BendTable:
    """Straights, bends and marks of the tube that runs through given nodes.

    Parameters
    ----------
    nodes_mm : points
        Datum end, corner points in order, far end; two points or more. [mm]
    radii_mm : floats
        Centre-line radius at every corner point. [mm]
    od_mm, wall_mm : float, optional
        Outside diameter and wall; given, the section is checked as well. [mm]

    Returns
    -------
    BendTable
        Unrounded. Corner points that do not turn are dropped and named in its problems.

    Raises
    ------
    CoreError
        In this order: not_finite, too_few_nodes, clr_count, bad_section, wall_too_thick,
        clr_too_small, coincident_nodes, fold_back, straight_negative.

    Source
    ------
    Plane trigonometry: a fillet of radius R between legs that turn by a touches both at
    R tan(a/2) from the corner and is R a long. Published sums: Hull Maintenance Technician,
    NAVEDTRA 14119, ch. 16, fig. 16-3.

    Examples
    --------
    >>> table = bend_table(nodes_mm=[(0, 0, 0), (48, 0, 0), (48, 72, 0)], radii_mm=[18])
    >>> [round(straight, 9) for straight in table.straights_mm], round(table.length_mm, 4)
    ([30.0, 54.0], 112.2743)
    """
    nodes, radii = points_from(nodes_mm), tuple(radii_mm)
    refuse_bad_numbers(nodes, radii, od_mm, wall_mm)
    refuse_bad_section(od_mm, wall_mm)
    for index, radius in enumerate(radii, start=1):
        refuse_tight_radius(radius, od_mm, index)
    kept = _corners_that_turn(_directions(nodes))
    rows, last_straight = _rows_between(nodes, radii, kept)
    dropped = [
        caution("collinear_node", f"Corner point {index + 1} does not turn: left out.", index)
        for index in range(1, len(nodes) - 1)
        if index not in kept
    ]
    return assemble(rows=rows, last_straight_mm=last_straight, od_mm=od_mm, problems=dropped)


def table_from_rows(
    *,
    rows: Sequence[BendRow],
    last_straight_mm: float,
    od_mm: float | None = None,
    wall_mm: float | None = None,
) -> BendTable:
    """Table of a tube told row by row: straight, twist, bend; then the last straight.

    Parameters
    ----------
    rows : sequence of BendRow
        One row a bend; 0 < angle < 360, and no twist in the first row. [mm, deg]
    last_straight_mm : float
        Straight after the last bend. [mm]
    od_mm, wall_mm : float, optional
        Outside diameter and wall; given, the section is checked as well. [mm]

    Returns
    -------
    BendTable
        Unrounded. A row of 180 degrees or more stays one bend and has no setback.

    Raises
    ------
    CoreError
        In this order: not_finite, bad_section, wall_too_thick, clr_too_small,
        angle_out_of_range, first_rotation, straight_negative.

    Source
    ------
    House convention; see the README for signs.

    Examples
    --------
    >>> u_bolt = [BendRow(straight_mm=20, rotation_deg=0, angle_deg=180, radius_mm=1.25)]
    >>> round(table_from_rows(rows=u_bolt, last_straight_mm=20).bends[0].arc_mm, 4)
    3.927
    """
    refuse_bad_rows(rows, last_straight_mm, od_mm, wall_mm)
    return assemble(rows=rows, last_straight_mm=last_straight_mm, od_mm=od_mm)


def nodes_from_table(table: BendTable) -> tuple[Vec3, ...]:
    """Datum end, corner points and far end of a table's tube, in the canonical frame.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]

    Returns
    -------
    tuple of Vec3
        Datum end at the origin, first leg along +X, first bend towards +Y. A return bend of
        180 degrees or more gives two corner points, one for each half. [mm]

    Source
    ------
    Derived: a frame carried along the tube (straight on, roll, round the arc).

    Examples
    --------
    >>> table = bend_table(nodes_mm=[(5, 5, 5), (5, 5, 105), (5, 65, 105)], radii_mm=[20])
    >>> [tuple(round(value, 9) for value in node) for node in nodes_from_table(table)]
    [(0.0, 0.0, 0.0), (100.0, 0.0, 0.0), (100.0, 60.0, 0.0)]
    """
    frame, nodes = CANONICAL, [CANONICAL.at]
    for straight_mm, bend in zip(table.straights_mm, table.bends, strict=False):
        frame = frame.forward(straight_mm).rolled(bend.rotation_deg)
        shares = 1 if bend.setback_mm is not None else 2
        share_deg = bend.angle_deg / shares
        for _ in range(shares):
            nodes.append(frame.forward(setback_mm(share_deg, bend.radius_mm)).at)
            frame = frame.along_bend(share_deg, bend.radius_mm)
    return (*nodes, frame.forward(table.straights_mm[-1]).at)


def canonical_frame(nodes_mm: Points) -> Frame:
    """Frame of a tube: at its datum end, along its first leg, first bend inward.

    Parameters
    ----------
    nodes_mm : points
        Two nodes or more. [mm]

    Returns
    -------
    Frame
        `frame.local(point)` moves any point into the canonical frame. The roll of a tube
        without a bend is arbitrary, but always the same.

    Raises
    ------
    CoreError
        too_few_nodes, coincident_nodes.

    Source
    ------
    House convention; see the README.

    Examples
    --------
    >>> canonical_frame([(1, 2, 3), (1, 2, 9), (1, 5, 9)]).ahead
    Vec3(x=0.0, y=0.0, z=1.0)
    """
    nodes = points_from(nodes_mm)
    if len(nodes) < 2:
        raise CoreError("too_few_nodes", None, "A tube needs its two ends.")
    directions = _directions(nodes)
    ahead = directions[0]
    turned = (
        direction
        for direction in directions
        if angle_between_rad(ahead, direction) >= STRAIGHT_TOLERANCE_RAD
    )
    first_turn = next(turned, None)
    across = any_perpendicular(ahead) if first_turn is None else ahead.cross(first_turn).unit()
    return Frame(nodes[0], ahead, across.cross(ahead), across)


def canonical_nodes(nodes_mm: Points) -> tuple[Vec3, ...]:
    """The same nodes moved into the canonical frame, shape untouched. [mm]

    Parameters
    ----------
    nodes_mm : points
        Two nodes or more. [mm]

    Returns
    -------
    tuple of Vec3
        Datum end at the origin, first leg along +X, first bend towards +Y. [mm]

    Raises
    ------
    CoreError
        too_few_nodes, coincident_nodes.

    Source
    ------
    House convention; see the README.

    Examples
    --------
    >>> canonical_nodes([(1, 2, 3), (1, 2, 9), (1, 5, 9)])[2]
    Vec3(x=6.0, y=3.0, z=0.0)
    """
    nodes = points_from(nodes_mm)
    frame = canonical_frame(nodes)
    return tuple(frame.local(node) for node in nodes)


def _directions(nodes: Sequence[Vec3]) -> list[Vec3]:
    directions = []
    for index, (here, there) in enumerate(pairwise(nodes), start=1):
        if here.distance_to(there) < LENGTH_TOLERANCE_MM:
            message = f"Corner points {index} and {index + 1} are the same point."
            raise CoreError("coincident_nodes", index, message)
        directions.append((there - here).unit())
    return directions


def _corners_that_turn(directions: Sequence[Vec3]) -> list[int]:
    kept = []
    for index, (before, after) in enumerate(pairwise(directions), start=1):
        turn_rad = angle_between_rad(before, after)
        if turn_rad > math.pi - STRAIGHT_TOLERANCE_RAD:
            message = (
                f"The tube folds back on itself at corner point {index + 1}: its legs meet at no "
                "distance. Tell a return bend as a row, or as two bends of 90."
            )
            raise CoreError("fold_back", index, message)
        if turn_rad >= STRAIGHT_TOLERANCE_RAD:
            kept.append(index)
    return kept


def _rows_between(
    nodes: Sequence[Vec3], radii: Sequence[float], kept: Sequence[int]
) -> tuple[list[BendRow], float]:
    stops = [0, *kept, len(nodes) - 1]
    legs = [nodes[there] - nodes[here] for here, there in pairwise(stops)]
    directions = [leg.unit() for leg in legs]
    angles = [
        math.degrees(angle_between_rad(before, after)) for before, after in pairwise(directions)
    ]
    setbacks = [
        setback_mm(angle, radii[node - 1]) for angle, node in zip(angles, kept, strict=True)
    ]
    around = [0.0, *setbacks, 0.0]
    straights = [leg.norm() - around[i] - around[i + 1] for i, leg in enumerate(legs)]
    for i, straight in enumerate(straights):
        if straight < -LENGTH_TOLERANCE_MM:
            raise overlap(stops[i], stops[i + 1], -straight, legs[i].norm())
    rotations = _rotations_deg(directions)
    rows = [
        BendRow(straights[i], rotations[i], angles[i], radii[node - 1], node)
        for i, node in enumerate(kept)
    ]
    return rows, straights[-1]


def _rotations_deg(directions: Sequence[Vec3]) -> list[float]:
    planes = [before.cross(after).unit() for before, after in pairwise(directions)]
    rotations = [0.0] if planes else []
    for ahead, before, after in zip(directions[1:], planes, planes[1:], strict=False):
        turn_rad = math.atan2(ahead.dot(before.cross(after)), before.dot(after))
        rotations.append(wrapped_deg(math.degrees(turn_rad)))
    return rotations
