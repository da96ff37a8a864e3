"""One small set of linear equations."""

from collections.abc import Sequence

Matrix = list[list[float]]


def solved(matrix: Sequence[Sequence[float]], right: Sequence[float]) -> list[float]:
    """Return x with matrix x = right, by elimination with the largest pivot.

    The matrix must be square and regular; a singular one raises ZeroDivisionError.

    >>> solved([[2, 1], [1, 3]], [5, 10])
    [1.0, 3.0]
    """
    size = len(right)
    rows = [[*map(float, row), float(value)] for row, value in zip(matrix, right, strict=True)]
    for column in range(size):
        pivot = max(range(column, size), key=lambda row: abs(rows[row][column]))
        rows[column], rows[pivot] = rows[pivot], rows[column]
        for row in range(column + 1, size):
            share = rows[row][column] / rows[column][column]
            for place in range(column, size + 1):
                rows[row][place] -= share * rows[column][place]
    found = [0.0] * size
    for row in reversed(range(size)):
        known = sum(rows[row][place] * found[place] for place in range(row + 1, size))
        found[row] = (rows[row][size] - known) / rows[row][row]
    return found
