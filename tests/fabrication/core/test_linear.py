"""Linear equations against numpy."""

import numpy as np
import pytest

from fabrication.core.linear import solved


@pytest.mark.parametrize("seed", range(30))
def test_random_sets_are_solved_as_numpy_solves_them(seed: int) -> None:
    random = np.random.default_rng(seed)
    size = 1 + seed % 12
    matrix, right = random.normal(size=(size, size)), random.normal(size=size)

    ours = solved(matrix.tolist(), right.tolist())

    assert ours == pytest.approx(np.linalg.solve(matrix, right).tolist(), rel=1e-8, abs=1e-10)


def test_a_nothing_on_the_diagonal_is_pivoted_round() -> None:
    assert solved([[0, 2], [3, 0]], [4, 9]) == [3, 2]


def test_a_singular_set_is_not_answered() -> None:
    with pytest.raises(ZeroDivisionError):
        solved([[1, 2], [2, 4]], [1, 2])
