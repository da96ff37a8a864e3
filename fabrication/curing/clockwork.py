"""From a clock's rows to what its face says: the bridge between the log and the core.

A clock keeps what its sheet printed as ``model``, one document with a schema number:
``times`` are rows of a temperature with ``handling_h`` and ``full_h`` (of a coat: until the next
coat, until it may be handled). All times are aware and in UTC; no zone enters the sums.
"""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from typing import Any

from fabrication.core.cure import Progress, Standing, State, standing, time_left_h
from fabrication.core.cure_log import Reading
from fabrication.core.cure_rate import (
    ABOVE_KJ,
    LOWER_LIMIT_C,
    UPPER_CAP_C,
    Schedule,
    SheetTime,
    schedule,
    working_minutes,
)
from fabrication.core.errors import CoreError
from fabrication.models import Clock, Coat, TemperatureReading
from parts.models import Adhesive

SCHEMA = 1
USUAL_C = 20.0  # what a sheet means that prints no temperature; our figure


class NoTimes(Exception):
    """The sheet does not say what a clock needs; says what is missing."""


@dataclass(frozen=True, slots=True)
class Schedules:
    """The events of one clock; ``heat`` is when it is fit for heat."""

    full: Schedule
    handling: Schedule | None
    heat: Schedule


@dataclass(frozen=True, slots=True)
class Gap:
    """A stretch of the log that counts nothing."""

    start: datetime
    end: datetime


@dataclass(frozen=True, slots=True)
class Look:
    """How a clock stands by its log at ``last_at``; times ahead are a forecast at ``last_c``.

    An end that the log has reached is the moment at which it did; one that stands still is None.
    """

    clock: Clock
    schedules: Schedules
    standing: Standing
    heat: Progress
    last: TemperatureReading | None
    working_until: datetime | None
    handling_at: datetime | None
    full_at: datetime | None
    heat_at: datetime | None
    gaps: tuple[Gap, ...]

    @property
    def state(self) -> State:
        return self.standing.state

    def full_left_h(self, temp_c: float) -> float:
        """Hours from the last reading on, at a temperature somebody expects."""
        share = self.standing.full.credit.share_ratio
        return time_left_h(share_done_ratio=share, schedule=self.schedules.full, temp_c=temp_c)


def model_of_adhesive(adhesive: Adhesive) -> dict[str, Any]:
    """What a clock keeps of an adhesive's sheet.

    Raises
    ------
    NoTimes
        When the sheet has no full cure, or its times contradict each other.
    """
    return _checked(
        {
            "schema": SCHEMA,
            "working_minutes": adhesive.working_minutes,
            "working_at_c": adhesive.working_at_c,
            "times": adhesive.schedule,
            "lower_limit_c": adhesive.lower_limit_c,
            "upper_cap_c": adhesive.upper_cap_c,
            "heat_h": adhesive.fit_for_heat_h,
            "quickens": True,
        },
        f"{adhesive} has no full cure time yet. Write it on its page first.",
    )


def model_of_coat(coat: Coat) -> dict[str, Any]:
    """What a clock keeps of a tin: warmer than printed counts no faster than printed.

    Raises
    ------
    NoTimes
        When no time to the next coat is written, or the times contradict each other.
    """
    times = [
        {**row, "full_h": row.get("full_h") or row.get("handling_h")}
        for row in coat.times
        if row.get("full_h") or row.get("handling_h")
    ]
    return _checked(
        {
            "schema": SCHEMA,
            "working_minutes": None,
            "working_at_c": None,
            "times": times,
            "lower_limit_c": coat.lower_limit_c,
            "upper_cap_c": None,
            "heat_h": None,
            "quickens": False,
        },
        "Write how long the tin asks for before the next coat.",
    )


def schedules_of(model: dict[str, Any]) -> Schedules:
    """The events of a clock, as the core has them.

    Raises
    ------
    CoreError
        What the core refuses about the times, in a sentence.
    """
    limits = {
        "lower_limit_c": _or(model["lower_limit_c"], LOWER_LIMIT_C),
        "upper_cap_c": _or(model["upper_cap_c"], UPPER_CAP_C),
        "above_kj": ABOVE_KJ if model["quickens"] else 0.0,
    }
    full = schedule(times=_times(model, "full_h"), **limits)
    handling = _times(model, "handling_h")
    heat = full
    if model["heat_h"]:
        # The age fit for heat is told at the first temperature that prints a full cure.
        share = model["heat_h"] / full.times[0].hours
        scaled = [SheetTime(line.temp_c, line.hours * share) for line in full.times]
        heat = schedule(times=scaled, **limits)
    return Schedules(full, schedule(times=handling, **limits) if handling else None, heat)


def look(clock: Clock) -> Look:
    """How a clock stands, from its rows alone: it does not depend on what time it is now."""
    found = schedules_of(clock.model)
    rows = clock.log()
    log = [_reading(row, clock.started_at) for row in rows]
    stands = standing(readings=log, full=found.full, handling=found.handling)
    heat = standing(readings=log, full=found.heat).full
    last = rows[-1] if rows else None
    return Look(
        clock=clock,
        schedules=found,
        standing=stands,
        heat=heat,
        last=last,
        working_until=_working_until(clock, rows),
        handling_at=_end(clock, stands.handling, last),
        full_at=_end(clock, stands.full, last),
        heat_at=_end(clock, heat, last),
        gaps=tuple(
            Gap(_after(clock.started_at, one.start_h), _after(clock.started_at, one.end_h))
            for one in stands.full.credit.gaps
        ),
    )


def _checked(model: dict[str, Any], empty: str) -> dict[str, Any]:
    if not _times(model, "full_h"):
        raise NoTimes(empty)
    try:
        schedules_of(model)
    except CoreError as refused:
        raise NoTimes(refused.message) from None
    return model


def _times(model: dict[str, Any], name: str) -> list[SheetTime]:
    rows = [row for row in model["times"] if row.get(name)]
    return [SheetTime(row["temp_c"], row[name]) for row in rows]


def _or(value: float | None, default: float) -> float:
    return default if value is None else value


def _reading(row: TemperatureReading, started_at: datetime) -> Reading:
    return Reading(
        (row.at - started_at).total_seconds() / 3600,
        row.temp_c,
        is_lowest=row.is_lowest,
        lowest_before_c=row.lowest_before_c,
    )


def _working_until(clock: Clock, rows: list[TemperatureReading]) -> datetime | None:
    minutes, sheet_c = clock.model["working_minutes"], clock.model["working_at_c"]
    if not minutes:
        return None
    sheet_c = _or(sheet_c, USUAL_C)
    temp_c = rows[0].temp_c if rows else sheet_c
    left = working_minutes(sheet_minutes=minutes, sheet_c=sheet_c, temp_c=temp_c)
    return clock.started_at + timedelta(seconds=math.floor(left * 60 + 1e-6))


def _end(
    clock: Clock, progress: Progress | None, last: TemperatureReading | None
) -> datetime | None:
    if progress is None or last is None:
        return None
    if progress.credit.done_at_h is not None:
        return _after(clock.started_at, progress.credit.done_at_h)
    return None if math.isinf(progress.left_h) else _after(last.at, progress.left_h)


def _after(start: datetime, hours: float) -> datetime:
    """A moment so many hours later, on the whole second at or after it: never early.

    The thousandth of a second forgives the rounding of a sum, not of a cure.
    """
    return start + timedelta(seconds=math.ceil(round(hours * 3600, 3)))
