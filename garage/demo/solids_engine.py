"""Parts from the engine, its cooling and gearbox. Sizes in millimetres, of no real car."""

from __future__ import annotations

import math

from garage.demo.mesh import Mesh, Vec2, bent, circle, ring_of, rounded, slot
from garage.demo.shapes import box, plate, ring, rod, tube, turned


def pulley() -> Mesh:
    """A pressed V-belt pulley with a hub and four lightening holes."""
    rim = turned(
        [
            (44, 0),
            (62, 0),
            (64, 3),
            (53, 13),
            (53, 16),
            (64, 26),
            (62, 29),
            (48, 29),
            (46, 16),
            (44, 8),
            (44, 0),
        ],
        segs=64,
        bevel=0.8,
    )
    web = plate(
        circle(47, 48),
        5,
        holes=[circle(8, 20, at=p) for p in ring_of(4, 31, start_deg=30)] + [circle(9, 20)],
    )
    hub = ring(18, 9, 26, segs=36, surface="main")
    mesh = Mesh().add(rim).add(web, at=(0, 0, 10)).add(hub, at=(0, 0, 6))
    return mesh.add(box(5, 6, 6), at=(9, 0, 24))


def thermostat_housing() -> Mesh:
    """A cast elbow: two-bolt flange, dome, beaded hose neck."""
    flange: list[Vec2] = []
    for k in range(48):
        a = 2 * math.pi * k / 48
        r = 36 + 20 * abs(math.cos(a)) ** 5
        flange.append((r * math.cos(a), r * math.sin(a) * 0.92))
    base = plate(
        flange, 11, holes=[circle(5.5, 16, at=(46, 0)), circle(5.5, 16, at=(-46, 0))], bevel=1.5
    )
    dome = turned([(33, 0), (33, 12), (31, 24), (25, 36), (14, 43), (0, 45)], segs=40, bevel=0)
    neck = bent([(0, 0, 26), (22, 6, 44), (70, 20, 60)], 20)
    mesh = base.add(dome, at=(0, 0, 10)).add(tube(neck, 17.5, segs=24, bore=0.8))
    mesh.add(
        tube(
            [(62.0, 17.7, 57.5), (64.25, 18.4, 58.2), (66.5, 19.0, 58.8)],
            [17.5, 20.5, 17.5],
            segs=24,
            bore=0,
        )
    )
    for x in (46.0, -46.0):
        mesh.add(ring(9, 5.5, 2.5, segs=24), at=(x, 0, 10))
    mesh.add(rod(7, 10), at=(-16, -14, 42), turn=(25, -20, 0))
    return mesh.add(plate(circle(7, 6), 7, surface="brass"), at=(-19, -18, 51), turn=(25, -20, 0))


def coolant_pipe() -> Mesh:
    """A steel pipe with three bends, a bead at each end and a welded ear."""
    path = bent(
        [(-190, 0, 14), (-80, 0, 14), (-20, 60, 14), (90, 60, 20), (120, 60, 80), (185, 20, 96)],
        42,
        9,
    )
    mesh = tube(path, 14, segs=22, bore=0.84, step=14)
    for x in (-176.0, -170.0):
        mesh.add(
            tube([(x - 3, 0, 14), (x, 0, 14), (x + 3, 0, 14)], [14, 16.6, 14], segs=22, bore=0)
        )
    ear = plate(
        [(0, -10), (30, -10), (40, -4), (40, 4), (30, 10), (0, 10)],
        3,
        holes=[circle(4.5, 14, at=(30, 0))],
    )
    mesh.add(ear, at=(20, 72, 14), turn=(0, 0, 90))
    return mesh.add(tube([(-120, 12, 14), (-120, 34, 14), (-132, 44, 14)], 5, segs=12))


def hose() -> Mesh:
    """A moulded rubber hose with a clip on each end."""
    path = bent(
        [(-130, -30, 27), (-40, -30, 27), (20, 50, 30), (60, 60, 95), (130, 30, 110)], 52, 9
    )
    mesh = tube(path, 25, segs=26, surface="rubber", bore=0.78, step=14)
    for x in (-112.0, -120.0):
        mesh.add(ring(26.8, 24, 5, segs=32, surface="main"), at=(x, -30, 27), turn=(0, 90, 0))
    mesh.add(box(14, 12, 8, surface="main"), at=(-112, -30, 53))
    return mesh.add(rod(4, 22, surface="main"), at=(-112, -42, 57), turn=(-90, 0, 0))


def hose_clip() -> Mesh:
    """A worm-drive clip standing on its band."""
    band = ring(30, 28.6, 12, segs=64, bevel=0.3)
    mesh = Mesh().add(band)
    for k in range(-5, 11):
        mesh.add(
            box(0.8, 1.1, 8, step=10),
            at=(30.2 * math.cos(k * 0.1 + 0.6), 30.2 * math.sin(k * 0.1 + 0.6), 2),
            turn=(0, 0, 57.3 * (k * 0.1 + 0.6)),
        )
    mesh.add(box(9, 16, 15), at=(33, 0, -1.5))
    mesh.add(plate(circle(5, 6), 9), at=(34, 8, 6), turn=(-90, 0, 0))
    mesh.add(box(1, 9, 1.4, surface="void"), at=(34, 17.2, 5.5), turn=(90, 0, 90))
    return mesh.add(rod(4, 22), at=(34, -12, 6), turn=(-90, 0, 0))


def radiator() -> Mesh:
    """A brass-tank radiator standing up: core, side irons, filler, hose stubs."""
    mesh = Mesh()
    for k in range(26):
        mesh.add(box(11.4, 38, 280, surface="fins", step=24), at=(-187.5 + k * 15, 0, 60))
        mesh.add(box(3.6, 46, 280, surface="main", step=24), at=(-195 + k * 15, 0, 60))
    mesh.add(box(430, 62, 62, radius=16, step=50), at=(0, 0, 338))
    mesh.add(box(430, 62, 56, radius=16, step=50), at=(0, 0, 4))
    for x in (-214.0, 214.0):
        mesh.add(box(12, 66, 300, step=60), at=(x, 0, 48))
        mesh.add(
            plate(rounded(34, 60, 8), 4, holes=[slot(18, 9, turn_deg=90)]),
            at=(x * 1.05, 0, 190),
            turn=(90, 0, 0),
        )
    mesh.add(ring(27, 20, 18, surface="main"), at=(-60, 0, 398))
    mesh.add(
        turned([(0, 0), (30, 0), (30, 8), (12, 12), (0, 12)], surface="steel"), at=(-60, 0, 414)
    )
    mesh.add(tube([(120, 0, 380), (120, -70, 384)], 22, segs=24))
    return mesh.add(tube([(-140, 0, 30), (-140, -72, 30)], 22, segs=24))


def water_pump() -> Mesh:
    """A cast pump: scalloped flange, bearing snout, hub flange, inlet stub."""
    holes = [circle(4.5, 12, at=p) for p in ring_of(5, 57)]
    mesh = plate(_scalloped(), 12, holes=holes, bevel=1.5)
    mesh.add(
        turned([(46, 0), (46, 10), (36, 24), (24, 32), (22, 62), (0, 62)], segs=40),
        at=(0, 0, 11),
        lift=6,
    )
    mesh.add(rod(8, 26, surface="steel"), at=(0, 0, 66))
    mesh.add(
        plate(
            circle(36, 40), 7, holes=[circle(4, 12, at=p) for p in ring_of(4, 25)], surface="steel"
        ),
        at=(0, 0, 82),
    )
    mesh.add(rod(12, 12, surface="steel"), at=(0, 0, 86))
    mesh.add(tube(bent([(0, 20, 26), (0, 60, 30), (20, 104, 34)], 20), 19, segs=24, bore=0.8))
    mesh.add(
        tube([(17, 97, 33.4), (18.5, 100, 33.7), (20, 104, 34)], [19, 22, 19], segs=24, bore=0.7)
    )
    for k in range(3):
        mesh.add(
            box(26, 6, 16),
            at=(34 * math.cos(k * 2.1 + 3), 34 * math.sin(k * 2.1 + 3), 12),
            turn=(0, 20, math.degrees(k * 2.1 + 3)),
            lift=9,
        )
    return mesh


def _scalloped() -> list[Vec2]:
    outline: list[Vec2] = []
    for k in range(72):
        a = 2 * math.pi * k / 72
        r = 56 + 11 * max(0.0, math.cos(5 * a)) ** 3
        outline.append((r * math.cos(a), r * math.sin(a)))
    return outline


_BLADE: list[Vec2] = [
    (-26.0, 0.0),
    (26, 0),
    (36, 50),
    (40, 100),
    (30, 128),
    (-34, 128),
    (-40, 100),
    (-30, 50),
]


def fan() -> Mesh:
    """A four-bladed pressed fan on a cross-shaped hub."""
    mesh = plate(
        circle(44, 40),
        4,
        holes=[circle(5, 14, at=p) for p in ring_of(4, 28, start_deg=45)] + [circle(12, 20)],
    )
    for k in range(4):
        one = plate(_BLADE, 3, step=20).turned((0, 24, 0))
        mesh.add(
            one.turned((-3, 0, 0)),
            at=(-46 * math.sin(k * 1.571), 46 * math.cos(k * 1.571), 4),
            turn=(0, 0, 90.0 * k),
        )
        arm = box(34, 52, 5)
        mesh.add(
            arm,
            lift=4,
            at=(-42 * math.sin(k * 1.571), 42 * math.cos(k * 1.571), 1),
            turn=(0, 6, 90.0 * k),
        )
        for d in (-9.0, 9.0):
            a = k * 1.571
            mesh.add(
                rod(5, 5, segs=12),
                lift=16,
                at=(-52 * math.sin(a) + d * math.cos(a), 52 * math.cos(a) + d * math.sin(a), 4),
            )
    return mesh


def gearbox_cover() -> Mesh:
    """A flat cast cover with a row of holes, two ribs and a selector boss."""
    outline = rounded(220, 150, 30)
    spots: list[Vec2] = [(x, y) for x in (-98.0, -33.0, 33.0, 98.0) for y in (-63.0, 63.0)] + [
        (-98, 0),
        (98, 0),
    ]
    mesh = plate(outline, 8, holes=[circle(5, 14, at=p) for p in spots], bevel=1.6)
    mesh.add(plate(rounded(170, 100, 20), 14, bevel=5), at=(0, 0, 6), lift=14)
    for y in (-26.0, 26.0):
        mesh.add(box(150, 7, 8), at=(0, y, 18), lift=28)
    mesh.add(ring(26, 15, 18, segs=36), at=(30, 0, 18), lift=28)
    mesh.add(turned([(0, 0), (15, 0), (0, 0.5)], surface="void", bevel=0), at=(30, 0, 26), lift=31)
    return mesh.add(plate(circle(13, 6), 9, surface="brass"), at=(-48, 0, 20), lift=28)
