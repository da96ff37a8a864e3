"""Makes one archive of a garage while it is in use, and reads it back before it gets its name."""

import contextlib
import errno
import fcntl
import hashlib
import os
import shutil
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import IO
from uuid import uuid4
from zipfile import ZIP_STORED, ZipFile, ZipInfo

from django.conf import settings

from garage.backup import database, keeping, reading
from garage.backup.contents import (
    ABOUT,
    DATABASE,
    KEY,
    MANIFEST,
    ArchiveRefused,
    BackupRefused,
    Kept,
    Manifest,
    chunks_of,
)
from garage.photos import durable

MAKING = "making-"
PLAIN_FILE = 0o100600 << 16
LONG_AGO = (1980, 1, 1, 0, 0, 0)  # a zip cannot say "no time"
SPARE_BYTES = 64 << 20


def make(
    *, data: Path, live: Path, to: Path, now: datetime, with_key: bool = False
) -> tuple[Path, Manifest]:
    """The new archive in the folder ``to``, and what it holds; ``live`` is the database in use.

    When this returns, the archive has been written, reached the disk, been read back and found
    whole. Killed anywhere, it leaves no archive and harms none.

    Raises
    ------
    BackupRefused
        If the database is not sound, another backup is being made, or there is no room.
    """
    durable.make_folder(to)
    with _alone(to), _workroom(to) as room, _words_for_a_full_disk():
        part = room / "archive.part"
        _refuse_without_room(data, live, to)
        prints = room / "prints"
        database.snapshot(
            source=live,
            target=room / DATABASE,
            # A sheet may be printed anew under its old name, so it is of the same moment.
            meanwhile=lambda: _copy_prints(data / "prints", prints),
        )
        try:
            manifest = _write(part, data=data, room=room, now=now, with_key=with_key)
            _forget_cached(part)
            if reading.verify(part) != manifest:
                raise BackupRefused("what was read back is not what was written.")
        except database.Unsound as unsound:
            raise BackupRefused(f"{unsound}. Older backups are as they were.") from unsound
        except ArchiveRefused as refused:
            raise BackupRefused(f"the archive is not whole: {refused}") from refused
        target = _free_name(to, now)
        durable.move(part, target)
    return target, manifest


@contextlib.contextmanager
def _alone(folder: Path) -> Iterator[None]:
    number = os.open(folder, os.O_RDONLY)
    try:
        fcntl.flock(number, fcntl.LOCK_EX | fcntl.LOCK_NB)
        yield
    except BlockingIOError:
        raise BackupRefused("another backup is being made there just now.") from None
    finally:
        os.close(number)


@contextlib.contextmanager
def _workroom(folder: Path) -> Iterator[Path]:
    """A folder for what is not done yet; what a killed backup left is cleared away first."""
    for left in folder.glob(f"{MAKING}*"):
        shutil.rmtree(left)
    room = folder / f"{MAKING}{uuid4().hex}"
    room.mkdir(mode=0o700)
    try:
        yield room
    finally:
        shutil.rmtree(room)


@contextlib.contextmanager
def _words_for_a_full_disk() -> Iterator[None]:
    try:
        yield
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EDQUOT):
            raise
        raise BackupRefused("the disk is full. Older backups are as they were.") from error


def _room_needed_bytes(data: Path, live: Path) -> int:
    """About what a backup takes: the archive, and the database once more while it is made."""
    folders = (data / "photos" / "originals", data / "photos" / "shown", data / "prints")
    files = (path for folder in folders for path in _files_below(folder))
    return sum(map(_size_bytes, files)) + 2 * live.stat().st_size + SPARE_BYTES


def _refuse_without_room(data: Path, live: Path, to: Path) -> None:
    needed, free = _room_needed_bytes(data, live), shutil.disk_usage(to).free
    if needed > free:
        raise BackupRefused(
            f"it needs {needed / 1e6:,.0f} MB and the disk has {free / 1e6:,.0f} MB left. "
            "Older backups are as they were."
        )


def _size_bytes(path: Path) -> int:
    try:
        return path.stat().st_size
    except FileNotFoundError:  # taken out of use meanwhile
        return 0


def _files_below(top: Path) -> list[Path]:
    return sorted(Path(folder) / name for folder, _, names in os.walk(top) for name in names)


def _copy_prints(prints: Path, target: Path) -> None:
    target.mkdir()
    for path in _files_below(prints):
        if path.suffix != ".part":  # a sheet that is being handed over
            copy = target / path.relative_to(prints)
            copy.parent.mkdir(parents=True, exist_ok=True)
            shutil.copyfile(path, copy)


def _write(part: Path, *, data: Path, room: Path, now: datetime, with_key: bool) -> Manifest:
    facts = database.facts_of(room / DATABASE)
    files: dict[str, Kept] = {}
    with ZipFile(part, "x", ZIP_STORED) as archive:
        for name, path in _lone_files(data, room, with_key=with_key):
            with path.open("rb") as file:
                files[name] = _put(archive, name, file)
        missing, damaged = _put_photos(archive, files, data, database.photo_rows(room / DATABASE))
        for path in _files_below(room / "prints"):
            with path.open("rb") as file:
                name = path.relative_to(room).as_posix()
                files[name] = _put(archive, name, file)
        manifest = Manifest(
            made_at=now.astimezone(UTC).replace(tzinfo=None).isoformat(timespec="seconds"),
            version=settings.VERSION,
            migrations=facts.migrations,
            tables=facts.tables,
            dump_sha256=facts.dump_sha256,
            files=files,
            missing=missing,
            damaged=damaged,
        )
        archive.writestr(_entry(MANIFEST), manifest.to_json())
    reading.seal(part)
    os.chmod(part, 0o600)
    durable.settle(part)
    return manifest


def _lone_files(data: Path, room: Path, *, with_key: bool) -> Iterator[tuple[str, Path]]:
    yield DATABASE, room / DATABASE
    if (data / ABOUT).exists():
        yield ABOUT, data / ABOUT
    if with_key:
        yield KEY, data / KEY


def _put_photos(
    archive: ZipFile, files: dict[str, Kept], data: Path, rows: list[tuple[str, str]]
) -> tuple[list[str], list[str]]:
    """The originals that are gone and those that are not as they came; the rest is put in."""
    missing, damaged = [], []
    for file, sha256 in rows:
        original = _opened_original(data / "photos", file)
        if original is None:
            missing.append(file)
            continue
        with original:
            kept = files[f"photos/{file}"] = _put(archive, f"photos/{file}", original)
        if kept.sha256 != sha256:
            damaged.append(file)
        _put_renditions(archive, files, data / "photos", file)
    return missing, damaged


def _put_renditions(archive: ZipFile, files: dict[str, Kept], photos: Path, file: str) -> None:
    """What the pages show of it: a tenth of the size, and minutes of work to make again."""
    stem = Path(file).stem
    for path in sorted((photos / "shown" / stem[:2]).glob(f"{stem}-*.jpg")):
        with contextlib.suppress(FileNotFoundError), path.open("rb") as shown:
            name = f"photos/{path.relative_to(photos).as_posix()}"
            files[name] = _put(archive, name, shown)


def _opened_original(photos: Path, file: str) -> IO[bytes] | None:
    """The original; one thrown away since the database was copied lies in quarantine."""
    quarantine = photos / "quarantine"
    name = Path(file).name
    for _ in range(2):  # it may move once more while it is looked for
        for path in (photos / file, quarantine / name, *quarantine.glob(f"*/{name}")):
            with contextlib.suppress(FileNotFoundError):
                return path.open("rb")
    return None


def _entry(name: str) -> ZipInfo:
    info = ZipInfo(name, LONG_AGO)
    info.external_attr = PLAIN_FILE
    return info


def _put(archive: ZipFile, name: str, source: IO[bytes]) -> Kept:
    info = _entry(name)
    info.file_size = os.fstat(source.fileno()).st_size
    digest, size_bytes = hashlib.sha256(), 0
    with archive.open(info, "w") as target:
        for chunk in chunks_of(source):
            target.write(chunk)
            digest.update(chunk)
            size_bytes += len(chunk)
    return Kept(digest.hexdigest(), size_bytes)


def _forget_cached(path: Path) -> None:
    """Has the system let go of the file, so that it is read back from the disk; macOS cannot."""
    if hasattr(os, "posix_fadvise"):
        with path.open("rb") as file:
            os.posix_fadvise(file.fileno(), 0, 0, os.POSIX_FADV_DONTNEED)


def _free_name(folder: Path, now: datetime) -> Path:
    while (folder / keeping.name_of(now)).exists():
        now += timedelta(seconds=1)
    return folder / keeping.name_of(now)
