"""System checks: wrong combinations are told at start, by id, in a sentence."""

import sqlite3
from collections.abc import Sequence
from typing import Any

from django.conf import settings
from django.core.checks import CheckMessage, Error, Tags, Warning, register
from django.db import connection

# WAL can lose a checkpointed page before these versions ("WAL-reset"; sqlite.org, WAL page).
WAL_FIXED = (3, 51, 3)
WAL_BACKPORTS = {(3, 44): 6, (3, 50): 7}


def wal_is_sound(version: tuple[int, int, int]) -> bool:
    """Whether this SQLite carries the fix of the WAL-reset fault."""
    return version >= WAL_FIXED or version[2] >= WAL_BACKPORTS.get(version[:2], 1_000)


def durability_problems(
    *, journal: str, synchronous: int, version: tuple[int, int, int]
) -> list[str]:
    """What is wrong with a pair of SQLite settings, in words; empty when a power cut loses nothing.

    ``synchronous`` is SQLite's figure: 1 NORMAL, 2 FULL, 3 EXTRA.
    """
    problems = []
    if journal == "wal":
        if synchronous < 2:
            problems.append("WAL with synchronous below FULL loses saved parts in a power cut.")
        if not wal_is_sound(version):
            number = ".".join(map(str, version))
            problems.append(f"SQLite {number} has the WAL-reset fault; use journal DELETE.")
    elif journal == "delete":
        if synchronous < 3:
            problems.append("DELETE with synchronous below EXTRA can lose the last saved part.")
    else:
        problems.append(f"Journal {journal} does not survive a power cut.")
    return problems


@register(Tags.database)
def sqlite_keeps_what_it_saved(
    app_configs: Any, databases: Sequence[str] | None = None, **kwargs: Any
) -> list[CheckMessage]:
    if not databases or connection.vendor != "sqlite":
        return []
    options = settings.DATABASES["default"].get("OPTIONS", {})
    found: list[CheckMessage] = []
    if options.get("transaction_mode") != "IMMEDIATE":
        found.append(Error("SQLite transactions must be IMMEDIATE.", id="garage.E002"))
    with connection.cursor() as cursor:
        journal = cursor.execute("PRAGMA journal_mode").fetchone()[0]
        synchronous = cursor.execute("PRAGMA synchronous").fetchone()[0]
    if journal != "memory":  # the tests' database, gone with the process anyway
        found += [
            Error(problem, id="garage.E001")
            for problem in durability_problems(
                journal=journal, synchronous=synchronous, version=sqlite3.sqlite_version_info
            )
        ]
    return found


@register()
def data_folder_is_writable(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    probe = settings.SPLITPIN_DATA / ".probe"
    try:
        probe.write_bytes(b"")
        probe.unlink()
    except OSError as error:
        return [
            Error(
                f"The data folder {settings.SPLITPIN_DATA} cannot be written: {error.strerror}.",
                hint="Set SPLITPIN_DATA to a folder you own.",
                id="garage.E003",
            )
        ]
    return []


@register(deploy=True)
def plain_http_is_known(app_configs: Any, **kwargs: Any) -> list[CheckMessage]:
    if settings.HTTPS or not settings.ALLOWED_HOSTS[3:]:
        return []
    return [
        Warning(
            "Other machines may come in, and the connection is not encrypted.",
            hint="See docs/phones.md; set SPLITPIN_HTTPS=1 behind a proxy with a certificate.",
            id="garage.W001",
        )
    ]
