"""The throw-away PostgreSQL server: it is there while it is needed, and never after."""

from __future__ import annotations

import json
import os
import signal
import subprocess
import sys
import time
from pathlib import Path

import psycopg
import pytest

pytestmark = pytest.mark.postgres

SCRIPT = Path(__file__).with_name("postgres.py")
LOOK = """
import json, os, psycopg
with psycopg.connect(os.environ["SPLITPIN_DATABASE_URL"]) as server:
    folder, names, listens = server.execute(
        "SELECT current_setting('data_directory'), array_agg(datname), "
        "current_setting('listen_addresses') FROM pg_database"
    ).fetchone()
print(json.dumps([os.environ["SPLITPIN_DATABASE_URL"], folder, names, listens]), flush=True)
"""


def run(code: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, str(SCRIPT), sys.executable, "-c", code],
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


def assert_gone(url: str, folder: str) -> None:
    assert not Path(folder).parent.exists()
    with pytest.raises(psycopg.OperationalError):
        psycopg.connect(url, connect_timeout=5)


def test_a_command_finds_an_empty_server_on_loopback_and_nothing_is_left_after() -> None:
    done = run(LOOK)

    assert done.returncode == 0, done.stderr
    url, folder, names, listens = json.loads(done.stdout)
    assert "splitpin" in names
    assert listens == "127.0.0.1"
    assert_gone(url, folder)


def test_a_failing_command_is_reported_and_nothing_is_left_after() -> None:
    done = run(LOOK + "raise SystemExit(7)")

    assert done.returncode == 7
    url, folder, *_ = json.loads(done.stdout)
    assert_gone(url, folder)


def test_a_run_that_is_stopped_leaves_nothing_either() -> None:
    process = subprocess.Popen(
        [sys.executable, str(SCRIPT), sys.executable, "-c", LOOK + "import time; time.sleep(60)"],
        stdout=subprocess.PIPE,
        text=True,
    )
    assert process.stdout
    url, folder, *_ = json.loads(process.stdout.readline())

    process.send_signal(signal.SIGTERM)
    started = time.monotonic()

    assert process.wait(timeout=30) == 143
    assert time.monotonic() - started < 20
    assert_gone(url, folder)
    process.stdout.close()


def test_without_server_programs_it_says_so(tmp_path: Path) -> None:
    hidden = (
        "import runpy, sys, pathlib; sys.argv[0] = sys.argv.pop(1); "
        "pathlib.Path.glob = lambda *_: iter(()); "
        "runpy.run_path(sys.argv[0], run_name='__main__')"
    )
    done = subprocess.run(
        [sys.executable, "-c", hidden, str(SCRIPT), "true"],
        env=os.environ | {"PATH": str(tmp_path)},
        capture_output=True,
        text=True,
        timeout=60,
        check=False,
    )

    assert done.returncode == 3
    assert done.stderr.startswith("postgres: the server programs are not here")
