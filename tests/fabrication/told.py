"""Pipes as people tell them, to test with; nothing here is saved."""

from typing import Any

from fabrication.models import Former, TubeStock
from fabrication.pipe.inputs import (
    BendRead,
    Bends,
    Corner,
    Corners,
    Leg,
    Length,
    ReadRow,
    TwistRead,
    Typed,
)


def former_of(radius_mm: float = 66.0, **fields: Any) -> Former:
    usual = {"name": "F2", "tube_od_mm": 22.0, "hook_mm": 20.0, "guide_mm": 30.0}
    return Former(
        **usual | {"stamped_radius_mm": radius_mm, "measured_radius_mm": radius_mm} | fields
    )


def stock_of(od_mm: float = 22.0, wall_mm: float = 1.2) -> TubeStock:
    return TubeStock(material="steel", od_mm=od_mm, wall_mm=wall_mm)


def leg(mm: float, near: str = "tangent", far: str = "tangent") -> Leg:
    return Leg(Length(mm), near, far)


def bend(deg: float, how: str = "turn") -> BendRead:
    return BendRead(how, deg=deg)


def gap(mm: float, how: str = "marks", arm_mm: float | None = None) -> BendRead:
    return BendRead(how, gap=Length(mm), arm=Length(arm_mm) if arm_mm else None)


def row(read: Leg, turned: BendRead, twist: TwistRead | float = 0.0, **again: Any) -> ReadRow:
    how = twist if isinstance(twist, TwistRead) else TwistRead(deg=twist)
    return ReadRow(read, how, turned, **again)


def measured(*rows: ReadRow, last: Leg, **more: Any) -> Typed:
    return Typed(bends=Bends(rows, last, **more))


def points(*told: tuple[float, ...], axes: tuple[str, ...] = ("forward", "left", "up")) -> Typed:
    """Corner points of x, y, z and a radius where there is a fourth figure."""
    corners = tuple(Corner(*(Length(value) for value in point)) for point in told)
    return Typed(way="corners", corners=Corners(corners, axes))
