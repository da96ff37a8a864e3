"""Several solids together: a laid-out batch and the corner of an engine bay."""

from __future__ import annotations

from collections.abc import Callable
from random import Random

from garage.demo import solids_body as body
from garage.demo import solids_chassis as chassis
from garage.demo import solids_electric as electric
from garage.demo import solids_engine as engine
from garage.demo import solids_fuel as fuel
from garage.demo.mesh import Mesh, bent, circle
from garage.demo.shapes import bolt, box, plate, rod, tube, turned


def batch() -> Mesh:
    """Nine small parts laid out in rows for the finisher."""
    makers: tuple[Callable[[], Mesh], ...] = (
        body.bracket,
        engine.pulley,
        body.l_bracket,
        body.tie_plate,
        chassis.lever,
        body.hub_flange,
        body.door_hinge,
        body.bumper_iron,
        engine.hose_clip,
    )
    sizes = (1.0, 0.9, 0.9, 1.0, 1.05, 0.8, 0.9, 1.1, 0.5)
    rng = Random("batch")
    mesh = Mesh()
    for k, (maker, size) in enumerate(zip(makers, sizes, strict=True)):
        at = (2.1 * (k % 3) + rng.uniform(-0.1, 0.1), 1.9 * (k // 3) + rng.uniform(-0.1, 0.1), 0.0)
        mesh.add(maker().standing(), at=at, turn=(0, 0, rng.uniform(-25, 25)), scale=size * 0.85)
    return mesh


def engine_bay() -> Mesh:
    """The corner of an engine bay: engine, radiator, hoses, battery, dynamo, inner wings."""
    mesh = Mesh()
    mesh.add(box(460, 220, 200, surface="main", step=50), at=(0, 0, 0))
    mesh.add(box(450, 190, 70, surface="alloy", step=50), at=(0, 0, 200))
    mesh.add(box(430, 140, 60, radius=30, surface="red", step=45), at=(0, 0, 270))
    for x in (-120.0, 120.0):
        mesh.add(bolt(14, 10, surface="steel"), at=(x, 0, 342), turn=(180, 0, 0))
    mesh.add(
        turned([(0, 0), (26, 0), (30, 4), (30, 20), (0, 22)], surface="black"), at=(180, 0, 328)
    )
    _plugs(mesh)
    _front_of_engine(mesh)
    _bay_sides(mesh)
    return mesh


def _plugs(mesh: Mesh) -> None:
    for k in range(4):
        x = -165.0 + 110 * k
        mesh.add(plate(circle(11, 6), 16, surface="steel"), at=(x, -100, 236), turn=(60, 0, 0))
        mesh.add(rod(8, 40, surface="cream"), at=(x, -112, 244), turn=(60, 0, 0))
        lead = bent(
            [
                (x, -140, 262),
                (x, -176, 292),
                (x * 0.5 - 60, -190, 250 - 8 * k),
                (-60 + 10 * k, -170, 120),
            ],
            50,
        )
        mesh.add(tube(lead, 6, segs=10, surface="rubber"))
    mesh.add(
        turned([(0, 0), (34, 0), (38, 6), (38, 60), (0, 60)], surface="alloy"), at=(-40, -160, 40)
    )
    mesh.add(turned([(40, 0), (40, 26), (28, 44), (0, 46)], surface="black"), at=(-40, -160, 100))
    mesh.add(electric.coil(), at=(120, -220, 120), turn=(0, -60, 0))
    mesh.add(box(70, 60, 90, surface="steel"), at=(60, -140, 40))


def _front_of_engine(mesh: Mesh) -> None:
    mesh.add(engine.water_pump(), at=(230, 0, 150), turn=(0, 90, 0), surface="alloy")
    mesh.add(engine.fan(), at=(330, 0, 150), turn=(0, 90, 0), scale=1.15, surface="cream")
    mesh.add(engine.thermostat_housing(), at=(190, 60, 262), turn=(0, 0, 10), surface="alloy")
    top = bent([(255, 80, 318), (330, 90, 345), (400, 60, 350), (452, 40, 350)], 50)
    mesh.add(tube(top, 25, segs=20, surface="rubber"))
    mesh.add(engine.radiator(), at=(480, 0, -20), turn=(0, 0, 90), surface="black")
    mesh.add(electric.dynamo(), at=(20, -190, 90), scale=0.9, surface="grease")
    belt = bent([(262, -190, 130), (262, -230, 80), (262, -60, 60), (262, 20, 100)], 40)
    mesh.add(tube(belt, 7, segs=8, surface="rubber", bore=0))
    mesh.add(engine.pulley(), at=(232, 0, 40), turn=(0, 90, 0), surface="main")


def _bay_sides(mesh: Mesh) -> None:
    mesh.add(fuel.carburettor(), at=(40, 190, 190), turn=(0, 0, 90), scale=1.1, surface="alloy")
    mesh.add(box(300, 60, 50, surface="alloy", step=45), at=(0, 130, 190))
    mesh.add(fuel.air_filter_can(), at=(40, 330, 200), turn=(0, 0, 200), scale=0.8, surface="black")
    mesh.add(box(900, 40, 260, surface="body", step=90), at=(60, 470, 0))
    mesh.add(box(900, 90, 24, surface="body", step=60), at=(60, 470, 255))
    mesh.add(box(900, 60, 90, surface="body", step=60), at=(60, -440, 0))
    mesh.add(box(900, 900, 10, surface="grease", step=110), at=(60, 20, -14))
    mesh.add(box(36, 900, 330, surface="body", step=90), at=(-380, 20, 0))
    mesh.add(box(190, 150, 170, radius=10, surface="black", step=45), at=(-230, -310, 60))
    for k in range(3):
        mesh.add(rod(14, 12, surface="cream"), at=(-290 + 60.0 * k, -310, 230))
    for x, name in ((-300.0, "red"), (-160.0, "black")):
        mesh.add(rod(11, 20, surface="steel"), at=(x, -265, 230))
        mesh.add(
            tube(
                bent(
                    [(x, -265, 246), (x - 10, -210, 290), (x - 40, -60, 240), (-350, 40, 200)], 60
                ),
                8,
                segs=10,
                surface=name,
            )
        )
    _bay_back(mesh)


def _bay_back(mesh: Mesh) -> None:
    mesh.add(rod(46, 110, segs=32, surface="cream"), at=(-290, 300, 150)).add(
        rod(30, 16, surface="black"), at=(-290, 300, 260)
    )
    mesh.add(
        turned([(0, 0), (90, 0), (96, 8), (96, 26), (40, 40), (30, 70), (0, 70)], surface="black"),
        at=(-362, 250, 210),
        turn=(0, 90, 0),
    )
    for k in range(3):
        line = bent(
            [
                (-360, 150 - 30 * k, 260 - 24 * k),
                (-200, 170 - 20 * k, 290 - 30 * k),
                (-120, 120 + 20 * k, 240),
            ],
            50,
        )
        mesh.add(tube(line, 7 + 2 * k, segs=10, surface=("copper", "rubber", "steel")[k]))
