"""Kills a photo on its way in, out, or through the sweeper, at every step on the disk in turn.

Run by ``test_crashes.py`` as a program of its own, because a real end of a process needs a real
process and a database file. ``os._exit`` stands for SIGKILL: nothing of ours runs after it.
Prints one JSON object a point: where it died and what was found wrong afterwards.
"""

import hashlib
import json
import os
import shutil
import sys
from collections.abc import Callable
from datetime import UTC, datetime, timedelta
from pathlib import Path
from typing import Any
from uuid import UUID

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.core.management import call_command  # noqa: E402
from django.db import connections  # noqa: E402

from garage.models import Photo  # noqa: E402
from garage.photos import store, sweeper  # noqa: E402
from tests.garage.photos import corpus  # noqa: E402
from tests.garage.photos.uploads import upload  # noqa: E402

NOW = datetime(2026, 11, 25, 16, 40, tzinfo=UTC)
# Later than any file this run writes, whatever the clock of the machine says.
SWEPT_AT = datetime.now(UTC) + timedelta(hours=1)
STEPS = ("open", "write", "fsync", "rename", "mkdir", "unlink", "rmdir")
KEY, STRAY_KEY = UUID(int=1), UUID(int=2)
PHOTO = corpus.saved(corpus.picture(size=(64, 48)))
KILLED = 137


def photos() -> Path:
    return Path(settings.SPLITPIN_DATA) / "photos"


def files() -> set[str]:
    return {p.relative_to(photos()).as_posix() for p in photos().rglob("*") if p.is_file()}


def die_at(step: int) -> None:
    """This process ends in front of its ``step``-th change on the disk."""
    left = [step]

    def deadly(name: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            left[0] -= name != "open" or arguments[1] != os.O_RDONLY
            if left[0] == 0:
                os._exit(KILLED)
            return real(*arguments, **named)

        return call

    for name in STEPS:
        setattr(os, name, deadly(name, getattr(os, name)))


def run_and_die(deed: Callable[[], object], step: int) -> bool:
    """Whether the deed was killed; it runs in a child that opens the database for itself."""
    connections.close_all()
    child = os.fork()
    if child == 0:
        die_at(step)
        deed()
        os._exit(0)
    _, end = os.waitpid(child, 0)
    code = os.waitstatus_to_exitcode(end)
    if code not in (0, KILLED):
        raise RuntimeError(f"the deed failed by itself with {code}")
    return code == KILLED


def nothing_before() -> None:
    pass


def take_in() -> Photo:
    return store.accept(upload=upload(PHOTO), key=KEY, by=None, now=NOW)


def throw_away() -> None:
    store.throw_away(Photo.objects.get(key=KEY))


def sweep() -> sweeper.SweepReport:
    return sweeper.sweep(now=SWEPT_AT, grace=timedelta(0))


def leave_debris() -> None:
    """A kept photo without one rendition, a stray original, a part, and an old quarantine."""
    kept = take_in()
    (photos() / "shown" / kept.file[10:12] / f"{Path(kept.file).stem}-320.jpg").unlink()
    stray = store.accept(upload=upload(PHOTO), key=STRAY_KEY, by=None, now=NOW)
    Photo.objects.filter(key=stray.key).delete()
    (photos() / "tmp" / "1234.part").write_bytes(PHOTO)
    old = photos() / "quarantine" / "2026-01-01"
    old.mkdir(parents=True)
    (old / "1234.jpg").write_bytes(PHOTO)


def rows_without_their_photo() -> list[str]:
    return [
        photo.file
        for photo in Photo.objects.all()
        if not store.original_path(photo).is_file()
        or hashlib.sha256(store.original_path(photo).read_bytes()).hexdigest() != photo.sha256
    ]


def wrong_after_taking_in(killed: bool) -> list[str]:
    wrong = [f"row without photo: {file}" for file in rows_without_their_photo()]
    if not killed and Photo.objects.count() != 1:
        wrong.append("answered, but no row")
    sweep()
    for photo in Photo.objects.all():
        expected = {photo.file, *rendition_names(photo)}
        if files() - in_quarantine() != expected:
            wrong.append(f"after the sweep: {sorted(files() - expected)}")
    if not Photo.objects.exists() and files() - in_quarantine():
        wrong.append(f"left without a row: {sorted(files() - in_quarantine())}")
    take_in()
    if Photo.objects.count() != 1 or rows_without_their_photo():
        wrong.append("the resend did not end with one whole photo")
    return wrong


def wrong_after_throwing_away(killed: bool) -> list[str]:
    wrong = [f"row without photo: {file}" for file in rows_without_their_photo()]
    if not killed and Photo.objects.exists():
        wrong.append("answered, but the row is there")
    sweep()
    whole = [path for path in photos().rglob("*.jpg") if path.read_bytes() == PHOTO]
    if len(whole) != 1:
        wrong.append(f"the original is there {len(whole)} times")
    if not Photo.objects.exists() and files() != in_quarantine():
        wrong.append(f"not in quarantine: {sorted(files() - in_quarantine())}")
    return wrong


def wrong_after_sweeping(killed: bool) -> list[str]:
    kept = Photo.objects.get()
    wrong = [f"row without photo: {file}" for file in rows_without_their_photo()]
    sweep()
    if files() - in_quarantine() != {kept.file, *rendition_names(kept)}:
        wrong.append(f"in place: {sorted(files() - in_quarantine())}")
    today = f"quarantine/{SWEPT_AT.date().isoformat()}/"
    if len(in_quarantine()) != 3 or not all(name.startswith(today) for name in in_quarantine()):
        wrong.append(f"in quarantine: {sorted(in_quarantine())}")
    return wrong


def in_quarantine() -> set[str]:
    return {name for name in files() if name.startswith("quarantine/")}


def rendition_names(photo: Photo) -> set[str]:
    name = Path(photo.file).stem
    return {f"shown/{name[:2]}/{name}-{size}.jpg" for size in (1600, 320)}


DEEDS: dict[str, tuple[Callable[[], object], Callable[[], object], Callable[[bool], list[str]]]] = {
    "take in": (nothing_before, take_in, wrong_after_taking_in),
    "throw away": (take_in, throw_away, wrong_after_throwing_away),
    "sweep": (leave_debris, sweep, wrong_after_sweeping),
}


def main(name: str) -> None:
    before, deed, find_wrong = DEEDS[name]
    call_command("migrate", verbosity=0, run_syncdb=True)
    for step in range(1, 200):
        Photo.objects.all().delete()
        shutil.rmtree(photos(), ignore_errors=True)
        before()
        killed = run_and_die(deed, step)
        print(json.dumps({"step": step, "killed": killed, "wrong": find_wrong(killed)}), flush=True)
        if not killed:
            return


if __name__ == "__main__":
    main(sys.argv[1])
