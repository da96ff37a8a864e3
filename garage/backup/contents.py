"""What an archive holds: its files, by fixed names, and the list of them that is written last."""

import dataclasses
import hashlib
import json
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import PurePosixPath
from typing import IO, Any

FORMAT = "splitpin backup 1"
MANIFEST, DATABASE, ABOUT, KEY = "manifest.json", "splitpin.sqlite3", "ABOUT.txt", "secret.key"
LONE_FILES = {DATABASE, ABOUT, KEY}
FOLDERS = ("photos/originals/", "photos/shown/", "prints/")
# A garage of 100,000 photos is three times as many files.
FILES_AT_MOST = 500_000
MANIFEST_AT_MOST_BYTES = 128 << 20
CHUNK_BYTES = 1 << 20


class BackupRefused(Exception):
    """No backup was made; the text says why. What was there before is as it was."""


class ArchiveRefused(Exception):
    """The archive is not restored; the text says what is wrong with it."""


@dataclass(frozen=True, slots=True)
class Kept:
    """One file of an archive, as it must come out again."""

    sha256: str
    size_bytes: int


@dataclass(frozen=True, slots=True)
class Manifest:
    """The list of contents. ``missing`` and ``damaged`` are photos that were so already."""

    made_at: str
    version: str
    migrations: dict[str, list[str]]
    tables: dict[str, int]
    dump_sha256: str
    files: dict[str, Kept]
    missing: list[str]
    damaged: list[str]

    def to_json(self) -> str:
        return json.dumps({"format": FORMAT, **dataclasses.asdict(self)}, indent=1, sort_keys=True)

    @property
    def size_bytes(self) -> int:
        return sum(kept.size_bytes for kept in self.files.values())

    def count(self, folder: str) -> int:
        """How many files lie below ``folder``, as in "photos/originals/"."""
        return sum(name.startswith(folder) for name in self.files)


def read_manifest(text: bytes) -> Manifest:
    """The list of contents, with every value of the kind it must be.

    Raises
    ------
    ArchiveRefused
        When it cannot be read, or is of a later kind than this program knows.
    """
    try:
        found = json.loads(text)
        kind = found.pop("format")
        if kind != FORMAT:
            raise ArchiveRefused(f"it is of the kind {kind!r}, and this Splitpin reads {FORMAT!r}.")
        files = {name: Kept(**kept) for name, kept in found.pop("files").items()}
        manifest = Manifest(files=files, **found)
        _refuse_wrong_types(manifest)
    except (ValueError, TypeError, KeyError, AttributeError, RecursionError) as error:
        raise ArchiveRefused("its list of contents cannot be read.") from error
    return manifest


def _refuse_wrong_types(manifest: Manifest) -> None:
    texts: list[Any] = [manifest.made_at, manifest.version, manifest.dump_sha256]
    texts += [*manifest.missing, *manifest.damaged]
    numbers: list[Any] = list(manifest.tables.values())
    for kept in manifest.files.values():
        texts.append(kept.sha256)
        numbers.append(kept.size_bytes)
    for names in manifest.migrations.values():
        texts += names
    if not all(type(text) is str for text in texts):
        raise TypeError("a text is none")
    if not all(type(number) is int and number >= 0 for number in numbers):
        raise TypeError("a number is none")


def why_not_a_name(name: str) -> str:
    """Why a file of this name has no place in a garage; nothing when it has."""
    parts = name.split("/")
    if name.startswith("/") or "\\" in name or ":" in name:
        return f"{name!r} does not stay inside the garage's folder."
    if ".." in parts:
        return f"{name!r} leads out of the garage's folder."
    if not name.isprintable() or any(part in ("", ".") for part in parts):
        return f"{name!r} is no name of a file."
    if name not in LONE_FILES and not (name.startswith(FOLDERS) and _is_deep_enough(name)):
        return f"{name!r} does not belong to a garage."
    return ""


def _is_deep_enough(name: str) -> bool:
    return 2 <= len(PurePosixPath(name).parts) <= 5


def chunks_of(file: IO[bytes], most_bytes: int | None = None) -> Iterator[bytes]:
    """The bytes of ``file`` from where it stands, at most ``most_bytes`` of them."""
    left = most_bytes
    while left is None or left > 0:
        chunk = file.read(CHUNK_BYTES if left is None else min(CHUNK_BYTES, left))
        if not chunk:
            return
        left = None if left is None else left - len(chunk)
        yield chunk


def measured(file: IO[bytes], most_bytes: int | None = None) -> Kept:
    """Digest and size of what is left of ``file``."""
    digest, size_bytes = hashlib.sha256(), 0
    for chunk in chunks_of(file, most_bytes):
        digest.update(chunk)
        size_bytes += len(chunk)
    return Kept(digest.hexdigest(), size_bytes)
