"""Where the phone was held: projection to the picture and back down to the bench top."""

from __future__ import annotations

import math
from dataclasses import dataclass

from garage.demo.mesh import Vec3
from garage.demo.shapes import cross, unit

Row = tuple[float, float, float]


@dataclass(frozen=True, slots=True)
class Camera:
    """A pinhole at `eye` looking along `ahead`; focal length and centre in picture pixels."""

    eye: Vec3
    right: Vec3
    up: Vec3
    ahead: Vec3
    focal: float
    centre: tuple[float, float]

    def depth_of(self, point: Vec3) -> float:
        """How far off the point lies, measured along the line of sight."""
        return sum((p - e) * a for p, e, a in zip(point, self.eye, self.ahead, strict=True))

    def ground_rows(self) -> tuple[Row, Row, Row]:
        """Rows X, Y, W so that pixel (u, v) sees ground point (X/W, Y/W) on z = 0."""
        f, (cx, cy) = self.focal, self.centre
        d: list[Row] = []
        for axis in range(3):
            a, b = self.right[axis] / f, -self.up[axis] / f
            d.append((a, b, self.ahead[axis] - a * cx - b * cy))
        ex, ey, ez = self.eye
        rows = [
            tuple(e * w - ez * k for k, w in zip(d[n], d[2], strict=True))
            for n, e in ((0, ex), (1, ey))
        ]
        return _row(rows[0]), _row(rows[1]), d[2]

    def texture_map(self, u: Row, v: Row) -> tuple[float, ...]:
        """Eight perspective coefficients, pixel to texel; texel = u . (gx, gy, 1), v likewise."""
        x, y, w = self.ground_rows()
        top = [[row[0] * x[k] + row[1] * y[k] + row[2] * w[k] for k in range(3)] for row in (u, v)]
        n = w[2]
        return (*(k / n for k in top[0]), *(k / n for k in top[1]), w[0] / n, w[1] / n)


def _row(values: tuple[float, ...]) -> Row:
    return (values[0], values[1], values[2])


def held(
    *,
    target: Vec3,
    distance: float,
    azimuth_deg: float,
    pitch_deg: float,
    roll_deg: float,
    size: tuple[int, int],
    view_deg: float = 34.0,
) -> Camera:
    """The camera that far from the target, pitched down on it; view angle is across the height."""
    az, pitch, roll = (math.radians(a) for a in (azimuth_deg, pitch_deg, roll_deg))
    back = (math.cos(pitch) * math.cos(az), math.cos(pitch) * math.sin(az), math.sin(pitch))
    eye = (
        target[0] + distance * back[0],
        target[1] + distance * back[1],
        target[2] + distance * back[2],
    )
    ahead = (-back[0], -back[1], -back[2])
    right = unit(cross(ahead, (0.0, 0.0, 1.0)))
    up = cross(right, ahead)
    c, s = math.cos(roll), math.sin(roll)
    turned_right = tuple(c * r + s * u for r, u in zip(right, up, strict=True))
    turned_up = tuple(c * u - s * r for r, u in zip(right, up, strict=True))
    focal = size[1] / 2 / math.tan(math.radians(view_deg) / 2)
    return Camera(
        eye, _row(turned_right), _row(turned_up), ahead, focal, (size[0] / 2, size[1] / 2)
    )
