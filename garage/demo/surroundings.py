"""What lies or stands round a part: clutter while it is on the car, odds and ends on the bench."""

from __future__ import annotations

import math
from functools import cache, lru_cache
from random import Random

from garage.demo.mesh import Mesh, Vec3, bent, circle, rounded, smoothed
from garage.demo.shapes import bolt, box, nut, plate, ring, rod, tube, turned

GRIMY = ("grease", "grease", "grease", "oldrust", "paint", "black", "alloy")


CLEAN = ("paint", "black", "alloy", "steel", "body", "body", "cream")


def clutter(part: Mesh, rng: Random, *, azimuth_deg: float, clean: bool) -> Mesh:
    """Grimy things round a part that is still on the car, fewer and lower on the camera's side."""
    low, high = part.bounds()
    rx, ry = (high[0] - low[0]) / 2 + 0.12, (high[1] - low[1]) / 2 + 0.12
    mesh = Mesh()
    count = rng.randint(10, 13)
    tones = CLEAN if clean else GRIMY
    for k in range(count):
        a = 2 * math.pi * (k + rng.random() * 0.5) / count
        near = math.cos(a - math.radians(azimuth_deg)) > 0.0
        size = 0.36 if near else rng.uniform(0.75, 1.25)
        d = 0.62 * size + rng.uniform(0.05, 0.5) + (0.5 if near else 0.0)
        reach = 1 / max(abs(math.cos(a)) / rx, abs(math.sin(a)) / ry)
        at = ((reach + d) * math.cos(a), (reach + d) * math.sin(a), 0.0)
        thing = _thing(rng.choice((0, 0, 1, 2, 3, 4)), rng.randrange(3))
        mesh.add(
            thing, at=at, turn=(0, 0, rng.uniform(0, 360)), scale=size, surface=rng.choice(tones)
        )
    for _ in range(7):
        mesh.add(_line(rng, max(rx, ry), azimuth_deg))
    for _ in range(6):
        a = rng.uniform(0, 2 * math.pi)
        at = (rx * 1.12 * math.cos(a), ry * 1.3 * math.sin(a), 0.05)
        mesh.add(
            bolt(0.09, 0.02, surface="steel" if clean else rng.choice(("grease", "oldrust"))),
            at=at,
            turn=(180, 0, 0),
        )
    return mesh


@cache
def _thing(kind: int, variant: int) -> Mesh:
    """One of the lumps an engine bay is full of; about 1 across."""
    rng = Random(f"thing {kind} {variant}")
    cap = bolt(0.1, 0.02, surface="steel")
    if kind == 0:
        h = rng.uniform(0.3, 1.0)
        mesh = box(rng.uniform(0.5, 1.2), rng.uniform(0.4, 0.9), h, radius=0.06, step=0.3)
        for x in (-0.16, 0.16):
            mesh.add(cap, at=(x, 0, h + 0.06), turn=(180, 0, 0), lift=0.1)
    elif kind == 1:
        h = rng.uniform(0.4, 0.9)
        mesh = rod(rng.uniform(0.25, 0.4), h, segs=26)
        mesh.add(cap, at=(0, 0, h + 0.08), turn=(180, 0, 0))
    elif kind == 2:
        r = rng.uniform(0.3, 0.45)
        mesh = turned(
            [(0, 0), (r, 0), (r, 0.2), (r * 0.8, 0.3), (r, 0.4), (r, 0.55), (0, 0.6)], segs=30
        )
    elif kind == 3:
        mesh = plate(rounded(1.1, 0.8, 0.2), 0.14, holes=[circle(0.2, 16)], step=0.25)
        for x in (-0.42, 0.42):
            mesh.add(cap, at=(x, 0, 0.22), turn=(180, 0, 0))
        mesh.add(ring(0.28, 0.2, 0.4, segs=22))
    else:
        mesh = Mesh().add(rod(0.3, 1.2, segs=26), at=(-0.6, 0, 0.32), turn=(0, 90, 0))
        mesh.add(ring(0.33, 0.28, 0.12, segs=26), at=(0.2, 0, 0.32), turn=(0, 90, 0))
    return smoothed(mesh)


def _line(rng: Random, clear: float, azimuth_deg: float) -> Mesh:
    """A hose, pipe or wire that passes behind or beside the part."""
    a = math.radians(azimuth_deg + 180 + rng.uniform(-75, 75))
    c, s = math.cos(a), math.sin(a)
    name, r = rng.choice(
        (
            ("rubber", 0.12),
            ("rubber", 0.17),
            ("copper", 0.04),
            ("steel", 0.05),
            ("red", 0.03),
            ("oldrust", 0.08),
        )
    )
    off = clear * rng.uniform(0.9, 1.4) + r
    z = rng.uniform(0.25, 1.0)
    path: list[Vec3] = []
    for k in range(6):
        along = -3.5 + 1.4 * k
        side = off + rng.uniform(-0.1, 0.35)
        path.append(
            (c * side - s * along, s * side + c * along, max(r, z + rng.uniform(-0.25, 0.25)))
        )
    return tube(bent(path, 0.8, 6), r, segs=12, surface=name, step=0.35)


def props(part: Mesh, rng: Random, *, tidy: bool) -> Mesh:
    """What happens to lie beside a part on the bench: a tie-on tag, a spanner, a stray nut."""
    low, high = part.bounds()
    mesh = Mesh()
    if rng.random() < (0.6 if tidy else 0.35):
        mesh.add(_tag(), at=_beside(low, high, rng), turn=(0, 0, rng.uniform(0, 360)))
    if rng.random() < 0.3 and not tidy:
        mesh.add(_spanner(), at=_beside(low, high, rng), turn=(0, 0, rng.uniform(0, 360)))
    for _ in range(rng.choice((0, 0, 1, 2, 3))):
        size, name = rng.uniform(0.06, 0.1), rng.choice(("steel", "oldrust"))
        mesh.add(
            nut(size, surface=name), at=_beside(low, high, rng), turn=(0, 0, rng.uniform(0, 60))
        )
    return mesh


def _beside(low: Vec3, high: Vec3, rng: Random) -> Vec3:
    side, gap = rng.choice((-1, 1)), rng.uniform(0.25, 0.5)
    if rng.random() < 0.5:
        return (side * ((high[0] - low[0]) / 2 + gap), rng.uniform(-0.7, 0.7), 0.0)
    return (rng.uniform(-0.8, 0.8), side * ((high[1] - low[1]) / 2 + gap), 0.0)


@lru_cache(maxsize=1)
def _tag() -> Mesh:
    """A parcel tag with its bit of wire and a scribble of lines."""
    outline = [
        (-0.17, -0.08),
        (0.1, -0.08),
        (0.16, -0.04),
        (0.16, 0.04),
        (0.1, 0.08),
        (-0.17, 0.08),
    ]
    mesh = plate(
        outline,
        0.008,
        holes=[circle(0.014, 12, at=(0.12, 0))],
        bevel=0.001,
        surface="cream",
        step=0.1,
    )
    for k in range(3):
        mesh.add(
            box(0.17 - 0.03 * k, 0.007, 0.002, surface="black"),
            at=(-0.05 - 0.015 * k, 0.035 - 0.035 * k, 0.008),
        )
    wire: list[Vec3] = [
        (0.12, 0, 0.012),
        (0.2, 0.03, 0.03),
        (0.3, -0.02, 0.012),
        (0.38, 0.06, 0.012),
    ]
    return smoothed(mesh.add(tube(bent(wire, 0.05), 0.006, segs=6, surface="steel")))


@lru_cache(maxsize=1)
def _spanner() -> Mesh:
    """A ring and open-ended spanner."""
    shaft = plate(rounded(1.1, 0.09, 0.03), 0.05, bevel=0.015, surface="steel", step=0.14)
    shaft.add(ring(0.11, 0.065, 0.07, segs=28, surface="steel"), at=(0.58, 0, 0))
    jaw = [
        (0.02, -0.05),
        (-0.06, -0.13),
        (-0.2, -0.1),
        (-0.19, -0.055),
        (-0.08, -0.05),
        (-0.08, 0.05),
        (-0.19, 0.055),
        (-0.2, 0.1),
        (-0.06, 0.13),
        (0.02, 0.05),
    ]
    return smoothed(
        shaft.add(
            plate(jaw[::-1], 0.06, bevel=0.012, surface="steel", step=0.1),
            at=(-0.54, 0, 0),
            turn=(0, 0, 15),
        )
    )
