#!/usr/bin/env python3
"""Runs Splitpin: `python3 manage.py start`, `start --demo`, `test`.

On first use it makes a virtual environment in .venv, installs the pinned packages there and
starts itself again inside. Nothing outside the project folder changes. An environment that is
already active is used as it stands; SPLITPIN_NO_BOOTSTRAP=1 switches all of this off, for
containers and packagers.

Standard library only, because it runs before any package is there; and written so that an
older Python can read far enough to say that it is too old.
"""

from __future__ import annotations

import atexit
import hashlib
import json
import os
import shutil
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator, MutableMapping, Sequence
from contextlib import contextmanager
from importlib import import_module
from pathlib import Path

ROOT = Path(__file__).resolve().parent
FLOOR = (3, 11)
RUN_LOCK = "requirements.txt"
TEST_LOCK = "requirements-dev.txt"  # holds everything in RUN_LOCK as well
OLDEST_PIP = (22, 3)  # the first that knows --python
ENTERED = "_SPLITPIN_ENTERED"

HELP = """\
Splitpin: log each part as it comes off, send it out, count it back, refit it in order.

  python3 manage.py start           open the garage on this computer
  python3 manage.py start --demo    open an invented garage to look round in
  python3 manage.py test            run every check (--fast: without browser and PostgreSQL)
  python3 manage.py backup          one archive of everything, read back and checked
  python3 manage.py restore FILE    unpack one into an empty folder; check_store looks for damage
  python3 manage.py bench           measure what pages and sheets cost on this computer

  start takes --port 8000 and --host 127.0.0.1.
  SPLITPIN_DATA names the folder that holds database and photos (otherwise data).
  SPLITPIN_DATABASE_URL names another database (otherwise SQLite in that folder).
  `python3 manage.py help` lists the rest.
"""


class Refused(Exception):
    """Carries the one sentence a person needs, and the exit code that goes with it."""

    def __init__(self, sentence: str, code: int = 1) -> None:
        super().__init__(sentence)
        self.code = code


def main(argv: Sequence[str]) -> int:
    """Exit code for `argv`; replaces this process when another Python has to take over."""
    if len(argv) < 2:
        print(HELP, end="")
        return 0
    try:
        if not may_stay(os.environ):
            enter_environment(argv)
        set_data_folder(argv, os.environ)
        hand_to_django(argv)
    except Refused as refusal:
        say(str(refusal))
        return refusal.code
    except KeyboardInterrupt:
        say("Stopped.")
        return 130
    return 0


def say(sentence: str) -> None:
    print(f"splitpin: {sentence}", file=sys.stderr, flush=True)


def may_stay(environ: MutableMapping[str, str]) -> bool:
    """True when this Python is to be used as it is: a venv is active, or the person said so."""
    if os.name == "nt":
        raise Refused("Linux or macOS is needed; on Windows, run this inside WSL.", 3)
    if sys.version_info < FLOOR:
        raise Refused(
            "Python {}.{} or newer is needed; this is {}.{}.".format(*FLOOR, *sys.version_info), 3
        )
    entered = environ.pop(ENTERED, None)
    if sys.prefix != sys.base_prefix or environ.get("SPLITPIN_NO_BOOTSTRAP") == "1":
        return True
    if entered:
        raise Refused(f"{entered} does not behave as a virtual environment; delete it and retry.")
    return False


# --- what has to be done -------------------------------------------------------------------


def locks_for(command: str) -> list[str]:
    """Names of the lock files that `command` needs; the test lock contains the other."""
    return [TEST_LOCK] if command == "test" else [RUN_LOCK]


def wanted_stamp(root: Path, locks: Sequence[str]) -> dict[str, str]:
    """What the environment should be made of: this Python, and the hash of each lock file."""
    wanted = {"python": "{}.{}".format(*sys.version_info)}
    for name in locks:
        if not (root / name).is_file():
            raise Refused(f"{root / name} is missing, so this copy of the project is not whole.")
        wanted[name] = hashlib.sha256((root / name).read_bytes()).hexdigest()
    return wanted


def read_stamp(env: Path) -> dict[str, str]:
    """What the environment was made of; empty when no installation has run to its end."""
    try:
        found = json.loads((env / "stamp.json").read_text())
    except (OSError, ValueError):
        return {}
    return found if isinstance(found, dict) else {}


def starts_afresh(stamp: dict[str, str], wanted: dict[str, str]) -> bool:
    """True when what stands in the environment cannot be trusted: half made, or another Python."""
    return stamp.get("python") != wanted["python"]


def stale_locks(stamp: dict[str, str], wanted: dict[str, str]) -> list[str]:
    """The lock files to install again, in the order of `wanted`."""
    if starts_afresh(stamp, wanted):
        stamp = {}
    return [name for name in wanted if name != "python" and stamp.get(name) != wanted[name]]


# --- doing it ------------------------------------------------------------------------------


def enter_environment(argv: Sequence[str]) -> None:
    """Makes the environment fit for `argv`, then becomes the same command inside it."""
    env = ROOT / ".venv"
    python = env / "bin" / "python"
    wanted = wanted_stamp(ROOT, locks_for(argv[1]))
    if stale_locks(read_stamp(env), wanted) or not python.exists():
        try:
            with only_one(env):
                make(env, python, wanted)
        except OSError as error:
            raise Refused(
                f"{env} cannot be made ({error.strerror}): the packages go into the project "
                "folder, so it must lie where you may write, with 200 MB to spare."
            ) from None
    os.environ[ENTERED] = str(env)
    os.execv(python, [str(python), *argv])


@contextmanager
def only_one(env: Path) -> Iterator[None]:
    """Held by one terminal at a time; the next one waits, and says so."""
    import fcntl  # noqa: PLC0415 - absent on Windows, which is refused in words before

    env.mkdir(exist_ok=True)
    with open(env / "lock", "w") as handle:
        try:
            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
        except BlockingIOError:
            say("another terminal is installing the packages; waiting for it.")
            fcntl.flock(handle, fcntl.LOCK_EX)
        yield


def make(env: Path, python: Path, wanted: dict[str, str]) -> None:
    """Brings the environment to `wanted`. The stamp goes first and comes back last, so that
    an installation broken off half way is seen and done again from nothing."""
    stamp = read_stamp(env) if python.exists() else {}
    locks = stale_locks(stamp, wanted)
    if not locks:
        return  # another terminal did it while this one waited
    afresh = starts_afresh(stamp, wanted)
    (env / "stamp.json").unlink(missing_ok=True)
    outer_pip = [sys.executable, "-m", "pip", "--python", str(python)]
    has_pip = pip_is_new_enough(output_of(sys.executable, "-m", "pip", "--version"))
    if afresh:
        make_empty(env, with_pip=not has_pip)
    for lock in locks:
        install(outer_pip if has_pip else [str(python), "-m", "pip"], lock)
    write_stamp(env, {**({} if afresh else stamp), **wanted})


def make_empty(env: Path, *, with_pip: bool) -> None:
    """An empty environment. Debian's Python can always make one without pip; with pip it needs
    python3-venv, so that is the second choice."""
    if with_pip and not output_of(sys.executable, "-c", "import ensurepip; print('there')"):
        raise Refused(
            "this Python has neither pip nor ensurepip. On Debian or Ubuntu, once, as root: "
            "apt-get install python3-venv",
            3,
        )
    say(f"making the environment {env}")
    for child in env.iterdir():
        if child.is_dir() and not child.is_symlink():
            shutil.rmtree(child)
        elif child.name != "lock":
            child.unlink()
    command = [sys.executable, "-m", "venv", str(env)]
    made = run(command if with_pip else [*command, "--without-pip"])
    if made.returncode:
        raise Refused(f"the environment {env} cannot be made: {last_line(made.stdout)}")


def install(pip: Sequence[str], lock: str) -> None:
    """Installs one lock file; every download must match the hash recorded there.

    A lock names all that is needed, so pip has nothing to resolve. Left to do it, an older pip asks
    for the newest of a package named with an extra, and refuses it because the lock has another.
    """
    say(f"installing the packages of {lock}, about a minute the first time")
    started = time.monotonic()
    options = ["--require-hashes", "--no-deps", "--only-binary", ":all:", "--progress-bar", "off"]
    done = run([*pip, "install", "--no-input", *options, "-r", str(ROOT / lock)])
    if done.returncode:
        raise Refused(why_pip_failed(done.stdout))
    say(f"installed in {time.monotonic() - started:.0f} s")


def why_pip_failed(output: str) -> str:
    """One sentence for a person, from what pip printed."""
    if "DO NOT MATCH THE HASHES" in output:
        return "a package is not the one recorded in the lock file, so nothing was installed."
    if "No space left on device" in output:
        return "the disk is full; the packages need about 200 MB."
    if "connection broken by" in output or "timed out" in output:
        return (
            "the packages cannot be fetched: the network does not answer. "
            "The first start needs it once, later ones do not."
        )
    return f"pip could not install the packages: {last_line(output)}"


def last_line(output: str) -> str:
    lines = [line.strip() for line in output.splitlines() if line.strip()]
    errors = [line for line in lines if line.startswith("ERROR:")]
    return (errors or lines or ["it said nothing"])[-1]


def pip_is_new_enough(version_line: str) -> bool:
    """True for the output of `pip --version` of a pip that can fill another environment."""
    words = version_line.split()
    if len(words) < 2 or words[0] != "pip":
        return False
    numbers = tuple(int(part) for part in words[1].split(".")[:2] if part.isdigit())
    return numbers >= OLDEST_PIP


def output_of(*command: str) -> str:
    """Standard output of a command, or nothing when it fails."""
    done = run(command)
    return "" if done.returncode else done.stdout


def run(command: Sequence[str]) -> subprocess.CompletedProcess[str]:
    # A personal pip.conf may ask for `user` installs, which an environment refuses.
    environ = {**os.environ, "PIP_USER": "0", "PIP_DISABLE_PIP_VERSION_CHECK": "1"}
    return subprocess.run(
        command,
        env=environ,
        stdout=subprocess.PIPE,
        stderr=subprocess.STDOUT,
        text=True,
        check=False,
    )


def write_stamp(env: Path, stamp: dict[str, str]) -> None:
    fresh = env / "stamp.json.new"
    fresh.write_text(json.dumps(stamp, indent=1))
    fresh.replace(env / "stamp.json")


# --- over to Django ------------------------------------------------------------------------


def set_data_folder(argv: Sequence[str], environ: MutableMapping[str, str]) -> None:
    """Leads `start --demo`, `test` and `bench` away from the person's own garage, before the
    settings are read: no invented part may ever stand beside the real ones."""
    if argv[1] == "start" and "--demo" in argv[2:]:
        demo = environ.get("SPLITPIN_DEMO_DATA") or str(ROOT / "demo-data")
        environ.pop("SPLITPIN_DATABASE_URL", None)
        environ["SPLITPIN_DATA"] = demo
    if argv[1] in ("test", "bench"):
        for name in [name for name in environ if name.startswith("SPLITPIN_")]:
            del environ[name]
        environ["SPLITPIN_DATA"] = tempfile.mkdtemp(prefix=f"splitpin-{argv[1]}-")
        atexit.register(shutil.rmtree, environ["SPLITPIN_DATA"])


def hand_to_django(argv: Sequence[str]) -> None:
    os.environ.setdefault("DJANGO_SETTINGS_MODULE", "garage.settings")
    try:
        from django.core.exceptions import ImproperlyConfigured  # noqa: PLC0415 - there by now
        from django.core.management import execute_from_command_line  # noqa: PLC0415 - as above
    except ImportError:
        raise Refused(
            f"the packages are not installed in {sys.prefix}. There, once: "
            f"{sys.executable} -m pip install --require-hashes --no-deps "
            f"-r {locks_for(argv[1])[0]}",
            3,
        ) from None
    try:
        import_module(os.environ["DJANGO_SETTINGS_MODULE"])  # here, to tell mistakes in words
    except ImproperlyConfigured as error:
        raise Refused(str(error)) from None
    except OSError as error:
        raise Refused(
            f"the data folder cannot be used: {error.filename}: {error.strerror}."
        ) from None
    execute_from_command_line(list(argv))


if __name__ == "__main__":
    sys.exit(main(sys.argv))
