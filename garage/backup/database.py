"""The database of a backup: copied whole while others write, and known by what it holds.

Nothing here uses the site's own connection or models: a backup is made before tables are brought
up to date, and an archive is looked at before it becomes a garage.
"""

import hashlib
import sqlite3
from collections.abc import Callable, Iterator
from contextlib import closing, contextmanager
from dataclasses import dataclass
from pathlib import Path

from garage.backup.contents import BackupRefused

LOCK_WAIT_S = 20.0


class Unsound(Exception):
    """The database file is damaged or contradicts itself; the text says how."""


@dataclass(frozen=True, slots=True)
class Facts:
    """What a database holds. ``dump_sha256`` is over every table, row and value, not over pages."""

    tables: dict[str, int]
    migrations: dict[str, list[str]]
    dump_sha256: str


def snapshot(*, source: Path, target: Path, meanwhile: Callable[[], None]) -> None:
    """A copy of the live database in ``target``, all of one moment; ``meanwhile`` is called in
    that moment, while nobody can write.

    One step: a copy in small steps starts anew with every write of somebody else.

    Raises
    ------
    BackupRefused
        If the database cannot be read, or stays locked.
    """
    uri = f"{source.resolve().as_uri()}?mode=rw"
    try:
        with (
            closing(sqlite3.connect(uri, uri=True, timeout=LOCK_WAIT_S)) as live,
            # Another connection keeps writers out: one that writes cannot copy, and waits forever.
            closing(_holding(uri)),
            closing(sqlite3.connect(target)) as copy,
        ):
            live.backup(copy)
            meanwhile()
            # One file, whatever the live one is set to.
            copy.execute("PRAGMA journal_mode=DELETE")
    except sqlite3.Error as error:
        raise BackupRefused(f"the database cannot be copied: {error}.") from error


def _holding(uri: str) -> sqlite3.Connection:
    """A connection that keeps everybody from writing until it is closed."""
    holder = sqlite3.connect(uri, uri=True, timeout=LOCK_WAIT_S, isolation_level=None)
    try:
        holder.execute("BEGIN IMMEDIATE")
    except sqlite3.Error:
        holder.close()
        raise
    return holder


def facts_of(path: Path) -> Facts:
    """What the database file holds, after SQLite has found it sound.

    Raises
    ------
    Unsound
        If it is damaged, contradicts itself, or is no garage.
    """
    with _opened(path) as database:
        _refuse_unsound(database)
        return Facts(
            tables={name: _count(database, name) for name in _tables(database)},
            migrations=_migrations(database),
            dump_sha256=_dump_sha256(database),
        )


def photo_rows(path: Path) -> list[tuple[str, str]]:
    """Name and digest of every photo that the database file knows."""
    with _opened(path) as database:
        return database.execute("SELECT file, sha256 FROM garage_photo ORDER BY file").fetchall()


def why_unsound(path: Path) -> str:
    """What SQLite finds wrong with a live database, which it does not change; nothing if sound."""
    try:
        uri = f"{path.resolve().as_uri()}?mode=ro"
        with closing(sqlite3.connect(uri, uri=True, timeout=LOCK_WAIT_S)) as database:
            _refuse_unsound(database)
    except (Unsound, sqlite3.Error) as error:
        return str(error)
    return ""


@contextmanager
def _opened(path: Path) -> Iterator[sqlite3.Connection]:
    """The file as it lies there: read only, and no journal is looked for beside it."""
    try:
        uri = f"{path.resolve().as_uri()}?mode=ro&immutable=1"
        with closing(sqlite3.connect(uri, uri=True)) as database:
            database.execute("PRAGMA trusted_schema=OFF")
            # Text that is no UTF-8 must come out as it went in.
            database.text_factory = lambda raw: raw.decode("utf-8", "surrogateescape")
            yield database
    except sqlite3.Error as error:
        raise Unsound(f"the database cannot be read ({error})") from error


def _refuse_unsound(database: sqlite3.Connection) -> None:
    verdict = database.execute("PRAGMA integrity_check(1)").fetchone()[0]
    if verdict != "ok":
        raise Unsound(f"the database is damaged ({verdict.splitlines()[-1]})")
    stray = database.execute("PRAGMA foreign_key_check").fetchone()
    if stray:
        raise Unsound(f"the database contradicts itself: {stray[0]} points to no {stray[2]}")


def _tables(database: sqlite3.Connection) -> list[str]:
    return [
        name
        for (name,) in database.execute(
            "SELECT name FROM sqlite_master WHERE type = 'table' ORDER BY name"
        )
    ]


def _count(database: sqlite3.Connection, table: str) -> int:
    return int(database.execute(f"SELECT count(*) FROM {_quoted(table)}").fetchone()[0])


def _migrations(database: sqlite3.Connection) -> dict[str, list[str]]:
    found: dict[str, list[str]] = {}
    for app, name in database.execute("SELECT app, name FROM django_migrations ORDER BY app, name"):
        found.setdefault(app, []).append(name)
    return found


def _dump_sha256(database: sqlite3.Connection) -> str:
    """One hash over every definition and every value.

    Spelled by ascii(), which no version of Python or SQLite spells differently: an archive may
    be opened years later, on another computer.
    """
    digest = hashlib.sha256()
    for row in database.execute("SELECT type, name, sql FROM sqlite_master ORDER BY type, name"):
        digest.update(ascii(row).encode())
    for table in _tables(database):
        digest.update(ascii(table).encode())
        for row in database.execute(f"SELECT * FROM {_quoted(table)} ORDER BY rowid"):
            digest.update(ascii(row).encode())
    return digest.hexdigest()


def _quoted(name: str) -> str:
    return '"' + name.replace('"', '""') + '"'
