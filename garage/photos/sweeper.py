"""Clears up behind crashes, and says what is missing. Run before listening (grace 0) and daily.

It may be stopped anywhere and run again. It takes nothing away that a row names, deletes nothing
at once but temporary files, and never deletes a row because its file is gone.
"""

import contextlib
import dataclasses
import fcntl
import logging
import os
from collections.abc import Iterator
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from pathlib import Path

from django.db import models

from garage.models import Photo
from garage.photos import durable, folders, store
from garage.photos.limits import RENDITIONS_PX, NoRoomForPhotos, PhotoRefused

log = logging.getLogger("splitpin.photos")
KEPT = timedelta(days=30)
# About half a minute of work; the rest is left to the next run, or to the page that asks.
REMADE_AT_ONCE = 100
# Newer marks than this ahead of the clock say that it has lost its battery, not a second.
CLOCK_SLACK = timedelta(days=1)


@dataclass(frozen=True, slots=True)
class SweepReport:
    """What one run did and found; photos by their file below the photo folder."""

    temps_removed: tuple[str, ...]
    thrown_away: tuple[str, ...]  # waited 30 days on a form that was never saved
    pointed_at: tuple[str, ...]  # marked as waiting, yet something shows them: left alone
    brought_back: tuple[str, ...]  # in quarantine although a row names them
    quarantined: tuple[str, ...]
    removed_for_good: tuple[str, ...]
    remade: tuple[str, ...]
    missing: tuple[str, ...]
    wrong_size: tuple[str, ...]
    unreadable: tuple[str, ...]
    left_to_remake: int
    clock_is_behind: bool

    @property
    def is_alarm(self) -> bool:
        """Whether a photo that should be here is not, or not whole: look at the backup today."""
        return bool(self.missing or self.wrong_size or self.unreadable)

    def counts(self) -> dict[str, int]:
        """How many of each, for the log."""
        values = {field.name: getattr(self, field.name) for field in dataclasses.fields(self)}
        return {name: len(v) if isinstance(v, tuple) else int(v) for name, v in values.items()}


def sweep(*, now: datetime, grace: timedelta) -> SweepReport:
    """What was cleared up; logged too, an alarm as an error.

    Files younger than ``grace`` may belong to a request under way. Two sweeps at once take turns.
    """
    durable.make_folder(folders.incoming())
    with _alone():
        report = _swept(now, grace)
    did = ", ".join(f"{name} {count}" for name, count in report.counts().items() if count)
    log.info("sweep: %s", did or "nothing to do")
    for name in ("missing", "wrong_size", "unreadable"):
        for file in getattr(report, name):
            log.error("photo %s: %s", name.replace("_", " "), file)
    return report


@contextlib.contextmanager
def _alone() -> Iterator[None]:
    number = os.open(folders.photos(), os.O_RDONLY)
    try:
        fcntl.flock(number, fcntl.LOCK_EX)
        yield
    finally:
        os.close(number)


def _swept(now: datetime, grace: timedelta) -> SweepReport:
    behind = _clock_is_behind(now)
    temps = tuple(_remove_temps(now - grace))
    thrown, pointed_at = ((), ()) if behind else _throw_away_unsaved(now - KEPT)
    # Files first, rows second: a photo coming in between has its row by then.
    found = _found()
    rows = dict(Photo.objects.values_list("file", "size_bytes"))
    brought_back = tuple(_bring_back(rows, found))
    quarantined = () if behind else tuple(_quarantine_strays(rows, found, now - grace))
    for_good = () if behind else tuple(_age_quarantine(now))
    missing, wrong_size = _compare(rows)
    remade, unreadable, left = _remake(sorted(rows.keys() - {*missing, *wrong_size}), found)
    return SweepReport(
        temps_removed=temps,
        thrown_away=thrown,
        pointed_at=pointed_at,
        brought_back=brought_back,
        quarantined=quarantined,
        removed_for_good=for_good,
        remade=remade,
        missing=missing,
        wrong_size=wrong_size,
        unreadable=unreadable,
        left_to_remake=left,
        clock_is_behind=behind,
    )


def _clock_is_behind(now: datetime) -> bool:
    """Whether photos or quarantine are from a later day than ``now``.

    Dates given under such a clock would end a quarantine the moment it is put right.
    """
    newest = Photo.objects.aggregate(newest=models.Max("received_at"))["newest"]
    latest = now + CLOCK_SLACK
    return bool(newest and newest > latest) or any(
        day > latest.date() for day, _ in _quarantine_days()
    )


def _remove_temps(before: datetime) -> Iterator[str]:
    uploads = folders.uploads().glob("*.upload*")
    sheets = folders.prints().glob("*.part")
    for path in (*uploads, *sheets, *folders.incoming().glob("*")):
        if path.is_file() and _is_older(path, before):
            path.unlink(missing_ok=True)
            yield path.name


def _is_older(path: Path, before: datetime) -> bool:
    try:
        return path.stat().st_mtime <= before.timestamp()
    except FileNotFoundError:  # its request has just ended
        return False


def _throw_away_unsaved(before: datetime) -> tuple[tuple[str, ...], tuple[str, ...]]:
    thrown, pointed_at = [], []
    for photo in Photo.objects.waiting_on_a_form().filter(received_at__lt=before):
        file = photo.file
        if _is_pointed_at(photo):
            pointed_at.append(file)
        else:
            store.throw_away(photo)
            thrown.append(file)
    return tuple(thrown), tuple(pointed_at)


def _is_pointed_at(photo: Photo) -> bool:
    """Whether any row of any room names this photo, whatever the photo's own mark says."""
    relations = [
        field
        for field in Photo._meta.get_fields(include_hidden=True)
        if isinstance(field, models.ForeignObjectRel)
    ]
    return any(
        relation.related_model._base_manager.filter(**{relation.field.name: photo.pk}).exists()
        for relation in relations
    )


def _found() -> dict[str, Path]:
    """Every file under originals and shown, by its name below the photo folder."""
    return {
        path.relative_to(folders.photos()).as_posix(): path
        for top in (folders.originals(), folders.shown())
        for path in _files_below(top)
    }


def _files_below(top: Path) -> Iterator[Path]:
    for folder, _, names in os.walk(top):
        for name in names:
            yield Path(folder) / name


def _bring_back(rows: dict[str, int], found: dict[str, Path]) -> Iterator[str]:
    lost = {Path(file).name: file for file in rows.keys() - found.keys()}
    if not lost:
        return
    for path in _files_below(folders.quarantine()):
        file = lost.get(path.name)
        if file and path.stat().st_size == rows[file] and not (folders.photos() / file).exists():
            durable.move(path, folders.photos() / file)
            yield file  # its renditions are made again below


def _quarantine_strays(
    rows: dict[str, int], found: dict[str, Path], before: datetime
) -> Iterator[str]:
    named = rows.keys() | _renditions_of(rows)
    for name in sorted(found.keys() - named):
        path = found[name]
        aged = _is_older(path, before)
        if aged and durable.move_if_there(path, folders.quarantine() / path.name):
            yield name


def _renditions_of(files: dict[str, int]) -> set[str]:
    return {
        folders.rendition(file, size).relative_to(folders.photos()).as_posix()
        for file in files
        for size in RENDITIONS_PX
    }


def _age_quarantine(now: datetime) -> Iterator[str]:
    """Dates what came in since the last run, removes what has been there for 30 days."""
    today = folders.quarantine() / now.date().isoformat()
    for path in sorted(folders.quarantine().glob("*")):
        if path.is_file() and not (today / path.name).exists():
            durable.move_if_there(path, today / path.name)
    for day, folder in _quarantine_days():
        if day < (now - KEPT).date():
            for path in sorted(folder.iterdir()):
                path.unlink(missing_ok=True)
                yield path.name
            folder.rmdir()


def _quarantine_days() -> list[tuple[date, Path]]:
    days = []
    for folder in folders.quarantine().glob("????-??-??"):
        try:
            days.append((date.fromisoformat(folder.name), folder))
        except ValueError:  # a folder somebody else made: not ours to empty
            continue
    return days


def _compare(rows: dict[str, int]) -> tuple[tuple[str, ...], tuple[str, ...]]:
    """Rows whose original is gone, and rows whose original has another size than it came with."""
    missing, wrong_size = [], []
    for file, size_bytes in sorted(rows.items()):
        try:
            if (folders.photos() / file).stat().st_size != size_bytes:
                wrong_size.append(file)
        except FileNotFoundError:
            missing.append(file)
    # A row deleted since it was read is no loss.
    still = set(Photo.objects.values_list("file", flat=True)) if missing else set()
    return tuple(file for file in missing if file in still), tuple(wrong_size)


def _remake(
    files: list[str], found: dict[str, Path]
) -> tuple[tuple[str, ...], tuple[str, ...], int]:
    """Files shown again, files that can no longer be read, and how many are left for next time."""
    bare = [file for file in files if _renditions_of({file: 0}) - found.keys()]
    remade, unreadable = [], []
    for file in bare[:REMADE_AT_ONCE]:
        photo = Photo.objects.filter(file=file).first()
        if photo is None or all(folders.rendition(file, px).is_file() for px in RENDITIONS_PX):
            continue
        try:
            store.make_renditions_again(photo)
            remade.append(file)
        except PhotoRefused:
            unreadable.append(file)
        except NoRoomForPhotos:
            return tuple(remade), tuple(unreadable), len(bare) - len(remade) - len(unreadable)
    return tuple(remade), tuple(unreadable), max(0, len(bare) - REMADE_AT_ONCE)
