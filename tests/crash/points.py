"""Has the kernel end a deed, or fail it, at each of its steps on the disk in turn.

The method is SQLite's (sqlite.org/testing.html, 3.2 and 3.3): the first call of a kind, the second,
and so on until the deed gets through untouched. strace does it, between the program and the kernel,
so nothing of the program is replaced. Run as a program of its own: a real end needs a real process.

    python -m tests.crash.points "log part" kill

prints one JSON object a point; with --steps only at the steps that settle, name or remove a file,
not at each of the many small writes between them. ``how`` is kill, EIO, ENOSPC, or "EIO on" and
"ENOSPC on" for every call from that one on. A fault can be planted, to see that it is found: see
``FAULTS``.
"""

import json
import os
import shutil
import signal
import subprocess
import time
import traceback
from argparse import ArgumentParser
from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass
from pathlib import Path

import django

django.setup()

from django.db import connections  # noqa: E402

from garage.health import trouble  # noqa: E402
from garage.photos import durable, store  # noqa: E402
from tests.crash import job  # noqa: E402

CALLS = (
    "openat",
    "write",
    "pwrite64",
    "fsync",
    "fdatasync",
    "rename",
    "unlink",
    "mkdir",
    "ftruncate",
)
# What a write does is settled by these; many small writes stand between two of them.
STEPS = ("fsync", "fdatasync", "rename", "unlink", "mkdir", "ftruncate")
# A call that makes nothing lasting: killing there tests what the next one tests.
ONLY_FAILING = ("openat",)
MOST_POINTS = 900
ACKED = range(200, 400)
ERRORS = ("EIO", "ENOSPC")


@dataclass(frozen=True, slots=True)
class End:
    """How a deed ended: killed, or the code of the page it answered with."""

    killed: bool
    code: int = 0

    @property
    def acked(self) -> bool:
        return self.code in ACKED


def row_before_file() -> None:
    """The planted fault of taking in: the row is written while the file is still on its way."""
    put_in_place = store._put_in_place

    def too_late(upload: object, made: list[Path]) -> object:
        photo = put_in_place(upload, made)
        path = store.original_path(photo)
        path.rename(path.with_suffix(".later"))
        photo.later = path
        return photo

    record = store._record

    def recorded(photo: object, made: list[Path]) -> object:
        found = record(photo, made)
        photo.later.with_suffix(".later").rename(photo.later)
        return found

    store._put_in_place, store._record = too_late, recorded


def tidy_after_commit() -> None:
    """The planted fault of a failed COMMIT: its photo is removed, though the row may be there."""
    record = store._record

    def recorded(photo: object, made: list[Path]) -> object:
        try:
            return record(photo, made)
        except BaseException:
            durable.remove(made)
            raise

    store._record = recorded


FAULTS: dict[str, Callable[[], None]] = {
    "none": lambda: None,
    "row before file": row_before_file,
    "tidy after commit": tidy_after_commit,
}


def points(
    deed: job.Deed, how: str, fault: str, calls: Sequence[str]
) -> Iterator[dict[str, object]]:
    """What each point came to; at each, the garage is laid out anew."""
    kept = job.data().with_name("kept")
    job.lay_out()
    deed.before()
    connections.close_all()
    shutil.copytree(job.data(), kept)
    for call in calls:
        if how == "kill" and call in ONLY_FAILING:
            continue
        for number in range(1, MOST_POINTS):
            lay_back(kept)
            end, hit = run(deed, how, call, number, fault)
            found = list(wrong(deed, how, end, hit))
            yield {
                "call": call,
                "number": number,
                "hit": hit,
                "code": end.code,
                "killed": end.killed,
                "wrong": found,
            }
            if not hit:
                break
        else:
            raise RuntimeError(f"{call}: more than {MOST_POINTS} calls")


def lay_back(kept: Path) -> None:
    connections.close_all()
    shutil.rmtree(job.data())
    shutil.rmtree(job.data().with_name("restored"), ignore_errors=True)
    for beside in job.data().parent.glob("restored.restoring-*"):
        shutil.rmtree(beside)
    shutil.copytree(kept, job.data())


def run(deed: job.Deed, how: str, call: str, number: int, fault: str) -> tuple[End, bool]:
    """How the deed ended in a process of its own, and whether the point was reached in it."""
    child = os.fork()
    if child == 0:
        ended = BROKE
        try:
            os.kill(os.getpid(), signal.SIGSTOP)
            FAULTS[fault]()
            ended = as_exit_code(deed.do())
        except BaseException:
            traceback.print_exc()
            raise
        finally:
            os._exit(ended)
    os.waitpid(child, os.WUNTRACED)
    log = job.data().with_name("strace.txt")
    rule = f"inject={call}:{injection(how)}:when={number}{'+' if how.endswith(' on') else ''}"
    tracer = subprocess.Popen(
        ["strace", "-q", "-p", str(child), "-o", str(log), "-e", f"trace={call}", "-e", rule],
        stderr=subprocess.PIPE,
    )
    wait_until_traced(child, tracer)
    os.kill(child, signal.SIGCONT)
    _, status = os.waitpid(child, 0)
    tracer.wait(30)
    code = os.waitstatus_to_exitcode(status)
    hit = "INJECTED" in log.read_text() or code == -signal.SIGKILL
    if code not in (-signal.SIGKILL, *EXIT_CODES):
        raise RuntimeError(f"{call} {number}: the deed ended by itself with {code}")
    return End(code == -signal.SIGKILL, EXIT_CODES.get(code, 0)), hit


def injection(how: str) -> str:
    return "signal=SIGKILL" if how == "kill" else f"error={how.split(maxsplit=1)[0]}"


def wait_until_traced(child: int, tracer: subprocess.Popen[bytes]) -> None:
    while "TracerPid:\t0\n" in Path(f"/proc/{child}/status").read_text():
        if tracer.poll() is not None:
            raise RuntimeError((tracer.stderr.read() or b"strace ended").decode())
        time.sleep(0.002)


# A process can say no more than a small number when it ends.
BROKE, NO_SUCH_CODE = 99, 100
EXIT_CODES = {
    101: 200,
    102: 201,
    103: 302,
    104: 409,
    105: 422,
    106: 500,
    107: 503,
    108: 507,
    NO_SUCH_CODE: 599,
}


def as_exit_code(code: int) -> int:
    return next((end for end, meant in EXIT_CODES.items() if meant == code), NO_SUCH_CODE)


def wrong(deed: job.Deed, how: str, end: End, hit: bool) -> Iterator[str]:
    if end.code == 599:
        yield "an answer that nobody expected"
    if not hit and not end.acked:
        yield f"untouched, and yet it answered {end.code}"
    if hit and not end.killed and how.startswith("ENOSPC") and end.code == 500:
        yield "a full disk was answered as a fault of ours"
    if hit and not end.killed and how.startswith("EIO") and end.code == 500:
        yield "an error of the disk left the garage open for writing"
    trouble.forget()
    deed.mend()
    yield from job.wrong_anyway()
    yield from deed.wrong(end.acked)
    yield from job.rows_without_photo()


if __name__ == "__main__":
    parser = ArgumentParser()
    parser.add_argument("deed", choices=job.DEEDS)
    parser.add_argument("how", choices=["kill", *ERRORS, *(f"{error} on" for error in ERRORS)])
    parser.add_argument("--fault", choices=FAULTS, default="none")
    parser.add_argument("--steps", action="store_true")
    asked = parser.parse_args()
    calls = STEPS if asked.steps else CALLS
    for point in points(job.DEEDS[asked.deed], asked.how, asked.fault, calls):
        print(json.dumps(point), flush=True)
