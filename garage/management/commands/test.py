"""`python3 manage.py test [--fast] [pytest arguments]`: every check, one stage after the other.

All stages run even when one fails, so that one run shows everything; the exit code is 1 then.
"""

from __future__ import annotations

import atexit
import os
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from importlib.util import find_spec
from typing import Any

from django.conf import settings
from django.core.management.base import BaseCommand, CommandError

from garage.management import machine

NOTHING_COLLECTED = 5  # pytest's exit code
# Tests that ask no database, and those of what SQLite does when it is killed.
NO_DATABASE_THERE = ("setup", "architecture", "reference", "fabrication/core", "crash")
DOCTESTED = ("fabrication/core", "garage/units.py")


@dataclass(frozen=True, slots=True)
class Stage:
    name: str
    command: tuple[str, ...]
    accepts: tuple[int, ...] = (0,)
    # Runs on the second core while the stages after it run, and is read last.
    beside: bool = False


class Running:
    """A stage that runs beside the others, its output kept until it is asked for."""

    def __init__(self, stage: Stage, environ: dict[str, str]) -> None:
        self.stage = stage
        self._kept = tempfile.TemporaryFile("w+")  # noqa: SIM115  read when the stage has ended
        self._started = time.monotonic()
        self._process = subprocess.Popen(
            stage.command,
            cwd=settings.BASE_DIR,
            env=environ,
            stdout=self._kept,
            stderr=subprocess.STDOUT,
        )
        atexit.register(self._process.terminate)

    def ended(self) -> tuple[bool, float, str]:
        """Whether it failed, its seconds and its output, once it is over."""
        code = self._process.wait()
        seconds = time.monotonic() - self._started
        self._kept.seek(0)
        return code not in self.stage.accepts, seconds, self._kept.read()


class Command(BaseCommand):
    help = "Runs every check. --fast leaves out the browser and PostgreSQL; the rest is pytest's."
    requires_system_checks = ()

    def run_from_argv(self, argv: list[str]) -> None:
        """Past Django's own options, because -v, -k and their like belong to pytest here."""
        arguments = argv[2:]
        try:
            self.handle(*(a for a in arguments if a != "--fast"), fast="--fast" in arguments)
        except CommandError as error:
            self.stderr.write(f"splitpin: {error}")
            sys.exit(error.returncode)

    def handle(self, *pytest_arguments: str, fast: bool = False, **options: Any) -> None:
        if not find_spec("pytest"):
            raise CommandError(
                f"the test packages are not installed in {sys.prefix}. There, once: "
                f"{sys.executable} -m pip install --require-hashes --no-deps "
                "-r requirements-dev.txt",
                returncode=3,
            )
        self.prepare(machine.missing(machine.FOR_FAST_TESTS if fast else machine.FOR_TESTS))
        # The site's settings ran this command; the tests name their own, in pyproject.toml.
        environ = {k: v for k, v in os.environ.items() if k != "DJANGO_SETTINGS_MODULE"}
        results, beside = [], []
        for stage in stages(pytest_arguments, fast=fast):
            if stage.beside:
                beside.append(Running(stage, environ))
                continue
            self.stdout.write(f"\n--- {stage.name}")
            self.stdout.flush()
            started = time.monotonic()
            done = subprocess.run(stage.command, cwd=settings.BASE_DIR, env=environ, check=False)
            failed = done.returncode not in stage.accepts
            results.append((stage.name, failed, time.monotonic() - started))
        for running in beside:
            failed, seconds, output = running.ended()
            self.stdout.write(f"\n--- {running.stage.name}\n{output}")
            results.append((running.stage.name, failed, seconds))
        self.stdout.write("")
        for name, failed, seconds in results:
            self.stdout.write(f"{'FAILED' if failed else 'passed'} {seconds:6.1f} s  {name}")
        if any(failed for _, failed, _ in results):
            raise CommandError("not everything passed; see above.")

    def prepare(self, packages: list[str]) -> None:
        """Installs `packages` when root on Debian or Ubuntu; otherwise refuses and names them."""
        if not packages:
            return
        install = machine.how_to_install(packages)
        if os.geteuid() != 0 or not machine.has_program("apt-get"):
            raise CommandError(
                f"the tests need more from this computer. As root on Debian or Ubuntu: {install}",
                returncode=3,
            )
        environ = {**os.environ, "DEBIAN_FRONTEND": "noninteractive"}
        for command in ("apt-get update", f"{install} -y"):
            self.stdout.write(f"--- {command}")
            self.stdout.flush()
            if subprocess.run(command.split(), env=environ, check=False).returncode:
                raise CommandError(f"{command} failed; see above.", returncode=3)


def stages(pytest_arguments: Sequence[str], *, fast: bool) -> Iterable[Stage]:
    """The stages in order. Arguments for pytest go to both of its runs."""
    python = sys.executable
    ruff = (python, "-m", "ruff")
    concise = ("--output-format", "concise")
    pytest = (python, "-m", "pytest", *pytest_arguments)
    yield Stage("ruff check", (*ruff, "check", *concise, "."))
    yield Stage("ruff format", (*ruff, "format", "--check", *concise, "."))
    yield Stage("mypy", (python, "-m", "mypy"))
    if not pytest_arguments:
        yield Stage("examples in docstrings", (*pytest, "-q", "--doctest-modules", *DOCTESTED))
    if fast:
        yield Stage("pytest on SQLite", (*pytest, "-m", "not browser and not postgres"))
        return
    yield Stage(
        "pytest on PostgreSQL",
        (
            *(python, "tests/setup/postgres.py"),
            *pytest,
            *("-m", "not browser and not postgres"),
            *(f"--ignore=tests/{folder}" for folder in NO_DATABASE_THERE),
        ),
        accepts=(0, NOTHING_COLLECTED) if pytest_arguments else (0,),
        beside=True,
    )
    yield Stage("pytest on SQLite", pytest)
