"""Practice bends, bead tools and test pieces to test with: saved, and valid without arguments."""

from typing import Any
from uuid import uuid4

from fabrication.models import BeadTest, BeadTool, Former, PracticeBend, Tool, TubeStock
from tests.factories import NOW


def make_practice_bend(former: Former, stock: TubeStock, **fields: Any) -> PracticeBend:
    usual = {"key": uuid4(), "pulled_deg": 94.0, "came_to_deg": 90.0, "at": NOW}
    return PracticeBend.objects.create(former=former, stock=stock, **usual | fields)


def make_bead_tool(**fields: Any) -> BeadTool:
    """A home-made one for 28 mm tube, that beads no nearer to the end than 12 mm."""
    usual = {
        "key": uuid4(),
        "name": "Home-made",
        "tube_od_least_mm": 28.0,
        "tube_od_most_mm": 28.0,
        "shallowest_mm": 12.0,
        "deepest_mm": 20.0,
        "straight_mm": 30.0,
    }
    return BeadTool.objects.create(**usual | fields)


def make_bead_test(tool: BeadTool, stock: TubeStock, **fields: Any) -> BeadTest:
    usual = {
        "key": uuid4(),
        "stop_mm": 12.0,
        "centre_mm": 14.0,
        "height_mm": 1.5,
        "width_mm": 6.0,
        "eaten_mm": 1.2,
        "at": NOW,
    }
    return BeadTest.objects.create(tool=tool, stock=stock, **usual | fields)


def make_tool(**fields: Any) -> Tool:
    return Tool.objects.create(**{"key": uuid4(), "name": "Reamer"} | fields)
