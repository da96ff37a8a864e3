"""What an error says about the disk, and the garage read-only after one that bodes ill.

After a failed fsync a later success proves nothing: the kernel may have marked the lost pages as
clean. So from the first such error on nothing is written until the garage is started anew, and the
start looks at the database before it opens it.
"""

import errno
import logging
import sqlite3
import threading
from collections.abc import Iterator
from dataclasses import dataclass

log = logging.getLogger("splitpin.health")

FULL = (errno.ENOSPC, errno.EDQUOT, errno.EFBIG)
FAILING = (errno.EIO, errno.ENODEV, errno.ENXIO, errno.ESTALE)
SQLITE_DAMAGED = (sqlite3.SQLITE_CORRUPT, sqlite3.SQLITE_NOTADB)
SQLITE_LOCKED_OUT = (sqlite3.SQLITE_READONLY, sqlite3.SQLITE_CANTOPEN)
PRIMARY_CODE = 0xFF  # the low byte of an extended result code of SQLite


@dataclass(frozen=True, slots=True)
class Trouble:
    """What happened to the store, and the one thing to do."""

    says: str
    do: str


DISK_FAILS = Trouble(
    "The disk did not take or give what it was asked for.",
    "Close Splitpin, look at the disk and its cable, copy the newest backup to another disk, then "
    "start again: the start checks the records first.",
)
DAMAGED = Trouble(
    "The records on the disk are damaged.",
    "Close Splitpin, keep this data folder as it is, and restore the newest backup into a new one.",
)
NOT_WRITABLE = Trouble(
    "The data folder can no longer be written.",
    "Close Splitpin, see whether the disk is still there and who may write to it, then start "
    "again.",
)

_noted: list[Trouble] = []
_lock = threading.Lock()


def is_full(error: BaseException) -> bool:
    """Whether the disk had no room: nothing is broken, and the next small note may still fit."""
    return any(_errno(one) in FULL or _sqlite(one) == sqlite3.SQLITE_FULL for one in _chain(error))


def of(error: BaseException) -> Trouble | None:
    """What the error, or one behind it, says about the disk; None when it says nothing."""
    for one in _chain(error):
        code = _sqlite(one)
        if code in SQLITE_DAMAGED:
            return DAMAGED
        if code == sqlite3.SQLITE_IOERR or _errno(one) in FAILING:
            return DISK_FAILS
        if code in SQLITE_LOCKED_OUT or _errno(one) == errno.EROFS:
            return NOT_WRITABLE
    return None


def note(error: BaseException) -> Trouble | None:
    """The trouble that the error tells of; from then on nothing is written until the next start."""
    found = of(error)
    if found is not None:
        with _lock:
            is_first = not _noted
            if is_first:
                _noted.append(found)
        if is_first:
            log.critical("nothing is written until the next start: %s %s", found.says, found.do)
    return found


def noted() -> Trouble | None:
    """Why nothing is written; None while all is well."""
    return _noted[0] if _noted else None


def forget() -> None:
    """As at a start."""
    with _lock:
        _noted.clear()


def _chain(error: BaseException | None) -> Iterator[BaseException]:
    """The error and those that it came from; Django raises its own over the one of SQLite."""
    while error is not None:
        yield error
        error = error.__cause__ or error.__context__


def _errno(error: BaseException) -> int | None:
    return error.errno if isinstance(error, OSError) else None


def _sqlite(error: BaseException) -> int | None:
    code = getattr(error, "sqlite_errorcode", None)
    return None if code is None else code & PRIMARY_CODE
