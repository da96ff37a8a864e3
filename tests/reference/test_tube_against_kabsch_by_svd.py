"""The laying over of two pipes against Kabsch's method, by the singular values of numpy.

W. Kabsch, Acta Cryst. A 32 (1976) 922: another road to the same least-squares turn than the
quaternions of the code. The determinant keeps it a turn.
"""

import math

import numpy as np
import pytest

from fabrication.core.errors import CoreError
from fabrication.core.registration import best_motion
from fabrication.core.vectors import Vec3


def kabsch(
    points: np.ndarray, targets: np.ndarray, weights: np.ndarray
) -> tuple[np.ndarray, np.ndarray]:
    """Return turn and shift by singular value decomposition."""
    share = weights / weights.sum()
    middle, goal = share @ points, share @ targets
    u, _, vt = np.linalg.svd((points - middle).T @ np.diag(weights) @ (targets - goal))
    hand = np.diag([1, 1, np.sign(np.linalg.det(vt.T @ u.T))])
    turn = vt.T @ hand @ u.T
    return turn, goal - turn @ middle


def vectors(points: np.ndarray) -> list[Vec3]:
    return [Vec3(*map(float, point)) for point in points]


@pytest.mark.parametrize("seed", range(60))
@pytest.mark.parametrize("noise_mm", [0.0, 2.0, 80.0])
def test_the_turn_and_the_shift_are_kabschs(seed: int, noise_mm: float) -> None:
    random = np.random.default_rng(seed)
    points = random.normal(scale=200, size=(3 + seed % 9, 3))
    turn = np.linalg.qr(random.normal(size=(3, 3)))[0]
    turn *= np.sign(np.linalg.det(turn))
    targets = points @ turn.T + random.normal(size=3) * 300
    targets = targets + random.normal(scale=noise_mm, size=points.shape)
    weights = random.uniform(0.5, 3, size=len(points))

    motion = best_motion(
        points=vectors(points), targets=vectors(targets), weights=[float(w) for w in weights]
    )

    their_turn, their_shift = kabsch(points, targets, weights)
    for ours, theirs in zip((motion.row_x, motion.row_y, motion.row_z), their_turn, strict=True):
        assert [*ours] == pytest.approx(theirs.tolist(), abs=1e-9)
    assert [*motion.shift] == pytest.approx(their_shift.tolist(), abs=1e-6)


@pytest.mark.parametrize("seed", range(20))
def test_a_mirror_image_is_never_fitted_by_a_mirror(seed: int) -> None:
    random = np.random.default_rng(seed)
    points = random.normal(scale=100, size=(6, 3))
    mirrored = points * np.array([1, 1, -1])

    motion = best_motion(points=vectors(points), targets=vectors(mirrored), weights=[1.0] * 6)

    rows = np.array([[*motion.row_x], [*motion.row_y], [*motion.row_z]])
    assert np.linalg.det(rows) == pytest.approx(1, abs=1e-12)
    assert rows @ rows.T == pytest.approx(np.eye(3), abs=1e-12)
    misses = [
        motion.moved(a).distance_to(b)
        for a, b in zip(vectors(points), vectors(mirrored), strict=True)
    ]
    assert max(misses) > 10


def test_points_in_one_line_are_laid_over_each_other_all_the_same() -> None:
    line = [Vec3(0, 0, 0), Vec3(10, 0, 0), Vec3(30, 0, 0)]
    stood_up = [Vec3(5, 5, 0), Vec3(5, 5, 10), Vec3(5, 5, 30)]

    motion = best_motion(points=line, targets=stood_up, weights=[1, 1, 1])

    assert max(motion.moved(a).distance_to(b) for a, b in zip(line, stood_up, strict=True)) < 1e-9
    assert math.isclose(motion.row_x.cross(motion.row_y).dot(motion.row_z), 1, abs_tol=1e-12)


@pytest.mark.parametrize(
    ("points", "weights", "kind"),
    [
        ([], [], "point_count"),
        ([Vec3(0, 0, 0)], [1, 1], "point_count"),
        ([Vec3(0, 0, 0)], [0], "bad_weights"),
        ([Vec3(0, 0, 0), Vec3(1, 0, 0)], [2, -1], "bad_weights"),
    ],
)
def test_it_refuses(points: list[Vec3], weights: list[float], kind: str) -> None:
    with pytest.raises(CoreError) as refusal:
        best_motion(points=points, targets=points, weights=weights)

    assert refusal.value.kind == kind
