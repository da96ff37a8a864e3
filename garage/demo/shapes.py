"""Turned, pressed, bent and cast basic shapes the car parts are put together from."""

from __future__ import annotations

import math
from collections.abc import Sequence

from garage.demo.mesh import (
    Mesh,
    Vec2,
    Vec3,
    circle,
    inset,
    rounded,
    stepped,
    trapezoids,
)


def plate(
    outline: Sequence[Vec2],
    thick: float,
    *,
    holes: Sequence[Sequence[Vec2]] = (),
    bevel: float | None = None,
    surface: str = "main",
    step: float | None = None,
) -> Mesh:
    """A flat piece from z = 0 up, edges broken by a small bevel. Loops run anticlockwise."""
    xs = [p[0] for p in outline]
    ys = [p[1] for p in outline]
    span = max(max(xs) - min(xs), max(ys) - min(ys))
    step = step or max(span, thick) / 8
    b = min(thick * 0.3, span * 0.02) if bevel is None else bevel
    mesh = Mesh()
    rims = [list(outline)] + [list(reversed(h)) for h in holes]
    for loop in rims:
        _wall(mesh, loop, thick, b, surface, step)
    top = [inset(loop, b) for loop in rims]
    known: dict[Vec3, int] = {}
    for z, loops, flip in ((thick, top, False), (0.0, rims, True)):
        for quad in trapezoids(loops, step if not flip else step * 2):
            corners = tuple(_shared(mesh, known, x, y, z) for x, y in quad)
            mesh.faces.append((corners[::-1] if flip else corners, surface, 0.0))
    return mesh


def _shared(mesh: Mesh, known: dict[Vec3, int], x: float, y: float, z: float) -> int:
    key = (round(x, 5), round(y, 5), z)
    if key not in known:
        known[key] = len(mesh.points)
        mesh.points.append((x, y, z))
    return known[key]


def _wall(
    mesh: Mesh, loop: list[Vec2], thick: float, bevel: float, surface: str, step: float
) -> None:
    rows: list[tuple[list[Vec2], float]] = []
    n_up = max(1, math.ceil((thick - bevel) / step))
    rows.extend((loop, (thick - bevel) * k / n_up) for k in range(n_up + 1))
    if bevel > 0:
        rows.append((inset(loop, bevel), thick))
    fine: list[tuple[list[Vec2], float]] = []
    for ring, z in rows:
        fine.append((_chopped(loop, ring, step), z))
    base, n = len(mesh.points), len(fine[0][0])
    for ring, z in fine:
        mesh.points.extend((x, y, z) for x, y in ring)
    _skin(mesh, base, n, len(fine), surface)


def _chopped(by: list[Vec2], ring: list[Vec2], step: float) -> list[Vec2]:
    """The ring with its edges cut where the guide loop's edges are longer than step."""
    out: list[Vec2] = []
    n = len(by)
    for k in range(n):
        j = (k + 1) % n
        parts = max(1, math.ceil(math.dist(by[k], by[j]) / step))
        (ax, ay), (bx, by_) = ring[k], ring[j]
        out.extend((ax + (bx - ax) * t / parts, ay + (by_ - ay) * t / parts) for t in range(parts))
    return out


def _skin(mesh: Mesh, base: int, n: int, rows: int, surface: str, closed: bool = True) -> None:
    for r in range(rows - 1):
        low, high = base + r * n, base + (r + 1) * n
        for k in range(n if closed else n - 1):
            j = (k + 1) % n
            mesh.faces.append(((low + k, low + j, high + j, high + k), surface, 0.0))


def box(
    w: float,
    d: float,
    h: float,
    *,
    radius: float = 0.0,
    surface: str = "main",
    step: float | None = None,
) -> Mesh:
    """A block on z = 0 about its footprint centre, with rounded upright and broken top edges."""
    r = radius or min(w, d) * 0.06
    bevel = min(r, h * 0.25)
    return plate(rounded(w, d, r, n=4), h, bevel=bevel, surface=surface, step=step)


def turned(
    profile: Sequence[Vec2],
    *,
    segs: int = 48,
    surface: str = "main",
    bevel: float | None = None,
    step: float | None = None,
) -> Mesh:
    """A lathe-turned solid. The (radius, z) profile runs outward below, up, and back in on top."""
    reach = max(r for r, _ in profile)
    pts = _chamfered(profile, reach * 0.02 if bevel is None else bevel)
    pts = [(x, z) for x, _, z in stepped([(r, 0.0, z) for r, z in pts], step or reach / 3)]
    mesh = Mesh()
    for r, z in pts:
        mesh.points.extend((x, y, z) for x, y in circle(r, segs))
    _skin(mesh, 0, segs, len(pts), surface)
    return mesh


def _chamfered(profile: Sequence[Vec2], b: float) -> list[Vec2]:
    if b <= 0:
        return list(profile)
    looped = profile[0] == profile[-1]
    pts = list(profile[:-1]) if looped else list(profile)
    n = len(pts)
    out: list[Vec2] = []
    for k, here in enumerate(pts):
        if not looped and k in (0, n - 1):
            out.append(here)
            continue
        for other in (pts[k - 1], pts[(k + 1) % n]):
            length = math.dist(here, other) or 1.0
            t = min(b, length * 0.3) / length
            out.append((here[0] + (other[0] - here[0]) * t, here[1] + (other[1] - here[1]) * t))
    return [*out, out[0]] if looped else out


def rod(
    radius: float,
    length: float,
    *,
    segs: int = 20,
    surface: str = "main",
    bevel: float | None = None,
) -> Mesh:
    """A round bar standing on z = 0."""
    return turned(
        [(0, 0), (radius, 0), (radius, length), (0, length)],
        segs=segs,
        surface=surface,
        bevel=bevel,
        step=max(length / 7, radius * 0.7),
    )


def ring(
    outer: float,
    inner: float,
    height: float,
    *,
    segs: int = 40,
    surface: str = "main",
    bevel: float | None = None,
) -> Mesh:
    """A ring standing on z = 0."""
    return turned(
        [(inner, 0), (outer, 0), (outer, height), (inner, height), (inner, 0)],
        segs=segs,
        surface=surface,
        bevel=bevel,
    )


def tube(
    path: Sequence[Vec3],
    radius: float | Sequence[float],
    *,
    segs: int = 14,
    surface: str = "main",
    bore: float = 0.7,
    step: float | None = None,
) -> Mesh:
    """A round section swept along a path; ends show a dark bore of that share of the radius."""
    if isinstance(radius, (int, float)):
        pts = stepped(path, step or radius * 2.5)
        radii = [float(radius)] * len(pts)
    else:
        pts, radii = list(path), list(radius)
    mesh = Mesh()
    frames = _frames(pts)
    ring_ = circle(1.0, segs)
    for p, r, (u, v) in zip(pts, radii, frames, strict=True):
        mesh.points.extend(_around(p, r, u, v, ring_))
    _skin(mesh, 0, segs, len(pts), surface)
    for k, flip in ((0, True), (len(pts) - 1, False)):
        _end(mesh, pts[k], radii[k], frames[k], ring_, bore, flip, surface)
    return mesh


def _around(p: Vec3, r: float, u: Vec3, v: Vec3, ring_: list[Vec2]) -> list[Vec3]:
    return [
        (
            p[0] + r * (c * u[0] + s * v[0]),
            p[1] + r * (c * u[1] + s * v[1]),
            p[2] + r * (c * u[2] + s * v[2]),
        )
        for c, s in ring_
    ]


def _end(
    mesh: Mesh,
    p: Vec3,
    r: float,
    frame: tuple[Vec3, Vec3],
    ring_: list[Vec2],
    bore: float,
    flip: bool,
    surface: str,
) -> None:
    base, n = len(mesh.points), len(ring_)
    for share in (1.0, bore, 0.0):
        mesh.points.extend(_around(p, r * share, frame[0], frame[1], ring_))
    for row, name in ((0, surface), (1, "void" if bore > 0 else surface)):
        low, high = base + row * n, base + (row + 1) * n
        for k in range(n):
            j = (k + 1) % n
            quad = (low + k, low + j, high + j, high + k)
            mesh.faces.append((tuple(reversed(quad)) if flip else quad, name, 0.0))


def _frames(pts: Sequence[Vec3]) -> list[tuple[Vec3, Vec3]]:
    out: list[tuple[Vec3, Vec3]] = []
    u: Vec3 = (0.0, 0.0, 0.0)
    last = len(pts) - 1
    for k in range(len(pts)):
        a, b = pts[max(0, k - 1)], pts[min(last, k + 1)]
        t = unit((b[0] - a[0], b[1] - a[1], b[2] - a[2]))
        if k == 0:
            u = (0.0, 0.0, 1.0) if abs(t[2]) < 0.9 else (1.0, 0.0, 0.0)
        d = u[0] * t[0] + u[1] * t[1] + u[2] * t[2]
        u = unit((u[0] - d * t[0], u[1] - d * t[1], u[2] - d * t[2]))
        out.append((u, cross(t, u)))
    return out


def unit(v: Vec3) -> Vec3:
    """The vector at length 1 (unchanged if it has none)."""
    n = math.sqrt(v[0] * v[0] + v[1] * v[1] + v[2] * v[2]) or 1.0
    return (v[0] / n, v[1] / n, v[2] / n)


def cross(a: Vec3, b: Vec3) -> Vec3:
    """Cross product."""
    return (
        a[1] * b[2] - a[2] * b[1],
        a[2] * b[0] - a[0] * b[2],
        a[0] * b[1] - a[1] * b[0],
    )


def hexagon(across_flats: float) -> list[Vec2]:
    """Outline of a spanner hexagon."""
    return circle(across_flats / math.sqrt(3), 6)


def nut(bore: float, *, surface: str = "main") -> Mesh:
    """A hexagon nut lying flat, for a thread of that diameter."""
    return plate(
        hexagon(bore * 1.6),
        bore * 0.8,
        holes=[circle(bore / 2, 14)],
        bevel=bore * 0.07,
        surface=surface,
        step=bore,
    )


def bolt(dia: float, length: float, *, surface: str = "main") -> Mesh:
    """A hexagon bolt, head down on z = 0, thread up."""
    mesh = plate(hexagon(dia * 1.6), dia * 0.65, bevel=dia * 0.08, surface=surface, step=dia)
    r, z = dia / 2, dia * 0.65
    profile: list[Vec2] = [(0, z), (r, z), (r, z + length * 0.4)]
    pitch = max(dia * 0.17, length * 0.6 / 16)
    top = z + length - pitch
    z += length * 0.4
    while z < top:
        profile += [(r * 0.86, z + pitch * 0.5), (r, z + pitch)]
        z += pitch
    profile += [(r * 0.8, z + pitch * 0.5), (0, z + pitch * 0.5)]
    return mesh.add(turned(profile, segs=14, surface=surface, bevel=0, step=length / 4))
