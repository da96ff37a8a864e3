"""Electrical parts. Sizes in millimetres, of no real car."""

from __future__ import annotations

import math

from garage.demo.mesh import Mesh, Vec2, bent, circle, rounded, slot
from garage.demo.shapes import bolt, box, nut, plate, ring, rod, tube, turned

_NOSE_FLANGE: list[Vec2] = [
    (-46, -34),
    (-30, -46),
    (30, -46),
    (46, -34),
    (70, -8),
    (70, 8),
    (46, 34),
    (30, 46),
    (-30, 46),
    (-46, 34),
    (-70, 8),
    (-70, -8),
]


def starter_motor() -> Mesh:
    """A starter on its side: yoke, nose with pinion, solenoid on top."""
    mesh = turned([(0, 0), (38, 0), (42, 4), (42, 118), (0, 118)], segs=44, step=22).turned(
        (0, 90, 0)
    )
    mesh.add(ring(43.5, 41, 9, segs=44, surface="steel"), at=(12, 0, 0), turn=(0, 90, 0))
    nose = turned([(44, 0), (44, 12), (34, 20), (26, 62), (0, 62)], segs=40, bevel=1)
    mesh.add(nose, at=(117, 0, 0), turn=(0, 90, 0), surface="alloy")
    flange = plate(
        _NOSE_FLANGE,
        9,
        holes=[circle(6, 14, at=(60, 0)), circle(6, 14, at=(-60, 0))],
        surface="alloy",
    )
    mesh.add(flange, at=(119, 0, 0), turn=(0, 90, 0))
    for k in range(9):
        a = 2 * math.pi * k / 9
        mesh.add(
            box(7, 6, 18, surface="steel"),
            at=(182, 13 * math.cos(a), 13 * math.sin(a)),
            turn=(0, 90, 0),
        )
    mesh.add(rod(13, 20, surface="steel"), at=(178, 0, 0), turn=(0, 90, 0))
    mesh.add(rod(22, 80, segs=32, surface="main"), at=(38, 0, 62), turn=(0, 90, 0))
    mesh.add(rod(20, 12, segs=32, surface="black"), at=(28, 0, 62), turn=(0, 90, 0))
    for y in (-9.0, 9.0):
        mesh.add(bolt(7, 14, surface="copper"), at=(30, y, 62), turn=(0, -90, 0))
    mesh.add(tube(bent([(20, 9, 60), (4, 14, 44), (14, 12, 34)], 12), 4, segs=10, surface="copper"))
    return mesh.add(box(70, 14, 22, surface="main"), at=(80, 0, 38))


def dynamo() -> Mesh:
    """A dynamo on its side: drum, vented end plates with ears, pulley and fan."""
    mesh = turned([(0, 0), (50, 0), (50, 150), (0, 150)], segs=48, step=24).turned((0, 90, 0))
    ear: list[Vec2] = [*circle(53, 30)]
    lug = plate(rounded(24, 40, 10), 12, holes=[circle(6, 14, at=(0, -8))], surface="alloy")
    for x in (-12.0, 148.0):
        mesh.add(plate(ear, 14, surface="alloy", bevel=3), at=(x, 0, 0), turn=(0, 90, 0))
        mesh.add(lug, at=(x, -60, -20), turn=(90, 0, 90))
    mesh.add(
        turned([(0, 0), (52, 0), (54, 3), (0, 6)], segs=40, surface="steel"),
        at=(166, 0, 0),
        turn=(0, 90, 0),
    )
    belt = turned(
        [(0, 0), (38, 0), (38, 3), (29, 10), (38, 17), (38, 20), (0, 20)], segs=40, surface="steel"
    )
    mesh.add(belt, at=(175, 0, 0), turn=(0, 90, 0))
    mesh.add(nut(14, surface="steel"), at=(195, 0, 0), turn=(0, 90, 0))
    for a in (0.5, 1.2, 1.9, 2.6):
        mesh.add(
            box(14, 22, 3, surface="void"),
            at=(157, 52 * math.cos(a), 51.5 * math.sin(a)),
            turn=(math.degrees(a) - 90, 0, 0),
            lift=16,
        )
    for y, z in ((-14.0, 30.0), (14.0, 30.0)):
        mesh.add(bolt(6, 16, surface="brass"), at=(-12, y, z), turn=(0, -90, 0))
    return mesh.add(box(54, 26, 1.5, surface="brass", step=14), at=(70, 0, 49), lift=16)


def coil() -> Mesh:
    """An ignition coil lying in its clamp."""
    can = turned([(0, 0), (26, 0), (29, 3), (29, 104), (26, 108), (0, 108)], segs=40, bevel=1)
    mesh = can.turned((0, 90, 0))
    top = turned(
        [(28, 0), (28, 8), (17, 12), (13, 34), (9, 36), (7, 24), (0, 24)], segs=32, surface="black"
    )
    mesh.add(top, at=(107, 0, 0), turn=(0, 90, 0))
    for y in (-18.0, 18.0):
        mesh.add(bolt(5, 10, surface="brass"), at=(114, y, 0), turn=(0, 90, 0))
    mesh.add(ring(31, 28, 26, segs=40, surface="steel"), at=(40, 0, 0), turn=(0, 90, 0))
    foot = plate(
        rounded(86, 26, 4),
        3,
        holes=[slot(14, 7, at=(33, 0)), slot(14, 7, at=(-33, 0))],
        surface="steel",
    )
    return mesh.add(foot, at=(53, 0, -33), turn=(0, 0, 90))
