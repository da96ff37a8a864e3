"""Setting up one photo: what lies there, where the phone and the lamp are, how it is exposed."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from random import Random

from garage.demo import surroundings
from garage.demo.camera import Camera, held
from garage.demo.develop import Film
from garage.demo.marks import MENDS, Spot, find_spot
from garage.demo.mesh import Mesh, Vec3
from garage.demo.render import Lamp, on_screen, visible_patches
from garage.demo.subjects import SUBJECTS, Subject, solid

_GROUNDS = {
    "in_place": ("panel",),
    "off": ("bench", "old bench", "concrete", "concrete", "card"),
    "damage": ("bench", "old bench", "concrete"),
    "mended": ("old bench", "bench", "card"),
    "back": ("paper", "paper", "card", "cloth", "bench"),
    "refitted": ("clean panel",),
}
MOMENTS = tuple(_GROUNDS)

_FILMS = (
    Film(lit=(1.0, 0.94, 0.83), shade=(0.86, 0.9, 1.0)),
    Film(lit=(0.97, 1.0, 0.99), shade=(0.88, 0.95, 1.0)),
    Film(lit=(1.0, 0.985, 0.95), shade=(0.84, 0.92, 1.04)),
    Film(lit=(1.0, 0.92, 0.8), shade=(0.92, 0.92, 0.97)),
)


@dataclass(frozen=True, slots=True)
class Stage:
    """One photo ready to be drawn."""

    mesh: Mesh
    camera: Camera
    lamp: Lamp
    film: Film
    ground: str
    ground_turn: tuple[float, float]
    texels_per_unit: float
    softness_px: float
    sharp_row: float
    focus_depth: float
    spot: Spot | None = None
    mark: str = ""
    mark_scale: float = 1.0


def staged(subject: str, *, look: str, moment: str, rng: Random, size: tuple[int, int]) -> Stage:
    """The stage for that moment of the subject's story."""
    entry, part = SUBJECTS[subject], solid(subject)
    azimuth = entry.azimuth_deg + rng.uniform(-1, 1) * entry.spread_deg
    pitch = rng.uniform(*entry.pitch_deg)
    close = moment in ("damage", "mended")
    roll, fill = _roll_and_fill(entry, moment, rng)
    camera = _framed(part.points, azimuth, pitch, rng, size, fill=fill, roll=roll)
    spot, mark = None, ""
    if close:
        spot = _spot_on(part, camera, size, rng)
        mark = MENDS[entry.damage] if moment == "mended" else entry.damage
        camera = _closer(camera, spot.middle, azimuth, pitch, rng, size)
    middle = spot.middle if spot else (0.0, 0.0, part.bounds()[1][2] / 2)
    ground = "panel" if entry.scene else rng.choice(_GROUNDS[moment])
    turn = math.radians(azimuth + 90 + rng.uniform(-35, 35))
    return Stage(
        mesh=_surrounded(part, entry, moment, azimuth, rng),
        camera=camera,
        lamp=_lamp(moment, azimuth, rng),
        film=_film(look, moment, rng),
        ground=ground,
        ground_turn=(math.cos(turn), math.sin(turn)),
        texels_per_unit=rng.uniform(130, 160) if ground == "concrete" else rng.uniform(190, 240),
        softness_px=rng.uniform(2.5, 5.5),
        sharp_row=on_screen([middle], camera)[0][1],
        focus_depth=camera.depth_of(middle),
        spot=spot,
        mark=mark,
        mark_scale=_mark_scale(camera, spot) if spot else 1.0,
    )


def _roll_and_fill(entry: Subject, moment: str, rng: Random) -> tuple[float, float]:
    """How far the phone is turned [deg] and what share of the picture the part takes."""
    tilted = moment in ("in_place", "refitted") and not entry.scene
    roll = rng.choice((-1, 1)) * rng.uniform(6, 20) if tilted else rng.uniform(-3.5, 3.5)
    if entry.scene:
        return roll, 1.3
    return roll, 0.75 if moment in ("damage", "mended") else rng.uniform(0.62, 0.8)


def _mark_scale(camera: Camera, spot: Spot) -> float:
    return min(math.dist(camera.eye, spot.middle) * 0.2, spot.room * 2.1)


def _spot_on(part: Mesh, camera: Camera, size: tuple[int, int], rng: Random) -> Spot:
    screen = on_screen(part.points, camera)
    patches = visible_patches(part, camera, screen, *size)
    return find_spot(patches, screen, camera, size, rng)


def _surrounded(part: Mesh, entry: Subject, moment: str, azimuth: float, rng: Random) -> Mesh:
    mesh = Mesh().add(part)
    if entry.scene:
        return mesh
    if moment in ("in_place", "refitted"):
        return mesh.add(
            surroundings.clutter(part, rng, azimuth_deg=azimuth, clean=moment == "refitted")
        )
    return mesh.add(surroundings.props(part, rng, tidy=moment == "back"))


def _framed(
    points: Sequence[Vec3],
    azimuth: float,
    pitch: float,
    rng: Random,
    size: tuple[int, int],
    *,
    fill: float,
    roll: float,
) -> Camera:
    """A camera that fills that share of the picture with the part, a little off centre."""
    stand = {"azimuth_deg": azimuth, "pitch_deg": pitch, "roll_deg": roll}
    view = rng.uniform(28, 38)
    target: Vec3 = (0.0, 0.0, 0.3)
    distance = 6.0
    few = points[:: max(1, len(points) // 500)]
    for last in (False, False, False, True):
        camera = held(target=target, distance=distance, size=size, view_deg=view, **stand)
        xs, ys = zip(*on_screen(few, camera), strict=True)
        dx, dy = (min(xs) + max(xs) - size[0]) / 2, (min(ys) + max(ys) - size[1]) / 2
        if last:
            dx += rng.uniform(-0.04, 0.04) * size[0]
            dy += rng.uniform(-0.04, 0.04) * size[1]
        unit = distance / camera.focal
        target = _moved(target, camera, dx * unit, -dy * unit)
        if not last:
            wide, tall = (max(xs) - min(xs)) / size[0], (max(ys) - min(ys)) / size[1]
            distance *= max(wide, tall) / fill
    return held(target=target, distance=distance, size=size, view_deg=view, **stand)


def _moved(p: Vec3, camera: Camera, right: float, up: float) -> Vec3:
    r, u = camera.right, camera.up
    return (
        p[0] + right * r[0] + up * u[0],
        p[1] + right * r[1] + up * u[1],
        p[2] + right * r[2] + up * u[2],
    )


def _closer(
    camera: Camera, spot: Vec3, azimuth: float, pitch: float, rng: Random, size: tuple[int, int]
) -> Camera:
    """About half as far away, with the spot a little off the middle."""
    distance = math.dist(camera.eye, spot) * rng.uniform(0.52, 0.62)
    view = math.degrees(2 * math.atan(size[1] / 2 / camera.focal))
    near = held(
        target=spot,
        distance=distance,
        azimuth_deg=azimuth,
        pitch_deg=pitch,
        roll_deg=rng.uniform(-5, 5),
        size=size,
        view_deg=view,
    )
    shift = _moved(
        (0.0, 0.0, 0.0),
        near,
        rng.uniform(-0.1, 0.1) * distance,
        rng.uniform(-0.06, 0.06) * distance,
    )
    return replace(
        near, eye=(near.eye[0] + shift[0], near.eye[1] + shift[1], near.eye[2] + shift[2])
    )


def _lamp(moment: str, azimuth: float, rng: Random) -> Lamp:
    flash = moment in ("in_place", "refitted")
    side = rng.choice((-1, 1)) * (rng.uniform(25, 60) if flash else rng.uniform(45, 125))
    a, e = math.radians(azimuth + side), math.radians(rng.uniform(40, 60))
    toward = (math.cos(e) * math.cos(a), math.cos(e) * math.sin(a), math.sin(e))
    if flash:
        return Lamp(toward, key=rng.uniform(0.75, 0.95), room=rng.uniform(0.16, 0.26), fill=0.12)
    return Lamp(toward, key=rng.uniform(0.6, 0.85), room=rng.uniform(0.3, 0.44))


def _film(look: str, moment: str, rng: Random) -> Film:
    film = rng.choice(_FILMS)
    lift = 1.12 if look in ("greasy", "satin black") else 1.0
    if moment in ("in_place", "refitted"):
        dim = 0.95 if moment == "in_place" else 1.1
        return replace(
            film,
            exposure=dim * lift,
            vignette=rng.uniform(0.5, 0.68),
            noise=0.065,
            blur_px=rng.uniform(5, 8),
        )
    return replace(
        film,
        exposure=rng.uniform(0.92, 1.06) * lift,
        vignette=rng.uniform(0.2, 0.42),
        blur_px=rng.uniform(3.5, 6.5),
    )
