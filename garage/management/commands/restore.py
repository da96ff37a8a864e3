"""`python3 manage.py restore ARCHIVE`: a backup becomes a garage, in an empty or new folder."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError, CommandParser

from garage.backup.contents import ArchiveRefused
from garage.backup.restoring import restore
from garage.management.plain import PlainCommand


class Command(PlainCommand):
    help = "Makes a garage of a backup, in an empty or new folder."
    requires_system_checks = ()  # there is no store yet to check

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("archive", type=Path, help="the archive, splitpin-....zip")
        parser.add_argument("--into", type=Path, help="an empty or new folder (the data folder)")

    def handle(self, *args: Any, archive: Path, into: Path | None, **options: Any) -> None:
        target = (into or settings.SPLITPIN_DATA).resolve()
        try:
            manifest = restore(archive=archive, into=target)
        except ArchiveRefused as refused:
            raise CommandError(f"{archive} is not restored: {refused}") from None
        except OSError as error:
            raise CommandError(
                f"{archive} is not restored into {target}: {error.strerror}."
            ) from error
        photos, sheets = manifest.count("photos/originals/"), manifest.count("prints/")
        made = manifest.made_at.replace("T", " ")
        self.stdout.write(
            f"Restored the garage as it was on {made} UTC: the records, {photos:,} photos and "
            f"{sheets:,} sheets, every one compared with its digest."
        )
        for file in manifest.missing:
            self.stderr.write(f"splitpin: photos/{file} was gone already when this was backed up.")
        for file in manifest.damaged:
            self.stderr.write(f"splitpin: photos/{file} was damaged already when backed up.")
        name = "" if target == settings.SPLITPIN_DATA else f"SPLITPIN_DATA={target} "
        self.stdout.write(f"Open it with: {name}python3 manage.py start")
