"""`python3 manage.py release_check`: the figures a release is judged by, measured here and now.

Runs the tests that measure them, as often as before a release, and prints one table. Ends with 1
when a figure falls short, or was not measured: a machine without root, loop devices or strace
cannot say that nothing is lost. Takes about half an hour.
"""

from __future__ import annotations

import json
import os
import subprocess
import sys
import tempfile
from collections.abc import Iterable, Mapping, Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import Any
from xml.etree import ElementTree

from django.conf import settings
from django.core.management.base import CommandError

from garage.management.plain import PlainCommand


@dataclass(frozen=True, slots=True)
class Figure:
    """What is promised, and the tests that measure it. Those that tell no number are counted."""

    name: str
    what: str
    tests: tuple[str, ...]
    tells: bool = True


FIGURES = (
    Figure("F1", "saved records lost over power cuts", ("tests/crash/test_power_cuts.py",)),
    Figure("F2", "photos unreadable after power cuts", ("tests/crash/test_power_cuts.py",)),
    Figure("F3", "files left over after kills and a sweep", ("tests/crash/test_kills.py",)),
    Figure(
        "F4",
        "points of crash or error with a wrong outcome",
        ("tests/crash/test_points.py", "tests/crash/test_full_disk.py"),
    ),
    Figure("F5", "updates lost, 50 writers of 20 edits", ("tests/parts/test_two_at_once.py",)),
    Figure("F6", "doubled or lost of 1,000 flaky deliveries", ("tests/parts/test_two_at_once.py",)),
    Figure(
        "F7",
        "photos of the corpus judged wrong",
        ("tests/garage/photos/test_decode.py", "tests/garage/photos/test_store.py"),
        tells=False,
    ),
    Figure("F10", "backups and restores that failed", ("tests/garage/backup",), tells=False),
)


@dataclass(frozen=True, slots=True)
class Measured:
    """One line of the table."""

    name: str
    what: str
    value: str
    target: str
    holds: bool


class Command(PlainCommand):
    help = "Measures what a release promises, and fails on any shortfall or what is not measured."
    requires_system_checks = ()

    def handle(self, *args: Any, **options: Any) -> None:
        with tempfile.TemporaryDirectory(prefix="splitpin-release-") as folder:
            told, counted = Path(folder) / "figures.jsonl", Path(folder) / "junit.xml"
            ended = self.run_tests(told, counted)
            lines = [*table(read_told(told), read_counted(counted))]
        for line in lines:
            word = "holds" if line.holds else "SHORT"
            self.stdout.write(
                f"{line.name:4} {word}  {line.value:>14}  (target {line.target})  {line.what}"
            )
        short = [line.name for line in lines if not line.holds]
        if ended or short:
            what = f"short or not measured: {', '.join(dict.fromkeys(short))}" if short else ""
            raise CommandError(what or "a test failed; see above.")

    def run_tests(self, told: Path, counted: Path) -> int:
        tests = dict.fromkeys(test for figure in FIGURES for test in figure.tests)
        environ = {k: v for k, v in os.environ.items() if k != "DJANGO_SETTINGS_MODULE"}
        return subprocess.run(
            [sys.executable, "-m", "pytest", "-q", f"--junit-xml={counted}", *tests],
            cwd=settings.BASE_DIR,
            env={**environ, "SPLITPIN_RELEASE_TESTS": "1", "SPLITPIN_FIGURES": str(told)},
            check=False,
        ).returncode


def read_told(path: Path) -> list[dict[str, Any]]:
    """What the tests told, in their order; nothing when none of them came so far."""
    if not path.exists():
        return []
    return [json.loads(line) for line in path.read_text(encoding="utf-8").splitlines()]


def read_counted(path: Path) -> list[tuple[str, bool]]:
    """Every test that ran, as the path of its module with dots, and whether it passed."""
    if not path.exists():
        return []
    return [
        (case.get("classname", ""), case.find("failure") is None and case.find("error") is None)
        for case in ElementTree.parse(path).iter("testcase")
        if case.find("skipped") is None
    ]


def table(
    told: Sequence[Mapping[str, Any]], counted: Iterable[tuple[str, bool]]
) -> Iterable[Measured]:
    """A line for each figure that was told, and for each that was not."""
    counted = list(counted)
    for figure in FIGURES:
        if not figure.tells:
            yield _counted(figure, counted)
            continue
        lines = [one for one in told if one["figure"] == figure.name]
        if not lines:
            yield Measured(figure.name, figure.what, "not measured", "0", holds=False)
        for one in lines:
            value = "not measured" if one["value"] is None else f"{one['value']:g}"
            yield Measured(figure.name, one["what"], value, one["target"], bool(one["holds"]))


def _counted(figure: Figure, counted: Sequence[tuple[str, bool]]) -> Measured:
    places = tuple(test.removesuffix(".py").replace("/", ".") for test in figure.tests)
    ran = [passed for where, passed in counted if where.startswith(places)]
    failed = ran.count(False)
    value = f"{failed} of {len(ran)}" if ran else "not measured"
    return Measured(figure.name, figure.what, value, "0", holds=bool(ran) and not failed)
