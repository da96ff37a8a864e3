"""What a clock says at a time: one word for what may be done, one end to count down to."""

import math
from dataclasses import dataclass
from datetime import datetime, timedelta
from enum import StrEnum

from fabrication.core.cure import State
from fabrication.curing import clockwork, trusted_time
from fabrication.curing.clockwork import Look
from fabrication.curing.trusted_time import UNKNOWN, Machine
from fabrication.models import Clock
from garage.models import Car


class Stage(StrEnum):
    """Where the hand of the clock stands."""

    DOUBTED = "doubted"
    WORKING = "working"
    STALLED = "stalled"
    WET = "wet"
    HANDLE = "handle"
    DUE = "due"
    DONE = "done"
    STOPPED = "stopped"


@dataclass(frozen=True, slots=True)
class Words:
    """What may be done, and what the countdown runs to."""

    says: str
    until: str


BOND = {
    Stage.DOUBTED: Words("Not known", "the clock of this computer is not believed"),
    Stage.WORKING: Words("Close the joint", "left to work it"),
    Stage.STALLED: Words("Too cold: stalled", "warm the part, not just the air"),
    Stage.WET: Words("Do not move", "until you may handle it"),
    Stage.HANDLE: Words("Handle only: no load, no heat", "until it may carry its load"),
    Stage.DUE: Words("Read the part now", "time is up, if it stayed as warm as it was"),
    Stage.DONE: Words("It may carry its load", "look at it, then say that it is hard"),
}
COAT = {
    **BOND,
    Stage.WET: Words("Wet: no next coat", "until the next coat"),
    Stage.HANDLE: Words("Next coat may go on", "until it may be handled"),
    Stage.DUE: Words("Look at it now", "time is up, if it stayed as warm as it was"),
    Stage.DONE: Words("It may be handled", "feel it in a corner first"),
}
# A bond whose sheet prints no handling time goes straight from wet to its load.
NO_HANDLING = {Stage.WET: Words("Do not move", "until it may carry its load")}


@dataclass(frozen=True, slots=True)
class Face:
    """A clock as it is shown at ``now``. ``ends_at`` is what it counts down to, if to anything."""

    look: Look
    stage: Stage
    words: Words
    ends_at: datetime | None
    now: datetime
    doubt: str

    @property
    def clock(self) -> Clock:
        return self.look.clock

    @property
    def is_ready(self) -> bool:
        """Whether the log, read by a clock that is believed, says that it carries its load."""
        return self.stage is Stage.DONE

    @property
    def left(self) -> list[tuple[int, str]]:
        """What is left as two figures with their units; nothing where nothing runs."""
        return parted(self.ends_at - self.now) if self.ends_at else []

    @property
    def now_ms(self) -> int:
        return math.floor(self.now.timestamp() * 1000)

    @property
    def ends_ms(self) -> int | None:
        return math.ceil(self.ends_at.timestamp() * 1000) if self.ends_at else None

    @property
    def marks(self) -> list[tuple[str, datetime, bool]]:
        """The moments of this clock in order: their word, when, and whether the log proves them."""
        found = self.look
        handling, full = found.standing.handling, found.standing.full
        bond = self.clock.is_bond
        told = [
            ("work it until", self.stage is Stage.WORKING and found.working_until, False),
            ("handle" if bond else "next coat", found.handling_at, handling and handling.is_done),
            ("load" if bond else "handle", found.full_at, full.is_done),
        ]
        if bond and found.heat_at != found.full_at:
            told.append(("heat", found.heat_at, found.heat.is_done))
        return [(word, at, bool(done)) for word, at, done in told if at]

    @property
    def is_cold(self) -> bool:
        """Whether the part was colder at its last reading than anything hardens at."""
        return self.clock.is_running and self.look.standing.is_stalled

    @property
    def window_until(self) -> datetime | None:
        """When the next coat is too late without sanding, where the tin says so."""
        coat = self.clock.coat
        if coat is None or coat.window_h is None:
            return None
        return self.clock.started_at + timedelta(hours=coat.window_h)

    @property
    def wants_a_lowest(self) -> bool:
        """Whether a reading taken now would leave a gap that only the lowest can bridge."""
        last = self.look.last
        return last is not None and (self.now - last.at) > timedelta(hours=2)


def face_of(clock: Clock, *, now: datetime, doubt: str) -> Face:
    """A clock's face at ``now``; ``doubt`` is why the time is not believed, or empty."""
    found = clockwork.look(clock)
    stage, ends_at = _stage(found, now, doubt)
    words = COAT if not clock.is_bond else BOND
    if clock.is_bond and found.schedules.handling is None:
        words = words | NO_HANDLING
    if stage is Stage.STOPPED:
        words = {stage: Words("Stopped" if clock.stopped_at else "Over", clock.over_because)}
    return Face(found, stage, words[stage], ends_at, now, doubt)


def running(car: Car, *, now: datetime, machine: Machine = UNKNOWN) -> list[Face]:
    """The faces of a car's running clocks: what asks for somebody first, then the next to end."""
    clocks = list(Clock.objects.of_car(car).running().for_page().oldest_first())
    doubt = trusted_time.doubt(now=now, machine=machine) if clocks else ""
    faces = [face_of(clock, now=now, doubt=doubt) for clock in clocks]
    return sorted(faces, key=lambda face: (face.ends_at is not None, face.ends_at or now))


def parted(span: timedelta) -> list[tuple[int, str]]:
    """A span as days and hours, hours and minutes, or minutes and seconds; never below nothing."""
    seconds = max(0, math.ceil(span.total_seconds()))
    minutes, hours = seconds // 60, seconds // 3600
    if hours >= 48:
        return [(hours // 24, "d"), (hours % 24, "h")]
    if minutes >= 60:
        return [(hours, "h"), (minutes % 60, "m")]
    return [(minutes, "m"), (seconds % 60, "s")]


def _stage(found: Look, now: datetime, doubt: str) -> tuple[Stage, datetime | None]:
    clock = found.clock
    if not clock.is_running:
        return Stage.STOPPED, None
    if doubt or now < clock.started_at:
        return Stage.DOUBTED, None
    if found.state is State.LOAD:
        return Stage.DONE, None
    if found.working_until and now < found.working_until:
        return Stage.WORKING, found.working_until
    if found.standing.is_stalled:
        return Stage.STALLED, None
    wet = found.state is State.WET and found.handling_at is not None
    ends_at = found.handling_at if wet else found.full_at
    if ends_at is not None and ends_at <= now:
        return Stage.DUE, None
    return (Stage.WET if found.state is State.WET else Stage.HANDLE), ends_at
