"""Comparing the store with its records, by hand, at the start, and a quarter a week by itself.

A composition root: it knows that some sheets are drop-offs of the parts room.
"""

from __future__ import annotations

import logging
from datetime import datetime
from pathlib import Path

from garage.backup.scrub import FROM_BACKUP, Finding, scrub
from garage.health import condition
from garage.photos.sweeper import SweepReport
from parts.models import DropOff

log = logging.getLogger("splitpin.health")


def check_everything(*, data: Path, now: datetime) -> list[Finding]:
    """What is not as recorded, every byte read; the pages say it from now on."""
    found = scrub(data=data, prints=sheets())
    for number in range(condition.QUARTERS):
        # Said once is enough; the other quarters are read now, too, and found to be well.
        condition.record(
            data, check=condition.quarter(number), found=found if number == 0 else (), now=now
        )
    condition.record(data, check="names", found=(), now=now)
    return found


def check_a_quarter_if_due(*, data: Path, now: datetime) -> list[Finding] | None:
    """What is not as recorded in the quarter whose turn it is; None when it is not time yet."""
    number = condition.read(data).quarter_due(now)
    if number is None:
        return None
    found = scrub(data=data, prints=sheets(), share=(number, condition.QUARTERS))
    condition.record(data, check=condition.quarter(number), found=found, now=now)
    for one in found:
        log.error("%s: %s %s", one.kind, one.file, one.says)
    return found


def keep_what_the_sweep_found(*, data: Path, report: SweepReport, now: datetime) -> None:
    """The photos that are gone or cut off, as the quick look at the start and each day finds."""
    gone = [
        Finding("missing", f"photos/{file}", "is recorded, but the file is gone.", FROM_BACKUP)
        for file in report.missing
    ]
    changed = [
        Finding("wrong size", f"photos/{file}", "has another size than recorded.", FROM_BACKUP)
        for file in report.wrong_size
    ]
    condition.record(data, check="names", found=[*gone, *changed], now=now)


def sheets() -> dict[str, str]:
    """The digest of every sheet that was handed over, by its file."""
    return dict(DropOff.objects.exclude(sheet_file="").values_list("sheet_file", "sheet_sha256"))
