"""Suspension, steering and drive parts. Sizes in millimetres, of no real car."""

from __future__ import annotations

import math

from garage.demo.mesh import Mesh, Vec2, bent, circle, helix, ring_of
from garage.demo.shapes import box, nut, plate, ring, rod, tube, turned


def coil_spring() -> Mesh:
    """A road spring lying down."""
    path = helix(52, 34, 6.5)
    return tube(path, 7.5, segs=14, bore=0, step=20).turned((0, 90, 0))


def leaf_spring() -> Mesh:
    """A five-leaf road spring, eyes at the ends, clips and centre bolt."""
    mesh = Mesh()
    for k, half in enumerate((430, 360, 280, 200, 120)):
        top: list[Vec2] = []
        n = 22
        for j in range(n + 1):
            x = -half + 2 * half * j / n
            top.append((x, 120 * (x / 430) ** 2 - 11 * k))
        low = [(x, z - 9.5) for x, z in reversed(top)]
        leaf = plate([*low[::-1], *top[::-1]], 58 - 0.01 * k, step=60, bevel=1.5)
        mesh.add(leaf, at=(0, 29, 0), turn=(90, 0, 0))
    for x in (-434.0, 434.0):
        mesh.add(ring(24, 14, 60, segs=30), at=(x, 30, 128), turn=(90, 0, 0))
        mesh.add(ring(14, 8, 62, segs=24, surface="rubber"), at=(x, 31, 128), turn=(90, 0, 0))
    for x in (-190.0, 190.0):
        mesh.add(box(26, 66, 44), at=(x, 0, -22 - 10 + 0.6 * abs(x) * 0.15))
    mesh.add(box(92, 70, 8, surface="steel"), at=(0, 0, 0)).add(
        rod(9, 70, surface="steel"), at=(0, 0, -62)
    )
    for x in (-34.0, 34.0):
        for y in (-36.0, 36.0):
            mesh.add(rod(6, 86, surface="steel", segs=12), at=(x, y, -72))
    return mesh


def damper() -> Mesh:
    """A telescopic damper with a ring at each end."""
    mesh = turned(
        [(0, 0), (24, 0), (27, 4), (27, 170), (24, 176), (0, 176)], segs=36, step=22
    ).turned((0, 90, 0))
    cover = turned([(0, 0), (31, 0), (31, 118), (28, 122), (0, 122)], segs=36, step=22)
    mesh.add(cover, at=(172, 0, 0), turn=(0, 90, 0), surface="main")
    mesh.add(rod(9, 40, surface="steel"), at=(120, 0, 0), turn=(0, 90, 0))
    for x in (-22.0, 316.0):
        mesh.add(ring(21, 12, 34, segs=30), at=(x, 17, 0), turn=(90, 0, 0))
        mesh.add(ring(13, 6, 40, segs=24, surface="rubber"), at=(x, 20, 0), turn=(90, 0, 0))
    return mesh.add(ring(28.5, 26, 4, segs=36), at=(150, 0, 0), turn=(0, 90, 0))


_PAN: list[Vec2] = [
    (-170, -84),
    (-60, -32),
    (-36, 0),
    (-60, 32),
    (-170, 84),
    (-180, 60),
    (-180, -60),
]


def wishbone() -> Mesh:
    """A tubular wishbone: two legs with bush eyes, spring pan and ball-joint boss."""
    mesh = Mesh()
    for s in (-1.0, 1.0):
        leg = bent([(0, 0, 20), (-120, 60 * s, 20), (-240, 118 * s, 20)], 50)
        mesh.add(tube(leg, 16, segs=18, bore=0))
        mesh.add(
            ring(25, 15, 62, segs=30),
            at=(-252, 124 * s + 31, 20),
            turn=(90, 0, 0),
        )
        mesh.add(
            ring(15, 7, 70, segs=24, surface="rubber"), at=(-252, 124 * s + 35, 20), turn=(90, 0, 0)
        )
    mesh.add(
        plate(
            _PAN,
            5,
            holes=[
                circle(20, 28, at=(-120, 0)),
                *(circle(5, 12, at=(p[0] - 120, p[1])) for p in ring_of(4, 36, start_deg=45)),
            ],
            step=24,
        ),
        at=(0, 0, 24),
    )
    _ball_joint(mesh)
    return mesh


def _ball_joint(mesh: Mesh) -> None:
    mesh.add(
        turned([(0, 0), (26, 0), (30, 4), (30, 24), (24, 30), (14, 38), (0, 40)], segs=36),
        at=(4, 0, 4),
    )
    mesh.add(
        turned([(0, 0), (12, 0), (9, 26), (7, 28), (7, 46), (0, 46)], segs=20, surface="steel"),
        at=(4, 0, 42),
    )


def drop_arm() -> Mesh:
    """A forged steering arm: splined big eye, tapered shank, small eye with ball pin."""
    mesh = ring(32, 17, 40, segs=40, bevel=3)
    for k in range(16):
        a = 2 * math.pi * k / 16
        mesh.add(
            box(4, 3, 38), at=(17 * math.cos(a), 17 * math.sin(a), 1), turn=(0, 0, math.degrees(a))
        )
    shank: list[Vec2] = [(24, -20), (90, -13), (160, -11), (160, 11), (90, 13), (24, 20)]
    mesh.add(plate(shank, 22, bevel=6, step=22), at=(0, 0, 6))
    mesh.add(ring(21, 9, 30, segs=32, bevel=3), at=(172, 0, 2))
    mesh.add(
        turned(
            [(0, 0), (14, 0), (18, 8), (14, 18), (9, 22), (8, 46), (0, 46)],
            segs=24,
            surface="steel",
        ),
        at=(172, 0, 8),
    )
    return mesh


def track_rod() -> Mesh:
    """A track rod with a ball joint, boot and lock nut at each end."""
    mesh = rod(9, 300, segs=20).turned((0, 90, 0))
    for x, s in ((0.0, -1.0), (300.0, 1.0)):
        mesh.add(plate(circle(13, 6), 12), at=(x + 4 * s, 0, 0), turn=(0, 90.0 * s, 0))
        mesh.add(rod(12, 44, segs=20), at=(x + 16 * s, 0, 0), turn=(0, 90.0 * s, 0))
        mesh.add(
            turned([(0, 0), (20, 0), (23, 4), (23, 24), (18, 28), (0, 28)], segs=30),
            at=(x + 70 * s, 0, -14),
        )
        boot = turned(
            [(20, 0), (21, 4), (16, 8), (17, 12), (10, 18), (0, 18)],
            segs=28,
            surface="rubber",
            bevel=0.6,
        )
        mesh.add(boot, at=(x + 70 * s, 0, 13))
        mesh.add(
            turned([(0, 0), (8, 0), (7, 16), (6, 17), (6, 32), (0, 32)], segs=18, surface="steel"),
            at=(x + 70 * s, 0, 30),
        )
        mesh.add(nut(12, surface="steel"), at=(x + 70 * s, 0, 48))
    return mesh


def prop_shaft() -> Mesh:
    """A propeller shaft: tube, two yokes with cross pieces, flange."""
    mesh = rod(32, 520, segs=36, bevel=1).turned((0, 90, 0))
    for x, s in ((0.0, -1.0), (520.0, 1.0)):
        mesh.add(
            turned([(32, 0), (34, 4), (24, 30), (0, 30)], segs=36),
            at=(x, 0, 0),
            turn=(0, 90 * s, 0),
        )
        for y in (-26.0, 26.0):
            ear = plate(
                [(0, -18), (40, -16), (56, -10), (60, 0), (56, 10), (40, 16), (0, 18)],
                12,
                holes=[circle(9, 18, at=(44, 0))],
            )
            mesh.add(ear, at=(x + 18 * s, y + 6, 0), turn=(90, 0, 0 if s > 0 else 180))
        mesh.add(rod(8, 80, surface="steel"), at=(x + 62 * s, -40, 0), turn=(-90, 0, 0))
        mesh.add(rod(8, 80, surface="steel"), at=(x + 62 * s, 0, -40))
        for z in (-32.0, 20.0):
            mesh.add(box(56, 28, 12), at=(x + 80 * s, 0, z))
        flange = plate(circle(52, 40), 10, holes=[circle(6, 12, at=p) for p in ring_of(4, 40)])
        mesh.add(flange, at=(x + 104 * s, 0, 0), turn=(0, 90 * s, 0))
    return mesh


def lever() -> Mesh:
    """A plain cast lever with a large and a small eye."""
    mesh = ring(27, 15, 34, segs=40, bevel=2.5).add(
        ring(18, 8, 28, segs=32, bevel=2), at=(150, 0, 3)
    )
    mesh.add(
        plate(
            [(20, -14), (80, -9), (136, -11), (136, 11), (80, 9), (20, 14)], 16, bevel=5, step=18
        ),
        at=(0, 0, 8),
    )
    return mesh.add(box(90, 4, 5), at=(80, 0, 22), lift=10)
