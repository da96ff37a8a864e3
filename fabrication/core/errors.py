"""What the core refuses (exceptions) and what it doubts (problems).

A number that cannot be right is never bent into one that can: the core raises, and says why.
A case that is legal but doubtful is answered, and the answer carries a `Problem`.
Messages are plain sentences for the bench and count from one; `index` counts from zero.
"""

import math
from dataclasses import dataclass
from enum import StrEnum


class CoreError(ValueError):
    """A question the core refuses to answer.

    `kind` is a short name for programs, `index` the place in the input (a node or a straight,
    counted from zero) and `message` a sentence for the person at the bench.
    """

    def __init__(self, kind: str, index: int | None = None, message: str = "") -> None:
        super().__init__(message or kind)
        self.kind = kind
        self.index = index
        self.message = message or kind


class OutOfRange(CoreError):
    """A value outside the limits inside which a formula or its source holds."""

    def __init__(self, field: str, value: float, low: float, high: float, *, why: str = "") -> None:
        message = f"{field} is {value:g}; it must lie between {low:g} and {high:g}."
        super().__init__("out_of_range", None, f"{message} {why}".rstrip())
        self.field = field
        self.value = value
        self.low = low
        self.high = high
        self.why = why


class Severity(StrEnum):
    """How much a problem matters."""

    CAUTION = "caution"
    BLOCKER = "blocker"


@dataclass(frozen=True, slots=True)
class Problem:
    """One doubt about a legal answer, as a value the page, the print and the test all read."""

    kind: str
    severity: Severity
    message: str
    index: int | None = None


class Infeasible(CoreError):
    """The thing asked for is geometrically sound and still cannot be made as asked.

    `problems` names every obstacle found, the first being the one in `message`.
    """

    def __init__(self, kind: str, problems: tuple[Problem, ...]) -> None:
        first = problems[0]
        super().__init__(kind, first.index, " ".join(problem.message for problem in problems))
        self.problems = problems


def caution(kind: str, message: str, index: int | None = None) -> Problem:
    """Return a `Problem` that lets the work go on."""
    return Problem(kind, Severity.CAUTION, message, index)


def blocker(kind: str, message: str, index: int | None = None) -> Problem:
    """Return a `Problem` that stops the work."""
    return Problem(kind, Severity.BLOCKER, message, index)


def require_finite(**named: float) -> None:
    """Raise `OutOfRange` for the first argument that is infinite or not a number."""
    for field, value in named.items():
        if not math.isfinite(value):
            raise OutOfRange(field, value, -math.inf, math.inf, why="It is not a number.")


def require_positive(**named: float) -> None:
    """Raise `OutOfRange` for the first argument that is not a finite number above zero."""
    for field, value in named.items():
        if not 0 < value < math.inf:
            raise OutOfRange(field, value, 0, math.inf, why="It must be more than nothing.")


def require_not_negative(**named: float) -> None:
    """Raise `OutOfRange` for the first argument that is not a finite number of at least zero."""
    for field, value in named.items():
        if not 0 <= value < math.inf:
            raise OutOfRange(field, value, 0, math.inf)


def require_between(low: float, high: float, **named: float) -> None:
    """Raise `OutOfRange` for the first argument that is not strictly between two limits."""
    for field, value in named.items():
        if not low < value < high:
            raise OutOfRange(field, value, low, high, why="The limits themselves are excluded.")
