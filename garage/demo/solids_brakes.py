"""Brake parts. Sizes in millimetres, of no real car."""

from __future__ import annotations

import math

from garage.demo.mesh import Mesh, Vec2, Vec3, bent, circle, ring_of, rounded, slot
from garage.demo.shapes import bolt, box, plate, ring, rod, tube, turned


def drum() -> Mesh:
    """A brake drum, open side up: ribbed rim, face with stud holes."""
    rim = [
        (104.0, 0.0),
        (112, 0),
        (112, 30),
        (117, 34),
        (117, 40),
        (112, 44),
        (112, 58),
        (116, 60),
        (116, 66),
        (103, 66),
        (100, 60),
        (100, 10),
        (104, 0),
    ]
    mesh = turned(rim, segs=72, bevel=1.2, step=26)
    holes = [circle(8, 16, at=p) for p in ring_of(4, 52)] + [circle(30, 36)]
    return mesh.add(plate(circle(105, 60), 9, holes=holes), at=(0, 0, 0)).add(
        ring(44, 30, 16, segs=40), at=(0, 0, 6)
    )


def drum_face() -> Mesh:
    """A brake drum face up."""
    body = turned(
        [
            (40, 0),
            (112, 0),
            (116, 4),
            (116, 12),
            (111, 16),
            (111, 54),
            (104, 62),
            (78, 62),
            (70, 70),
            (38, 70),
            (38, 60),
            (40, 0),
        ],
        segs=72,
        bevel=1.6,
        step=24,
    )
    for x, y in ring_of(4, 56):
        body.add(rod(8, 2, surface="void"), at=(x, y, 69))
        body.add(ring(9.5, 8, 1.2, segs=20), at=(x, y, 69.6))
    return body


def brake_disc() -> Mesh:
    """A plain brake disc with its bell up."""
    disc = turned(
        [(62, 0), (118, 0), (118, 11), (66, 11), (64, 38), (60, 42), (58, 42), (58, 30), (62, 0)],
        segs=72,
        surface="steel",
        bevel=1,
        step=22,
    )
    holes = [circle(7, 16, at=p) for p in ring_of(4, 42)] + [circle(27, 32)]
    disc.add(ring(67, 57, 32, segs=56, surface="main"), at=(0, 0, 11.2))
    return disc.add(plate(circle(62, 48), 7, holes=holes, surface="main"), at=(0, 0, 37))


def backing_plate() -> Mesh:
    """A pressed brake backing plate: dished rim, hub hole, slots and cylinder hole."""
    holes = [
        circle(34, 36),
        slot(44, 20, at=(0, 72)),
        *(circle(5, 14, at=p) for p in ring_of(4, 50, start_deg=45)),
        slot(20, 10, at=(-78, -20), turn_deg=70),
        circle(9, 18, at=(70, -40)),
    ]
    mesh = plate(circle(112, 72), 3, holes=holes, step=18)
    mesh.add(
        turned(
            [(106, -1), (114, -1), (122, 9), (122, 13), (119, 13), (112, 4), (106, 4), (106, -1)],
            segs=72,
            bevel=0.4,
        )
    )
    mesh.add(ring(62, 58, 5, segs=48), lift=8)
    for a in (0.2, 2.9, 3.6, 5.9):
        mesh.add(
            box(26, 12, 5, radius=4),
            at=(88 * math.cos(a), 88 * math.sin(a), 2),
            turn=(0, 0, math.degrees(a)),
            lift=8,
        )
    mesh.add(rod(6, 22, surface="steel"), at=(0, -84, 2))
    return mesh.add(box(46, 22, 14, surface="steel"), at=(0, -84, 2))


_ARCH: list[Vec2] = [
    (-86, -6),
    (-80, 34),
    (-52, 62),
    (0, 72),
    (52, 62),
    (80, 34),
    (86, -6),
    (58, -14),
]


def _caliper_arch() -> list[Vec2]:
    angles = [math.radians(a) for a in range(50, 131, 16)]
    throat = [(46 * math.cos(a), -44 + 44 * math.sin(a)) for a in angles]
    return [*_ARCH, *throat, (-58, -14)]


def brake_caliper() -> Mesh:
    """A two-piston fixed caliper on its lugs: halves bolted over the gap, pads, pins."""
    half = plate(_caliper_arch()[::-1], 36, bevel=5, step=15)
    mesh = Mesh()
    for z in (0.0, 56.0):
        mesh.add(half, at=(0, 0, z))
    mesh.add(plate(circle(40, 44), 16, bevel=4), at=(0, 26, 90), lift=8)
    mesh.add(ring(32, 25, 5, segs=40), at=(0, 26, 105), lift=12)
    for s in (-1.0, 1.0):
        mesh.add(box(36, 44, 22, step=14), at=(62 * s, 22, 35))
        for y in (4.0, 40.0):
            mesh.add(bolt(11, 10, surface="steel"), at=(64 * s, y, 100), turn=(180, 0, 0), lift=10)
        mesh.add(rod(4, 120, surface="steel"), at=(20 * s, 52, -14))
        mesh.add(
            plate(slot(52, 34), 15, holes=[circle(8, 18, at=(10, 0))]),
            at=(88 * s, -14, 0),
            turn=(0, 0, -90),
        )
    for z, name in ((37.0, "black"), (43.0, "steel"), (49.0, "black")):
        mesh.add(plate(rounded(72, 56, 6), 5, surface=name, step=14), at=(0, 46, z))
    mesh.add(plate(circle(8, 6), 9, surface="brass"), at=(-46, 36, 91), lift=8)
    mesh.add(rod(4, 22, surface="brass"), at=(-46, 36, 91), lift=8)
    pipe = bent([(46, 20, 90), (46, 20, 112), (100, -10, 112), (130, -10, 90)], 14)
    mesh.add(tube(pipe, 4.5, segs=12, surface="copper"))
    return mesh.turned((90, 0, 0))


def wheel_cylinder() -> Mesh:
    """A small hydraulic cylinder with rubber boots and a bleed screw."""
    mesh = turned(
        [(0, 0), (17, 0), (18, 4), (14, 7), (14, 49), (18, 52), (17, 56), (0, 56)], segs=36
    ).turned((0, 90, 0))
    for x, flip in ((56.0, 1), (0.0, -1)):
        boot = turned(
            [(0, 0), (16, 0), (17, 3), (13, 6), (14, 9), (8, 13), (0, 13)],
            segs=30,
            surface="rubber",
            bevel=0.6,
        )
        mesh.add(boot, at=(x, 0, 0), turn=(0, 90.0 * flip, 0))
        mesh.add(rod(5, 12, surface="steel"), at=(x + 10 * flip, 0, 0), turn=(0, 90.0 * flip, 0))
    mesh.add(box(30, 26, 14, radius=5), at=(28, 0, 8))
    mesh.add(plate(circle(5.5, 6), 8, surface="brass"), at=(20, 0, 21)).add(
        rod(3, 18, surface="brass"), at=(20, 0, 21)
    )
    mesh.add(ring(5, 2.5, 6, segs=16, surface="steel"), at=(37, 0, 21))
    foot = plate(
        rounded(50, 22, 6), 6, holes=[circle(3.5, 12, at=(19, 0)), circle(3.5, 12, at=(-19, 0))]
    )
    return mesh.add(foot, at=(28, 0, -20))


def handbrake_lever() -> Mesh:
    """A handbrake lever: curved arm, ribbed grip, button, toothed quadrant."""
    arm: list[Vec3] = [(0, 0, 0), (60, 0, 36), (130, 0, 70), (200, 0, 92)]
    mesh = tube(bent(arm, 40), 10, segs=16, bore=0)
    grip = [(206.0, 0.0, 94.0)]
    radii = [14.0]
    for k in range(1, 23):
        grip.append((206 + 5.2 * k, 0, 94 + 1.3 * k))
        radii.append(16.5 if k % 2 else 14.5)
    mesh.add(tube(grip, radii, segs=20, surface="rubber", bore=0))
    mesh.add(rod(6, 16, surface="steel"), at=(322, 0, 123), turn=(0, 78, 0))
    quadrant: list[Vec2] = [(-30, -50), (40, -50)]
    quadrant += [
        ((78 - 6 * (k % 2)) * math.cos(a), (78 - 6 * (k % 2)) * math.sin(a))
        for k, a in ((k, -0.5 + k * 0.085) for k in range(19))
    ]
    quadrant += [(0, 30), (-40, 10)]
    mesh.add(
        plate(quadrant, 6, holes=[circle(7, 16), slot(16, 9, at=(-14, -34))], surface="steel"),
        at=(0, -10, 0),
        turn=(90, 0, 0),
    )
    for y in (14.0, 24.0):
        mesh.add(
            plate([(-26, -16), (70, 16), (64, 36), (-20, 16)], 4), at=(0, y - 2, 0), turn=(90, 0, 0)
        )
    mesh.add(rod(7, 56, surface="steel"), at=(0, -28, 0), turn=(-90, 0, 0))
    return mesh.add(bolt(10, 20, surface="steel"), at=(0, 40, 0), turn=(90, 0, 0)).turned(
        (80, 0, 0)
    )
