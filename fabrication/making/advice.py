"""What to do with a bend now: how far to pull next, when it is done, and when it is too far.

The pulls follow ``fabrication.core.practice_bend``. Here stands only which springback they rest on:
practice bends with this tube, else a guess, else what the first pulls on this very pipe came to.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from fabrication.core.errors import CoreError
from fabrication.core.practice_bend import Advice, NextPull, first_pull, next_pull
from fabrication.core.springback import Fit, Springback, TrialBend, fit
from fabrication.kit.handle import Scale
from fabrication.models import Reading
from fabrication.pipe.worked import Mark

TOLERANCE_DEG = GAUGE_ERROR_DEG = 0.5
"""Our figures: how near a bend has to come, and how far an angle gauge may be off."""

STEP_DEG, FINE_DEG = 0.5, 0.1


class Source(StrEnum):
    """What an advised pull rests on."""

    PRACTICE = "practice"
    GUESS = "guess"
    THIS_PIPE = "this_pipe"


@dataclass(frozen=True, slots=True)
class Pull:
    """What to do with one bend now.

    ``pull_deg`` is there when there is one more pull to make, ``scale`` when the handle has a
    scale. ``off_deg`` is the last reading less the angle wanted.
    """

    what: Advice
    source: Source
    pull_deg: float | None = None
    scale: str = ""
    off_deg: float | None = None
    opens_less: bool = False

    @property
    def is_done(self) -> bool:
        return self.what is Advice.DONE

    @property
    def is_over(self) -> bool:
        return self.what is Advice.OVER

    @property
    def at_limit(self) -> bool:
        return self.what is Advice.AT_LIMIT


def pull_now(
    mark: Mark,
    readings: Sequence[Reading],
    *,
    springback: Springback | None,
    first_pulls: Sequence[TrialBend],
    scale: Scale | None = None,
) -> Pull:
    """The next pull of a bend, or that there is none.

    Args: ``readings`` are those of this bend in turn, ``first_pulls`` the first pulls of every
    bend of this pipe: those alone went from straight in one go.
    """
    own = _learnt_here(first_pulls)
    last = readings[-1] if readings else None
    tries = [(springback, Source.PRACTICE)] if springback else []
    if own:
        tries.append((own, Source.THIS_PIPE))
    if not tries:
        tries.append((_guess(mark), Source.GUESS))
    for learnt, source in tries:
        asked = _asked(mark, last, learnt)
        pull_deg = _held_back(asked.pull_deg, last.pulled_to_deg if last else 0.0)
        if asked.advice is not Advice.AT_LIMIT and (asked.advice is not Advice.PULL or pull_deg):
            return _said(asked.advice, source, pull_deg, mark, last, scale)
    return _said(Advice.AT_LIMIT, tries[-1][1], None, mark, last, scale)


def first_pulls_of(readings: Sequence[Reading]) -> list[TrialBend]:
    """The first pull of each bend; a bend begun anew after a reading was taken out has none."""
    return [
        TrialBend(one.pulled_to_deg, one.came_to_deg)
        for one in readings
        if one.pull == 1 and one.came_to_deg > 0
    ]


def _asked(mark: Mark, last: Reading | None, springback: Springback) -> NextPull:
    if last is None:
        return first_pull(
            springback=springback, wanted_deg=mark.angle_deg, gauge_error_deg=GAUGE_ERROR_DEG
        )
    return next_pull(
        springback=springback,
        wanted_deg=mark.angle_deg,
        last_pull_deg=last.pulled_to_deg,
        measured_deg=last.came_to_deg,
        tolerance_deg=TOLERANCE_DEG,
        gauge_error_deg=GAUGE_ERROR_DEG,
    )


def _guess(mark: Mark) -> Springback:
    """The sheet's own pull as a ratio: a guess from the yield, or no more than the angle."""
    return Springback(Fit.RATIO, 0.0, mark.pull_deg / mark.angle_deg, 0.0, 0.0, math.inf)


def _learnt_here(first_pulls: Sequence[TrialBend]) -> Springback | None:
    """The springback as this pipe shows it; None where the readings cannot be right."""
    try:
        learnt = fit(first_pulls)
    except CoreError:
        return None
    # A ratio below one would ask for less than the angle: a scale that does not begin at nought.
    return learnt if learnt.factor >= 1 else None


def _held_back(pull_deg: float | None, last_deg: float) -> float | None:
    """The pull as a scale can be read, never rounded up: what is pulled too far stays so."""
    if pull_deg is None:
        return None
    for step in (STEP_DEG, FINE_DEG):
        held_deg = math.floor(pull_deg / step + 1e-9) * step
        if held_deg > last_deg + 1e-9:
            return held_deg
    return None


def _said(
    what: Advice,
    source: Source,
    pull_deg: float | None,
    mark: Mark,
    last: Reading | None,
    scale: Scale | None,
) -> Pull:
    return Pull(
        what=what,
        source=source,
        pull_deg=pull_deg,
        scale=scale.reading(pull_deg).words if scale and pull_deg else "",
        off_deg=last.came_to_deg - mark.angle_deg if last else None,
        opens_less=bool(last and last.came_to_deg > last.pulled_to_deg),
    )
