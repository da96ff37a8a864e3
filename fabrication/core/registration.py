"""Lay one set of points over another by a shift and a turn, never by a mirror."""

import math
from collections.abc import Sequence
from dataclasses import dataclass

from .errors import CoreError
from .vectors import Vec3


@dataclass(frozen=True, slots=True)
class Motion:
    """A turn, as three rows of a matrix, followed by a shift. [-, mm]"""

    row_x: Vec3
    row_y: Vec3
    row_z: Vec3
    shift: Vec3

    def turned(self, direction: Vec3) -> Vec3:
        """Return a direction turned."""
        return Vec3(self.row_x.dot(direction), self.row_y.dot(direction), self.row_z.dot(direction))

    def moved(self, point: Vec3) -> Vec3:
        """Return a point turned and shifted."""
        return self.turned(point) + self.shift


def best_motion(
    *, points: Sequence[Vec3], targets: Sequence[Vec3], weights: Sequence[float]
) -> Motion:
    """Motion that brings points nearest to their targets, in the sense of least squares.

    Parameters
    ----------
    points, targets : sequences of Vec3
        As many of one as of the other, at least one. [mm]
    weights : sequence of float
        One for each pair, none negative and not all zero. [-]

    Returns
    -------
    Motion
        A proper turn by construction: a unit quaternion cannot mirror. [-, mm]

    Raises
    ------
    CoreError
        point_count, if the numbers differ or there are none; bad_weights.

    Source
    ------
    B. K. P. Horn, Closed-form solution of absolute orientation using unit quaternions,
    J. Opt. Soc. Am. A 4 (1987) 629-642; recalled, and checked against Kabsch's method.

    Examples
    --------
    >>> corner = [Vec3(0, 0, 0), Vec3(2, 0, 0), Vec3(2, 1, 0)]
    >>> stood_up = [Vec3(5, 0, 0), Vec3(5, 0, 2), Vec3(4, 0, 2)]
    >>> motion = best_motion(points=corner, targets=stood_up, weights=[1, 1, 1])
    >>> max(motion.moved(a).distance_to(b) for a, b in zip(corner, stood_up)) < 1e-12
    True
    """
    if not len(points) == len(targets) == len(weights) or not points:
        raise CoreError("point_count", None, "Every point needs one target and one weight.")
    total = math.fsum(weights)
    if min(weights) < 0 or not 0 < total < math.inf:
        raise CoreError("bad_weights", None, "Weights must not be negative, nor all be nothing.")
    middle, goal = _mean(points, weights, total), _mean(targets, weights, total)
    w, x, y, z = _largest_eigenvector(_horn_matrix(points, targets, weights, middle, goal))
    turn = Motion(
        Vec3(w * w + x * x - y * y - z * z, 2 * (x * y - w * z), 2 * (x * z + w * y)),
        Vec3(2 * (x * y + w * z), w * w - x * x + y * y - z * z, 2 * (y * z - w * x)),
        Vec3(2 * (x * z - w * y), 2 * (y * z + w * x), w * w - x * x - y * y + z * z),
        Vec3(0, 0, 0),
    )
    return Motion(turn.row_x, turn.row_y, turn.row_z, goal - turn.turned(middle))


def _mean(points: Sequence[Vec3], weights: Sequence[float], total: float) -> Vec3:
    summed = Vec3(0, 0, 0)
    for point, weight in zip(points, weights, strict=True):
        summed += point * (weight / total)
    return summed


Matrix = list[list[float]]


def _horn_matrix(
    points: Sequence[Vec3],
    targets: Sequence[Vec3],
    weights: Sequence[float],
    middle: Vec3,
    goal: Vec3,
) -> Matrix:
    s = [[0.0] * 3 for _ in range(3)]
    for point, target, weight in zip(points, targets, weights, strict=True):
        for i, from_middle in enumerate(point - middle):
            for j, from_goal in enumerate(target - goal):
                s[i][j] += weight * from_middle * from_goal
    (xx, xy, xz), (yx, yy, yz), (zx, zy, zz) = s
    return [
        [xx + yy + zz, yz - zy, zx - xz, xy - yx],
        [yz - zy, xx - yy - zz, xy + yx, zx + xz],
        [zx - xz, xy + yx, yy - xx - zz, yz + zy],
        [xy - yx, zx + xz, yz + zy, zz - xx - yy],
    ]


def _largest_eigenvector(matrix: Matrix) -> tuple[float, float, float, float]:
    """Return the unit eigenvector of the largest eigenvalue, by Jacobi's turns."""
    size = len(matrix)
    vectors = [[float(i == j) for j in range(size)] for i in range(size)]
    scale = math.sqrt(math.fsum(value * value for row in matrix for value in row))
    for _ in range(50):
        rest = max(abs(matrix[i][j]) for i in range(size) for j in range(i))
        if rest <= 1e-16 * scale:
            break
        for p in range(size):
            for q in range(p + 1, size):
                if matrix[p][q] != 0:
                    _jacobi_turn(matrix, vectors, p, q)
    best = max(range(size), key=lambda i: matrix[i][i])
    w, x, y, z = (row[best] for row in vectors)
    return w, x, y, z


def _jacobi_turn(matrix: Matrix, vectors: Matrix, p: int, q: int) -> None:
    """Turn rows and columns p and q so that their common entry becomes zero."""
    half_rad = 0.5 * math.atan2(2 * matrix[p][q], matrix[q][q] - matrix[p][p])
    cos, sin = math.cos(half_rad), math.sin(half_rad)
    for row in (*matrix, *vectors):
        row[p], row[q] = cos * row[p] - sin * row[q], sin * row[p] + cos * row[q]
    for k in range(len(matrix)):
        above, below = matrix[p][k], matrix[q][k]
        matrix[p][k], matrix[q][k] = cos * above - sin * below, sin * above + cos * below
    matrix[p][q] = matrix[q][p] = 0.0
