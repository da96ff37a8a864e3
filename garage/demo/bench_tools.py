"""The tools of the demo's bench, and what they were found to do: practice bends, test pieces."""

from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

from fabrication.kit import practice, tools
from fabrication.models import Former, TubeStock
from fabrication.paper import printers
from garage.demo.story import Demo

# Pulled, came to; mark, length of the piece, each end to the other leg's centre line.
PRACTICE = (
    (95.2, 90.0, 180.0, 520.0, 248.5, 300.0),
    (126.2, 120.5, 200.0, 560.0, 318.5, 334.0),
    (49.6, 46.0, None, None, None, None),
)
# Stop read, centre, height, width, eaten.
BEADS = ((8.0, 8.4, 1.1, 4.1, 0.6), (10.0, 10.3, 1.0, 4.0, 0.5))


def set_up(demo: Demo) -> None:
    """Formers, tube, a bead tool and another, and the printer of the house."""
    steel = _tube()
    _practise(demo, _formers(demo), steel)
    _bead(demo, steel)
    tools.add_tool(
        key=uuid4(),
        values={
            "name": "Tube cutter, wheel, to 28 mm",
            "what_for": "Square ends",
            "price": Decimal("24.50"),
            "supplier": "Weirbridge Tools",
            "bought_on": demo.ago(days=74).date(),
            "note": "New wheel fitted in autumn.",
        },
    )
    printers.add_printer(
        key=uuid4(),
        name="Laser in the study",
        bar_x_mm=99.6,
        bar_y_mm=100.2,
        by=demo.wren,
        now=demo.ago(days=40),
    )


def brake_tube() -> TubeStock:
    """The copper-nickel tube that every garage begins with."""
    return TubeStock.objects.get(material="cuni", od_mm=4.75)


def _tube() -> TubeStock:
    """The steel for water pipes. The brake tube has a price from now on."""
    bought = {"price": Decimal("32.00"), "supplier": "Penhale Spares"}
    tools.change(row=brake_tube(), values=bought)
    return tools.add_stock(
        key=uuid4(),
        values={
            "material": TubeStock.Material.STEEL,
            "temper": "EN 10305 E235",
            "od_mm": 22.0,
            "wall_mm": 1.5,
            "bar_length_mm": 3000.0,
            "price": Decimal("19.40"),
            "supplier": "Weirbridge Steel",
            "source": "Measured on the bar",
        },
    )


def _formers(demo: Demo) -> Former:
    """The former for water pipes, to be measured; the one for brake pipe stays as stamped."""
    tools.add_former(
        key=uuid4(),
        values={
            "name": "Pocket former, brake pipe",
            "tube_od_mm": 4.75,
            "stamped_radius_mm": 15.0,
            "hook_mm": 8.0,
            "guide_mm": 10.0,
        },
    )
    return tools.add_former(
        key=uuid4(),
        values={
            "name": "Bench former, 22 mm",
            "tube_od_mm": 22.0,
            "stamped_radius_mm": 66.0,
            "hook_mm": 32.0,
            "guide_mm": 45.0,
            "scale_rim_mm": 320.0,
            "scale_step_deg": 15.0,
            "price": Decimal("140.00"),
            "supplier": "Autumn market, second-hand",
            "bought_on": demo.ago(days=75).date(),
        },
    )


def _practise(demo: Demo, former: Former, stock: TubeStock) -> None:
    names = ("pulled_deg", "came_to_deg", "mark_mm", "piece_mm", "centre_a_mm", "centre_b_mm")
    for number, figures in enumerate(PRACTICE):
        tools.add_practice_bend(
            key=uuid4(),
            former=former,
            values={"stock": stock, **dict(zip(names, figures, strict=True))},
            by=demo.wren,
            now=demo.ago(days=60) + timedelta(minutes=20 * number),
        )
    practice.use_measured(former=former, stock=stock, now=demo.ago(days=60))


def _bead(demo: Demo, stock: TubeStock) -> None:
    tool = tools.add_bead_tool(
        key=uuid4(),
        values={
            "name": "Screw press, home-made",
            "tube_od_least_mm": 22.0,
            "tube_od_most_mm": 22.0,
            "shallowest_mm": 6.0,
            "deepest_mm": 25.0,
            "straight_mm": 35.0,
            "price": Decimal("11.00"),
            "note": "Turned from an old spindle.",
        },
    )
    names = ("stop_mm", "centre_mm", "height_mm", "width_mm", "eaten_mm")
    for number, figures in enumerate(BEADS):
        tools.add_bead_test(
            key=uuid4(),
            tool=tool,
            values={"stock": stock, **dict(zip(names, figures, strict=True))},
            by=demo.ade,
            now=demo.ago(days=55) + timedelta(minutes=15 * number),
        )
