"""Compares every file of the store with its record, and changes nothing.

The sweep at the start looks at names and sizes, which is quick. This reads every byte.
"""

import os
import zlib
from collections.abc import Iterator, Mapping
from dataclasses import dataclass
from pathlib import Path

from garage.backup.contents import Kept, measured
from garage.models import Photo
from garage.photos.limits import RENDITIONS_PX

FROM_BACKUP = "Take it from the newest backup that has it whole; the record itself is sound."
LOOK_AND_MOVE = "Look at it, then move it out of the data folder."


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing that is not as recorded: its file below the data folder, and what to do."""

    kind: str
    file: str
    says: str
    do: str


@dataclass(frozen=True, slots=True)
class _Row:
    sha256: str
    size_bytes: int | None  # None where no size was recorded


def scrub(
    *, data: Path, prints: Mapping[str, str], share: tuple[int, int] = (0, 1)
) -> list[Finding]:
    """Everything that is not as it was recorded; ``prints`` are the digests of the sheets.

    ``share`` (2, 4) reads the third of four like shares of the photos and sheets, and looks at
    the names alone of the others.

    Meant for a garage in use too. Files are listed first and records read last, so that what
    comes in or goes out meanwhile is no finding.
    """
    found = sorted(_files_in(data))
    rows = _photo_rows()
    findings = [
        *_changed(data, _share_of(rows, share)),
        *_changed(data, _share_of({f: _Row(d, None) for f, d in prints.items()}, share)),
    ]
    rows_now = _photo_rows()
    gone_meanwhile = rows.keys() - rows_now.keys()
    findings = [finding for finding in findings if finding.file not in gone_meanwhile]
    findings += _strays(data, found, {*rows, *rows_now}, set(prints))
    findings += _not_shown(data, rows_now)
    return sorted(findings, key=lambda finding: (finding.file, finding.kind))


def _share_of(rows: Mapping[str, _Row], share: tuple[int, int]) -> dict[str, _Row]:
    """The rows of one share; a file stays in its share while others come and go."""
    number, of = share
    return {file: row for file, row in rows.items() if zlib.crc32(file.encode()) % of == number}


def _photo_rows() -> dict[str, _Row]:
    rows = Photo.objects.values_list("file", "sha256", "size_bytes")
    return {f"photos/{file}": _Row(sha256, size) for file, sha256, size in rows}


def _files_in(data: Path) -> Iterator[str]:
    for top in ("photos", "prints"):
        for folder, folders, names in os.walk(data / top):
            if Path(folder) == data / "photos":
                # What is on its way in, and what waits 30 days to be removed.
                folders[:] = [name for name in folders if name not in ("tmp", "quarantine")]
            for name in names:
                yield (Path(folder) / name).relative_to(data).as_posix()


def _changed(data: Path, rows: Mapping[str, _Row]) -> Iterator[Finding]:
    name_of = {row.sha256: file for file, row in rows.items()}
    for file, row in sorted(rows.items()):
        try:
            with (data / file).open("rb") as content:
                kept = measured(content)
        except FileNotFoundError:
            yield Finding("missing", file, "is recorded, but the file is gone.", FROM_BACKUP)
            continue
        if kept.sha256 != row.sha256:
            yield _what_changed(file, row, kept, name_of.get(kept.sha256, ""))


def _what_changed(file: str, row: _Row, kept: Kept, other: str) -> Finding:
    if other:
        return Finding("swapped", file, f"holds what belongs into {other}.", FROM_BACKUP)
    if row.size_bytes is not None and kept.size_bytes < row.size_bytes:
        says = f"is cut off: {kept.size_bytes:,} of {row.size_bytes:,} bytes are left."
        return Finding("cut off", file, says, FROM_BACKUP)
    if row.size_bytes is not None and kept.size_bytes > row.size_bytes:
        says = f"is too long: {kept.size_bytes:,} bytes, recorded were {row.size_bytes:,}."
        return Finding("wrong size", file, says, FROM_BACKUP)
    return Finding("damaged", file, "does not hold what was recorded.", FROM_BACKUP)


def _strays(data: Path, found: list[str], photos: set[str], prints: set[str]) -> Iterator[Finding]:
    shown = {name for file in photos for name in _renditions(file)}
    for file in found:
        if file in photos | shown | prints or not (data / file).exists():
            continue
        if file.startswith("photos/originals/"):
            yield Finding(
                "no record",
                file,
                "is an original that no record names.",
                "The next start puts it into photos/quarantine for 30 days. Copy it first if "
                "you miss it.",
            )
        elif not file.startswith("prints/"):
            yield Finding("extra", file, "is nothing that Splitpin keeps here.", LOOK_AND_MOVE)
        elif file not in prints and not file.endswith(".part"):
            yield Finding("extra", file, "is a sheet that no drop-off names.", LOOK_AND_MOVE)


def _not_shown(data: Path, rows: Mapping[str, _Row]) -> Iterator[Finding]:
    for file in rows:
        for name in _renditions(file):
            try:
                whole = (data / name).stat().st_size > 0
            except FileNotFoundError:
                whole = False
            if not whole and (data / file).exists():
                yield Finding(
                    "not shown",
                    name,
                    "is the picture shown of a photo, and is missing or empty.",
                    "Remove it if it is there: the next start makes it again from the original.",
                )


def _renditions(file: str) -> Iterator[str]:
    stem = Path(file).stem
    for size_px in RENDITIONS_PX:
        yield f"photos/shown/{stem[:2]}/{stem}-{size_px}.jpg"
