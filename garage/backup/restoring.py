"""An archive becomes a garage: all of it, in a new folder, in one step, or nothing at all."""

import errno
import os
import shutil
from pathlib import Path
from uuid import uuid4

from django.db.migrations.loader import MigrationLoader

from garage.backup import database, reading
from garage.backup.contents import DATABASE, KEY, ArchiveRefused, Manifest, chunks_of
from garage.photos import durable

# What a first look at an empty data folder leaves there; nothing of anybody's.
NOBODYS = {KEY, "tmp"}
SPARE_BYTES = 64 << 20


def restore(*, archive: Path, into: Path) -> Manifest:
    """What was restored: ``into`` holds the garage, checked, and has reached the disk.

    Raises
    ------
    ArchiveRefused
        With the reason in words; ``into`` is then as it was.
    """
    into = into.resolve()
    _refuse_used(into)
    manifest = reading.verify(archive)
    _refuse_newer(manifest)
    durable.make_folder(into.parent)
    _refuse_without_room(manifest, into.parent)
    beside = into.parent / f"{into.name}.restoring-{uuid4().hex[:8]}"
    try:
        _unpack(archive, manifest, beside)
        _refuse_other_database(manifest, beside / DATABASE)
        if KEY not in manifest.files and (into / KEY).exists():
            durable.write([(into / KEY).read_bytes()], beside / KEY)
        _settle(beside)
        _switch(beside, into)
    finally:
        if beside.exists():
            shutil.rmtree(beside)
    return manifest


def _refuse_used(into: Path) -> None:
    if not into.exists():
        return
    if not into.is_dir():
        raise ArchiveRefused(f"{into} is a file. Name a new folder with --into.")
    found = {path.name for path in into.iterdir()}
    uploads = into / "tmp"
    if found - NOBODYS or (uploads.is_dir() and any(uploads.iterdir())):
        raise ArchiveRefused(
            f"{into} is not empty, and nothing is ever written over. Name a new folder with --into."
        )


def _refuse_newer(manifest: Manifest) -> None:
    loader = MigrationLoader(None, ignore_no_migrations=True)
    known = set(loader.disk_migrations or {})
    known |= {old for new in (loader.replacements or {}).values() for old in new.replaces}
    unknown = sorted(
        f"{app} {name}"
        for app, names in manifest.migrations.items()
        for name in names
        if (app, name) not in known
    )
    if unknown:
        raise ArchiveRefused(
            f"it was made by a newer Splitpin, {manifest.version} ({unknown[0]} is not known "
            "here). Restore it with that one."
        )


def _refuse_without_room(manifest: Manifest, folder: Path) -> None:
    needed, free = manifest.size_bytes + SPARE_BYTES, shutil.disk_usage(folder).free
    if needed > free:
        raise ArchiveRefused(
            f"it needs {needed / 1e6:,.0f} MB and the disk has {free / 1e6:,.0f} MB left."
        )


def _unpack(archive: Path, manifest: Manifest, folder: Path) -> None:
    folder.mkdir(mode=0o700)
    with reading.opened(archive) as packed:
        for name in manifest.files:
            target = folder / name
            target.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            number = os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600)
            with os.fdopen(number, "wb") as file, packed.open(name) as source:
                for chunk in chunks_of(source):
                    file.write(chunk)


def _refuse_other_database(manifest: Manifest, path: Path) -> None:
    try:
        facts = database.facts_of(path)
    except database.Unsound as unsound:
        raise ArchiveRefused(f"{unsound}.") from unsound
    if facts.tables != manifest.tables:
        raise ArchiveRefused("its database has other counts than its list of contents.")
    if facts.dump_sha256 != manifest.dump_sha256 or facts.migrations != manifest.migrations:
        raise ArchiveRefused("its database is not the one of its list of contents.")


def _settle(top: Path) -> None:
    """Everything below ``top`` on the disk: files first, each folder after what is in it."""
    for folder, _, names in os.walk(top, topdown=False):
        for name in names:
            durable.settle(Path(folder) / name)
        durable.settle(Path(folder))


def _switch(beside: Path, into: Path) -> None:
    """The finished folder under the name ``into``, in one step."""
    if into.exists():
        (into / KEY).unlink(missing_ok=True)
        if (into / "tmp").exists():
            (into / "tmp").rmdir()
    try:
        os.rename(beside, into)
    except OSError as error:
        if error.errno in (errno.ENOTEMPTY, errno.EEXIST):
            raise ArchiveRefused(f"{into} was filled by somebody else meanwhile.") from error
        if error.errno in (errno.EXDEV, errno.EBUSY):
            raise ArchiveRefused(
                f"{into} is a disk of its own. Restore into a new folder on it, and let "
                "SPLITPIN_DATA name that folder."
            ) from error
        raise
    durable.settle(into.parent)
