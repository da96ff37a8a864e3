"""Whether this computer's clock can be believed when it says that something is hard.

It is doubted while it stands before a time it has shown already, and when it moved on by more or
less than the computer itself has been running since. Nothing is ready while it is doubted. A
phone's clock is never asked.
"""

import time
from dataclasses import dataclass
from datetime import datetime, timedelta
from pathlib import Path

from django.conf import settings

from fabrication.models import TimeMark
from garage.health import clock as last_seen

# A network sets a clock by a second or two; our figure for what is more than that.
SLACK = timedelta(minutes=2)
BOOT_ID = Path("/proc/sys/kernel/random/boot_id")


class TimeDoubted(Exception):
    """The clock of this computer cannot be believed; says why."""


@dataclass(frozen=True, slots=True)
class Machine:
    """What the computer says of itself beside the time: since which start it runs and how long,
    and the later time it was seen at before. Empty where it cannot say.
    """

    boot: str = ""
    up_s: float | None = None
    was_at: datetime | None = None


UNKNOWN = Machine()


def machine_now(now: datetime) -> Machine:
    """What this computer says of itself now; sleep counts as machine."""
    was_at = last_seen.was_later(settings.SPLITPIN_DATA, now)
    if not hasattr(time, "CLOCK_BOOTTIME") or not BOOT_ID.exists():
        return Machine(was_at=was_at)
    up_s = time.clock_gettime(time.CLOCK_BOOTTIME)
    return Machine(BOOT_ID.read_text().strip(), up_s, was_at)


def doubt(*, now: datetime, machine: Machine = UNKNOWN) -> str:
    """Why the clock is not believed, in a sentence; empty when it is."""
    mark = TimeMark.latest()
    if machine.was_at or (mark and now < mark.at):
        return (
            "The clock of this computer went backwards. Until it is right again, nothing here is "
            "called ready."
        )
    if mark and mark.up_s is not None and machine.up_s is not None and machine.boot == mark.boot:
        jumped = (now - mark.at) - timedelta(seconds=machine.up_s - mark.up_s)
        if abs(jumped) > SLACK:
            way = "forward" if jumped > timedelta() else "back"
            return (
                f"The clock of this computer was set {way} by {_in_words(abs(jumped))}. Until "
                "somebody says that it is right, nothing here is called ready."
            )
    return ""


def keep(*, now: datetime, machine: Machine = UNKNOWN) -> None:
    """Moves the mark on to ``now``, inside the transaction of what is written at that time.

    Raises
    ------
    TimeDoubted
        When the clock is not believed: a time written now would be wrong for good.
    """
    if said := doubt(now=now, machine=machine):
        raise TimeDoubted(said)
    believe(now=now, machine=machine)


def believe(*, now: datetime, machine: Machine = UNKNOWN) -> None:
    """Moves the mark to ``now``, back too: somebody looked, and the clock is right."""
    TimeMark.objects.update_or_create(
        id=1, defaults={"at": now, "boot": machine.boot, "up_s": machine.up_s}
    )


def _in_words(span: timedelta) -> str:
    minutes = round(span.total_seconds() / 60)
    if minutes < 120:
        return f"{minutes} minutes"
    hours = round(minutes / 60)
    return f"{hours} hours" if hours < 48 else f"{round(hours / 24)} days"
