"""Faces to picture layers: light, shine, surface number, depth, drawn back to front at 2x."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from typing import NamedTuple

from PIL import Image, ImageDraw

from garage.demo.camera import Camera
from garage.demo.mesh import Mesh, Normals, Vec3
from garage.demo.shadow import ShadowMap
from garage.demo.surfaces import Surface

OVER = 2
GREYS_PER_UNIT = 80
Tone = tuple[int, int]
Spot2 = tuple[float, float]


@dataclass(frozen=True, slots=True)
class Lamp:
    """The lamp over the bench: direction to it, its strength, what the room adds, both 0..1."""

    toward: Vec3
    key: float
    room: float
    fill: float = 0.18


class Patch(NamedTuple):
    """One face the camera may see: where it is, which way it looks, how far away it is."""

    depth: float
    lift: float
    corners: tuple[int, ...]
    surface: str
    middle: Vec3
    normal: Vec3
    smooth: Normals = None


@dataclass(frozen=True, slots=True)
class Layers:
    """Double-size channels before they are brought down to picture size."""

    canvas: Image.Image
    screen: list[tuple[float, float]]
    patches: list[Patch]
    nearest: float
    numbers: dict[str, int]

    def grey_depth(self, depth: float) -> int:
        """255 for the nearest face, less with distance, 1 for everything far off."""
        return max(1, min(255, round(255 - (depth - self.nearest) * GREYS_PER_UNIT)))


def visible_patches(
    mesh: Mesh, camera: Camera, screen: Sequence[Spot2], width: float, height: float
) -> list[Patch]:
    """Faces turned to the camera and inside the picture, farthest first."""
    out: list[Patch] = []
    pts = mesh.points
    ex, ey, ez = camera.eye
    ax, ay, az = camera.ahead
    sqrt = math.sqrt
    known = mesh.smooth + [None] * (len(mesh.faces) - len(mesh.smooth))
    for (corners, surface, lift), smooth in zip(mesh.faces, known, strict=True):
        i, j, k, m = corners
        (x0, y0, z0), (x1, y1, z1), (x2, y2, z2), (x3, y3, z3) = pts[i], pts[j], pts[k], pts[m]
        ux, uy, uz = x2 - x0, y2 - y0, z2 - z0
        vx, vy, vz = x3 - x1, y3 - y1, z3 - z1
        nx, ny, nz = uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx
        mx, my, mz = (x0 + x1 + x2 + x3) / 4, (y0 + y1 + y2 + y3) / 4, (z0 + z1 + z2 + z3) / 4
        dx, dy, dz = ex - mx, ey - my, ez - mz
        if nx * dx + ny * dy + nz * dz <= 0:
            continue
        (sx, sy), (tx, ty) = screen[corners[0]], screen[corners[2]]
        if max(sx, tx) < 0 or max(sy, ty) < 0 or min(sx, tx) > width or min(sy, ty) > height:
            continue
        n = sqrt(nx * nx + ny * ny + nz * nz) or 1.0
        depth = -(dx * ax + dy * ay + dz * az)
        out.append(
            Patch(depth, lift, corners, surface, (mx, my, mz), (nx / n, ny / n, nz / n), smooth)
        )
    out.sort(key=lambda p: p.lift - p.depth)
    return out


def on_screen(
    points: Sequence[Vec3], camera: Camera, scale: float = 1.0
) -> list[tuple[float, float]]:
    """Picture coordinates of the points, in pixels times scale."""
    (ex, ey, ez), (rx, ry, rz), (ux, uy, uz), (ax, ay, az) = (
        camera.eye,
        camera.right,
        camera.up,
        camera.ahead,
    )
    f = camera.focal * scale
    cx, cy = camera.centre[0] * scale, camera.centre[1] * scale
    out: list[tuple[float, float]] = []
    for x, y, z in points:
        dx, dy, dz = x - ex, y - ey, z - ez
        w = f / max(0.05, dx * ax + dy * ay + dz * az)
        out.append((cx + w * (dx * rx + dy * ry + dz * rz), cy - w * (dx * ux + dy * uy + dz * uz)))
    return out


def draw_layers(
    mesh: Mesh,
    *,
    camera: Camera,
    lamp: Lamp,
    shadow: ShadowMap,
    surfaces: dict[str, Surface],
    size: tuple[int, int],
) -> Layers:
    """All four channels: red light, green shine, blue surface number, alpha depth."""
    screen = on_screen(mesh.points, camera, OVER)
    patches = visible_patches(mesh, camera, screen, size[0] * OVER, size[1] * OVER)
    canvas = Image.new("RGBA", (size[0] * OVER, size[1] * OVER), (110, 0, 0, 0))
    pen = ImageDraw.Draw(canvas)
    numbers = {name: k for k, name in enumerate(surfaces, start=1)}
    layers = Layers(canvas, screen, patches, min(p.depth for p in patches), numbers)
    shades = {name: Shade(surface, lamp, camera.eye) for name, surface in surfaces.items()}
    known: dict[tuple[int, Vec3, str], Tone] = {}
    for patch in patches:
        shade, name = shades[patch.surface], patch.surface
        rest = (numbers[name], layers.grey_depth(patch.depth))
        if patch.smooth is None:
            tone = shade.at(patch.middle, patch.normal, shadow.light_at(patch.middle, patch.normal))
            pen.polygon([screen[k] for k in patch.corners], fill=(*tone, *rest))
            continue
        tones = []
        for corner, normal in zip(patch.corners, patch.smooth, strict=True):
            key = (corner, normal, name)
            if key not in known:
                point = mesh.points[corner]
                known[key] = shade.at(point, normal, shadow.light_at(point, normal))
            tones.append(known[key])
        _blended(pen, [screen[k] for k in patch.corners], tones, rest)
    return layers


def _blended(
    pen: ImageDraw.ImageDraw, quad: list[Spot2], tones: list[Tone], rest: tuple[int, int]
) -> None:
    """The face in small pieces, light and shine running evenly between its corners."""
    (ax, ay), (bx, by), (cx, cy), (dx, dy) = quad
    spread = max(
        max(t[0] for t in tones) - min(t[0] for t in tones),
        max(t[1] for t in tones) - min(t[1] for t in tones),
    )
    m = _pieces(spread, math.hypot(bx - ax, by - ay), math.hypot(cx - dx, cy - dy))
    n = _pieces(spread, math.hypot(dx - ax, dy - ay), math.hypot(cx - bx, cy - by))
    (al, as_), (bl, bs), (cl, cs), (dl, ds) = tones
    grid = []
    for j in range(n + 1):
        t = j / n
        lx, ly, rx, ry = (
            ax + (dx - ax) * t,
            ay + (dy - ay) * t,
            bx + (cx - bx) * t,
            by + (cy - by) * t,
        )
        grid.append([(lx + (rx - lx) * i / m, ly + (ry - ly) * i / m) for i in range(m + 1)])
    for j in range(n):
        t = (j + 0.5) / n
        ll, rl, ls, rs = (
            al + (dl - al) * t,
            bl + (cl - bl) * t,
            as_ + (ds - as_) * t,
            bs + (cs - bs) * t,
        )
        for i in range(m):
            s = (i + 0.5) / m
            ink = (int(ll + (rl - ll) * s), int(ls + (rs - ls) * s), *rest)
            pen.polygon((grid[j][i], grid[j][i + 1], grid[j + 1][i + 1], grid[j + 1][i]), fill=ink)


def _pieces(spread: int, side: float, other: float) -> int:
    return max(1, min(5, spread // 5, int(max(side, other) / 10)))


class Shade:
    """Light and shine of one surface under one lamp."""

    def __init__(self, surface: Surface, lamp: Lamp, eye: Vec3) -> None:
        self.surface, self.lamp, self.eye = surface, lamp, eye
        lx, ly, _ = lamp.toward
        self.side = (-ly, lx)

    def at(self, middle: Vec3, normal: Vec3, open_: float) -> tuple[int, int]:
        """Light and shine, both 0..255, 170 being a white card square to the lamp."""
        lamp, s = self.lamp, self.surface
        nx, ny, nz = normal
        lx, ly, lz = lamp.toward
        vx, vy, vz = self.eye[0] - middle[0], self.eye[1] - middle[1], self.eye[2] - middle[2]
        n = 1 / math.sqrt(vx * vx + vy * vy + vz * vz)
        vx, vy, vz = vx * n, vy * n, vz * n
        nv = max(0.0, nx * vx + ny * vy + nz * vz)
        nl = nx * lx + ny * ly + nz * lz
        low = min(1.0, 0.5 + max(0.0, middle[2]) * 1.4)
        light = lamp.room * (0.62 + 0.38 * nz) * low + lamp.fill * nv
        if nl > 0:
            light += lamp.key * nl * open_
        rx, ry, rz = 2 * nv * nx - vx, 2 * nv * ny - vy, 2 * nv * nz - vz
        rl = rx * lx + ry * ly + rz * lz
        shine = s.shine * open_ * rl**s.hard if rl > 0 else 0.0
        if s.sheen > 0:
            shine += (
                s.sheen * self._sky(rx, ry, rz) * (0.5 + 0.5 * open_) * (0.55 + 0.9 * (1 - nv) ** 3)
            )
        return min(255, int(light * 170)), min(255, int(shine * 255))

    def _sky(self, rx: float, ry: float, rz: float) -> float:
        """What the room mirrors back: a pale ceiling, a strip lamp, a window low at one side."""
        ceiling = 0.34 * max(0.0, min(1.0, (rz + 0.1) * 1.3))
        across = rx * self.side[0] + ry * self.side[1]
        strip = max(0.0, 1 - abs(across - 0.12) * 5) if rz > 0.35 else 0.0
        window = max(0.0, 1 - abs(rz - 0.22) * 4.5) * max(0.0, across)
        return ceiling + 0.5 * strip + 0.55 * window
