"""What the last checks of the store found, kept in one small file beside it.

Not in the database: a page can say what is wrong with the store even while the records cannot be
read, and no page pays a query for good news.
"""

import dataclasses
import json
from collections.abc import Iterable
from dataclasses import dataclass, field
from datetime import datetime, timedelta
from pathlib import Path
from typing import Any

from garage.backup.scrub import Finding
from garage.photos import durable

NAME = "condition.json"
QUARTERS = 4
WEEK = timedelta(days=7)
COPY_RED_AFTER = timedelta(days=30)


@dataclass(frozen=True, slots=True)
class Condition:
    """``findings`` by the check that made them, ``checked_at`` when each was last made."""

    findings: dict[str, tuple[Finding, ...]] = field(default_factory=dict)
    checked_at: dict[str, datetime] = field(default_factory=dict)
    copied_at: datetime | None = None

    @property
    def found(self) -> list[Finding]:
        """Everything that is wrong, each once."""
        every = dict.fromkeys(one for found in self.findings.values() for one in found)
        return sorted(every, key=lambda one: (one.file, one.kind))

    @property
    def last_check(self) -> datetime | None:
        return max(self.checked_at.values(), default=None)

    def quarter_due(self, now: datetime) -> int | None:
        """The quarter of the photos to be read next; None while the last reading is not a week
        old. So every photo is read once in four weeks."""
        ages = {number: self.checked_at.get(quarter(number)) for number in range(QUARTERS)}
        newest = max((at for at in ages.values() if at), default=None)
        if newest is not None and timedelta(0) <= now - newest < WEEK:
            return None
        return min(ages, key=lambda number: (ages[number] is not None, ages[number] or now))

    def copy_is_old(self, now: datetime) -> bool:
        """Whether nobody has said for 30 days that a backup lies on another disk."""
        return self.copied_at is None or now - self.copied_at > COPY_RED_AFTER


def quarter(number: int) -> str:
    """The name of the check that reads one quarter of the photos, from 0."""
    return f"quarter {number + 1} of {QUARTERS}"


def read(data: Path) -> Condition:
    """The condition of the store as last recorded; a file that cannot be read counts as none."""
    try:
        kept = json.loads((data / NAME).read_text(encoding="utf-8"))
        return Condition(
            findings={
                check: tuple(Finding(**one) for one in found)
                for check, found in kept["findings"].items()
            },
            checked_at={
                check: datetime.fromisoformat(at) for check, at in kept["checked_at"].items()
            },
            copied_at=datetime.fromisoformat(kept["copied_at"]) if kept["copied_at"] else None,
        )
    except (FileNotFoundError, ValueError, KeyError, TypeError, AttributeError):
        # Cut off by a crash, or by hand: the checks are made again, and nothing else is lost.
        return Condition()


def record(data: Path, *, check: str, found: Iterable[Finding], now: datetime) -> Condition:
    """The condition with what ``check`` found now in the place of what it found before."""
    before = read(data)
    return _write(
        data,
        dataclasses.replace(
            before,
            findings={**before.findings, check: tuple(found)},
            checked_at={**before.checked_at, check: now},
        ),
    )


def copied(data: Path, *, now: datetime) -> Condition:
    """The condition after a backup went to another disk."""
    return _write(data, dataclasses.replace(read(data), copied_at=now))


def _write(data: Path, condition: Condition) -> Condition:
    part = data / f"{NAME}.part"
    part.unlink(missing_ok=True)
    durable.write([json.dumps(_plain(condition), indent=1).encode()], part)
    durable.move(part, data / NAME)
    return condition


def _plain(condition: Condition) -> dict[str, Any]:
    return {
        "findings": {
            check: [dataclasses.asdict(one) for one in found]
            for check, found in condition.findings.items()
        },
        "checked_at": {check: at.isoformat() for check, at in condition.checked_at.items()},
        "copied_at": condition.copied_at.isoformat() if condition.copied_at else "",
    }
