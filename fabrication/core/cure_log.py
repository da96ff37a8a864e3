"""What a log of temperatures is worth: hours credited, hours not credited and why.

The log is of the part, not of the room: a cold casting lags for hours. Between two readings the
temperature is taken to run straight; a long gap is bridged only by the lowest of the night.
"""

import math
from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass
from enum import StrEnum
from itertools import pairwise

from .cure_rate import COLDEST_C, HOTTEST_C, Schedule
from .errors import CoreError, OutOfRange, require_not_negative

LONGEST_GAP_H = 2.0
"""House default: further apart, two readings say nothing about what lay between them."""

STEP_K = 1.0
"""The rate is curved, so a slope is summed in steps of this, each at its own mean."""

DONE = 1 - 1e-12
"""A share that rounding alone keeps from 1 is 1."""


@dataclass(frozen=True, slots=True)
class Reading:
    """The temperature of the part, hours after mixing. [h, C]

    `is_lowest` says that this was the lowest of the night, at this hour. `lowest_before_c` is the
    lowest since the reading before, by a max-min thermometer that does not say when.
    """

    at_h: float
    temp_c: float
    is_lowest: bool = False
    lowest_before_c: float | None = None


class Worth(StrEnum):
    """Why a stretch of the log counts, or does not."""

    COUNTED = "counted"
    AT_LOWEST = "at_lowest"
    NOT_COUNTED = "not_counted"


@dataclass(frozen=True, slots=True)
class Spell:
    """Hours during which the temperature ran straight from one figure to another. [h, C]"""

    hours: float
    start_c: float
    end_c: float


@dataclass(frozen=True, slots=True)
class Stretch:
    """What lies between two readings: the share of the cure it is worth. [h, -]"""

    start_h: float
    end_h: float
    share_ratio: float
    worth: Worth
    spell: Spell | None


@dataclass(frozen=True, slots=True)
class Credit:
    """The whole log: its stretches, the share done, and the hour the cure was complete. [h]"""

    stretches: tuple[Stretch, ...]
    share_ratio: float
    done_at_h: float | None

    @property
    def gaps(self) -> tuple[Stretch, ...]:
        """Return the stretches that count nothing, because nobody knows how cold it was."""
        return tuple(one for one in self.stretches if one.worth is Worth.NOT_COUNTED)


def equivalent_age_h(
    *, spells: Iterable[Spell], rate: Callable[[float], float], kinks_c: Sequence[float] = ()
) -> float:
    """Hours at the reference temperature that spells at others are worth.

    Parameters
    ----------
    spells : iterable of Spell
        Lengths and temperatures; a slope is summed in steps of 1 K. [h, C]
    rate : callable
        What an hour at a temperature is worth, 1 at the reference. [-]
    kinks_c : sequence of float
        Temperatures at which the rate bends or stops; a slope is parted there. [C]

    Returns
    -------
    float
        Sum of rate(temperature) x hours. [h]

    Raises
    ------
    OutOfRange
        If hours are below zero or a temperature is outside -60 to 400.

    Source
    ------
    ASTM C1074: an interval takes the mean of its two readings. Parting at a limit and in steps is
    derived; 18 C at 22:00, 4 C at 05:00 and 14 C at 07:00 come to 2.96 h at 20 C with 55 kJ/mol
    and nothing below 10 C.

    Examples
    --------
    >>> spells = [Spell(12, 20, 20), Spell(12, 25, 25)]
    >>> equivalent_age_h(spells=spells, rate=lambda temp_c: temp_c)  # degree-hours above 0 C
    540.0
    """
    total = 0.0
    for spell in spells:
        for hours, temp_c in _steps(spell, kinks_c):
            total += hours * rate(temp_c)
    return total


def credit(*, readings: Iterable[Reading], schedule: Schedule) -> Credit:
    """What a log is worth to one event of a schedule, and when it was complete.

    Parameters
    ----------
    readings : iterable of Reading
        Temperatures of the part in order of time. [h, C]
    schedule : Schedule
        What the data sheet says of this event.

    Returns
    -------
    Credit
        Nothing is credited before the first reading or after the last.

    Raises
    ------
    CoreError
        out_of_order, when a reading is not later than the one before.
    OutOfRange
        If a temperature is outside -60 to 400, or an hour is below zero.

    Source
    ------
    A gap over 2 h (house default) counts nothing, unless one of its ends is the lowest of the
    night, or the lowest in between is known: then all of the gap is taken at that.

    Examples
    --------
    >>> from .cure_rate import SheetTime, schedule
    >>> day = schedule(times=[SheetTime(20, 24)])
    >>> credit(readings=[Reading(0, 20), Reading(2, 20)], schedule=day).share_ratio * 24
    2.0
    >>> credit(readings=[Reading(0, 20), Reading(9, 20)], schedule=day).share_ratio
    0.0
    """
    log = list(readings)
    _refuse_bad_log(log)
    stretches, total, done_at_h = [], 0.0, None
    for before, after in pairwise(log):
        worth, spell = _between(before, after)
        share = 0.0
        if spell is not None:
            share, hours_to_done = _share(spell, schedule, wanted=1.0 - total)
            if done_at_h is None and total + share >= DONE:
                done_at_h = before.at_h + min(hours_to_done, spell.hours)
        stretches.append(Stretch(before.at_h, after.at_h, share, worth, spell))
        total += share
    return Credit(tuple(stretches), total, done_at_h)


def _between(before: Reading, after: Reading) -> tuple[Worth, Spell | None]:
    hours = after.at_h - before.at_h
    if hours <= LONGEST_GAP_H:
        return Worth.COUNTED, Spell(hours, before.temp_c, after.temp_c)
    lowest_c = after.lowest_before_c
    if lowest_c is not None:
        lowest_c = min(lowest_c, before.temp_c, after.temp_c)
        return Worth.AT_LOWEST, Spell(hours, lowest_c, lowest_c)
    is_known = (before.is_lowest and before.temp_c <= after.temp_c) or (
        after.is_lowest and after.temp_c <= before.temp_c
    )
    if is_known:
        return Worth.COUNTED, Spell(hours, before.temp_c, after.temp_c)
    return Worth.NOT_COUNTED, None


def _share(spell: Spell, schedule: Schedule, wanted: float) -> tuple[float, float]:
    """The share a spell is worth, and the hours into it at which ``wanted`` was reached."""
    total, gone_h, reached_h = 0.0, 0.0, math.inf
    for hours, temp_c in _steps(spell, schedule.kinks_c):
        rate = schedule.rate_per_h(temp_c)
        if rate > 0 and reached_h == math.inf and total + rate * hours >= wanted - (1 - DONE):
            reached_h = gone_h + min(max((wanted - total) / rate, 0.0), hours)
        total += rate * hours
        gone_h += hours
    return total, reached_h


def _steps(spell: Spell, kinks_c: Sequence[float]) -> Iterable[tuple[float, float]]:
    """Hours and mean temperature of each step of a spell, in order of time."""
    require_not_negative(hours=spell.hours)
    _require_temperatures(spell.start_c, spell.end_c)
    rise = spell.end_c - spell.start_c
    if rise == 0:
        yield spell.hours, spell.start_c
        return
    low, high = sorted((spell.start_c, spell.end_c))
    corners = [low, *sorted(kink for kink in set(kinks_c) if low < kink < high), high]
    if rise < 0:
        corners.reverse()
    for start, end in pairwise(corners):
        count = math.ceil(abs(end - start) / STEP_K)
        for step in range(count):
            mean_c = start + (end - start) * (step + 0.5) / count
            yield spell.hours * abs(end - start) / abs(rise) / count, mean_c


def _refuse_bad_log(log: list[Reading]) -> None:
    for index, reading in enumerate(log):
        require_not_negative(at_h=reading.at_h)
        _require_temperatures(reading.temp_c)
        if reading.lowest_before_c is not None:
            _require_temperatures(reading.lowest_before_c)
        if index and reading.at_h <= log[index - 1].at_h:
            message = "Each reading has to be later than the one before."
            raise CoreError("out_of_order", index, message)


def _require_temperatures(*temps_c: float) -> None:
    for temp_c in temps_c:
        if not COLDEST_C <= temp_c <= HOTTEST_C:
            raise OutOfRange("temp_c", temp_c, COLDEST_C, HOTTEST_C)
