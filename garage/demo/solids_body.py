"""Brackets, body and interior parts. Sizes in millimetres, of no real car."""

from __future__ import annotations

import math

from garage.demo.mesh import Mesh, Vec2, Vec3, bent, circle, helix, ring_of, rounded, slot
from garage.demo.shapes import bolt, box, plate, ring, rod, tube, turned


def _fold(at: Vec3, length: float, thick: float, turn: Vec3) -> Mesh:
    return Mesh().add(rod(thick, length, segs=16, bevel=0.2), at=at, turn=turn)


def bracket() -> Mesh:
    """A Z-bracket: foot, riser with gusset, head with one big hole."""
    t = 5.0
    mesh = plate(
        rounded(90, 60, 8), t, holes=[circle(5.5, 16, at=(-28, 14)), circle(5.5, 16, at=(-28, -14))]
    )
    mesh.add(plate(rounded(60, 80, 4), t, holes=[slot(34, 14)]), at=(45, 0, 40), turn=(90, 0, 90))
    mesh.add(_fold((44, -29, t * 0.9), 58, t, (-90, 0, 0)))
    head: list[Vec2] = [(0, -30), (40, -30), (64, -18), (72, 0), (64, 18), (40, 30), (0, 30)]
    mesh.add(plate(head, t, holes=[circle(14, 26, at=(40, 0))]), at=(44, 0, 76))
    mesh.add(_fold((45, -29, 77), 58, t, (-90, 0, 0)))
    gusset: list[Vec2] = [(0, 0), (47, 0), (47, 46)]
    for y in (-26.0, 29.0):
        mesh.add(plate(gusset, 3.5), at=(0, y, t), turn=(90, 0, 0))
    return mesh


def l_bracket() -> Mesh:
    """A folded L with one slot and two holes in each leg."""
    t = 4.0
    base = plate(
        rounded(120, 70, 9),
        t,
        holes=[
            slot(46, 11, at=(-8, 0)),
            circle(4.5, 14, at=(-46, 20)),
            circle(4.5, 14, at=(-46, -20)),
        ],
    )
    wall = plate(
        rounded(70, 86, 9),
        t,
        holes=[
            slot(40, 11, at=(0, 8), turn_deg=90),
            circle(4.5, 14, at=(20, 30)),
            circle(4.5, 14, at=(-20, 30)),
        ],
    )
    mesh = base.add(wall, at=(58, 0, 42), turn=(90, 0, 90))
    mesh.add(_fold((58, -34, t), 68, t, (-90, 0, 0)))
    return mesh.add(plate([(0, 0), (30, 0), (30, 30)], 4), at=(28, 2, t), turn=(90, 0, 0))


_BOWL: list[Vec2] = [
    (30, 0),
    (34, 0),
    (62, 16),
    (82, 40),
    (90, 62),
    (101, 64),
    (101, 67),
    (88, 67),
    (79, 44),
    (59, 20),
    (30, 4),
    (30, 0),
]


def headlamp_bowl() -> Mesh:
    """A pressed headlamp bowl, open side up and leaning, with rim, tabs and bulb hole."""
    mesh = turned(_BOWL, segs=64, bevel=0, step=16)
    mesh.add(ring(36, 20, 4, segs=36))
    mesh.add(turned([(0, 0), (20, 0), (0, 1)], surface="void", bevel=0), at=(0, 0, 1))
    for k in range(3):
        a = 2.094 * k + 0.4
        mesh.add(
            box(20, 16, 3),
            at=(104 * math.cos(a), 104 * math.sin(a), 63),
            turn=(0, 0, math.degrees(a)),
        )
        mesh.add(rod(3, 16, surface="steel"), at=(92 * math.cos(a), 92 * math.sin(a), 62))
    _bulb_wires(mesh)
    return mesh.turned((0, -16, 0))


def _bulb_wires(mesh: Mesh) -> None:
    for k, name in enumerate(("red", "black", "blue")):
        y = 8.0 * k - 8
        ends: list[Vec3] = [(124, y * 3 - 30, 58), (150, y * 2 - 50, 20)]
        path = bent([(0, y, 6), (10, y, 40), (60, y * 2, 74), *ends], 30)
        mesh.add(tube(path, 2.6, segs=8, surface=name))


def door_hinge() -> Mesh:
    """A cast door hinge half open: two leaves, knuckles, pin."""
    mesh = Mesh()
    leaf = plate(
        rounded(74, 88, 8),
        7,
        holes=[circle(5, 14, at=(-6 + 24 * (k % 2), -26 + 26 * k)) for k in range(3)],
        bevel=2,
    )
    mesh.add(leaf, at=(-50, 0, 4)).add(leaf, at=(46, 0, 30), turn=(0, -38, 180))
    for k in range(4):
        mesh.add(ring(13, 6, 21, segs=30), at=(0, -44 + 22.0 * k, 8), turn=(-90, 0, 0))
    mesh.add(rod(6, 108, surface="steel"), at=(0, -54, 8), turn=(-90, 0, 0))
    return mesh.add(rod(10, 6, surface="steel"), at=(0, 52, 8), turn=(-90, 0, 0))


def window_regulator() -> Mesh:
    """A window winder: base plate, toothed sector, scissor arms, roller, spring."""
    mesh = plate(
        [(-60, -50), (50, -60), (70, 20), (20, 60), (-50, 50)],
        3,
        holes=[
            circle(5, 12, at=(-44, -36)),
            circle(5, 12, at=(40, -46)),
            circle(5, 12, at=(-36, 38)),
            circle(14, 20, at=(8, -16)),
        ],
    )
    mesh.add(
        plate(_toothed_sector(), 3.5, holes=[circle(6, 14), slot(26, 14, at=(50, 0), turn_deg=90)]),
        at=(-10, 10, 6),
        turn=(0, 0, 20),
    )
    arm = plate(
        rounded(300, 26, 12),
        4,
        holes=[circle(5, 12, at=(-60, 0)), circle(5, 12, at=(20, 0))],
        step=30,
    )
    mesh.add(arm, at=(120, 90, 11), turn=(0, 0, 36))
    mesh.add(arm, at=(130, 60, 17), turn=(0, 0, -28))
    _rollers(mesh)
    mesh.add(rod(9, 24, surface="steel"), at=(8, -16, 0)).add(
        rod(6, 16, surface="steel"), at=(-10, 10, 4)
    )
    return mesh.add(tube(_flat_coil(), 2.2, segs=8, surface="steel"), at=(-10, 10, 0))


def _rollers(mesh: Mesh) -> None:
    for x, y in ((246.0, 182.0), (262.0, -8.0)):
        mesh.add(
            turned(
                [(0, 0), (15, 0), (15, 4), (10, 8), (15, 12), (15, 16), (0, 16)],
                segs=24,
                surface="black",
            ),
            at=(x, y, 14),
        )


def _toothed_sector() -> list[Vec2]:
    out: list[Vec2] = [(0, -16)]
    for k in range(25):
        a, r = -0.62 + 0.052 * k, 92 - 6 * (k % 2)
        out.append((r * math.cos(a), r * math.sin(a)))
    return [*out, (0, 16), (-16, 0)]


def _flat_coil() -> list[Vec3]:
    turns = enumerate(helix(30, 1, 3.5))
    return [(x * (0.35 + 0.0065 * k), y * (0.35 + 0.0065 * k), 14.0) for k, (x, y, _) in turns]


def bumper_iron() -> Mesh:
    """A long flat bumper iron with a joggle and slotted ends."""
    t = 8.0
    mesh = plate(
        rounded(230, 44, 8), t, holes=[slot(40, 13, at=(-80, 0)), circle(7, 16, at=(-20, 0))]
    )
    mesh.add(plate(rounded(76, 44, 3), t), at=(139, 0, 22), turn=(0, -38, 0))
    mesh.add(
        plate(rounded(150, 44, 8), t, holes=[circle(7, 16, at=(10, 0)), circle(7, 16, at=(50, 0))]),
        at=(238, 0, 46),
    )
    return mesh.add(box(40, 6, 26), at=(212, 0, 52))


def seat_runner() -> Mesh:
    """A seat runner: channel rail, sliding rail, latch lever, notches."""
    mesh = plate(
        rounded(380, 46, 4), 3, holes=[circle(5, 12, at=(-165, 0)), circle(5, 12, at=(165, 0))]
    )
    for y in (-21.0, 21.0):
        mesh.add(box(380, 4, 22), at=(0, y, 0))
        mesh.add(box(380, 12, 3), at=(0, y * 0.78, 20))
    mesh.add(box(300, 20, 22, surface="steel", step=30), at=(70, 0, 5))
    for k in range(11):
        mesh.add(box(9, 3, 9, surface="void"), at=(-150 + 26.0 * k, -23.6, 8), lift=12)
    mesh.add(
        plate(
            rounded(280, 34, 6),
            4,
            holes=[circle(5, 12, at=(-100, 0)), circle(5, 12, at=(100, 0))],
            step=30,
        ),
        at=(70, 0, 27),
    )
    for x in (-20.0, 150.0):
        mesh.add(bolt(8, 22, surface="steel"), at=(x, 0, 31))
    return mesh.add(
        tube(
            bent([(40, -24, 12), (40, -60, 14), (120, -92, 20), (160, -92, 30)], 24),
            5,
            segs=12,
            surface="main",
        )
    )


def battery_tray() -> Mesh:
    """A pressed battery tray: floor with swages and drain holes, turned-up walls, clamp ears."""
    holes = [circle(7, 14, at=(x, y)) for x in (-80, 80) for y in (-44, 44)] + [circle(12, 18)]
    mesh = plate(rounded(260, 180, 16), 3, holes=holes, step=24)
    for y in (-89.0, 89.0):
        mesh.add(box(256, 3, 38, step=26), at=(0, y, 0))
    for x in (-129.0, 129.0):
        mesh.add(box(3, 176, 38, step=26), at=(x, 0, 0))
    for x in (-50.0, 50.0):
        mesh.add(box(14, 120, 5, radius=6, step=24), at=(x, 0, 2), lift=12)
    ear = plate([(-18, 0), (18, 0), (12, 34), (-12, 34)], 4, holes=[circle(5, 12, at=(0, 22))])
    return mesh.add(ear, at=(0, 92, 34), turn=(20, 0, 0)).add(
        ear, at=(0, -90, 34), turn=(20, 0, 180)
    )


def tie_plate() -> Mesh:
    """A round-ended tie plate with a boss, used to fill out a batch."""
    mesh = plate(
        slot(150, 46),
        6,
        holes=[circle(8, 18, at=(52, 0)), circle(8, 18, at=(-52, 0)), circle(5, 12)],
    )
    for x in (52.0, -52.0):
        mesh.add(ring(14, 8, 8, segs=26), at=(x, 0, 5), lift=8)
    return mesh


def hub_flange() -> Mesh:
    """A drive flange with four studs."""
    mesh = plate(circle(54, 44), 10, holes=[circle(22, 26)]).add(
        ring(30, 22, 30, segs=36), at=(0, 0, 8), lift=5
    )
    for x, y in ring_of(4, 42, start_deg=45):
        mesh.add(rod(5.5, 26, segs=14, surface="steel"), at=(x, y, 8))
    return mesh
