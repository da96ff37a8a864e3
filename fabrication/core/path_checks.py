"""What no tube can be: the refusals of `tube_path`, in the order in which they are tested."""

import math
from collections.abc import Sequence
from itertools import pairwise

from .errors import CoreError
from .tube_table import LENGTH_TOLERANCE_MM, BendRow
from .vectors import Vec3


def refuse_bad_numbers(
    nodes: Sequence[Vec3], radii: Sequence[float], od_mm: float | None, wall_mm: float | None
) -> None:
    """Raise not_finite, too_few_nodes or clr_count, in this order, if one holds."""
    for index, node in enumerate(nodes):
        if not node.is_finite():
            raise CoreError("not_finite", index, f"Corner point {index + 1} is not a number.")
    for index, radius in enumerate(radii, start=1):
        if not math.isfinite(radius):
            raise CoreError("not_finite", index, f"The radius at point {index + 1} is no number.")
    _refuse_section_without_numbers(od_mm, wall_mm)
    for index, (here, there) in enumerate(pairwise(nodes), start=1):
        if not math.isfinite(here.distance_to(there)):
            raise CoreError("not_finite", index, f"Corner point {index + 1} is out of reach.")
    if len(nodes) < 2:
        raise CoreError("too_few_nodes", None, "A tube needs its two ends.")
    if len(radii) != len(nodes) - 2:
        wanted = len(nodes) - 2
        message = f"{wanted} corner points need {wanted} radii; {len(radii)} are given."
        raise CoreError("clr_count", None, message)


def _refuse_section_without_numbers(od_mm: float | None, wall_mm: float | None) -> None:
    for name, value in (("outside diameter", od_mm), ("wall", wall_mm)):
        if value is not None and not math.isfinite(value):
            raise CoreError("not_finite", None, f"The {name} is not a number.")


def refuse_bad_section(od_mm: float | None, wall_mm: float | None) -> None:
    """Raise bad_section or wall_too_thick, in this order, if one holds."""
    if od_mm is not None and od_mm <= 0:
        raise CoreError("bad_section", None, "The outside diameter must be more than nothing.")
    if wall_mm is None:
        return
    if wall_mm <= 0:
        raise CoreError("bad_section", None, "The wall must be more than nothing.")
    if od_mm is None:
        raise CoreError("bad_section", None, "A wall needs the outside diameter it belongs to.")
    if wall_mm >= od_mm / 2:
        message = f"A wall of {wall_mm:g} mm leaves no bore in a tube of {od_mm:g} mm."
        raise CoreError("wall_too_thick", None, message)


def refuse_tight_radius(radius_mm: float, od_mm: float | None, index: int) -> None:
    """Raise clr_too_small, naming the node, if the inside of the bend would turn inside out."""
    least_mm = 0 if od_mm is None else od_mm / 2
    if radius_mm <= least_mm:
        message = (
            f"A centre-line radius of {radius_mm:g} mm turns the inside of the bend inside out; "
            f"it must be more than {least_mm:g} mm."
        )
        raise CoreError("clr_too_small", index, message)


def overlap(start: int, end: int, shortfall_mm: float, leg_mm: float) -> CoreError:
    """Return the refusal of a leg that is too short for its bends, with what would cure it."""
    share = 100 * leg_mm / (leg_mm + shortfall_mm)
    message = (
        f"Straight {start + 1} is {shortfall_mm:.1f} mm too short for the bends beside it. Move "
        f"corner points {start + 1} and {end + 1} apart by {shortfall_mm:.1f} mm, or use a former "
        f"of at most {share:.0f} % of the radius, or bend less there."
    )
    return CoreError("straight_negative", start, message)


def refuse_bad_rows(
    rows: Sequence[BendRow], last_straight_mm: float, od_mm: float | None, wall_mm: float | None
) -> None:
    """Raise the first thing wrong with typed rows, in the order told in `table_from_rows`."""
    for index, row in enumerate(rows, start=1):
        values = (row.straight_mm, row.rotation_deg, row.angle_deg, row.radius_mm)
        if not all(math.isfinite(value) for value in values):
            raise CoreError("not_finite", index, f"Bend {index} has something that is no number.")
    if not math.isfinite(last_straight_mm):
        raise CoreError("not_finite", len(rows), "The last straight is not a number.")
    _refuse_section_without_numbers(od_mm, wall_mm)
    refuse_bad_section(od_mm, wall_mm)
    for index, row in enumerate(rows, start=1):
        refuse_tight_radius(row.radius_mm, od_mm, index)
    for index, row in enumerate(rows, start=1):
        if not 0 < row.angle_deg < 360:
            message = f"Bend {index} turns by {row.angle_deg:g}; it must be between 0 and 360."
            raise CoreError("angle_out_of_range", index, message)
    if rows and rows[0].rotation_deg != 0:
        raise CoreError("first_rotation", 1, "The first bend has no twist: nothing lies before it.")
    for index, straight in enumerate([*(row.straight_mm for row in rows), last_straight_mm]):
        if straight < -LENGTH_TOLERANCE_MM:
            message = f"Straight {index + 1} is shorter than nothing, by {-straight:g} mm."
            raise CoreError("straight_negative", index, message)
