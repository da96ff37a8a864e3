"""The fit of practice bends as a small plot: over the angle, how much more than it to pull.

Pull over angle would be nearly the diagonal, and hide the very thing that is looked for. The
numbers stand in the table beside it too.
"""

from collections.abc import Iterable, Sequence
from dataclasses import dataclass

from fabrication.core.springback import Springback, TrialBend

WIDTH, HEIGHT = 340.0, 210.0
LEFT, RIGHT, TOP, FOOT = 44.0, 12.0, 12.0, 40.0
BAND_DEG = 1.0  # where the core begins to say that the bends scatter


@dataclass(frozen=True, slots=True)
class Tick:
    at: str
    value: float


@dataclass(frozen=True, slots=True)
class Dot:
    x: str
    y: str
    counts: bool


@dataclass(frozen=True, slots=True)
class Plot:
    """Ready to be drawn: every coordinate as text, in units of the view box."""

    dots: tuple[Dot, ...]
    line: str
    band: str
    tested: tuple[str, str]
    zero: str
    across: tuple[Tick, ...]
    up: tuple[Tick, ...]
    width: str = f"{WIDTH:g}"
    height: str = f"{HEIGHT:g}"
    left: str = f"{LEFT:g}"
    right: str = f"{WIDTH - RIGHT:g}"
    top: str = f"{TOP:g}"
    foot: str = f"{HEIGHT - FOOT:g}"


def plot(trials: Sequence[TrialBend], learnt: Springback) -> Plot:
    """The bends, the line through them, a degree beside it either way, and the span they cover."""
    extras = [(one.result_deg, one.pulled_deg - one.result_deg) for one in trials]
    low_deg, high_deg = 0.8 * learnt.least_deg, 1.2 * learnt.most_deg
    most_x = max(high_deg, *(x for x, _ in extras)) * 1.04
    ends = [(x, learnt.pull_deg(x) - x) for x in (low_deg, high_deg)]
    ys = [y for _, y in [*extras, *ends]]
    least_y, most_y = min(0.0, *ys) - 0.2, max(*ys) + BAND_DEG + 0.2
    step_x = _step(most_x, (15, 30, 45, 60, 90))
    step_y = _step(most_y - least_y, (0.5, 1, 2, 5, 10, 20))

    def x_at(value: float) -> str:
        return f"{LEFT + value / most_x * (WIDTH - LEFT - RIGHT):.1f}"

    def y_at(value: float) -> str:
        share = (value - least_y) / (most_y - least_y)
        return f"{HEIGHT - FOOT - share * (HEIGHT - TOP - FOOT):.1f}"

    def path(points: Iterable[tuple[float, float]]) -> str:
        return "M" + "L".join(f"{x_at(x)} {y_at(y)}" for x, y in points)

    upper = [(x, y + BAND_DEG) for x, y in ends]
    lower = [(x, max(least_y, y - BAND_DEG)) for x, y in reversed(ends)]
    return Plot(
        dots=tuple(
            Dot(x_at(x), y_at(y), one.from_straight)
            for (x, y), one in zip(extras, trials, strict=True)
        ),
        line=path(ends),
        band=path([*upper, *lower]) + "Z",
        tested=(x_at(learnt.least_deg), x_at(learnt.most_deg)),
        zero=y_at(0),
        across=tuple(Tick(x_at(v), v) for v in _ticks(0, most_x, step_x)),
        up=tuple(Tick(y_at(v), v) for v in _ticks(least_y, most_y, step_y)),
    )


def _step(span: float, steps: Sequence[float]) -> float:
    return next((step for step in steps if span / step <= 7), steps[-1])


def _ticks(low: float, high: float, step: float) -> list[float]:
    """Whole steps from ``low``, which is at most 0, to ``high``."""
    return [step * n for n in range(int(low / step), int(high / step) + 1)]
