"""Damage and mends drawn onto a part: a crack, a rust hole, a snapped stud, a weld, a patch."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise
from random import Random

from PIL import Image, ImageDraw

from garage.demo.camera import Camera
from garage.demo.mesh import Vec2, Vec3
from garage.demo.render import GREYS_PER_UNIT, OVER, Layers, Patch, on_screen
from garage.demo.shapes import cross, unit

_TRIES = 500
MENDS = {"crack": "bead", "hole": "patch", "stud": "bead"}


@dataclass(frozen=True, slots=True)
class Spot:
    """A place on the part's skin with two directions along it."""

    middle: Vec3
    normal: Vec3
    along: Vec3
    across: Vec3
    room: float = 0.3

    def at(self, p: Vec2, lift: float = 0.0) -> Vec3:
        """The point that far along and across, lifted off the skin."""
        m, n, a, b = self.middle, self.normal, self.along, self.across
        return (
            m[0] + p[0] * a[0] + p[1] * b[0] + lift * n[0],
            m[1] + p[0] * a[1] + p[1] * b[1] + lift * n[1],
            m[2] + p[0] * a[2] + p[1] * b[2] + lift * n[2],
        )


def find_spot(
    patches: Sequence[Patch],
    screen: Sequence[Vec2],
    camera: Camera,
    size: tuple[int, int],
    rng: Random,
) -> Spot:
    """A face of the part itself that is in plain view and turned well to the camera."""
    quarter = Image.new("I", (size[0] // 4, size[1] // 4), 0)
    pen = ImageDraw.Draw(quarter)
    for k, patch in enumerate(patches, start=1):
        pen.polygon([(screen[c][0] / 4, screen[c][1] / 4) for c in patch.corners], fill=k)
    skin = _main_skin(patches, screen)
    found: list[tuple[float, Vec2, Patch]] = []
    for k in rng.sample(range(1, len(patches) + 1), min(len(patches), _TRIES)):
        patch = patches[k - 1]
        x, y = (sum(screen[c][axis] for c in patch.corners) / 16 for axis in (0, 1))
        inside = 0 <= x < quarter.width and 0 <= y < quarter.height
        if patch.surface == skin and inside and quarter.getpixel((int(x), int(y))) == k:
            found.append((_openness(patches, quarter, (x, y), patch) + rng.random(), (x, y), patch))
    found.sort(key=lambda entry: -entry[0])
    rooms = [(_room(patches, quarter, at, patch), patch) for _, at, patch in found[:16]]
    room, chosen = max(rooms, key=lambda entry: entry[0] * rng.uniform(0.8, 1.0))
    along = unit(cross(chosen.normal, (0.31, 0.2, 0.93)))
    return Spot(
        chosen.middle,
        chosen.normal,
        along,
        cross(chosen.normal, along),
        room=4 * room * chosen.depth / camera.focal,
    )


def _main_skin(patches: Sequence[Patch], screen: Sequence[Vec2]) -> str:
    """`main`, or on a part made mostly of something else (a rubber hose) that."""
    areas: dict[str, float] = {"main": 0.0}
    for patch in patches:
        (ax, ay), (bx, by), (cx, cy), (dx, dy) = (screen[c] for c in patch.corners)
        area = abs((cx - ax) * (dy - by) - (cy - ay) * (dx - bx))
        areas[patch.surface] = areas.get(patch.surface, 0.0) + area
    if areas["main"] * 5 > sum(areas.values()):
        return "main"
    return max(areas, key=lambda name: areas[name])


def _same_plane(patches: Sequence[Patch], seen: Image.Image, at: Vec2, own: Patch) -> float:
    """1 where the picture point shows skin lying as the own face does, 0 where not."""
    x, y = int(at[0]), int(at[1])
    if not (0 <= x < seen.width and 0 <= y < seen.height):
        return 0.0
    value = seen.getpixel((x, y))
    other = patches[int(value) - 1]
    if value == 0 or other.surface != own.surface:
        return 0.0
    gap = sum((p - q) * n for p, q, n in zip(other.middle, own.middle, own.normal, strict=True))
    dot = sum(p * q for p, q in zip(other.normal, own.normal, strict=True))
    return max(0.0, dot - 0.6) / 0.4 if abs(gap) < 0.08 else 0.0


def _room(patches: Sequence[Patch], seen: Image.Image, at: Vec2, own: Patch) -> float:
    """How far the skin runs on in the tightest of eight directions. [px]"""
    for r in range(2, 40, 2):
        for k in range(8):
            a = k * math.pi / 4
            spot = (at[0] + r * math.cos(a), at[1] + r * math.sin(a))
            if _same_plane(patches, seen, spot, own) < 0.2:
                return float(r)
    return 40.0


def _openness(patches: Sequence[Patch], seen: Image.Image, at: Vec2, own: Patch) -> float:
    """Higher where the faces round about lie in the same plane, so that a mark has room."""
    angles = [k * math.pi / 4 for k in range(8)]
    return sum(
        _same_plane(patches, seen, (at[0] + r * math.cos(a), at[1] + r * math.sin(a)), own) * 0.4
        for a in angles
        for r in (5, 10, 18)
    )


class Marker:
    """Draws on the layers, only on the part and behind what stands nearer."""

    def __init__(self, layers: Layers, camera: Camera, spot: Spot, scale: float) -> None:
        self.layers, self.camera, self.spot, self.scale = layers, camera, spot, scale
        self.before = layers.canvas.copy()
        self.pen = ImageDraw.Draw(layers.canvas)
        self.depth = layers.grey_depth(camera.depth_of(spot.middle))
        self.slack = max(6, round(GREYS_PER_UNIT * 0.55 * scale))

    def fill(
        self, shape: Sequence[Vec2], surface: str, light: int, shine: int = 0, lift: float = 0.0
    ) -> None:
        """A filled outline on the skin; sizes are shares of the marker's scale."""
        s = self.scale
        points = [self.spot.at((x * s, y * s), lift * s) for x, y in shape]
        ink = (max(0, min(255, light)), shine, self.layers.numbers[surface], max(1, self.depth))
        self.pen.polygon(on_screen(points, self.camera, OVER), fill=ink)

    def close(self) -> None:
        """Take back what ran off the part or onto something nearer."""
        depth = self.before.getchannel("A")
        keep = depth.point([255 if 0 < k <= self.depth + self.slack else 0 for k in range(256)])
        clipped = Image.composite(self.layers.canvas, self.before, keep)
        self.layers.canvas.paste(clipped)


def _walk(rng: Random, length: float, jag: float) -> list[Vec2]:
    out = [(-length / 2, rng.uniform(-0.05, 0.05))]
    drift = 0.0
    while out[-1][0] < length / 2:
        drift = drift * 0.6 + rng.uniform(-jag, jag)
        out.append((out[-1][0] + rng.uniform(0.025, 0.06), out[-1][1] + drift))
    return out


def _ribbon(path: Sequence[Vec2], widths: Sequence[float], shift: float = 0.0) -> list[Vec2]:
    upper = [(x, y + w / 2 + shift) for (x, y), w in zip(path, widths, strict=True)]
    lower = [(x, y - w / 2 + shift) for (x, y), w in zip(path, widths, strict=True)]
    return upper + lower[::-1]


def _blob(rng: Random, radius: float, jag: float, n: int = 30) -> list[Vec2]:
    out: list[Vec2] = []
    wave = [rng.uniform(0, 6.28) for _ in range(3)]
    for k in range(n):
        a = 2 * math.pi * k / n
        r = radius * (
            1
            + jag
            * (
                0.5 * math.sin(2 * a + wave[0])
                + 0.35 * math.sin(3 * a + wave[1])
                + 0.3 * math.sin(7 * a + wave[2])
                + rng.uniform(-0.3, 0.3)
            )
        )
        out.append((r * math.cos(a), r * math.sin(a)))
    return out


def crack(m: Marker, rng: Random) -> None:
    """A forked dark crack with a bright lip on one side."""
    path = _walk(rng, 0.95, 0.03)
    n = len(path)
    widths = [
        0.026 * (1 - abs(2 * k / n - 0.8)) ** 0.6 + 0.004 if abs(2 * k / n - 0.8) < 1 else 0.004
        for k in range(n)
    ]
    m.fill(_ribbon(path, [w * 2.1 for w in widths], 0.004), "oldrust", 70)
    m.fill(_ribbon(path, widths, 0.009), "bright", 190, 60)
    m.fill(_ribbon(path, widths), "void", 20)
    start = path[n // 2]
    fork = [(start[0] + k * 0.03, start[1] + 0.02 * k + rng.uniform(-0.01, 0.01)) for k in range(8)]
    m.fill(_ribbon(fork, [0.014 - 0.0016 * k for k in range(8)]), "void", 20)


def hole(m: Marker, rng: Random) -> None:
    """A rusted-through hole with flaking edges and pinholes beside it."""
    m.fill(_blob(rng, 0.4, 0.3), "oldrust", 120)
    m.fill(_blob(rng, 0.31, 0.3), "oldrust", 84)
    lip = _blob(rng, 0.2, 0.45)
    m.fill([(x * 1.1 + 0.008, y * 1.1 + 0.012) for x, y in lip], "oldrust", 190)
    m.fill([(x * 1.03, y * 1.03) for x, y in lip], "oldrust", 60)
    m.fill(lip, "void", 18)
    for _ in range(7):
        a, d = rng.uniform(0, 6.28), rng.uniform(0.26, 0.4)
        dot = _blob(rng, rng.uniform(0.012, 0.03), 0.4, 12)
        m.fill([(x + d * math.cos(a), y + d * math.sin(a)) for x, y in dot], "void", 24)


def stud(m: Marker, rng: Random) -> None:
    """A stud snapped off proud of its hole: rusty threads, torn grey end, rust run round it."""
    ring = [(math.cos(k * 0.21), math.sin(k * 0.21)) for k in range(30)]
    m.fill(_blob(rng, 0.36, 0.25), "oldrust", 110)
    m.fill([(0.27 * x, 0.27 * y) for x, y in ring], "steel", 62, 0)
    m.fill([(0.25 * x, 0.25 * y) for x, y in ring], "oldrust", 70)
    m.fill([(0.19 * x, 0.19 * y) for x, y in ring], "void", 26)
    for k in range(24):
        r = 0.165 if k % 4 > 1 else 0.152
        m.fill(
            [(r * x, r * y) for x, y in ring], "oldrust", 60 + 26 * (k % 4) + 2 * k, 0, 0.014 * k
        )
    top = 0.34
    torn = _blob(rng, 0.15, 0.1)
    m.fill(torn, "steel", 74, 6, top)
    for k in range(9):
        a, d = rng.uniform(0, 6.28), rng.uniform(0.02, 0.1)
        chip = _blob(rng, rng.uniform(0.03, 0.06), 0.5, 9)
        moved = [(x + d * math.cos(a), y + d * math.sin(a)) for x, y in chip]
        m.fill(moved, "steel", 46 + 10 * k, 3 * k, top + 0.004 * k)


def bead(m: Marker, rng: Random, path: Sequence[Vec2] | None = None) -> None:
    """A row of weld ripples over a heat-tinted strip."""
    line = path or _walk(rng, 0.8, 0.01)
    for wide, tone in ((0.26, 120), (0.19, 140)):
        if path is None:
            m.fill(_ribbon(line, [wide + rng.uniform(-0.03, 0.03) for _ in line]), "tint", tone, 20)
    for (x0, y0), (x1, y1) in pairwise(line):
        steps = max(1, round(math.hypot(x1 - x0, y1 - y0) / 0.016))
        for k in range(steps):
            x, y = x0 + (x1 - x0) * k / steps, y0 + (y1 - y0) * k / steps
            r = 0.06 + rng.uniform(-0.006, 0.008)
            for share, light, shine in ((1.0, 70, 0), (0.86, 120, 24), (0.55, 170, 70)):
                oval = [
                    (x + 0.6 * r * share * math.cos(a * 0.45), y + r * share * math.sin(a * 0.45))
                    for a in range(14)
                ]
                m.fill(oval, "weld", light, shine, 0.03 * (1 - share))


def patch(m: Marker, rng: Random) -> None:
    """A let-in patch of new sheet, welded all round."""
    w, h = 0.46, 0.33
    corners = [(w, h), (-w, h), (-w, -h), (w, -h), (w, h)]
    m.fill([(x * 1.28, y * 1.34) for x, y in corners[:4]], "tint", 120, 16)
    m.fill(corners[:4], "steel", 135, 26)
    bead(m, rng, corners)


PAINTERS = {"crack": crack, "hole": hole, "stud": stud, "bead": bead, "patch": patch}
