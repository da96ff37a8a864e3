"""An error of the disk closes the garage for writing; a full disk does not."""

import errno
import logging
import sqlite3
from collections.abc import Iterator
from pathlib import Path

import pytest
from django.db import OperationalError, connection
from django.test import Client

from garage.health import trouble
from garage.models import Car
from parts.models import Place


@pytest.fixture(autouse=True)
def _well_before_and_after(caplog: pytest.LogCaptureFixture) -> Iterator[None]:
    caplog.set_level(logging.CRITICAL, logger="django")
    trouble.forget()
    yield
    trouble.forget()


@pytest.fixture
def client(client_of_helper: Client) -> Client:
    client_of_helper.raise_request_exception = False
    return client_of_helper


def from_sqlite(code: int, says: str) -> OperationalError:
    """The error that Django raises for a result code of SQLite."""
    inner = sqlite3.OperationalError(says)
    inner.sqlite_errorcode = code
    outer = OperationalError(says)
    outer.__cause__ = inner
    return outer


# Result codes: sqlite.org/rescode.html. Errors of the system: POSIX.1-2017, errno.h.
@pytest.mark.parametrize(
    ("error", "found"),
    [
        (OSError(errno.EIO, "Input/output error"), trouble.DISK_FAILS),
        (OSError(errno.EROFS, "Read-only file system"), trouble.NOT_WRITABLE),
        (OSError(errno.ENOENT, "No such file or directory"), None),
        (OSError(errno.ENOSPC, "No space left on device"), None),
        (from_sqlite(sqlite3.SQLITE_IOERR, "disk I/O error"), trouble.DISK_FAILS),
        (from_sqlite(1034, "disk I/O error"), trouble.DISK_FAILS),  # SQLITE_IOERR_FSYNC
        (from_sqlite(sqlite3.SQLITE_CORRUPT, "malformed"), trouble.DAMAGED),
        (from_sqlite(sqlite3.SQLITE_NOTADB, "not a database"), trouble.DAMAGED),
        (from_sqlite(sqlite3.SQLITE_READONLY, "readonly database"), trouble.NOT_WRITABLE),
        (from_sqlite(sqlite3.SQLITE_BUSY, "database is locked"), None),
        (from_sqlite(sqlite3.SQLITE_FULL, "database or disk is full"), None),
        (ValueError("no disk here"), None),
    ],
)
def test_an_error_is_read_for_what_it_says_about_the_disk(
    error: Exception, found: trouble.Trouble | None
) -> None:
    assert trouble.note(error) is found
    assert trouble.noted() is found


def test_the_first_trouble_stays_until_the_next_start() -> None:
    trouble.note(OSError(errno.EIO, "first"))

    trouble.note(OSError(errno.EROFS, "then the kernel closes the disk for writing"))

    assert trouble.noted() is trouble.DISK_FAILS


def test_an_error_behind_another_is_found() -> None:
    try:
        try:
            raise OSError(errno.EIO, "Input/output error")
        except OSError as inner:
            raise RuntimeError("the photo was not kept") from inner
    except RuntimeError as error:
        assert trouble.of(error) is trouble.DISK_FAILS


def test_after_an_error_of_the_disk_nothing_is_saved_and_looking_goes_on(
    client: Client, car: Car
) -> None:
    def failing(*_: object) -> None:
        raise from_sqlite(sqlite3.SQLITE_IOERR, "disk I/O error in /srv/garage/data")

    with connection.execute_wrapper(failing):
        failed = client.post("/places/", {"path": "Shelf A"})
    after = client.post("/places/", {"path": "Shelf B"})
    looked = client.get("/places/")

    assert (failed.status_code, after.status_code, looked.status_code) == (503, 503, 200)
    assert "Nothing is saved for now" in failed.content.decode()
    assert "/srv/" not in failed.content.decode()
    assert 'role="alert"' in looked.content.decode()
    assert "Close Splitpin, look at the disk" in looked.content.decode()
    assert not Place.objects.filter(name__in=["Shelf A", "Shelf B"]).exists()


def test_a_full_disk_is_said_and_the_next_note_may_still_be_saved(client: Client, car: Car) -> None:
    def full(*_: object) -> None:
        raise from_sqlite(sqlite3.SQLITE_FULL, "database or disk is full")

    with connection.execute_wrapper(full):
        refused = client.post("/places/", {"path": "Shelf A"})
    saved = client.post("/places/", {"path": "Shelf A"})

    assert refused.status_code == 507
    assert "Make room on the disk" in refused.content.decode()
    assert saved.status_code == 302
    assert Place.objects.filter(name="Shelf A").exists()


def test_a_page_says_so_even_where_nothing_can_be_read(client: Client, tmp_path: Path) -> None:
    trouble.note(OSError(errno.EIO, "Input/output error"))

    answer = Client(raise_request_exception=False).post("/sign-in/", {"username": "wren"})

    assert answer.status_code == 503
    assert "started anew" in answer.content.decode()
