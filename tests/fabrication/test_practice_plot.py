"""The plot of practice bends: where its points and its line lie."""

import pytest

from fabrication.core.springback import TrialBend, fit
from fabrication.kit.practice_plot import FOOT, HEIGHT, LEFT, RIGHT, TOP, WIDTH, Plot, plot


def plot_of(*pairs: tuple[float, float]) -> Plot:
    trials = [TrialBend(pulled, came) for pulled, came in pairs]
    return plot(trials, fit(trials))


def test_a_line_through_two_bends_goes_through_their_points() -> None:
    """Two bends fit a line exactly, so both points lie on it: same slope from end to end."""
    drawn = plot_of((22.5, 20), (127.5, 120))

    (x1, y1), (x2, y2) = (map(float, point.split()) for point in drawn.line[1:].split("L"))
    for dot in drawn.dots:
        on_line = y1 + (float(dot.x) - x1) * (y2 - y1) / (x2 - x1)
        assert float(dot.y) == pytest.approx(on_line, abs=0.11)  # coordinates have one place


@pytest.mark.parametrize(
    "pairs", [[(94, 90)], [(30, 28), (120, 115.6)], [(89, 90), (61, 60)], [(10, 8), (186, 180)]]
)
def test_everything_lies_inside_the_frame(pairs: list[tuple[float, float]]) -> None:
    drawn = plot_of(*pairs)

    for dot in drawn.dots:
        assert LEFT <= float(dot.x) <= WIDTH - RIGHT
        assert TOP <= float(dot.y) <= HEIGHT - FOOT
    assert all(TOP <= float(tick.at) <= HEIGHT - FOOT for tick in drawn.up)
    assert 2 <= len(drawn.across) <= 8
    assert 0.0 in [tick.value for tick in drawn.up]


def test_a_bend_that_does_not_count_is_marked() -> None:
    trials = [TrialBend(94, 90), TrialBend(99, 90, from_straight=False)]

    drawn = plot(trials, fit(trials))

    assert [dot.counts for dot in drawn.dots] == [True, False]
