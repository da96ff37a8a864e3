"""`python3 manage.py backup`: one archive of the garage, read back before it gets its name."""

from __future__ import annotations

import time
from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser
from django.utils import timezone

from garage.backup import archive, keeping
from garage.backup.contents import BackupRefused, Manifest
from garage.health import condition
from garage.management import opening
from garage.management.plain import PlainCommand


class Command(PlainCommand):
    help = "Makes one archive of the whole garage, also while it is in use."
    requires_system_checks = ()  # a garage of older tables is backed up too

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--to", type=Path, help="folder for the archive (backups in the data)")
        parser.add_argument(
            "--with-key",
            action="store_true",
            help="put the signing key in too: people stay signed in after a restore",
        )

    def handle(self, *args: Any, to: Path | None, with_key: bool, **options: Any) -> None:
        data: Path = settings.SPLITPIN_DATA
        folder = to or keeping.folder_of(data)
        started = time.monotonic()
        try:
            path, manifest = archive.make(
                data=data,
                live=opening.sqlite_file(data),
                to=folder,
                now=timezone.now(),
                with_key=with_key,
            )
        except (BackupRefused, opening.StoreRefused) as refused:
            raise CommandError(f"no backup was made: {refused}") from None
        except OSError as error:
            raise CommandError(f"no backup was made in {folder}: {error.strerror}.") from error
        if path.stat().st_dev != data.stat().st_dev:
            condition.copied(data, now=timezone.now())
        self.tell(path, manifest, seconds=time.monotonic() - started)

    def tell(self, path: Path, manifest: Manifest, *, seconds: float) -> None:
        photos, sheets = manifest.count("photos/originals/"), manifest.count("prints/")
        self.stdout.write(
            f"Backed up the records, {photos:,} photos and {sheets:,} sheets "
            f"({manifest.size_bytes / 1e6:,.1f} MB in {seconds:.1f} s), "
            "read back and found whole:\n"
            f"    {path}\n"
            "A disk dies with everything on it: copy it to another disk."
        )
        for file in manifest.missing:
            self.stderr.write(f"splitpin: photos/{file} is gone. An older backup may have it.")
        for file in manifest.damaged:
            self.stderr.write(
                f"splitpin: photos/{file} is damaged. An older backup may have it whole."
            )
