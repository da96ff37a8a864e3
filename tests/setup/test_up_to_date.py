"""Tables are brought up to date in a copy: whatever stops that, the garage is as it was."""

from __future__ import annotations

import gzip
import hashlib
import subprocess
import sys
from pathlib import Path

import pytest

from tests.setup.terminal import ROOT, environment

OLDER = ROOT / "tests/garage/backup/data/schema-0.1.0.zip.gz"
RESTORE = """
import django, sys
from pathlib import Path
django.setup()
from garage.backup.restoring import restore
restore(archive=Path(sys.argv[1]), into=Path(sys.argv[2]))
"""
STOPPED_HALF_WAY = """
import django
django.setup()
from garage.management import opening
whole = opening.call_command
def half(name, **options):
    whole("migrate", "parts", verbosity=0)
    raise SystemExit(3)
opening.call_command = half
opening.bring_up_to_date()
"""
BRING_UP_TO_DATE = """
import django
django.setup()
from garage.management import opening
assert opening.is_behind()
opening.bring_up_to_date()
assert not opening.has_new_tables()
from parts.models import Adhesive, Part
print(Part.objects.count(), Adhesive.objects.count() > 0)
"""


def run(code: str, data: Path, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        cwd=ROOT,
        env=environment(SPLITPIN_DATA=str(data), DJANGO_SETTINGS_MODULE="garage.settings"),
        capture_output=True,
        text=True,
        check=False,
    )


@pytest.fixture
def older(tmp_path: Path) -> Path:
    """The data folder of an earlier release."""
    archive, data = tmp_path / "older.zip", tmp_path / "data"
    archive.write_bytes(gzip.decompress(OLDER.read_bytes()))
    done = run(RESTORE, tmp_path / "nobody", str(archive), str(data))
    assert done.returncode == 0, done.stderr
    return data


def test_tables_half_brought_up_to_date_are_never_the_garage_s(older: Path) -> None:
    before = hashlib.sha256((older / "splitpin.sqlite3").read_bytes()).hexdigest()

    stopped = run(STOPPED_HALF_WAY, older)
    after = hashlib.sha256((older / "splitpin.sqlite3").read_bytes()).hexdigest()
    again = run(BRING_UP_TO_DATE, older)

    assert stopped.returncode == 3, stopped.stderr
    assert after == before
    assert again.returncode == 0, again.stderr
    assert again.stdout.split() == ["4", "True"]
    assert [path.name for path in older.glob("*.new*")] == []
