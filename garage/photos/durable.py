"""File steps that survive a power cut: when one of these returns, it has reached the disk.

A rename alone is not enough: without the fsync before it the name may come back over an empty
file, without the fsync of the folder the name may not come back at all.
"""

import fcntl
import logging
import os
from collections.abc import Iterable
from pathlib import Path

log = logging.getLogger("splitpin.photos")

# Only macOS has it: there fsync() alone leaves the bytes in the drive's own cache.
FULL_SYNC = getattr(fcntl, "F_FULLFSYNC", None)


def make_folder(folder: Path) -> None:
    """``folder`` and the folders above it exist, readable by this user only."""
    missing = []
    while not folder.is_dir():
        missing.append(folder)
        folder = folder.parent
    for new in reversed(missing):
        try:
            os.mkdir(new, 0o700)
        except FileExistsError:
            # Another upload was quicker, and may not have reached the next line yet.
            if not new.is_dir():
                raise
        settle(new.parent)


def write(chunks: Iterable[bytes], target: Path) -> None:
    """A new file, mode 0600, with what ``chunks`` give."""
    number = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
    try:
        for chunk in chunks:
            rest = memoryview(chunk)
            while rest:
                rest = rest[os.write(number, rest) :]
        _sync(number)
    finally:
        os.close(number)


def settle(path: Path) -> None:
    """The file's bytes, or the folder's names, as they are now."""
    number = os.open(path, os.O_RDONLY)
    try:
        _sync(number)
    finally:
        os.close(number)


def move(source: Path, target: Path) -> None:
    """The settled file ``source`` under the name ``target``, in a folder made when missing."""
    make_folder(target.parent)
    os.rename(source, target)
    settle(target.parent)


def move_if_there(source: Path, target: Path) -> bool:
    """Whether ``source`` was moved. It may have been lost before, or moved by somebody else."""
    try:
        move(source, target)
    except FileNotFoundError:
        return False
    return True


def remove(paths: Iterable[Path]) -> None:
    """None of ``paths``. One that cannot be removed is logged and left to the sweeper."""
    for path in paths:
        try:
            path.unlink(missing_ok=True)
        except OSError as error:
            log.warning("left for the sweeper: %s: %s", path.name, error)


def _sync(number: int) -> None:
    if FULL_SYNC is not None:
        fcntl.fcntl(number, FULL_SYNC)
    else:
        os.fsync(number)
