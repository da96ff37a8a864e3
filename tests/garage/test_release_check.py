"""The release check fails on a shortfall, and on what this machine could not measure."""

from pathlib import Path

import pytest

from garage.management.commands import release_check
from garage.management.commands.release_check import FIGURES, Measured, table

GOOD = [
    {"figure": figure.name, "what": figure.what, "value": 0, "target": "0", "holds": True}
    for figure in FIGURES
    if figure.tells
]
RAN = [
    ("tests.garage.photos.test_decode", True),
    ("tests.garage.backup.test_archive", True),
]


def judged(told: list[dict], ran: list[tuple[str, bool]]) -> dict[str, Measured]:
    return {line.name: line for line in table(told, ran)}


def test_all_figures_hold_when_all_were_measured_and_none_falls_short() -> None:
    assert all(line.holds for line in judged(GOOD, RAN).values())
    assert list(judged(GOOD, RAN)) == ["F1", "F2", "F3", "F4", "F5", "F6", "F7", "F10"]


@pytest.mark.parametrize("name", [figure.name for figure in FIGURES])
def test_a_figure_that_nobody_measured_falls_short(name: str) -> None:
    told = [one for one in GOOD if one["figure"] != name]
    ran = {"F7": RAN[1:], "F10": RAN[:1]}.get(name, RAN)

    line = judged(told, ran)[name]

    assert (line.holds, line.value) == (False, "not measured")


def test_a_figure_told_as_not_measurable_here_falls_short() -> None:
    cannot = {"figure": "F1", "what": "power cuts", "value": None, "target": "root", "holds": False}

    line = judged([cannot, *GOOD[1:]], RAN)["F1"]

    assert (line.holds, line.value, line.target) == (False, "not measured", "root")


def test_one_line_that_is_short_is_enough() -> None:
    lost = {"figure": "F4", "what": "restore, EIO", "value": 2, "target": "0", "holds": False}

    assert [line.holds for line in table([*GOOD, lost], RAN) if line.name == "F4"] == [True, False]


def test_a_test_that_failed_is_a_shortfall_of_what_is_counted() -> None:
    line = judged(GOOD, [*RAN, ("tests.garage.backup.test_scrub", False)])["F10"]

    assert (line.holds, line.value) == (False, "1 of 2")


def test_tests_that_were_left_out_do_not_count(tmp_path: Path) -> None:
    report = tmp_path / "junit.xml"
    report.write_text(
        '<testsuites><testsuite><testcase classname="a.b"/>'
        '<testcase classname="a.c"><skipped/></testcase>'
        '<testcase classname="a.d"><failure>x</failure></testcase></testsuite></testsuites>'
    )

    assert release_check.read_counted(report) == [("a.b", True), ("a.d", False)]


def test_every_test_it_runs_is_there() -> None:
    root = Path(release_check.__file__).parents[3]

    assert all((root / test).exists() for figure in FIGURES for test in figure.tests)
