"""Killed, or failed by the disk, at any step: each deed is wholly done or wholly not.

Plan and planted faults: SQLite's own method, sqlite.org/testing.html, 3.2 (I/O errors) and 3.3
(crashes). For every commit a few deeds at the steps that settle, name or remove a file; before a
release every deed with every kind of failure, and killed at every single write too.
"""

import platform
from pathlib import Path

import pytest

from tests.crash import programs
from tests.figures import not_measured, tell
from tests.thorough import RELEASE

DEEDS = (
    "log part",
    "edit",
    "delete photo",
    "hand over",
    "count back",
    "back up",
    "restore",
    "migrate",
    "sweep",
)
HOWS = ("kill", "EIO", "EIO on", "ENOSPC", "ENOSPC on")
# Each failing of a deed waits on retries and time-outs, so a commit tries one of each kind.
EACH_COMMIT = {
    *((deed, "kill") for deed in ("log part", "hand over", "back up", "restore")),
    ("log part", "EIO"),
    ("delete photo", "ENOSPC"),
}
# Bringing the tables up to date takes seconds, at each of some hundred points.
LONG = ("migrate",)
BEFORE_A_RELEASE = {
    (deed, how) for deed in DEEDS for how in HOWS if how == "kill" or deed not in LONG
}
CASES = sorted(BEFORE_A_RELEASE if RELEASE else EACH_COMMIT)


def refuse_without_tracer() -> None:
    if platform.system() != "Linux" or programs.missing("strace"):
        not_measured("F4", "points of crash or error with a wrong outcome", "there is no strace")


@pytest.mark.parametrize(("deed", "how"), CASES)
def test_a_deed_is_wholly_done_or_wholly_not(deed: str, how: str, tmp_path: Path) -> None:
    refuse_without_tracer()
    every_write = RELEASE and how == "kill" and deed not in LONG
    steps = [] if every_write else ["--steps"]

    points = programs.points(tmp_path / "data", deed, how, *steps)

    hit = [point for point in points if point["hit"]]
    wrong = [point for point in points if point["wrong"]]
    tell(
        "F4",
        f"{deed}, {how}: of {len(hit)} points a wrong outcome",
        len(wrong),
        target="0",
        holds=not wrong and len(hit) >= 5,
    )
    assert wrong == []
    assert len(hit) >= 5
    assert all(point["killed"] for point in hit) == (how == "kill")
    assert any(point["code"] in (200, 302) for point in points if not point["hit"])


@pytest.mark.parametrize(
    ("fault", "how"), [("row before file", "kill"), ("tidy after commit", "EIO")]
)
def test_a_planted_fault_is_found(fault: str, how: str, tmp_path: Path) -> None:
    refuse_without_tracer()

    points = programs.points(tmp_path / "data", "log part", how, "--steps", "--fault", fault)

    assert any("row without its photo" in " ".join(point["wrong"]) for point in points)
