"""The sweep that a running server does once a day, run here every fifth of a second."""

from __future__ import annotations

import os
import subprocess
import sys
import threading
import time
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from garage.management import serving
from tests.setup.terminal import ROOT, environment, free_port, opened, wait_until

SWEEP = """
import django
django.setup()
from garage.management.serving import sweep_daily
sweep_daily(every_s=0.2)
"""


@contextmanager
def sweeping(data: Path) -> Iterator[Path]:
    """The file that a sweeping process logs to, while it sweeps the garage in `data`."""
    log = data.parent / "log.txt"
    with log.open("w") as said:
        process = subprocess.Popen(
            [sys.executable, "-c", SWEEP],
            cwd=ROOT,
            env=environment(SPLITPIN_DATA=str(data), DJANGO_SETTINGS_MODULE="garage.settings"),
            stderr=said,
        )
        try:
            yield log
        finally:
            process.kill()
            process.wait()


def leftover(path: Path, *, age_s: float) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(b"half a photo")
    then = time.time() - age_s
    os.utime(path, (then, then))
    return path


def test_the_daily_sweep_takes_what_a_crash_left_and_spares_what_may_still_arrive(
    tmp_path: Path,
) -> None:
    data = tmp_path / "data"
    with opened(data, port=free_port()):
        pass
    old = leftover(data / "tmp" / "old.upload", age_s=2 * 60 * 60)
    young = leftover(data / "tmp" / "young.upload", age_s=10 * 60)

    with sweeping(data):
        wait_until(lambda: not old.exists())

    assert young.exists()


def test_a_sweep_that_fails_is_logged_and_tried_again(tmp_path: Path) -> None:
    data = tmp_path / "data"
    with opened(data, port=free_port()):
        pass
    (data / "photos").rename(tmp_path / "photos")
    (data / "photos").write_text("in the way")
    old = leftover(data / "tmp" / "old.upload", age_s=2 * 60 * 60)

    with sweeping(data) as log:
        wait_until(lambda: "the daily sweep failed" in log.read_text())
        (data / "photos").unlink()
        (tmp_path / "photos").rename(data / "photos")
        wait_until(lambda: not old.exists())

    assert not old.exists()


def test_every_server_process_starts_its_sweep() -> None:
    serving.post_worker_init(worker=None)

    assert [thread.daemon for thread in threading.enumerate() if thread.name == "daily sweep"] == [
        True
    ]
