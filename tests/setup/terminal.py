"""A person's terminal: `manage.py start` run from outside, what it says, and how it ends."""

from __future__ import annotations

import os
import signal
import socket
import subprocess
import sys
import time
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from pathlib import Path

ROOT = Path(__file__).resolve().parents[2]
SET_BY_TESTS = ("DJANGO_SETTINGS_MODULE", "PYTHONHOME", "PYTHONPATH", "VIRTUAL_ENV")


def environment(**more: str) -> dict[str, str]:
    """The environment of a fresh terminal, with nothing of this test run in it."""
    return {
        name: value
        for name, value in os.environ.items()
        if name not in SET_BY_TESTS and not name.startswith("SPLITPIN_")
    } | more


class Terminal:
    """One `start`, running in the folder that holds `data`."""

    def __init__(self, data: Path, *options: str, **environ: str) -> None:
        self._said = data.parent / f"said-{time.monotonic_ns()}.txt"
        with self._said.open("w") as said:
            self.process = subprocess.Popen(
                [sys.executable, str(ROOT / "manage.py"), "start", *options],
                cwd=data.parent,
                env=environment(SPLITPIN_DATA=str(data)) | environ,
                stdout=said,
                stderr=subprocess.STDOUT,
            )

    def words(self) -> str:
        return self._said.read_text()

    def wait_for(self, words: str) -> None:
        wait_until(lambda: words in self.words() or self.process.poll() is not None)
        assert words in self.words(), f"it ended: {self.words()}"

    def close(self) -> int:
        """Exit code after a request to stop, as Ctrl-C or a shutdown of the computer would be."""
        if self.process.poll() is None:
            self.process.send_signal(signal.SIGTERM)
        return self.wait()

    def wait(self) -> int:
        try:
            return self.process.wait(timeout=60)
        finally:
            self.process.kill()


@contextmanager
def opened(data: Path, *options: str, port: int, **environ: str) -> Iterator[Terminal]:
    """A garage that answers; closed at the end, whatever happens."""
    terminal = Terminal(data, "--port", str(port), *options, **environ)
    try:
        terminal.wait_for("Splitpin is open at")
        yield terminal
    finally:
        terminal.close()


def refused(data: Path, *options: str, **environ: str) -> str:
    """The one sentence of a start that ends by itself, with another exit code than 0."""
    terminal = Terminal(data, *(options or ("--port", str(free_port()))), **environ)
    wait_until(lambda: terminal.process.poll() is not None or "open at" in terminal.words())
    terminal.close()
    words = terminal.words()
    assert terminal.process.returncode > 0, words
    assert words.startswith("splitpin: "), words
    assert words.count("\n") == 1, words
    return words


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        return int(probe.getsockname()[1])


def wait_until(true: Callable[[], bool], *, seconds: float = 60.0) -> None:
    end = time.monotonic() + seconds
    while not true():
        assert time.monotonic() < end, "waited in vain"
        time.sleep(0.05)
