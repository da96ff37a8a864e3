"""`manage.py start` from outside: as a person in a terminal, with a folder and a browser."""

from __future__ import annotations

import fcntl
import re
import shutil
import socket
import sqlite3
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from http.client import HTTPConnection
from pathlib import Path

import psycopg
import pytest

from garage.management import machine
from tests.setup.postgres import throwaway_server
from tests.setup.terminal import ROOT, Terminal, environment, free_port, opened, refused, wait_until

DATABASE = "splitpin.sqlite3"
A_CODE = re.compile(r"^ +([0-9a-f]{8}(?:-[0-9a-f]{8}){3})$", re.MULTILINE)


def get(port: int, path: str, *, host: str = "127.0.0.1") -> tuple[int, str]:
    with closing(HTTPConnection(host, port, timeout=30)) as connection:
        connection.request("GET", path)
        answer = connection.getresponse()
        return answer.status, answer.read().decode()


def is_held(data: Path) -> bool:
    with open(data / "open.lock") as lock:
        try:
            fcntl.flock(lock, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            return True
    return False


@pytest.fixture(scope="module")
def used_garage(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """A garage that was opened once and closed again, without an owner. Copy it, do not use it."""
    data = tmp_path_factory.mktemp("used") / "data"
    with opened(data, port=free_port()):
        pass
    return data


@pytest.fixture
def garage(used_garage: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(used_garage, tmp_path / "data"))


def add_owner(data: Path) -> None:
    subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "shell", "-v", "0", "-c", ADD_OWNER],
        env=environment(SPLITPIN_DATA=str(data)),
        check=True,
    )


ADD_OWNER = """
from garage.models import Person, Role
Person.objects.add(username="wren", name="Wren", password="a phrase for a test", role=Role.OWNER)
"""


# --- it opens


def test_a_new_garage_opens_and_waits_for_its_first_owner(tmp_path: Path) -> None:
    data, port = tmp_path / "data", free_port()

    with opened(data, port=port) as terminal:
        words = terminal.words()
        status, page = get(port, "/setup/")
        closed_with = terminal.close()

    assert len(A_CODE.findall(words)) == 1
    assert f"http://127.0.0.1:{port}/setup/" in words
    assert status == 200
    assert "<form" in page
    assert closed_with == 0
    assert "Traceback" not in terminal.words()
    assert data.stat().st_mode & 0o777 == 0o700
    assert (data / "secret.key").stat().st_mode & 0o777 == 0o600


def test_nothing_but_this_computer_gets_in_before_there_is_an_owner(garage: Path) -> None:
    port = free_port()

    with opened(garage, "--host", "0.0.0.0", port=port) as terminal:
        words = terminal.words()

    assert "only this computer is let in" in words
    assert f"Splitpin is open at http://127.0.0.1:{port} " in words


def test_with_an_owner_it_answers_where_it_is_told_and_gives_out_no_code(garage: Path) -> None:
    add_owner(garage)
    port = free_port()

    # 127.0.0.2 is this computer too, but not an address that is let in by itself.
    with opened(garage, "--host", "127.0.0.2", port=port) as terminal:
        words = terminal.words()
        status, _ = get(port, "/", host="127.0.0.2")

    assert f"Splitpin is open at http://127.0.0.2:{port} " in words
    assert not A_CODE.findall(words)
    assert status == 302


def test_open_to_every_address_it_says_that_names_must_be_listed(garage: Path) -> None:
    add_owner(garage)

    with opened(garage, "--host", "0.0.0.0", port=free_port()) as terminal:
        assert "SPLITPIN_HOSTS=192.168.1.20" in terminal.words()


def test_static_files_are_prepared_again_only_when_one_has_changed(garage: Path) -> None:
    manifest = garage / "static" / "staticfiles.json"
    first = manifest.stat().st_mtime_ns
    with opened(garage, port=free_port()):
        second = manifest.stat().st_mtime_ns
    (garage / "static.made-from").write_text("an older version")
    with opened(garage, port=free_port()):
        third = manifest.stat().st_mtime_ns

    assert first == second
    assert third > second


def test_a_data_folder_given_from_where_the_person_stands_is_that_folder(tmp_path: Path) -> None:
    port = free_port()
    with opened(tmp_path / "data", port=port, SPLITPIN_DATA="data"):
        assert get(port, "/setup/")[0] == 200

    assert (tmp_path / "data" / DATABASE).stat().st_size > 0


def test_what_was_left_half_kept_is_swept_before_it_opens(garage: Path) -> None:
    (garage / "tmp").mkdir(exist_ok=True)
    half = garage / "tmp" / "half-a-photo.upload"
    half.write_bytes(b"half")

    with opened(garage, port=free_port()):
        assert not half.exists()


def test_a_demo_never_mixes_with_a_real_garage(garage: Path) -> None:
    add_owner(garage)

    words = refused(garage, "--demo", "--port", str(free_port()), SPLITPIN_DEMO_DATA=str(garage))

    assert "Let SPLITPIN_DEMO_DATA name another folder" in words


# --- it refuses, in one sentence, and leaves the store as it was


def test_a_second_start_on_the_same_garage_is_refused(garage: Path) -> None:
    port = free_port()

    with opened(garage, port=port):
        words = refused(garage)

    assert "this garage is open already: process" in words
    assert f"port {port}" in words


def test_a_garage_is_free_again_after_its_server_was_killed(garage: Path) -> None:
    with opened(garage, port=free_port()) as terminal:
        terminal.process.kill()
        terminal.process.wait()
        # Its worker looks once a second whether its parent is still there.
        wait_until(lambda: not is_held(garage))

    with opened(garage, port=free_port()) as again:
        assert "Splitpin is open at" in again.words()


def test_a_port_that_is_taken_is_named(garage: Path) -> None:
    with socket.create_server(("127.0.0.1", 0)) as other:
        port = other.getsockname()[1]
        words = refused(garage, "--port", str(port))

    assert f"port {port} is taken by another program" in words


def test_an_address_of_another_computer_is_refused(garage: Path) -> None:
    # 192.0.2.0/24 is set aside for documentation, so it is nobody's: RFC 5737.
    words = refused(garage, "--host", "192.0.2.7", "--port", str(free_port()))

    assert "192.0.2.7 is not an address of this computer" in words


def test_a_lost_database_is_not_replaced_by_an_empty_one(garage: Path) -> None:
    (garage / DATABASE).unlink()

    words = refused(garage)

    assert "the database is missing or empty" in words
    assert not (garage / DATABASE).exists()


def test_photos_without_a_database_are_never_taken_for_a_new_garage(tmp_path: Path) -> None:
    photo = tmp_path / "data" / "photos" / "ab" / "abcd.jpg"
    photo.parent.mkdir(parents=True)
    photo.write_bytes(b"a photograph")

    words = refused(tmp_path / "data")

    assert "the database is missing or empty" in words
    assert not (tmp_path / "data" / DATABASE).exists()
    assert photo.read_bytes() == b"a photograph"


def test_a_database_emptied_by_accident_is_not_filled_again(garage: Path) -> None:
    (garage / DATABASE).write_bytes(b"")

    assert "the database is missing or empty" in refused(garage)
    assert (garage / DATABASE).read_bytes() == b""


def overwrite_middle(content: bytes) -> bytes:
    middle = len(content) // 2
    return content[:middle] + b"\xff" * 8_192 + content[middle + 8_192 :]


@pytest.mark.parametrize(
    "spoil",
    [
        pytest.param(overwrite_middle, id="two pages overwritten"),
        pytest.param(lambda content: content[: len(content) // 2], id="cut in half"),
        pytest.param(lambda content: b"Dear garage, " * 400, id="another file"),
    ],
)
def test_a_damaged_database_is_refused_and_kept(
    garage: Path, spoil: Callable[[bytes], bytes]
) -> None:
    damaged = spoil((garage / DATABASE).read_bytes())
    (garage / DATABASE).write_bytes(damaged)

    words = refused(garage)

    assert f"{DATABASE} is damaged" in words
    assert (garage / DATABASE).read_bytes() == damaged


def test_a_database_held_by_another_program_is_refused(garage: Path) -> None:
    with closing(sqlite3.connect(garage / DATABASE)) as other:
        other.execute("BEGIN EXCLUSIVE")
        words = refused(garage)

    assert f"{DATABASE} is locked by another program" in words


def test_a_garage_of_a_newer_program_is_refused_and_left_alone(garage: Path) -> None:
    with closing(sqlite3.connect(garage / DATABASE)) as database:
        database.execute(
            "INSERT INTO django_migrations (app, name, applied) "
            "VALUES ('parts', '9999_of_next_year', '2027-01-01')"
        )
        database.commit()
    before = (garage / DATABASE).read_bytes()

    words = refused(garage)

    assert "newer Splitpin (parts 9999_of_next_year" in words
    assert (garage / DATABASE).read_bytes() == before


def test_a_file_where_the_data_folder_should_be_is_refused(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a note, not a folder")

    assert f"{tmp_path / 'data'}" in refused(tmp_path / "data")


def test_a_folder_where_the_database_should_be_is_refused(garage: Path) -> None:
    (garage / DATABASE).unlink()
    (garage / DATABASE).mkdir()

    assert DATABASE in refused(garage)


def test_a_database_server_that_does_not_answer_is_named(tmp_path: Path) -> None:
    words = refused(
        tmp_path / "data", SPLITPIN_DATABASE_URL=f"postgres://x@127.0.0.1:{free_port()}/x"
    )

    assert "the database does not answer" in words


@pytest.mark.postgres
def test_one_variable_keeps_the_records_on_postgresql_and_loses_none(tmp_path: Path) -> None:
    port = free_port()
    with throwaway_server() as url:
        with opened(tmp_path / "data", port=port, SPLITPIN_DATABASE_URL=url):
            assert get(port, "/setup/")[0] == 200
        with psycopg.connect(url) as server:
            counted = server.execute("SELECT count(*) FROM garage_setupcode").fetchone()
    with throwaway_server() as empty:
        words = refused(tmp_path / "data", SPLITPIN_DATABASE_URL=empty)

    assert counted == (1,)
    assert "the database is missing or empty" in words
    assert not (tmp_path / "data" / DATABASE).exists()


@pytest.mark.postgres
def test_a_backup_of_records_on_postgresql_is_refused_and_says_what_to_do(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with throwaway_server() as url:
        with opened(data, port=free_port(), SPLITPIN_DATABASE_URL=url):
            pass
        done = subprocess.run(
            [sys.executable, str(ROOT / "manage.py"), "backup"],
            env=environment(SPLITPIN_DATA=str(data), SPLITPIN_DATABASE_URL=url),
            capture_output=True,
            text=True,
            check=False,
        )

    assert done.returncode == 1
    assert "no backup was made: the records are on PostgreSQL. Back them up with pg_dump" in (
        done.stderr
    )
    assert list(data.rglob("*.zip")) == []


@pytest.mark.parametrize("port", ["0", "65536", "eighty"])
def test_what_is_not_a_port_is_refused(tmp_path: Path, port: str) -> None:
    terminal = Terminal(tmp_path / "data", "--port", port)

    assert terminal.wait() == 2
    assert f"'{port}' is not a port" in terminal.words()


# --- what the computer lacks


def test_a_library_that_does_not_load_counts_as_missing() -> None:
    wanted = {
        "there": lambda: machine.loads("no-such-library.so.0", "libc.so.6"),
        "not-there": lambda: machine.loads("no-such-library.so.0"),
        "no-program": lambda: machine.has_program("no-such-program"),
        "no-file": lambda: machine.has_file("/no/such/folder", "**/*.ttf"),
    }

    assert machine.missing(wanted) == ["not-there", "no-program", "no-file"]


def test_tests_without_their_programs_name_the_packages_and_fail(tmp_path: Path) -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "manage.py"), "test"],
        env=environment(PATH=str(tmp_path)),  # no pdftotext, no chromium, and no apt-get
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert done.returncode == 3
    assert done.stderr.startswith("splitpin: the tests need more from this computer.")
    assert "apt-get install --no-install-recommends" in done.stderr
    assert " poppler-utils chromium" in done.stderr
    assert "ruff" not in done.stdout
