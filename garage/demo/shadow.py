"""Shadows: a depth picture taken from the lamp, and one from straight above for close contact."""

from __future__ import annotations

import math
from array import array
from dataclasses import dataclass

from PIL import Image, ImageDraw, ImageFilter

from garage.demo.camera import Camera, Row
from garage.demo.mesh import Mesh, Vec3
from garage.demo.shapes import cross, unit

_PIXELS = 360
_STEPS = 4000.0
_BASE = 40000
_TAPS = tuple(x + y * _PIXELS for x, y in ((0, 0), (3, 1), (-1, 3), (-3, -1), (1, -3)))
_CONTACT_HEIGHT = 0.22


@dataclass(frozen=True, slots=True)
class ShadowMap:
    """Nearest-to-lamp depth per pixel of a plane square to the lamp."""

    toward: Vec3
    across: Vec3
    along: Vec3
    scale: float
    picture: Image.Image
    depths: array[int]

    def light_at(self, point: Vec3, normal: Vec3) -> float:
        """Share of the lamp that reaches the point, 0..1."""
        t = self.toward
        if normal[0] * t[0] + normal[1] * t[1] + normal[2] * t[2] <= 0:
            return 0.0
        x = point[0] + normal[0] * 0.03
        y = point[1] + normal[1] * 0.03
        z = point[2] + normal[2] * 0.03
        a, b, half = self.across, self.along, _PIXELS / 2
        u = int(half + self.scale * (x * a[0] + y * a[1] + z * a[2]))
        v = int(half + self.scale * (x * b[0] + y * b[1] + z * b[2]))
        depth = _BASE + (x * t[0] + y * t[1] + z * t[2] + 0.05) * _STEPS
        near, here = self.depths, v * _PIXELS + u
        open_ = 0.0
        for tap in _TAPS:
            if near[here + tap] < depth:
                open_ += 0.2
        return open_

    def on_ground(self, camera: Camera, size: tuple[int, int], softness_px: float) -> Image.Image:
        """255 where the bench top is in shadow, as the camera sees it."""
        a, b, s, half = self.across, self.along, self.scale, _PIXELS / 2
        flat = self.picture.convert("L")
        u, v = (a[0] * s, a[1] * s, half), (b[0] * s, b[1] * s, half)
        return _laid(flat, u, v, camera, size, softness_px / 2)


def cast(mesh: Mesh, toward: Vec3) -> ShadowMap:
    """The shadow map of everything in the mesh."""
    across = unit(cross((0.0, 0.0, 1.0), toward))
    along = cross(toward, across)
    reach = max(math.sqrt(x * x + y * y + z * z) for x, y, z in mesh.points)
    # A lit point is asked for a little outside its solid, so the plane reaches that much further.
    scale = (_PIXELS / 2 - 6) / (reach + 0.03)
    half = _PIXELS / 2
    flat: list[tuple[float, float]] = []
    heights: list[float] = []
    for x, y, z in mesh.points:
        flat.append(
            (
                half + scale * (x * across[0] + y * across[1] + z * across[2]),
                half + scale * (x * along[0] + y * along[1] + z * along[2]),
            )
        )
        heights.append(_BASE + _STEPS * (x * toward[0] + y * toward[1] + z * toward[2]))
    picture = Image.new("I", (_PIXELS, _PIXELS), 0)
    pen = ImageDraw.Draw(picture)
    order = sorted(((heights[c[0]] + heights[c[2]]) / 2, c) for c, _, _ in mesh.faces)
    for height, corners in order:
        pen.polygon([flat[k] for k in corners], fill=int(height))
    return ShadowMap(toward, across, along, scale, picture, array("i", picture.tobytes()))


def contact(mesh: Mesh, camera: Camera, size: tuple[int, int]) -> Image.Image:
    """Dark close under the part, as the camera sees it: 255 where it touches the bench."""
    reach = max(max(abs(x), abs(y)) for x, y, _ in mesh.points) + 0.3
    scale = 128 / reach
    above = Image.new("L", (256, 256), 0)
    pen = ImageDraw.Draw(above)
    pts = mesh.points
    low = sorted(
        ((pts[c[0]][2] + pts[c[2]][2]) / 2, c)
        for c, _, _ in mesh.faces
        if pts[c[0]][2] < _CONTACT_HEIGHT
    )
    for z, corners in reversed(low):
        tone = int(255 * (1 - z / _CONTACT_HEIGHT) ** 0.7) if z < _CONTACT_HEIGHT else 0
        pen.polygon(
            [(128 + pts[k][0] * scale, 128 + pts[k][1] * scale) for k in corners], fill=tone
        )
    soft = above.filter(ImageFilter.GaussianBlur(4))
    return _laid(soft, (scale, 0.0, 128.0), (0.0, scale, 128.0), camera, size, 0.0)


def _laid(
    flat: Image.Image, u: Row, v: Row, camera: Camera, size: tuple[int, int], blur_px: float
) -> Image.Image:
    """The flat picture laid on the bench top, drawn at half size and brought up."""
    half = Camera(
        camera.eye,
        camera.right,
        camera.up,
        camera.ahead,
        camera.focal / 2,
        (camera.centre[0] / 2, camera.centre[1] / 2),
    )
    small = flat.transform(
        (size[0] // 2, size[1] // 2),
        Image.Transform.PERSPECTIVE,
        half.texture_map(u, v),
        Image.Resampling.BILINEAR,
        fillcolor=0,
    )
    if blur_px > 0:
        small = small.filter(ImageFilter.GaussianBlur(blur_px))
    return small.resize(size, Image.Resampling.BILINEAR)
