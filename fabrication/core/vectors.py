"""Points, directions and moving frames in space: the few operations the tube needs."""

import math
from collections.abc import Iterable, Iterator
from dataclasses import dataclass

from .errors import CoreError


@dataclass(frozen=True, slots=True)
class Vec3:
    """A point [mm] or a direction [-] in a right-handed frame."""

    x: float
    y: float
    z: float

    def __iter__(self) -> Iterator[float]:
        yield self.x
        yield self.y
        yield self.z

    def __add__(self, other: "Vec3") -> "Vec3":
        return Vec3(self.x + other.x, self.y + other.y, self.z + other.z)

    def __sub__(self, other: "Vec3") -> "Vec3":
        return Vec3(self.x - other.x, self.y - other.y, self.z - other.z)

    def __mul__(self, factor: float) -> "Vec3":
        return Vec3(self.x * factor, self.y * factor, self.z * factor)

    def __neg__(self) -> "Vec3":
        return Vec3(-self.x, -self.y, -self.z)

    def dot(self, other: "Vec3") -> float:
        return self.x * other.x + self.y * other.y + self.z * other.z

    def cross(self, other: "Vec3") -> "Vec3":
        return Vec3(
            self.y * other.z - self.z * other.y,
            self.z * other.x - self.x * other.z,
            self.x * other.y - self.y * other.x,
        )

    def norm(self) -> float:
        return math.hypot(self.x, self.y, self.z)

    def unit(self) -> "Vec3":
        """Return the direction of this vector; a vector of no length has none and is refused."""
        length = self.norm()
        if length == 0:
            raise CoreError("no_direction", None, "Two equal points have no direction.")
        return Vec3(self.x / length, self.y / length, self.z / length)

    def distance_to(self, other: "Vec3") -> float:
        return (other - self).norm()

    def is_finite(self) -> bool:
        return all(math.isfinite(value) for value in self)


Points = Iterable[Vec3 | tuple[float, float, float]]


def points_from(points: Points) -> tuple[Vec3, ...]:
    """Return the same points as `Vec3`, whether they came as vectors or as triples."""
    return tuple(Vec3(*point) for point in points)


def angle_between_rad(first: Vec3, second: Vec3) -> float:
    """Return the angle between two directions, 0 to pi. [rad]

    By atan2 of cross and dot product: the arc cosine loses half its digits near 0 and pi.

    >>> round(angle_between_rad(Vec3(1, 0, 0), Vec3(1, 1e-9, 0)), 15)
    1e-09
    """
    return math.atan2(first.cross(second).norm(), first.dot(second))


def any_perpendicular(direction: Vec3) -> Vec3:
    """Return some unit vector at right angles to a direction, always the same one for it."""
    smallest = min((abs(direction.x), 0), (abs(direction.y), 1), (abs(direction.z), 2))[1]
    axis = (Vec3(1, 0, 0), Vec3(0, 1, 0), Vec3(0, 0, 1))[smallest]
    return direction.cross(axis).unit()


@dataclass(frozen=True, slots=True)
class Frame:
    """A place on the tube and three directions there, moved along the tube like a hand.

    `ahead` points along the pipe away from the datum end, `inward` towards the centre of the
    bend being made, `axis` is their cross product: the axis about which that bend turns.
    """

    at: Vec3
    ahead: Vec3
    inward: Vec3
    axis: Vec3

    def forward(self, distance_mm: float) -> "Frame":
        """Return the frame slid along the straight tube."""
        return Frame(self.at + self.ahead * distance_mm, self.ahead, self.inward, self.axis)

    def rolled(self, rotation_deg: float) -> "Frame":
        """Return the frame turned about the tube, clockwise seen along the way of travel."""
        cos, sin = _cos_sin(rotation_deg)
        inward = self.inward * cos + self.axis * sin
        axis = self.axis * cos - self.inward * sin
        return Frame(self.at, self.ahead, inward, axis)

    def along_bend(self, angle_deg: float, radius_mm: float) -> "Frame":
        """Return the frame carried round an arc that starts here and curls inward."""
        cos, sin = _cos_sin(angle_deg)
        at = self.at + self.ahead * (radius_mm * sin) + self.inward * (radius_mm * (1 - cos))
        ahead = self.ahead * cos + self.inward * sin
        inward = self.inward * cos - self.ahead * sin
        return Frame(at, ahead, inward, self.axis)

    def local(self, point: Vec3) -> Vec3:
        """Return a point's coordinates in this frame: ahead, inward, axis."""
        offset = point - self.at
        return Vec3(offset.dot(self.ahead), offset.dot(self.inward), offset.dot(self.axis))


CANONICAL = Frame(
    Vec3(0.0, 0.0, 0.0), Vec3(1.0, 0.0, 0.0), Vec3(0.0, 1.0, 0.0), Vec3(0.0, 0.0, 1.0)
)
"""Datum end at the origin, first leg along +X, first bend towards +Y, its axis +Z."""

_QUARTERS = {0.0: (1.0, 0.0), 90.0: (0.0, 1.0), 180.0: (-1.0, 0.0), 270.0: (0.0, -1.0)}


def _cos_sin(angle_deg: float) -> tuple[float, float]:
    # Whole quarter turns are the common case at the bench and deserve exact zeros.
    exact = _QUARTERS.get(angle_deg % 360)
    if exact is not None:
        return exact
    angle_rad = math.radians(angle_deg)
    return math.cos(angle_rad), math.sin(angle_rad)
