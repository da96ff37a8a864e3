"""A small garage to back up, made once by the verbs of the site; and archives forged from one.

Run as a program it makes the garage in ``SPLITPIN_DATA``, on SQLite whatever the tests run on.
"""

import hashlib
import os
import struct
import subprocess
import sys
import zipfile
from collections.abc import Callable, Iterable, Iterator
from pathlib import Path
from typing import Any

from tests.setup.terminal import ROOT, environment

DATABASE = "splitpin.sqlite3"
ENTRY = tuple[zipfile.ZipInfo, bytes]


def manage(data: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    """One command as a person types it, with ``data`` as the data folder."""
    return subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), *arguments],
        env=environment(SPLITPIN_DATA=str(data), SPLITPIN_MIN_FREE_BYTES="0"),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def make_store(data: Path) -> None:
    made = manage(data, "migrate", "-v", "0")
    assert made.returncode == 0, made.stderr
    subprocess.run(
        [sys.executable, "-m", "tests.garage.backup.store"],
        cwd=ROOT,
        env=environment(
            SPLITPIN_DATA=str(data),
            SPLITPIN_MIN_FREE_BYTES="0",
            DJANGO_SETTINGS_MODULE="garage.settings",
        ),
        check=True,
    )


def fill() -> None:
    """An owner, three parts with a photo each, and a sheet that was handed over."""
    import django

    django.setup()
    from django.conf import settings

    from garage.models import Photo
    from parts.dropoff import start
    from parts.models import DropOff
    from tests import factories

    (settings.SPLITPIN_DATA / "ABOUT.txt").write_text("a garage\n")
    owner, car = factories.make_person(), factories.make_car()
    colours = {"Thermostat housing": "#345678", "Fan": "#8a5a2b", "Drop arm": "#228833"}
    for name, colour in colours.items():
        photo = factories.make_photo(by=owner, colour=colour)
        factories.make_part(car=car, by=owner, name=name, photos=[photo])
    Photo.objects.update(in_use=True)
    piece = factories.make_piece(car=car, by=owner, name="Pedal box")
    finisher = factories.make_finisher()
    dropoff = start(
        key=factories.uuid4(),
        car=car,
        finisher=finisher,
        pieces=[piece],
        by=owner,
        now=factories.NOW,
    )
    sheet = b"%PDF-1.7\nas handed over\n%%EOF\n"
    (settings.SPLITPIN_DATA / "prints").mkdir()
    (settings.SPLITPIN_DATA / "prints" / "dropoff-1.pdf").write_bytes(sheet)
    DropOff.objects.filter(pk=dropoff.pk).update(
        sheet_file="prints/dropoff-1.pdf", sheet_sha256=hashlib.sha256(sheet).hexdigest()
    )


def files_below(top: Path) -> dict[str, bytes]:
    """Every file below ``top``, by name."""
    return {
        path.relative_to(top).as_posix(): path.read_bytes()
        for path in sorted(top.rglob("*"))
        if path.is_file()
    }


def entries(archive: Path) -> Iterator[ENTRY]:
    with zipfile.ZipFile(archive) as packed:
        for info in packed.infolist():
            yield info, packed.read(info)


def forge(
    archive: Path, target: Path, change: Callable[[list[ENTRY]], Iterable[ENTRY]], **options: Any
) -> Path:
    """Another archive of the entries that ``change`` makes, sealed as docs/backup.md tells."""
    with zipfile.ZipFile(target, "w", options.get("compression", zipfile.ZIP_STORED)) as packed:
        for info, content in change(list(entries(archive))):
            packed.writestr(info, content)
    content = target.read_bytes()[:-2]
    comment = b"splitpin " + hashlib.sha256(content).hexdigest().encode()
    target.write_bytes(content + struct.pack("<H", len(comment)) + comment)
    return target


if __name__ == "__main__":
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.settings")
    fill()
