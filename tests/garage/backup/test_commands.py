"""The commands as a person types them, and the backups that come by themselves."""

import sqlite3
import subprocess
import sys
from contextlib import closing
from datetime import UTC, datetime, timedelta
from pathlib import Path

from garage.backup import automatic, keeping, reading
from tests.garage.backup.store import DATABASE, files_below, manage
from tests.setup.terminal import ROOT, environment, free_port, opened, wait_until

NOW = datetime(2026, 11, 25, 7, 2, 30, tzinfo=UTC)


def test_a_garage_goes_to_another_disk_and_back(data: Path, tmp_path: Path) -> None:
    backed_up = manage(data, "backup", "--to", str(tmp_path / "stick"))
    (archive,) = (tmp_path / "stick").iterdir()
    restored = manage(data, "restore", str(archive), "--into", str(tmp_path / "new"))
    checked = manage(tmp_path / "new", "check_store")

    assert "3 photos and 1 sheets" in backed_up.stdout, backed_up.stderr
    assert "copy it to another disk" in backed_up.stdout
    assert f"SPLITPIN_DATA={tmp_path / 'new'} python3 manage.py start" in restored.stdout
    assert (checked.returncode, checked.stderr) == (0, "")
    assert files_below(tmp_path / "new" / "photos") == files_below(data / "photos")


def test_without_into_an_empty_data_folder_is_filled(made_archive: Path, tmp_path: Path) -> None:
    restored = manage(tmp_path / "data", "restore", str(made_archive))

    assert restored.returncode == 0, restored.stderr
    assert "Open it with: python3 manage.py start" in restored.stdout
    assert (tmp_path / "data" / DATABASE).exists()


def test_refusals_are_one_sentence_and_an_exit_code(data: Path, tmp_path: Path) -> None:
    (tmp_path / "x.zip").write_bytes(b"no zip")
    refused = [
        manage(tmp_path / "nothing", "backup"),
        manage(tmp_path / "nothing", "check_store"),
        manage(tmp_path / "nothing", "restore", str(tmp_path / "x.zip")),
        manage(data, "restore", str(tmp_path / "x.zip")),
    ]

    for done in refused:
        assert (done.returncode, done.stdout) == (1, "")
        assert done.stderr.startswith("splitpin: ")
        assert done.stderr.count("\n") == 1
    assert not (tmp_path / "nothing" / DATABASE).exists()


def test_check_store_names_what_is_wrong_and_ends_with_1(data: Path) -> None:
    original = next(path for path in (data / "photos/originals").rglob("*.jpg"))
    original.unlink()

    done = manage(data, "check_store")

    assert done.returncode == 1
    assert done.stdout.startswith(f"missing: {original.relative_to(data)} is recorded, but")
    assert done.stderr == "splitpin: 1 found, nothing was changed.\n"


def test_check_store_tells_a_row_that_points_to_nothing(data: Path) -> None:
    with closing(sqlite3.connect(data / DATABASE)) as database, database:
        database.execute("UPDATE parts_part SET car_id = 999")

    done = manage(data, "check_store")

    assert done.returncode == 1
    assert "parts_part points to no garage_car" in done.stderr


def test_the_tables_are_backed_up_before_they_are_brought_up_to_date(data: Path) -> None:
    assert manage(data, "migrate", "sessions", "zero", "-v", "0").returncode == 0

    with opened(data, port=free_port()) as first:
        words = first.words()
    with opened(data, port=free_port()):
        pass

    (before,) = keeping.backups_in(data / "backups").values()
    assert "sessions" not in reading.verify(before).migrations
    assert "3 photos" in words
    assert "Backed up today" in words


def test_when_that_backup_cannot_be_made_nothing_is_brought_up_to_date(data: Path) -> None:
    assert manage(data, "migrate", "sessions", "zero", "-v", "0").returncode == 0
    (data / "backups").write_text("in the way")

    with closing(sqlite3.connect(data / DATABASE)) as database:
        before = list(database.iterdump())
    done = manage(data, "start", "--port", str(free_port()))

    assert done.returncode == 1
    assert done.stderr.startswith("splitpin: ")
    with closing(sqlite3.connect(data / DATABASE)) as database:
        assert list(database.iterdump()) == before


# ---- by itself


def test_a_day_after_the_last_the_next_is_made_and_older_ones_thinned_out(data: Path) -> None:
    made = [
        automatic.back_up_if_due(data=data, live=data / DATABASE, now=NOW + timedelta(hours=hours))
        for hours in (0, 1, 23, 24, 36, 60)
    ]

    assert made == [True, False, False, True, False, True]
    assert len(keeping.backups_in(data / "backups")) == 3


def test_while_a_photo_is_gone_no_older_backup_is_thinned_out(data: Path) -> None:
    automatic.back_up(data=data, live=data / DATABASE, now=NOW)
    next((data / "photos/originals").rglob("*.jpg")).unlink()
    automatic.back_up(data=data, live=data / DATABASE, now=NOW + timedelta(hours=1))

    assert len(keeping.backups_in(data / "backups")) == 2


DAILY = """
import django
django.setup()
from garage.management.serving import back_up_daily
back_up_daily(every_s=0.2)
"""


def test_a_server_makes_the_backup_that_is_due_and_tries_again_after_a_failure(
    data: Path, tmp_path: Path
) -> None:
    (data / "backups").write_text("in the way")
    with (tmp_path / "log.txt").open("w") as said:
        server = subprocess.Popen(
            [sys.executable, "-c", DAILY],
            cwd=ROOT,
            env=environment(SPLITPIN_DATA=str(data), DJANGO_SETTINGS_MODULE="garage.settings"),
            stderr=said,
        )
    try:
        wait_until(lambda: "the daily backup failed" in (tmp_path / "log.txt").read_text())
        (data / "backups").unlink()
        wait_until(lambda: bool(keeping.backups_in(data / "backups")))
    finally:
        server.kill()
        server.wait()

    assert len(keeping.backups_in(data / "backups")) == 1
