"""Where a bond or a coat stands: wet, to be handled only, or ready for its load.

Only the log says that something is done. What lies after the last reading is a forecast: it says
when to come back and read the part again, and never that the time is over.
"""

from collections.abc import Iterable
from dataclasses import dataclass
from enum import StrEnum

from .cure_log import DONE, Credit, Reading, credit
from .cure_rate import Schedule
from .errors import require_not_negative


class State(StrEnum):
    """What may be done with it."""

    WET = "wet"
    HANDLE = "handle"
    LOAD = "load"


@dataclass(frozen=True, slots=True)
class Progress:
    """One event of the two: how far the log has brought it. [-, h, C]

    `left_h` is the time from the last reading on, if the part stays as warm as it was then;
    endless when that is too cold.
    """

    credit: Credit
    age_h: float
    full_h: float
    ref_c: float
    left_h: float

    @property
    def is_done(self) -> bool:
        """Return whether the log alone says that the time is over."""
        return self.credit.share_ratio >= DONE


@dataclass(frozen=True, slots=True)
class Standing:
    """Both events together, and what the joint may be used for."""

    state: State
    handling: Progress | None
    full: Progress
    is_stalled: bool


def standing(
    *, readings: Iterable[Reading], full: Schedule, handling: Schedule | None = None
) -> Standing:
    """Where a joint stands at its last reading.

    Parameters
    ----------
    readings : iterable of Reading
        Log of the part, in order of time; empty means that nothing is known. [h, C]
    full, handling : Schedule
        When it carries its load, and when it may be moved; the latter may be unknown.

    Returns
    -------
    Standing
        Wet until handling time is over by the log, then handle only, then load. [h]

    Raises
    ------
    CoreError
        out_of_order, from the log.

    Source
    ------
    Two clocks and three states are a house rule; the sums are those of `cure_log` and
    `cure_rate`.

    Examples
    --------
    >>> from .cure_rate import SheetTime, schedule
    >>> day = schedule(times=[SheetTime(20, 24)])
    >>> touch = schedule(times=[SheetTime(20, 2)])
    >>> log = [Reading(0, 20), Reading(2, 20)]
    >>> found = standing(readings=log, full=day, handling=touch)
    >>> found.state.value, found.full.left_h
    ('handle', 22.0)
    """
    log = list(readings)
    last_c = log[-1].temp_c if log else None
    whole = _progress(log, full, last_c)
    part = _progress(log, handling, last_c) if handling else None
    state = State.WET
    if whole.is_done:
        state = State.LOAD
    elif part is not None and part.is_done:
        state = State.HANDLE
    is_stalled = last_c is not None and last_c < full.lower_limit_c and state is not State.LOAD
    return Standing(state, part, whole, is_stalled)


def time_left_h(*, share_done_ratio: float, schedule: Schedule, temp_c: float) -> float:
    """Hours still to wait at a temperature, the present one or a forecast.

    Parameters
    ----------
    share_done_ratio : float
        Share that the log has brought so far, at least zero. [-]
    schedule : Schedule
        What the data sheet says.
    temp_c : float
        The temperature it will have. [C]

    Returns
    -------
    float
        Zero when done, endless below the lower limit. [h]

    Raises
    ------
    OutOfRange
        If the share is below zero or the temperature is not finite.

    Source
    ------
    Derived: the share that is missing, times the whole at that temperature.

    Examples
    --------
    >>> from .cure_rate import SheetTime, schedule
    >>> day = schedule(times=[SheetTime(20, 24)])
    >>> time_left_h(share_done_ratio=0.25, schedule=day, temp_c=20)
    18.0
    >>> time_left_h(share_done_ratio=0.25, schedule=day, temp_c=8)
    inf
    """
    require_not_negative(share_done_ratio=share_done_ratio)
    whole_h = schedule.hours_at(temp_c)
    return 0.0 if share_done_ratio >= DONE else (1 - share_done_ratio) * whole_h


def _progress(log: list[Reading], schedule: Schedule, last_c: float | None) -> Progress:
    found = credit(readings=log, schedule=schedule)
    full_h = schedule.hours_at(schedule.ref_c)
    left_h = time_left_h(
        share_done_ratio=found.share_ratio,
        schedule=schedule,
        temp_c=schedule.ref_c if last_c is None else last_c,
    )
    return Progress(found, found.share_ratio * full_h, full_h, schedule.ref_c, left_h)
