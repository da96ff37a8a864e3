"""Whether an archive is whole and ours: looked at from end to end before anything is unpacked.

An archive is sealed: behind it, in the zip's comment, stands the digest of all bytes before. So a
flipped byte is found wherever it is, in a place that no reader of zips looks at too. Everything
is stored as it is, nothing compressed: photos do not shrink, and what cannot grow is no bomb.
"""

import errno
import stat
import struct
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from zipfile import ZIP_STORED, BadZipFile, ZipFile, ZipInfo

from garage.backup.contents import (
    DATABASE,
    FILES_AT_MOST,
    MANIFEST,
    MANIFEST_AT_MOST_BYTES,
    ArchiveRefused,
    Kept,
    Manifest,
    measured,
    read_manifest,
    why_not_a_name,
)

SEAL = "splitpin "
SEAL_BYTES = len(SEAL) + 64
CUT_OFF = "it is cut off, damaged, or no archive at all."


def verify(path: Path) -> Manifest:
    """The list of contents of an archive in which every byte is as it was written.

    Raises
    ------
    ArchiveRefused
        With the reason in words.
    """
    with opened(path) as archive:
        entries = _entries(archive, path.stat().st_size)
        manifest = _manifest(archive, entries)
        _refuse_difference(manifest, entries)
        for name, kept in manifest.files.items():
            _refuse_changed(archive, name, kept)
    _refuse_broken_seal(path)
    return manifest


@contextmanager
def opened(path: Path) -> Iterator[ZipFile]:
    """The archive, to read; whatever a reader of zips stumbles over becomes one refusal."""
    try:
        with ZipFile(path) as archive:
            yield archive
    except FileNotFoundError:
        raise ArchiveRefused("there is no such file.") from None
    except (BadZipFile, EOFError, RuntimeError, ValueError, OverflowError, struct.error) as error:
        raise ArchiveRefused(CUT_OFF) from error
    except OSError as error:
        if error.errno != errno.EINVAL:  # a place before the beginning of the file
            raise
        raise ArchiveRefused(CUT_OFF) from error


def _entries(archive: ZipFile, size_bytes: int) -> dict[str, ZipInfo]:
    """Every entry by its name, once each is known to be harmless."""
    infos = archive.infolist()
    if len(infos) > FILES_AT_MOST:
        raise ArchiveRefused(f"it holds more than {FILES_AT_MOST:,} files.")
    # Nothing is compressed, so more inside than outside is a trick.
    if any(info.compress_type != ZIP_STORED or info.flag_bits & 1 for info in infos):
        raise ArchiveRefused("a file in it is compressed or locked, which Splitpin never does.")
    if sum(info.file_size for info in infos) > size_bytes:
        raise ArchiveRefused("it holds more than its size allows.")
    entries: dict[str, ZipInfo] = {}
    folded = set()
    for info in infos:
        _refuse_entry(info)
        # Two names that differ by capitals only are one file on some computers.
        if info.orig_filename.casefold() in folded:
            raise ArchiveRefused(f"{info.orig_filename!r} is in it twice.")
        folded.add(info.orig_filename.casefold())
        entries[info.orig_filename] = info
    return entries


def _refuse_entry(info: ZipInfo) -> None:
    name = info.orig_filename
    if name != MANIFEST and (why := why_not_a_name(name)):
        raise ArchiveRefused(why)
    if stat.S_IFMT(info.external_attr >> 16) not in (0, stat.S_IFREG):
        raise ArchiveRefused(f"{name!r} is a link or no plain file.")


def _manifest(archive: ZipFile, entries: dict[str, ZipInfo]) -> Manifest:
    info = entries.get(MANIFEST)
    if info is None:
        raise ArchiveRefused("it has no list of contents, so it is no backup of Splitpin.")
    if info.file_size > MANIFEST_AT_MOST_BYTES:
        raise ArchiveRefused("its list of contents is too long to be one.")
    return read_manifest(archive.read(info))


def _refuse_difference(manifest: Manifest, entries: dict[str, ZipInfo]) -> None:
    there, listed = entries.keys() - {MANIFEST}, manifest.files.keys()
    if gone := sorted(listed - there):
        raise ArchiveRefused(f"{gone[0]!r} is listed, but not in it.")
    if extra := sorted(there - listed):
        raise ArchiveRefused(f"{extra[0]!r} is in it, but not listed.")
    if DATABASE not in listed:
        raise ArchiveRefused("it has no database.")


def _refuse_changed(archive: ZipFile, name: str, kept: Kept) -> None:
    info = archive.getinfo(name)
    if info.file_size != kept.size_bytes:
        raise ArchiveRefused(f"{name!r} has another size than it was backed up with.")
    try:
        with archive.open(info) as file:
            found = measured(file)
    except BadZipFile:  # its checksum, or the name before it
        found = None
    if found != kept:
        raise ArchiveRefused(f"{name!r} is damaged.")


# ---- the seal


def seal(path: Path) -> None:
    """Puts the seal behind a zip that has no comment yet."""
    text = _seal_of(path, path.stat().st_size - 2).encode()
    with path.open("r+b") as file:
        file.seek(-2, 2)
        file.write(struct.pack("<H", len(text)) + text)


def _refuse_broken_seal(path: Path) -> None:
    before = path.stat().st_size - 2 - SEAL_BYTES
    with path.open("rb") as file:
        file.seek(max(before, 0))
        found = file.read()
    text = _seal_of(path, before).encode()
    if found != struct.pack("<H", len(text)) + text:
        raise ArchiveRefused("it was changed or damaged after it was made: its seal is broken.")


def _seal_of(path: Path, size_bytes: int) -> str:
    with path.open("rb") as file:
        return SEAL + measured(file, size_bytes).sha256
