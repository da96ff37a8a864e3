"""Which backups are kept, and how old the newest is. One look at the folder, no query."""

import os
import re
from collections.abc import Callable, Iterable
from dataclasses import dataclass
from datetime import UTC, datetime, timedelta
from pathlib import Path

from django.utils import timezone

NAME = re.compile(r"splitpin-(\d{8}-\d{6})\.zip")
STAMP = "%Y%m%d-%H%M%S"
DAILY, WEEKLY, MONTHLY = 7, 4, 12
RED_AFTER = timedelta(days=7)
# A backup this far ahead of the clock says that one of the two dates is wrong.
CLOCK_SLACK = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class BackupAge:
    """When the last backup was made, in words, and whether that asks for doing something."""

    last_at: datetime | None
    words: str
    is_red: bool


def folder_of(data: Path) -> Path:
    """Where backups lie unless another folder is named."""
    return data / "backups"


def name_of(made_at: datetime) -> str:
    """The name of the archive made then; its hour is UTC, so that no summer time repeats it."""
    return f"splitpin-{made_at.astimezone(UTC).strftime(STAMP)}.zip"


def made_at(name: str) -> datetime | None:
    """When the archive of this name was made; None for any other file."""
    match = NAME.fullmatch(name)
    try:
        return datetime.strptime(match[1], STAMP).replace(tzinfo=UTC) if match else None
    except ValueError:  # a thirteenth month
        return None


def backups_in(folder: Path) -> dict[datetime, Path]:
    """The archives of ``folder``, oldest first."""
    try:
        names = os.listdir(folder)
    except FileNotFoundError:
        return {}
    found = {moment: folder / name for name in names if (moment := made_at(name))}
    return dict(sorted(found.items()))


def newest_in(folder: Path) -> Path | None:
    return next(reversed(backups_in(folder).values()), None)


def age(data: Path, now: datetime) -> BackupAge:
    """How old the newest backup of the garage in ``data`` is, by the clock on the reader's wall."""
    last_at = next(reversed(backups_in(folder_of(data))), None)
    if last_at is None:
        return BackupAge(None, "No backup yet", is_red=True)
    return BackupAge(last_at, _words(last_at, now), is_red=not _is_fresh(last_at, now))


def _is_fresh(last_at: datetime, now: datetime) -> bool:
    return -CLOCK_SLACK <= now - last_at <= RED_AFTER


def _words(last_at: datetime, now: datetime) -> str:
    here, today = timezone.localtime(last_at), timezone.localtime(now).date()
    days = (today - here.date()).days
    if now - last_at < -CLOCK_SLACK:
        return f"Last backup dated {here:%d.%m.%Y}: is the clock right?"
    if days <= 0:
        return f"Backed up today {here:%H:%M}"
    if days == 1:
        return f"Backed up yesterday {here:%H:%M}"
    return f"Last backup {days} days ago"


def is_due(data: Path, now: datetime, *, after: timedelta) -> bool:
    """Whether no backup is as young as ``after``."""
    last_at = age(data, now).last_at
    return last_at is None or not (-CLOCK_SLACK <= now - last_at < after)


def kept(moments: Iterable[datetime]) -> set[datetime]:
    """Which of the backups made at ``moments`` stay: the last one of each of the 7 latest days,
    4 latest weeks and 12 latest months that have one. So the newest always stays."""
    newest_first = sorted(moments, reverse=True)
    stay: set[datetime] = set()
    for period, most in ((_day, DAILY), (_week, WEEKLY), (_month, MONTHLY)):
        last_of: dict[object, datetime] = {}
        for moment in newest_first:
            last_of.setdefault(period(moment), moment)
        stay.update(list(last_of.values())[:most])
    return stay


_day: Callable[[datetime], object] = datetime.date


def _week(moment: datetime) -> tuple[int, int]:
    return moment.isocalendar()[:2]


def _month(moment: datetime) -> tuple[int, int]:
    return moment.year, moment.month


def thin_out(folder: Path) -> list[Path]:
    """The backups that were removed, because newer ones stand for their day, week and month."""
    found = backups_in(folder)
    stay = kept(found)
    removed = [path for moment, path in found.items() if moment not in stay]
    for path in removed:
        path.unlink()
    return removed
