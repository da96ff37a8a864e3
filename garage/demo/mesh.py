"""Solids as point and face lists, in millimetres, z up. No light or colour in here."""

from __future__ import annotations

import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass, field
from itertools import pairwise

Vec2 = tuple[float, float]
Vec3 = tuple[float, float, float]
Face = tuple[tuple[int, ...], str, float]
Normals = tuple[Vec3, ...] | None
_NO_TURN: Vec3 = (0.0, 0.0, 0.0)


@dataclass(slots=True)
class Mesh:
    """A closed skin of four-cornered faces, anticlockwise from outside, each naming its surface
    and how far it is lifted towards the eye when faces are put in order.

    `smooth` holds corner normals per face where known (see `smoothed`), else nothing.
    """

    points: list[Vec3] = field(default_factory=list)
    faces: list[Face] = field(default_factory=list)
    smooth: list[Normals] = field(default_factory=list)

    def add(
        self,
        other: Mesh,
        *,
        at: Vec3 = (0.0, 0.0, 0.0),
        turn: Vec3 = (0.0, 0.0, 0.0),
        scale: float = 1.0,
        surface: str | None = None,
        lift: float = 0.0,
    ) -> Mesh:
        """This mesh with the other one joined: turned about x, y, z in that order [deg], moved.

        `lift` draws thin things lying on a face after that face. [mm]
        """
        base = len(self.points)
        self.smooth += [None] * (len(self.faces) - len(self.smooth))
        m = turn_matrix(turn)
        self.smooth += other.smooth if turn == _NO_TURN else _all_turned(m, other.smooth)
        (a, b, c), (d, e, f), (g, h, i) = m
        px, py, pz = at
        self.points.extend(
            (
                px + scale * (a * x + b * y + c * z),
                py + scale * (d * x + e * y + f * z),
                pz + scale * (g * x + h * y + i * z),
            )
            for x, y, z in other.points
        )
        self.faces.extend(
            (tuple([base + k for k in corners]), surface or own, (high + lift) * scale)
            for corners, own, high in other.faces
        )
        return self

    def turned(self, turn: Vec3) -> Mesh:
        """A copy turned about x, y, z in that order. [deg]"""
        return Mesh().add(self, turn=turn)

    def bounds(self) -> tuple[Vec3, Vec3]:
        """Lowest and highest corner. [mm]"""
        xs, ys, zs = zip(*self.points, strict=True)
        return (min(xs), min(ys), min(zs)), (max(xs), max(ys), max(zs))

    def standing(self) -> Mesh:
        """A copy resting on z = 0 with its footprint centred, scaled so its longest side is 2."""
        low, high = self.bounds()
        spans = [h - k for k, h in zip(low, high, strict=True)]
        s = 2.0 / max(spans)
        cx, cy = (low[0] + high[0]) / 2, (low[1] + high[1]) / 2
        return Mesh().add(self, at=(-cx * s, -cy * s, -low[2] * s), scale=s)


def smoothed(mesh: Mesh) -> Mesh:
    """The same mesh with corner normals shared across edges blunter than about 40 degrees."""
    flat = [_face_normal(mesh.points, corners) for corners, _, _ in mesh.faces]
    around: list[list[Vec3]] = [[] for _ in mesh.points]
    for own, (corners, _, _) in zip(flat, mesh.faces, strict=True):
        for c in corners:
            around[c].append(own)
    seen: dict[Vec3, Vec3] = {}
    smooth: list[Normals] = []
    for own, (corners, _, _) in zip(flat, mesh.faces, strict=True):
        blended = [_blend(own, around[c]) for c in corners]
        smooth.append(tuple([seen.setdefault(n, n) for n in blended]))
    return Mesh(mesh.points, mesh.faces, smooth)


def _blend(own: Vec3, others: Sequence[Vec3]) -> Vec3:
    ox, oy, oz = own
    x = y = z = 0.0
    for nx, ny, nz in others:
        if nx * ox + ny * oy + nz * oz > 0.76:
            x, y, z = x + nx, y + ny, z + nz
    size = math.sqrt(x * x + y * y + z * z)
    return (x / size, y / size, z / size) if size > 0 else own


def _face_normal(points: Sequence[Vec3], corners: Sequence[int]) -> Vec3:
    a, b, c, d = (points[k] for k in corners)
    u = (c[0] - a[0], c[1] - a[1], c[2] - a[2])
    v = (d[0] - b[0], d[1] - b[1], d[2] - b[2])
    n = (u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0])
    size = math.sqrt(_dot(n, n))
    return (n[0] / size, n[1] / size, n[2] / size) if size > 0 else (0.0, 0.0, 0.0)


def _dot(a: Vec3, b: Vec3) -> float:
    return a[0] * b[0] + a[1] * b[1] + a[2] * b[2]


def _all_turned(m: tuple[Vec3, Vec3, Vec3], normals: Sequence[Normals]) -> list[Normals]:
    """The normals turned; faces share most of theirs, so each is worked out once."""
    done: dict[Vec3, Vec3] = {}
    for face in normals:
        for v in face or ():
            if v not in done:
                done[v] = (_dot(m[0], v), _dot(m[1], v), _dot(m[2], v))
    return [face and tuple([done[v] for v in face]) for face in normals]


def turn_matrix(turn: Vec3) -> tuple[Vec3, Vec3, Vec3]:
    """Rotation matrix for turns about x, then y, then z. [deg]"""
    (ca, sa), (cb, sb), (cc, sc) = (
        (math.cos(math.radians(t)), math.sin(math.radians(t))) for t in turn
    )
    return (
        (cc * cb, cc * sb * sa - sc * ca, cc * sb * ca + sc * sa),
        (sc * cb, sc * sb * sa + cc * ca, sc * sb * ca - cc * sa),
        (-sb, cb * sa, cb * ca),
    )


def circle(
    radius: float, n: int = 20, *, at: Vec2 = (0.0, 0.0), start_deg: float = 0.0
) -> list[Vec2]:
    """Anticlockwise ring of n points."""
    s = math.radians(start_deg)
    step = 2 * math.pi / n
    return [
        (at[0] + radius * math.cos(s + k * step), at[1] + radius * math.sin(s + k * step))
        for k in range(n)
    ]


def ring_of(count: int, radius: float, *, start_deg: float = 0.0) -> list[Vec2]:
    """Centres of a bolt circle."""
    return circle(radius, count, start_deg=start_deg)


def slot(
    length: float, width: float, *, at: Vec2 = (0.0, 0.0), turn_deg: float = 0.0
) -> list[Vec2]:
    """Anticlockwise outline with round ends, long side along x before turning."""
    r, half = width / 2, max(length - width, 0.0) / 2
    arc = [math.radians(a) for a in range(-90, 91, 18)]
    pts = [(half + r * math.cos(a), r * math.sin(a)) for a in arc]
    pts += [(-half - r * math.cos(a), -r * math.sin(a)) for a in arc]
    c, s = math.cos(math.radians(turn_deg)), math.sin(math.radians(turn_deg))
    return [(at[0] + x * c - y * s, at[1] + x * s + y * c) for x, y in pts]


def rounded(
    width: float, depth: float, radius: float, *, at: Vec2 = (0.0, 0.0), n: int = 5
) -> list[Vec2]:
    """Anticlockwise rectangle about its centre with rounded corners."""
    out: list[Vec2] = []
    corners = ((1, 1, 0), (-1, 1, 90), (-1, -1, 180), (1, -1, 270))
    for sx, sy, a0 in corners:
        cx, cy = sx * (width / 2 - radius), sy * (depth / 2 - radius)
        for k in range(n):
            a = math.radians(a0 + 90 * k / (n - 1))
            out.append((at[0] + cx + radius * math.cos(a), at[1] + cy + radius * math.sin(a)))
    return out


def bent(points: Sequence[Vec3], radius: float, n: int = 7) -> list[Vec3]:
    """The path with each inner corner rounded over about the radius."""
    out = [points[0]]
    for before, here, after in zip(points, points[1:], points[2:], strict=False):
        r1 = min(radius, math.dist(before, here) * 0.49)
        r2 = min(radius, math.dist(here, after) * 0.49)
        a, b = _toward(here, before, r1), _toward(here, after, r2)
        for k in range(n):
            t = k / (n - 1)
            u = 1 - t
            out.append(
                (
                    u * u * a[0] + 2 * u * t * here[0] + t * t * b[0],
                    u * u * a[1] + 2 * u * t * here[1] + t * t * b[1],
                    u * u * a[2] + 2 * u * t * here[2] + t * t * b[2],
                )
            )
    out.append(points[-1])
    return out


def stepped(path: Sequence[Vec3], step: float) -> list[Vec3]:
    """The path with long straights cut into pieces of at most step."""
    out = [path[0]]
    for a, b in pairwise(path):
        n = max(1, math.ceil(math.dist(a, b) / step))
        out.extend(_mix(a, b, k / n) for k in range(1, n + 1))
    return out


def helix(radius: float, pitch: float, turns: float, per_turn: int = 28) -> list[Vec3]:
    """A rising coil about z."""
    return [
        (
            radius * math.cos(2 * math.pi * k / per_turn),
            radius * math.sin(2 * math.pi * k / per_turn),
            pitch * k / per_turn,
        )
        for k in range(int(turns * per_turn) + 1)
    ]


def inset(loop: Sequence[Vec2], by: float) -> list[Vec2]:
    """The anticlockwise loop moved inward along its corner bisectors (outward if negative)."""
    out: list[Vec2] = []
    n = len(loop)
    for k in range(n):
        (ax, ay), (bx, by_), (cx, cy) = loop[k - 1], loop[k], loop[(k + 1) % n]
        l1, l2 = math.hypot(bx - ax, by_ - ay) or 1.0, math.hypot(cx - bx, cy - by_) or 1.0
        nx = -(by_ - ay) / l1 - (cy - by_) / l2
        ny = (bx - ax) / l1 + (cx - bx) / l2
        square = nx * nx + ny * ny
        s = 2 * by / square if square > 0.3 else 0.0
        out.append((bx + nx * s, by_ + ny * s))
    return out


def trapezoids(loops: Iterable[Sequence[Vec2]], step: float) -> list[tuple[Vec2, ...]]:
    """The area inside an odd number of loops, cut into small pieces, each anticlockwise."""
    edges = [
        (p, q) if p[1] < q[1] else (q, p)
        for loop in loops
        for p, q in zip(loop, [*loop[1:], loop[0]], strict=True)
        if abs(p[1] - q[1]) > 1e-9
    ]
    levels = _levels(edges, step)
    out: list[tuple[Vec2, ...]] = []
    for low, high in pairwise(levels):
        mid = (low + high) / 2
        spans = sorted(
            (_x_at(e, mid), _x_at(e, low), _x_at(e, high)) for e in edges if e[0][1] < mid < e[1][1]
        )
        for left, right in zip(spans[::2], spans[1::2], strict=False):
            n = max(1, math.ceil((right[0] - left[0]) / step))
            for k in range(n):
                s, t = k / n, (k + 1) / n
                out.append(
                    (
                        (left[1] + (right[1] - left[1]) * s, low),
                        (left[1] + (right[1] - left[1]) * t, low),
                        (left[2] + (right[2] - left[2]) * t, high),
                        (left[2] + (right[2] - left[2]) * s, high),
                    )
                )
    return out


def _levels(edges: Sequence[tuple[Vec2, Vec2]], step: float) -> list[float]:
    ys = sorted({round(p[1], 4) for e in edges for p in e})
    out = [ys[0]]
    for y in ys[1:]:
        n = max(1, math.ceil((y - out[-1]) / step))
        low = out[-1]
        out.extend(low + (y - low) * k / n for k in range(1, n + 1))
    return out


def _x_at(edge: tuple[Vec2, Vec2], y: float) -> float:
    (x1, y1), (x2, y2) = edge
    return x1 + (x2 - x1) * (y - y1) / (y2 - y1)


def _mix(a: Vec3, b: Vec3, t: float) -> Vec3:
    return (a[0] + (b[0] - a[0]) * t, a[1] + (b[1] - a[1]) * t, a[2] + (b[2] - a[2]) * t)


def _toward(a: Vec3, b: Vec3, length: float) -> Vec3:
    return _mix(a, b, length / (math.dist(a, b) or 1.0))
