"""A clock that went backwards is noticed: by a mark that only ever moves forward.

The mark is the date of a file in the data folder, set to the clock's own time at most once a
minute. It outlives a restart, needs no query, and is never written while the clock is behind it.
"""

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path

EVERY = timedelta(minutes=1)
# A clock that is set by the network steps by a second or two.
SLACK = timedelta(minutes=1)


def mark_of(data: Path) -> Path:
    return data / "last-seen"


def seen(data: Path, now: datetime) -> None:
    """The mark is at ``now``, unless it is there already, or later."""
    latest = _latest(data)
    if latest is None or now - latest >= EVERY:
        trust(data, now)


def was_later(data: Path, now: datetime) -> datetime | None:
    """The latest time this clock has shown, when it now shows an earlier one; else None."""
    latest = _latest(data)
    return latest if latest is not None and latest - now > SLACK else None


def trust(data: Path, now: datetime) -> None:
    """The mark is at ``now``, even when that is back: somebody looked, and the clock is right."""
    mark = mark_of(data)
    mark.touch()
    os.utime(mark, (now.timestamp(), now.timestamp()))


def _latest(data: Path) -> datetime | None:
    try:
        return datetime.fromtimestamp(mark_of(data).stat().st_mtime, UTC)
    except FileNotFoundError:
        return None
