"""Backups nobody has to think of: when one is due, and before the tables are brought up to date."""

import logging
from datetime import datetime, timedelta
from pathlib import Path

from garage.backup import archive, keeping
from garage.backup.contents import Manifest

log = logging.getLogger("splitpin.backup")
DAY = timedelta(days=1)


def back_up(*, data: Path, live: Path, now: datetime) -> tuple[Path, Manifest]:
    """The new archive in the garage's own folder; older ones are thinned out after it.

    A photo that is gone or damaged may be whole in an older archive, so then all of them stay.

    Raises
    ------
    BackupRefused
        See ``archive.make``.
    """
    folder = keeping.folder_of(data)
    path, manifest = archive.make(data=data, live=live, to=folder, now=now)
    log.info("backed up: %s", path.name)
    hurt = [*manifest.missing, *manifest.damaged]
    if hurt:
        log.error("%s photos are gone or damaged, so older backups stay", len(hurt))
    else:
        for removed in keeping.thin_out(folder):
            log.info("thinned out: %s", removed.name)
    return path, manifest


def back_up_if_due(*, data: Path, live: Path, now: datetime) -> bool:
    """Whether a backup was due, and so was made."""
    if not keeping.is_due(data, now, after=DAY):
        return False
    back_up(data=data, live=live, now=now)
    return True
