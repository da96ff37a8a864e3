"""A backup: everything in it, all of one moment, and never half of one under a whole one's name."""

import hashlib
import json
import os
import shutil
import signal
import sqlite3
import sys
import threading
import zipfile
from collections.abc import Callable
from contextlib import closing
from datetime import UTC, datetime, timedelta
from functools import partial
from pathlib import Path
from uuid import uuid4

import pytest

from garage.backup import archive, reading
from garage.backup.contents import BackupRefused, Manifest
from garage.backup.restoring import restore
from tests.garage.backup.store import DATABASE, files_below

NOW = datetime(2026, 11, 25, 7, 2, 30, tzinfo=UTC)


def make(data: Path, *, to: Path | None = None, now: datetime = NOW) -> tuple[Path, Manifest]:
    return archive.make(data=data, live=data / DATABASE, to=to or data / "backups", now=now)


def dump(path: Path) -> list[str]:
    """The database as the standard library tells it."""
    with closing(sqlite3.connect(path)) as database:
        return list(database.iterdump())


def originals(data: Path) -> list[Path]:
    return sorted(path for path in (data / "photos" / "originals").rglob("*") if path.is_file())


def test_an_archive_holds_the_records_every_photo_and_every_sheet(
    data: Path, tmp_path: Path
) -> None:
    path, manifest = make(data)

    with zipfile.ZipFile(path) as packed:
        packed.extractall(tmp_path / "out")
        names = packed.namelist()
    out = files_below(tmp_path / "out")
    listed = json.loads(out.pop("manifest.json"))
    assert path.name == "splitpin-20261125-070230.zip"
    assert path.stat().st_mode & 0o777 == 0o600
    assert names[-1] == "manifest.json"
    assert dump(tmp_path / "out" / DATABASE) == dump(data / DATABASE)
    for top in ("photos/originals", "photos/shown", "prints"):
        assert files_below(tmp_path / "out" / top) == files_below(data / top)
    assert {n: (k["sha256"], k["size_bytes"]) for n, k in listed["files"].items()} == {
        name: (hashlib.sha256(content).hexdigest(), len(content)) for name, content in out.items()
    }
    assert manifest.count("photos/originals/") == 3
    assert (manifest.count("photos/shown/"), manifest.count("prints/")) == (6, 1)
    assert (listed["made_at"], listed["tables"]["garage_photo"]) == ("2026-11-25T07:02:30", 3)
    assert "0001_initial" in listed["migrations"]["parts"]


def test_the_signing_key_stays_at_home_unless_it_is_asked_for(data: Path) -> None:
    _, without = make(data)
    _, with_key = archive.make(
        data=data, live=data / DATABASE, to=data / "backups", now=NOW, with_key=True
    )

    assert "secret.key" not in without.files
    assert with_key.files.keys() - without.files.keys() == {"secret.key"}


def test_two_backups_in_one_second_are_two_archives(data: Path) -> None:
    first, second = make(data)[0], make(data)[0]

    assert [first.name, second.name] == [
        "splitpin-20261125-070230.zip",
        "splitpin-20261125-070231.zip",
    ]


def test_a_photo_thrown_away_while_the_backup_runs_is_in_it_all_the_same(data: Path) -> None:
    original = originals(data)[0]
    content = original.read_bytes()
    dated = data / "photos" / "quarantine" / "2026-11-25"
    dated.mkdir(parents=True)
    original.rename(dated / original.name)

    path, manifest = make(data)

    assert manifest.missing == []
    with zipfile.ZipFile(path) as packed:
        assert packed.read(original.relative_to(data).as_posix()) == content


def test_photos_that_are_gone_or_damaged_are_named_and_the_rest_is_backed_up(data: Path) -> None:
    gone, damaged, whole = originals(data)
    gone.unlink()
    damaged.write_bytes(damaged.read_bytes()[:-1] + b"x")

    _, manifest = make(data)

    assert manifest.missing == [gone.relative_to(data / "photos").as_posix()]
    assert manifest.damaged == [damaged.relative_to(data / "photos").as_posix()]
    assert whole.relative_to(data).as_posix() in manifest.files


def test_a_damaged_database_makes_no_backup_and_harms_none(data: Path) -> None:
    before, _ = make(data)
    content = bytearray((data / DATABASE).read_bytes())
    content[4096 * 20 : 4096 * 40] = os.urandom(4096 * 20)
    (data / DATABASE).write_bytes(content)

    with pytest.raises(BackupRefused, match="database"):
        make(data, now=NOW + timedelta(days=1))

    assert [path.name for path in (data / "backups").iterdir()] == [before.name]
    assert reading.verify(before).tables["garage_photo"] == 3


def test_a_row_that_points_to_nothing_is_told_before_it_is_too_late(data: Path) -> None:
    with closing(sqlite3.connect(data / DATABASE)) as database, database:
        database.execute("UPDATE parts_part SET car_id = 999")

    with pytest.raises(BackupRefused, match="parts_part points to no garage_car"):
        make(data)


def test_a_second_backup_at_once_is_refused(data: Path) -> None:
    make(data)
    with archive._alone(data / "backups"), pytest.raises(BackupRefused, match="just now"):
        make(data)


# ---- while others write


def write_pairs(data: Path, stop: threading.Event, errors: list[BaseException]) -> None:
    """Photos come in two by two and go one by one, each step in the order the photo store keeps:
    file before row, row before quarantine."""
    sample = originals(data)[0].read_bytes()
    quarantine = data / "photos" / "quarantine"
    quarantine.mkdir(exist_ok=True)
    try:
        with closing(sqlite3.connect(data / DATABASE, timeout=20, isolation_level=None)) as own:
            while not stop.is_set():
                add_pair(data, own, sample)
                own.execute("BEGIN IMMEDIATE")
                pk, file = own.execute(OLDEST).fetchone()
                twin = own.execute("SELECT id, file FROM garage_photo WHERE id = ?", [pk + 1])
                pairs = [(pk, file), twin.fetchone()]
                own.executemany("DELETE FROM garage_photo WHERE id = ?", [(p,) for p, _ in pairs])
                own.execute("COMMIT")
                for _, name in pairs:
                    path = data / "photos" / name
                    path.rename(quarantine / path.name)
    except BaseException as error:
        errors.append(error)


OLDEST = "SELECT id, file FROM garage_photo WHERE format = 'PAIR' ORDER BY id LIMIT 1"
INSERT = """INSERT INTO garage_photo
    (key, file, sha256, size_bytes, format, width_px, height_px, received_at, in_use)
    VALUES (?, ?, ?, ?, 'PAIR', 64, 48, '2026-11-25 07:00:00', 1)"""


def add_pair(data: Path, own: sqlite3.Connection, sample: bytes) -> None:
    rows = []
    for _ in range(2):
        name, content = uuid4().hex, sample + uuid4().bytes
        path = data / "photos" / "originals" / name[:2] / f"{name}.jpg"
        path.parent.mkdir(exist_ok=True)
        path.write_bytes(content)
        file = path.relative_to(data / "photos").as_posix()
        rows.append([name, file, hashlib.sha256(content).hexdigest(), len(content)])
    own.execute("BEGIN IMMEDIATE")
    own.executemany(INSERT, rows)
    own.execute("COMMIT")


def test_twelve_of_twelve_backups_are_sound_while_two_write(data: Path, tmp_path: Path) -> None:
    with closing(sqlite3.connect(data / DATABASE, isolation_level=None)) as own:
        for _ in range(40):
            add_pair(data, own, originals(data)[0].read_bytes())
    stop, errors = threading.Event(), []
    writers = [threading.Thread(target=write_pairs, args=(data, stop, errors)) for _ in range(2)]
    for writer in writers:
        writer.start()
    try:
        made = [make(data, to=tmp_path / "to") for _ in range(12)]
    finally:
        stop.set()
        for writer in writers:
            writer.join()

    assert errors == []
    assert len({manifest.dump_sha256 for _, manifest in made}) == 12, "nobody wrote meanwhile"
    for number, (path, manifest) in enumerate(made):
        restore(archive=path, into=tmp_path / f"back-{number}")
        assert (manifest.missing, manifest.damaged) == ([], [])
        assert_of_one_moment(tmp_path / f"back-{number}")


def assert_of_one_moment(back: Path) -> None:
    with closing(sqlite3.connect(back / DATABASE)) as database:
        rows = database.execute("SELECT file, sha256, format FROM garage_photo").fetchall()
        assert database.execute("PRAGMA integrity_check").fetchall() == [("ok",)]
    assert sum(form == "PAIR" for *_, form in rows) % 2 == 0
    for file, sha256, _ in rows:
        assert hashlib.sha256((back / "photos" / file).read_bytes()).hexdigest() == sha256


# ---- killed


WATCHED = {"open", "os.rename", "os.mkdir", "os.chmod", "os.remove", "os.rmdir", "sqlite3.connect"}


def in_a_child(work: Callable[[], object], *, kill_at: int) -> tuple[int, int]:
    """How many watched steps ``work`` took in a process of its own, and the signal that ended
    it: killed without warning before step ``kill_at``."""
    read, write = os.pipe()
    child = os.fork()
    if child == 0:
        count = 0

        def hook(event: str, arguments: tuple) -> None:
            nonlocal count
            if event in WATCHED:
                count += 1
                if count == kill_at:
                    os.kill(os.getpid(), signal.SIGKILL)

        sys.addaudithook(hook)
        try:
            work()
            os.write(write, str(count).encode())
        finally:
            os._exit(0)
    os.close(write)
    with os.fdopen(read) as answer:
        counted = int(answer.read() or 0)
    return counted, os.WTERMSIG(os.waitpid(child, 0)[1])


def test_killed_at_any_of_twenty_points_the_old_backup_is_whole_and_no_half_one_is_there(
    data: Path, tmp_path: Path
) -> None:
    before, manifest = make(data)
    steps, _ = in_a_child(lambda: make(data, to=tmp_path / "dry"), kill_at=0)
    assert steps > 20
    ended = []
    for number in range(20):
        at = 1 + number * (steps - 1) // 19
        work = partial(make, data, now=NOW + timedelta(days=1))
        ended.append(in_a_child(work, kill_at=at)[1])

        final = sorted((data / "backups").glob("*.zip"))
        assert final[0] == before
        assert all(reading.verify(path).files == manifest.files for path in final)
        for path in final[1:]:
            path.unlink()

    assert ended == [signal.SIGKILL] * 20
    make(data, now=NOW + timedelta(days=2))
    assert {path.suffix for path in (data / "backups").iterdir()} == {".zip"}


def test_restoring_killed_at_any_of_twenty_points_leaves_all_or_nothing(
    made_archive: Path, tmp_path: Path
) -> None:
    def work() -> None:
        restore(archive=made_archive, into=tmp_path / "new" / "data")

    work()  # here, so that no child has modules to load that the next one has not
    whole = files_below(tmp_path / "new" / "data")
    shutil.rmtree(tmp_path / "new")
    steps, _ = in_a_child(work, kill_at=0)
    assert steps > 20
    shutil.rmtree(tmp_path / "new")
    for number in range(20):
        new = tmp_path / f"new-{number}" / "data"
        at = 1 + number * (steps - 1) // 19

        _, ended_by = in_a_child(partial(restore, archive=made_archive, into=new), kill_at=at)

        assert ended_by == signal.SIGKILL
        assert not new.exists() or files_below(new) == whole
