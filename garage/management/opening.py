"""Looks at a garage's store before anything is opened or written in it.

A damaged, locked, unwritable or half missing store is refused in one sentence. What matters
most: an empty database must never be made beside the photos of a lost one.
"""

from __future__ import annotations

import fcntl
import os
import sqlite3
from collections.abc import Iterator
from contextlib import closing, contextmanager
from pathlib import Path
from typing import IO

from django.conf import settings
from django.core.management import call_command
from django.db import OperationalError, connection
from django.db.migrations.executor import MigrationExecutor
from django.db.migrations.loader import MigrationLoader

from garage.models import Person
from garage.photos import durable

ABOUT = "ABOUT.txt"
ABOUT_TEXT = """\
This folder is a garage kept by Splitpin: the database, the photos, the prints and the
signing key. They belong together. Copy the folder whole, and only while Splitpin is closed;
or make one archive of it, open or closed: python3 manage.py backup
"""
LOCK_WAIT_S = 3.0


class StoreRefused(Exception):
    """The store must not be opened; the text says why and what to do."""


def hold(data: Path, *, note: str) -> IO[str]:
    """The open lock file of the data folder. The garage is held as long as it, or a copy of it
    in a process started from here, stays open.

    The sweep at the start takes files without a row for rubbish, so a second server must not
    start while the first one is in the middle of keeping a photo.

    Raises
    ------
    StoreRefused
        When somebody holds it already, with the note they left.
    """
    handle = open(data / "open.lock", "a+", encoding="utf-8")  # noqa: SIM115 - outlives this call
    try:
        fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except BlockingIOError:
        handle.seek(0)
        note = handle.read().strip() or "a start is under way"
        handle.close()
        raise StoreRefused(f"this garage is open already: {note}.") from None
    handle.truncate(0)
    handle.write(note)
    handle.flush()
    return handle


def was_used(data: Path) -> bool:
    """True when this folder has been a garage before, whether its database is there or not."""
    return (data / ABOUT).exists() or any(path.is_file() for path in (data / "photos").rglob("*"))


def mark_as_used(data: Path) -> None:
    if not (data / ABOUT).exists():
        (data / ABOUT).write_text(ABOUT_TEXT, encoding="utf-8")


def sqlite_file(data: Path) -> Path:
    """The garage's database file.

    Raises
    ------
    StoreRefused
        When there is none: on PostgreSQL, which is backed up by its own means, or without a garage.
    """
    if connection.vendor != "sqlite":
        raise StoreRefused(
            "the records are on PostgreSQL. Back them up with pg_dump, and then copy the photos "
            f"and prints in {data}: in this order, so that no record lacks its photo."
        )
    path = Path(settings.DATABASES["default"]["NAME"])
    if not path.exists():
        raise StoreRefused(f"there is no garage in {data}.")
    return path


def has_new_tables() -> bool:
    """Whether this program wants other tables than the database has."""
    executor = MigrationExecutor(connection)
    return bool(executor.migration_plan(executor.loader.graph.leaf_nodes()))


def is_behind() -> bool:
    """Whether a garage that somebody uses is about to have its tables changed."""
    in_use = Person._meta.db_table in connection.introspection.table_names()
    return has_new_tables() and in_use and Person.objects.exists()


def bring_up_to_date() -> None:
    """The tables as this program wants them.

    On SQLite in a copy that takes the file's place when all of it is done. Django notes some
    migrations only after the transaction that made their tables, and a kill between the two would
    leave tables that no later start could make again.
    """
    if connection.vendor != "sqlite":
        call_command("migrate", interactive=False, verbosity=0)
        return
    path = Path(settings.DATABASES["default"]["NAME"])
    beside = path.with_name(f"{path.name}.new")
    connection.close()
    _remove(beside)
    try:
        if path.exists():
            _copy(path, beside)
        with _in_the_place_of_ours(beside):
            call_command("migrate", interactive=False, verbosity=0)
        durable.settle(beside)
        durable.move(beside, path)
    finally:
        _remove(beside)


@contextmanager
def _in_the_place_of_ours(path: Path) -> Iterator[None]:
    """Django's own connection leads to ``path`` for a while."""
    ours = connection.settings_dict["NAME"]
    connection.settings_dict["NAME"] = path
    try:
        yield
    finally:
        connection.close()
        connection.settings_dict["NAME"] = ours


def _copy(path: Path, target: Path) -> None:
    with closing(sqlite3.connect(path)) as live, closing(sqlite3.connect(target)) as copy:
        live.backup(copy)


def _remove(path: Path) -> None:
    """Not the file, nor what SQLite keeps beside it."""
    for name in (path.name, *(f"{path.name}-{kind}" for kind in ("journal", "wal", "shm"))):
        path.with_name(name).unlink(missing_ok=True)


def check_sqlite_file(path: Path, *, data: Path) -> None:
    """Refuses a database file that is lost, damaged, locked by another program, or not writable.

    Looks without making one: to Django, a missing file is a wish for an empty database.
    """
    if not path.exists() or path.stat().st_size == 0:
        if was_used(data):
            raise StoreRefused(_lost(data))
        return
    if not (os.access(path, os.W_OK) and os.access(path.parent, os.W_OK)):
        raise StoreRefused(f"{path} and its folder must be writable, and are not.")
    try:
        uri = f"{path.resolve().as_uri()}?mode=rw"
        with closing(sqlite3.connect(uri, uri=True, timeout=LOCK_WAIT_S)) as database:
            verdict = database.execute("PRAGMA quick_check(1)").fetchone()[0]
            database.execute("BEGIN IMMEDIATE")
            database.execute("ROLLBACK")
    except sqlite3.OperationalError as error:
        raise StoreRefused(_why_not_opened(path, str(error))) from None
    except sqlite3.DatabaseError as error:
        verdict = str(error)
    if verdict != "ok":
        raise StoreRefused(
            f"{path} is damaged ({verdict.splitlines()[-1]}). Nothing was changed. "
            "Put the last backup in its place, and keep the damaged file beside it."
        )


def _why_not_opened(path: Path, reason: str) -> str:
    if "locked" in reason:
        return f"{path} is locked by another program; close that one and start again."
    if "readonly" in reason:
        return f"{path} must be writable, and is not."
    return f"{path} cannot be opened ({reason})."


def _lost(data: Path) -> str:
    return (
        f"the database is missing or empty, but {data} has been a garage before. Put the "
        "database back (the last backup, or SPLITPIN_DATABASE_URL as it was); to begin a new "
        "garage, let SPLITPIN_DATA name another folder."
    )


def check_history(data: Path) -> None:
    """Refuses a database that is empty though the garage is not, or newer than this program."""
    try:
        loader = MigrationLoader(connection)
    except OperationalError as error:
        raise StoreRefused(f"the database does not answer: {_first_line(error)}") from None
    applied = set(loader.applied_migrations or {})
    if not applied and was_used(data):
        raise StoreRefused(_lost(data))
    unknown = sorted(_unknown(loader, applied))
    if unknown:
        raise StoreRefused(
            f"this garage was last opened by a newer Splitpin ({', '.join(unknown)} is not known "
            "here). Nothing was changed; start the newer one."
        )


def _unknown(loader: MigrationLoader, applied: set[tuple[str, str]]) -> Iterator[str]:
    squashed = {old for new in (loader.replacements or {}).values() for old in new.replaces}
    for app, name in applied - set(loader.disk_migrations or {}) - squashed:
        if app in loader.migrated_apps:
            yield f"{app} {name}"


def _first_line(error: Exception) -> str:
    return (str(error).strip().splitlines() or ["no reason given"])[0]
