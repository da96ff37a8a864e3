"""`python3 manage.py check_store`: every file against its record; nothing is changed."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from django.conf import settings
from django.core.management.base import CommandError
from django.db import DatabaseError, connection
from django.utils import timezone

from garage.backup.database import why_unsound
from garage.management import checking, opening
from garage.management.plain import PlainCommand


class Command(PlainCommand):
    help = "Reads every photo and sheet and compares it with its record. Changes nothing."
    requires_system_checks = ()  # what is wrong with the store is said here

    def handle(self, *args: Any, **options: Any) -> None:
        data: Path = settings.SPLITPIN_DATA
        try:
            if connection.vendor == "sqlite" and (why := why_unsound(opening.sqlite_file(data))):
                raise CommandError(
                    f"{why}. Restore the newest backup into a new folder, and keep this one."
                )
            findings = checking.check_everything(data=data, now=timezone.now())
        except opening.StoreRefused as refused:
            raise CommandError(str(refused)) from None
        except (DatabaseError, OSError) as error:
            raise CommandError(f"the garage in {data} cannot be read: {error}") from error
        for finding in findings:
            self.stdout.write(f"{finding.kind}: {finding.file} {finding.says}\n    {finding.do}")
        if findings:
            raise CommandError(f"{len(findings)} found, nothing was changed.")
        self.stdout.write("Every photo and sheet is as it was recorded.")
