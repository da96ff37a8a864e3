"""Starts the programs of this folder on a data folder of their own."""

import json
import os
import shutil
import signal
import subprocess
import sys
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[2]
LAY_OUT = """
import django
django.setup()
from tests.crash import job
job.lay_out()
"""


def environment(data: Path, **more: str) -> dict[str, str]:
    kept = {k: v for k, v in os.environ.items() if k != "SPLITPIN_DATABASE_URL"}
    return kept | {
        "SPLITPIN_DATA": str(data),
        "SPLITPIN_MIN_FREE_BYTES": "0",
        "DJANGO_SETTINGS_MODULE": "tests.crash.settings",
        "PYTHONPATH": str(ROOT),
        **more,
    }


def run(data: Path, *arguments: str, **more: str) -> str:
    """What a program printed; it must end well."""
    ended = subprocess.run(
        [sys.executable, *arguments],
        cwd=ROOT,
        env=environment(data, **more),
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr[-3_000:]
    return ended.stdout


def lay_out(data: Path) -> None:
    run(data, "-c", LAY_OUT)


def points(data: Path, deed: str, how: str, *options: str) -> list[dict[str, Any]]:
    """Every point of a deed (see ``tests.crash.points``)."""
    printed = run(data, "-m", "tests.crash.points", deed, how, *options)
    return [json.loads(line) for line in printed.splitlines()]


class Writers:
    """People who log parts, again and again in a new process that can be killed."""

    def __init__(self, data: Path, acks: Path, *options: str) -> None:
        self._program = subprocess.Popen(
            [sys.executable, "-m", "tests.crash.writers", str(acks), *options],
            cwd=ROOT,
            env=environment(data),
            stdin=subprocess.PIPE,
            stdout=subprocess.PIPE,
            stderr=subprocess.DEVNULL,
            text=True,
        )
        assert self._program.stdout.readline() == "ready\n"

    @contextmanager
    def at_work(self) -> Iterator[None]:
        """They write, and at the end all of them are killed at once."""
        self._program.stdin.write("begin\n")
        self._program.stdin.flush()
        people = int(self._program.stdout.readline())
        try:
            yield
        finally:
            os.killpg(people, signal.SIGKILL)

    def go_home(self) -> None:
        self._program.stdin.close()
        self._program.wait(30)


def look(data: Path, acks: Path) -> dict[str, Any]:
    return json.loads(run(data, "-m", "tests.crash.look", str(acks)))


def missing(*names: str) -> list[str]:
    """The programs that this machine does not have."""
    return [name for name in names if shutil.which(name) is None]
