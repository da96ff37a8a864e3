"""manage.py before any package is there: what it decides, and what it does on a bare copy.

The copies hold manage.py, two empty lock files and a settings file of one line, so nothing is
fetched. "Outer" is the Python below this environment, as on a new machine.
"""

from __future__ import annotations

import fcntl
import importlib.util
import json
import os
import re
import shutil
import subprocess
import sys
import tomllib
from pathlib import Path
from types import ModuleType

import pytest
from packaging.requirements import Requirement
from packaging.utils import canonicalize_name

from tests.setup.terminal import ROOT, environment, wait_until

OUTER_PYTHON = str(getattr(sys, "_base_executable", sys.executable))


def load_manage() -> ModuleType:
    spec = importlib.util.spec_from_file_location("splitpin_manage", ROOT / "manage.py")
    assert spec and spec.loader
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


manage = load_manage()


@pytest.fixture
def bare_copy(tmp_path: Path) -> Path:
    """A project folder as small as it can be, in a folder with a space in its name."""
    folder = tmp_path / "my garage"
    (folder / "garage").mkdir(parents=True)
    shutil.copy(ROOT / "manage.py", folder)
    (folder / "garage" / "settings.py").write_text("SECRET_KEY = 'for this test'\n")
    for name in ("requirements.txt", "requirements-dev.txt"):
        (folder / name).write_text("# nothing to fetch\n")
    return folder


def run(copy: Path, *command: str, **more: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [*command],
        cwd=copy,
        env=environment(**more),
        capture_output=True,
        text=True,
        timeout=120,
        check=False,
    )


# --- decisions


def test_an_environment_that_matches_its_stamp_is_left_alone() -> None:
    wanted = {"python": "3.11", "requirements.txt": "a"}

    assert manage.stale_locks({**wanted, "requirements-dev.txt": "b"}, wanted) == []


def test_a_changed_lock_file_is_installed_again_in_place() -> None:
    stamp = {"python": "3.11", "requirements.txt": "old", "requirements-dev.txt": "b"}
    wanted = {"python": "3.11", "requirements.txt": "new"}

    assert manage.stale_locks(stamp, wanted) == ["requirements.txt"]
    assert not manage.starts_afresh(stamp, wanted)


def test_the_test_packages_are_installed_when_first_asked_for() -> None:
    stamp = {"python": "3.11", "requirements.txt": "a"}

    assert manage.locks_for("start") == ["requirements.txt"]
    assert manage.locks_for("test") == ["requirements-dev.txt"]
    assert manage.stale_locks(stamp, {"python": "3.11", "requirements-dev.txt": "b"}) == [
        "requirements-dev.txt"
    ]


@pytest.mark.parametrize("stamp", [{}, {"python": "3.11", "requirements.txt": "a"}])
def test_a_half_made_environment_or_another_python_starts_afresh(stamp: dict[str, str]) -> None:
    wanted = {"python": "3.13", "requirements.txt": "a"}

    assert manage.starts_afresh(stamp, wanted)
    assert manage.stale_locks(stamp, wanted) == ["requirements.txt"]


def test_the_wanted_stamp_follows_the_content_of_the_lock_file(bare_copy: Path) -> None:
    before = manage.wanted_stamp(bare_copy, ["requirements.txt"])
    (bare_copy / "requirements.txt").write_text("# one line more\n")
    after = manage.wanted_stamp(bare_copy, ["requirements.txt"])

    assert before["python"] == after["python"] == "{}.{}".format(*sys.version_info)
    assert before["requirements.txt"] != after["requirements.txt"]


@pytest.mark.parametrize("text", ["", "half a st", "[]"])
def test_an_unreadable_stamp_counts_as_none(tmp_path: Path, text: str) -> None:
    (tmp_path / "stamp.json").write_text(text)

    assert manage.read_stamp(tmp_path) == {}


# 22.3 is where pip learnt --python: pip's own changelog, 22.3 (2022-10-15).
@pytest.mark.parametrize(
    ("line", "enough"),
    [
        ("pip 23.0.1 from /usr/lib/python3/dist-packages/pip (python 3.11)", True),
        ("pip 22.3 from somewhere", True),
        ("pip 22.0.2 from somewhere", False),
        ("", False),
        ("/usr/bin/python3: No module named pip", False),
    ],
)
def test_only_a_pip_that_can_fill_another_environment_is_used(line: str, enough: bool) -> None:
    assert manage.pip_is_new_enough(line) is enough


def test_a_demo_gets_its_own_folder_and_no_other_database() -> None:
    environ = {"SPLITPIN_DATA": "/real", "SPLITPIN_DATABASE_URL": "postgres://real"}

    manage.set_data_folder(["manage.py", "start", "--demo"], environ)

    assert environ == {"SPLITPIN_DATA": str(ROOT / "demo-data")}


def test_a_demo_folder_may_be_named() -> None:
    environ = {"SPLITPIN_DEMO_DATA": "/elsewhere"}

    manage.set_data_folder(["manage.py", "start", "--port", "8001", "--demo"], environ)

    assert environ["SPLITPIN_DATA"] == "/elsewhere"


@pytest.mark.parametrize("command", ["test", "bench"])
def test_tests_and_measurements_never_see_a_real_garage(command: str) -> None:
    environ = {"SPLITPIN_DATA": "/real", "SPLITPIN_DATABASE_URL": "postgres://real", "PATH": "x"}

    manage.set_data_folder(["manage.py", command], environ)

    assert set(environ) == {"SPLITPIN_DATA", "PATH"}
    assert environ["SPLITPIN_DATA"] != "/real"
    assert Path(environ["SPLITPIN_DATA"]).is_dir()


def test_an_ordinary_start_keeps_what_the_person_chose() -> None:
    environ = {"SPLITPIN_DATA": "/real", "SPLITPIN_DATABASE_URL": "postgres://real"}
    before = dict(environ)

    manage.set_data_folder(["manage.py", "start"], environ)

    assert environ == before


def test_without_a_command_it_tells_our_own(capsys: pytest.CaptureFixture[str]) -> None:
    assert manage.main(["manage.py"]) == 0

    words = capsys.readouterr().out
    assert "manage.py start " in words
    assert "manage.py start --demo" in words
    assert "manage.py test" in words


def test_an_older_python_is_told_so(
    monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.setattr(manage.sys, "version_info", (3, 10, 12))

    assert manage.main(["manage.py", "start"]) == 3

    assert capsys.readouterr().err == "splitpin: Python 3.11 or newer is needed; this is 3.10.\n"


# --- on a bare copy


def test_it_makes_its_environment_once_and_then_uses_it(bare_copy: Path) -> None:
    first = run(bare_copy, OUTER_PYTHON, "manage.py", "start")
    made_at = (bare_copy / ".venv" / "stamp.json").stat().st_mtime_ns
    second = run(bare_copy, OUTER_PYTHON, "manage.py", "start")

    # Nothing was in the lock file, so both end at the packages that are not there.
    assert (first.returncode, second.returncode) == (3, 3)
    assert "making the environment" in first.stderr
    assert f"not installed in {bare_copy / '.venv'}" in second.stderr
    assert "making" not in second.stderr
    assert "installing" not in second.stderr
    assert (bare_copy / ".venv" / "stamp.json").stat().st_mtime_ns == made_at
    assert "Traceback" not in first.stderr + second.stderr


def test_an_installation_broken_off_half_way_is_done_again(bare_copy: Path) -> None:
    run(bare_copy, OUTER_PYTHON, "manage.py", "start")
    (bare_copy / ".venv" / "stamp.json").unlink()
    debris = bare_copy / ".venv" / "lib" / "debris.py"
    debris.write_text("")

    again = run(bare_copy, OUTER_PYTHON, "manage.py", "start")

    assert "making the environment" in again.stderr
    assert not debris.exists()


def test_an_active_environment_is_used_as_it_stands(bare_copy: Path) -> None:
    done = run(bare_copy, sys.executable, "manage.py", "version")

    assert done.returncode == 0, done.stderr
    assert done.stdout.startswith("5.2.")
    assert not (bare_copy / ".venv").exists()


def test_it_can_be_told_to_leave_the_environment_alone(bare_copy: Path) -> None:
    # -S keeps packages that this machine's own Python may have out of sight.
    done = run(bare_copy, OUTER_PYTHON, "-S", "manage.py", "start", SPLITPIN_NO_BOOTSTRAP="1")

    assert done.returncode == 3
    assert done.stderr.startswith("splitpin: the packages are not installed in")
    assert not (bare_copy / ".venv").exists()


def test_two_terminals_at_once_install_once(bare_copy: Path) -> None:
    (bare_copy / ".venv").mkdir()
    said = [bare_copy / "one.txt", bare_copy / "two.txt"]
    with open(bare_copy / ".venv" / "lock", "w") as lock:
        fcntl.flock(lock, fcntl.LOCK_EX)
        terminals = [
            subprocess.Popen(
                [OUTER_PYTHON, "manage.py", "start"],
                cwd=bare_copy,
                env=environment(),
                stderr=path.open("w"),
            )
            for path in said
        ]
        wait_until(lambda: all("waiting for it" in path.read_text() for path in said))
        assert not (bare_copy / ".venv" / "bin").exists()
    codes = [terminal.wait(timeout=60) for terminal in terminals]

    words = "".join(path.read_text() for path in said)
    assert codes == [3, 3]
    assert words.count("making the environment") == 1
    assert words.count("installing the packages of requirements.txt") == 1
    assert "Traceback" not in words


def test_neither_pip_nor_ensurepip_gives_the_line_to_type(bare_copy: Path, tmp_path: Path) -> None:
    for name in ("pip", "ensurepip"):
        (tmp_path / f"{name}.py").write_text("raise ImportError('as on a bare Debian')\n")

    done = run(bare_copy, OUTER_PYTHON, "manage.py", "start", PYTHONPATH=str(tmp_path))

    assert done.returncode == 3
    assert done.stderr == (
        "splitpin: this Python has neither pip nor ensurepip. On Debian or Ubuntu, once, "
        "as root: apt-get install python3-venv\n"
    )


def test_an_old_pip_is_passed_over_for_ensurepip(bare_copy: Path, tmp_path: Path) -> None:
    (tmp_path / "pip.py").write_text("print('pip 20.3.4 from nowhere')\n")
    has_ensurepip = run(tmp_path, OUTER_PYTHON, "-c", "import ensurepip").returncode == 0

    done = run(bare_copy, OUTER_PYTHON, "manage.py", "start", PYTHONPATH=str(tmp_path))

    # The stand-in hides every other pip as well, so the installation itself cannot go on; that
    # the environment brings a pip of its own shows which way was taken. Debian's bare Python
    # has no ensurepip either, and then says what to do.
    own_pip = list((bare_copy / ".venv").glob("lib/python3.*/site-packages/pip"))
    assert bool(own_pip) is has_ensurepip
    assert ("apt-get install python3-venv" in done.stderr) is not has_ensurepip


def test_no_network_gives_one_sentence(bare_copy: Path) -> None:
    digest = "0" * 64
    (bare_copy / "requirements.txt").write_text(f"segno==1.6.6 --hash=sha256:{digest}\n")

    done = run(
        bare_copy,
        *(OUTER_PYTHON, "manage.py", "start"),
        PIP_CONFIG_FILE="/dev/null",
        PIP_INDEX_URL="http://127.0.0.1:9/simple",  # the discard port: nobody answers
        PIP_EXTRA_INDEX_URL="",
        PIP_FIND_LINKS="",
        PIP_RETRIES="1",
    )

    assert done.returncode == 1
    assert "the network does not answer" in done.stderr
    assert "Traceback" not in done.stderr
    assert not (bare_copy / ".venv" / "stamp.json").exists()


def test_a_package_that_is_not_the_recorded_one_is_refused(bare_copy: Path) -> None:
    local = bare_copy / "wheels"
    local.mkdir()
    (local / "bolt-1.0-py3-none-any.whl").write_bytes(b"not what was recorded")
    (bare_copy / "requirements.txt").write_text(f"bolt==1.0 --hash=sha256:{'0' * 64}\n")

    done = run(
        bare_copy,
        *(OUTER_PYTHON, "manage.py", "start"),
        PIP_CONFIG_FILE="/dev/null",
        PIP_NO_INDEX="1",
        PIP_FIND_LINKS=local.as_uri(),
    )

    assert done.returncode == 1
    assert "a package is not the one recorded in the lock file" in done.stderr


def test_a_folder_that_cannot_be_written_gives_one_sentence(bare_copy: Path) -> None:
    # Root may write anywhere, so a file in the way stands for a folder without permission.
    (bare_copy / ".venv").write_text("in the way")

    done = run(bare_copy, OUTER_PYTHON, "manage.py", "start")

    assert done.returncode == 1
    assert done.stderr.startswith(f"splitpin: {bare_copy / '.venv'} cannot be made (File exists)")
    assert done.stderr.count("\n") == 1


def test_a_copy_without_its_lock_file_is_told_so(bare_copy: Path) -> None:
    (bare_copy / "requirements.txt").unlink()

    done = run(bare_copy, OUTER_PYTHON, "manage.py", "start")

    assert done.returncode == 1
    assert "requirements.txt is missing" in done.stderr
    assert done.stderr.count("\n") == 1


def test_a_wrong_variable_is_told_in_one_sentence(bare_copy: Path) -> None:
    (bare_copy / "garage" / "settings.py").write_text(
        "from django.core.exceptions import ImproperlyConfigured\n"
        "raise ImproperlyConfigured('SPLITPIN_HTTPS is neither 1 nor 0.')\n"
    )

    done = run(bare_copy, sys.executable, "manage.py", "version")

    assert done.returncode == 1
    assert done.stderr == "splitpin: SPLITPIN_HTTPS is neither 1 nor 0.\n"


# --- the lock files themselves


@pytest.mark.parametrize("name", ["requirements.txt", "requirements-dev.txt"])
def test_every_package_is_pinned_with_hashes(name: str) -> None:
    text = (ROOT / name).read_text().replace("\\\n", " ")
    lines = [line for line in text.splitlines() if line.strip() and not line.startswith("#")]

    assert len(lines) > 25
    for line in lines:
        requirement, *hashes = line.split("--hash=sha256:")
        assert "==" in requirement.split(";")[0], line
        assert hashes, line
        assert all(len(digest.strip()) == 64 for digest in hashes), line


def test_the_test_lock_holds_everything_in_the_other_at_the_same_version() -> None:
    def pins(name: str) -> set[str]:
        lines = (ROOT / name).read_text().splitlines()
        return {line.removesuffix(" \\") for line in lines if "==" in line}

    assert pins("requirements.txt") < pins("requirements-dev.txt")


def test_the_stamp_is_plain_text_a_person_can_read(tmp_path: Path) -> None:
    manage.write_stamp(tmp_path, {"python": "3.11"})

    assert json.loads((tmp_path / "stamp.json").read_text()) == {"python": "3.11"}
    assert os.listdir(tmp_path) == ["stamp.json"]


def test_the_locks_answer_every_dependency_the_project_names() -> None:
    project = tomllib.loads((ROOT / "pyproject.toml").read_text())["project"]
    extras = project["optional-dependencies"]

    assert_answered("requirements.txt", project["dependencies"] + extras["postgres"])
    assert_answered("requirements-dev.txt", project["dependencies"] + extras["dev"])


def assert_answered(lock: str, wanted: list[str]) -> None:
    pins: dict[str, set[str]] = {}
    for line in (ROOT / lock).read_text().splitlines():
        if "==" in line.split(";")[0]:
            pin = Requirement(line.removesuffix(" \\"))
            pins.setdefault(canonicalize_name(pin.name), set()).add(str(pin.specifier)[2:])
    for requirement in map(Requirement, wanted):
        versions = pins.get(canonicalize_name(requirement.name), set())
        assert versions, f"{requirement.name} is not in {lock}"
        assert all(version in requirement.specifier for version in versions), requirement


@pytest.mark.parametrize(
    "name", ["manage.py", "pyproject.toml", "requirements.txt", "requirements-dev.txt"]
)
def test_nothing_in_the_setup_points_at_one_machine_or_registry(name: str) -> None:
    text = (ROOT / name).read_text()

    assert "://" not in text
    assert not re.search(r"(?<![\w.])/(?:home|root|opt|tmp)/", text)
