"""A command that ends in one plain sentence instead of a class name or a traceback."""

from __future__ import annotations

import sys
from typing import Any

from django.core.management.base import BaseCommand, CommandError


class PlainCommand(BaseCommand):
    """Prints what stopped it the way manage.py does; a caller in Python, or
    --traceback, still gets the error."""

    _called_from_command_line: bool  # set by Django

    def execute(self, *args: Any, **options: Any) -> str | None:
        try:
            return super().execute(*args, **options)
        except CommandError as error:
            if options["traceback"] or not self._called_from_command_line:
                raise
            self.stderr.write(f"splitpin: {error}")
            sys.exit(error.returncode)
