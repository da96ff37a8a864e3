"""Fuel, air and exhaust parts, and fixings. Sizes in millimetres, of no real car."""

from __future__ import annotations

import math
from random import Random

from garage.demo.mesh import Mesh, Vec2, bent, circle, ring_of, rounded
from garage.demo.shapes import bolt, box, nut, plate, ring, rod, tube, turned


def fuel_tank() -> Mesh:
    """A welded tank: two pressed halves with a seam, swages, sender ring, filler and pipe."""
    mesh = Mesh()
    mesh.add(plate(rounded(560, 360, 60, n=8), 90, bevel=26, step=60), at=(0, 0, 92))
    mesh.add(plate(rounded(560, 360, 60, n=8), 80, bevel=0.5, step=60), at=(0, 0, 10))
    mesh.add(plate(rounded(592, 392, 70, n=8), 6, bevel=2, step=60), at=(0, 0, 88))
    for x in (-170.0, 0.0, 170.0):
        mesh.add(box(38, 260, 10, radius=18, step=50), at=(x, 0, 177), lift=24)
    mesh.add(
        plate(
            circle(48, 36), 7, holes=[circle(4, 8, at=p) for p in ring_of(6, 40)], surface="steel"
        ),
        at=(85, 60, 182),
        lift=40,
    )
    mesh.add(rod(9, 14, surface="brass"), at=(85, 60, 188), lift=44)
    mesh.add(
        tube(
            bent([(-200, 100, 150), (-250, 190, 230), (-250, 260, 300)], 60), 30, segs=26, bore=0.86
        )
    )
    return mesh.add(
        tube(
            bent([(85, -80, 180), (85, -80, 215), (180, -230, 200)], 24),
            8,
            segs=12,
            surface="copper",
        )
    )


def fuel_pump() -> Mesh:
    """A camshaft-driven pump: flange and rocker, clamped body, glass bowl."""
    mesh = plate(
        [*rounded(70, 36, 14)], 8, holes=[circle(5, 14, at=(25, 0)), circle(5, 14, at=(-25, 0))]
    ).turned((90, 0, 0))
    mesh.add(box(40, 36, 34, radius=8), at=(0, 18, -18))
    mesh.add(turned([(0, 0), (30, 0), (38, 12), (38, 18), (0, 18)], segs=36), at=(0, 44, 8))
    mesh.add(turned([(0, 0), (38, 0), (38, 6), (28, 22), (0, 22)], segs=36), at=(0, 44, 27))
    for x, y in ring_of(6, 34):
        mesh.add(bolt(5, 8, surface="steel"), at=(x, 44 + y, 37), turn=(180, 0, 0))
    mesh.add(
        turned([(0, 0), (22, 0), (23, 18), (17, 27), (0, 30)], segs=36, surface="glass", bevel=1),
        at=(0, 44, 49),
    )
    mesh.add(
        tube(
            [(-27, 44, 40), (-30, 44, 78), (0, 44, 88), (30, 44, 78), (27, 44, 40)],
            2,
            segs=8,
            surface="steel",
        )
    )
    arm = tube(
        bent([(0, 6, -4), (0, -34, -8), (0, -60, 4)], 14), 6, segs=12, surface="steel", bore=0
    )
    mesh.add(arm)
    mesh.add(tube([(30, 44, 38), (62, 50, 38)], 7, segs=16, surface="brass"))
    return mesh.add(tube([(-30, 44, 38), (-62, 50, 38)], 7, segs=16, surface="brass"))


def carburettor() -> Mesh:
    """A side-draught carburettor: throat with flanges, suction dome, float bowl, lever."""
    mesh = Mesh()
    throat = [(24.0, 0.0), (33, 0), (33, 90), (24, 90), (24, 0)]
    mesh.add(turned(throat, segs=40), at=(-45, 0, 40), turn=(0, 90, 0))
    mesh.add(
        turned([(0, 0), (24, 0), (0, 0.5)], surface="void", bevel=0),
        at=(40, 0, 40),
        turn=(0, 90, 0),
    )
    flange = plate(
        rounded(60, 96, 16),
        9,
        holes=[circle(24, 30)] + [circle(5, 12, at=(0, y)) for y in (-39, 39)],
    )
    for x in (-50.0, 41.0):
        mesh.add(flange, at=(x, 0, 40), turn=(0, 90, 0))
    mesh.add(box(62, 60, 34, radius=12), at=(0, 0, 60))
    _dome_and_bowl(mesh)
    return mesh


def _dome_and_bowl(mesh: Mesh) -> None:
    dome = turned(
        [(0, 0), (40, 0), (41, 5), (40, 9), (36, 18), (24, 34), (15, 44), (14, 76), (0, 76)],
        segs=44,
        bevel=1,
    )
    mesh.add(dome, at=(0, 0, 92))
    mesh.add(plate(circle(12, 6), 12, surface="black"), at=(0, 0, 167))
    mesh.add(
        turned(
            [(0, 0), (24, 0), (31, 5), (31, 58), (34, 60), (34, 66), (10, 72), (0, 72)], segs=36
        ),
        at=(2, -66, 4),
    )
    mesh.add(box(24, 40, 14), at=(0, -40, 14))
    mesh.add(tube([(2, -66, 76), (2, -84, 80), (6, -112, 80)], 6, segs=14, surface="brass"))
    mesh.add(
        turned([(0, 0), (15, 0), (15, 18), (11, 20), (11, 34), (0, 34)], segs=24, surface="brass"),
        at=(0, 0, -6),
    )
    mesh.add(rod(5, 120, surface="steel"), at=(-20, -44, 40), turn=(-90, 0, 0))
    arm = plate([*rounded(16, 64, 8)], 4, holes=[circle(4, 12, at=(0, 22))], surface="steel")
    mesh.add(arm, at=(-20, 62, 54), turn=(90, 20, 0))
    mesh.add(tube([(-28, 56, 76), (4, 54, 50), (26, 56, 46)], 2.4, segs=8, surface="steel"))


def exhaust_manifold() -> Mesh:
    """A cast manifold: four flanged ports sweeping into one outlet."""
    mesh = Mesh()
    for k, x in enumerate((-165.0, -55.0, 55.0, 165.0)):
        lug = [*rounded(78, 62, 16)]
        flange = plate(
            lug,
            13,
            holes=[circle(17, 24), circle(5, 12, at=(30, -22)), circle(5, 12, at=(-30, 22))],
        )
        mesh.add(flange, at=(x, 0, 34), turn=(90, 0, 0))
        reach = 70 + 6 * (k % 2)
        path = bent(
            [(x, -6, 34), (x, -reach, 38), (x * 0.35, -reach - 22, 42), (0, -reach - 18, 44)], 40, 8
        )
        mesh.add(tube(path, 23, segs=22, bore=0.72))
    mesh.add(tube(bent([(0, -80, 46), (0, -120, 40), (0, -150, 4)], 30), 31, segs=26))
    end = plate(
        _three_lobes(), 12, holes=[circle(5.5, 12, at=p) for p in ring_of(3, 46, start_deg=90)]
    )
    return mesh.add(end, at=(0, -152, 0), turn=(22, 0, 0)).turned((90, 0, 0))


def _three_lobes() -> list[Vec2]:
    out: list[Vec2] = []
    for k in range(60):
        a = 2 * math.pi * k / 60
        r = 40 + 18 * max(0.0, math.cos(3 * (a - math.pi / 2))) ** 2
        out.append((r * math.cos(a), r * math.sin(a)))
    return out


_CAN: list[Vec2] = [
    (0, 0),
    (128, 0),
    (132, 4),
    (132, 58),
    (136, 60),
    (136, 66),
    (118, 74),
    (108, 74),
    (98, 68),
    (0, 70),
]


def air_filter_can() -> Mesh:
    """A round pressed air filter can with snout, lid and wing nut."""
    can = turned(
        _CAN,
        segs=64,
        bevel=1.2,
        step=34,
    )
    mesh = Mesh().add(can)
    mesh.add(tube(bent([(60, 100, 30), (90, 160, 30), (170, 250, 30)], 60), 27, segs=26, bore=0.9))
    mesh.add(rod(5, 20, surface="steel"), at=(0, 0, 68))
    for s in (-1, 1):
        mesh.add(
            plate([(0, -5), (22, -8), (26, 0), (22, 12), (0, 5)], 4, surface="steel"),
            at=(0, 2 * s, 80),
            turn=(90, 0, 90.0 + 90 * s),
        )
    for k in range(3):
        a = 2.09 * k + 0.8
        mesh.add(
            box(5, 20, 44, surface="steel"),
            at=(134 * math.cos(a), 134 * math.sin(a), 26),
            turn=(0, 0, math.degrees(a)),
        )
    return mesh


def bolts_laid_out() -> Mesh:
    """Bolts in a row by length, with their nuts and washers before them."""
    mesh = Mesh()
    rng = Random("bolts")
    for k in range(6):
        x, dia = k * 26.0, 8 + 0.4 * (k % 3)
        mesh.add(
            bolt(dia, 34 + 9 * k),
            at=(x, 0, dia * 0.92),
            turn=(-90, rng.uniform(-4, 4), rng.uniform(-5, 5)),
        )
        mesh.add(
            nut(dia),
            at=(x + rng.uniform(-3, 3), -26 + rng.uniform(-2, 2), 0),
            turn=(0, 0, rng.uniform(0, 60)),
        )
        mesh.add(
            ring(dia * 1.1, dia * 0.55, 1.6, segs=28),
            at=(x + rng.uniform(-3, 3), -48 + rng.uniform(-2, 2), 0),
        )
    return mesh


def washers() -> Mesh:
    """A scatter of plain, spring and penny washers, some on others."""
    mesh = Mesh()
    rng = Random("washers")
    for k in range(22):
        r = rng.choice((8.0, 11.0, 11.0, 15.0, 20.0))
        a, d = rng.uniform(0, 6.28), 66 * math.sqrt(rng.random())
        lift = 2.0 * (k % 4)
        mesh.add(
            ring(r, r * 0.48, 2.0, segs=32, bevel=0.3),
            at=(d * math.cos(a), d * math.sin(a), lift),
            turn=(rng.uniform(-9, 9) if lift else 0, rng.uniform(-6, 6) if lift else 0, 0),
        )
    return mesh


def tin_of_fasteners() -> Mesh:
    """A shallow round tin full of bolts and nuts."""
    mesh = Mesh().add(
        turned(
            [(0, 0), (66, 0), (66, 34), (63, 34), (63, 3), (0, 3)],
            segs=56,
            surface="blue",
            bevel=0.8,
            step=18,
        )
    )
    rng = Random("tin")
    mesh.add(turned([(0, 0), (62, 0), (0, 6)], surface="grease", bevel=0, segs=30), at=(0, 0, 12))
    for k in range(34):
        a, d = rng.uniform(0, 6.28), 44 * math.sqrt(rng.random())
        at = (d * math.cos(a), d * math.sin(a), 14 + 0.45 * k)
        tilt = (rng.uniform(60, 110), rng.uniform(-30, 30), rng.uniform(0, 360))
        small = bolt(6, rng.choice((16, 22, 28))) if k % 3 else nut(8)
        mesh.add(
            small,
            at=at,
            turn=tilt if k % 3 else (rng.uniform(-25, 25), 0, 0),
            surface=rng.choice(("main", "main", "steel", "brass")),
        )
    lid = turned(
        [(0, 0), (68, 0), (68, 10), (65, 10), (65, 2), (0, 2)], segs=56, surface="blue", bevel=0.6
    )
    return mesh.add(lid, at=(112, 46, 8), turn=(0, 8, 0))
