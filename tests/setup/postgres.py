"""Runs a command beside a throw-away PostgreSQL server on loopback.

    python tests/setup/postgres.py python -m pytest -m "not browser"

The command finds the server through SPLITPIN_DATABASE_URL. Whatever happens to the command,
the server is stopped and its folder removed; the exit code is the command's own. Durability is
switched off, so nothing but a test may use it.
"""

from __future__ import annotations

import os
import pwd
import shutil
import signal
import socket
import subprocess
import sys
import tempfile
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from pathlib import Path

NAME = "splitpin"
SETTINGS = (
    "fsync=off",
    "synchronous_commit=off",
    "full_page_writes=off",
    "autovacuum=off",
    "max_connections=60",
    "shared_buffers=64MB",
)


class NoServer(Exception):
    """PostgreSQL cannot run here; the text says why, in one sentence."""


def main(command: Sequence[str]) -> int:
    """Exit code of `command`, run with the address of a fresh server in its environment."""
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(143))
    try:
        with throwaway_server() as url:
            environ = {**os.environ, "SPLITPIN_DATABASE_URL": url}
            return subprocess.run(command, env=environ, check=False).returncode
    except NoServer as reason:
        print(f"postgres: {reason}", file=sys.stderr)
        return 3


@contextmanager
def throwaway_server() -> Iterator[str]:
    """The address of a running, empty server that lives as long as the `with` block."""
    programs = server_programs()
    owner = server_owner()
    folder = Path(tempfile.mkdtemp(prefix="splitpin-pg-"))
    try:
        if owner:
            os.chown(folder, owner.pw_uid, owner.pw_gid)
        port = free_port()
        create(programs, folder, owner=owner)
        start(programs, folder, port=port, owner=owner)
        try:
            yield f"postgres://{NAME}@127.0.0.1:{port}/{NAME}"
        finally:
            stop = ["stop", "-D", str(folder / "data"), "-m", "immediate", "-w"]
            call([str(programs / "pg_ctl"), *stop], owner=owner)
    finally:
        shutil.rmtree(folder)


def create(programs: Path, folder: Path, *, owner: pwd.struct_passwd | None) -> None:
    options = ["-U", NAME, "-A", "trust", "-E", "UTF8", "--locale=C.UTF-8", "--no-sync"]
    call([str(programs / "initdb"), "-D", str(folder / "data"), *options], owner=owner)


def start(programs: Path, folder: Path, *, port: int, owner: pwd.struct_passwd | None) -> None:
    settings = [*SETTINGS, "listen_addresses=127.0.0.1", f"unix_socket_directories={folder}"]
    flags = " ".join(f"-c {setting}" for setting in settings)
    call(
        [
            str(programs / "pg_ctl"),
            *("start", "-w", "-t", "30", "-D", str(folder / "data"), "-l", str(folder / "log")),
            *("-o", f"-p {port} {flags}"),
        ],
        owner=owner,
    )
    call(
        [str(programs / "createdb"), "-h", "127.0.0.1", "-p", str(port), "-U", NAME, NAME],
        owner=owner,
    )


def call(command: Sequence[str], *, owner: pwd.struct_passwd | None) -> None:
    """Runs one server program, as `owner` when given; refuses in words when it fails."""
    # The server inherits these streams and keeps them open, so they must not be pipes.
    with tempfile.TemporaryFile() as said:
        done = subprocess.run(
            command,
            cwd="/",
            stdin=subprocess.DEVNULL,
            stdout=said,
            stderr=said,
            user=owner.pw_uid if owner else None,
            group=owner.pw_gid if owner else None,
            extra_groups=[] if owner else None,
            check=False,
        )
        if done.returncode:
            said.seek(0)
            words = said.read().decode(errors="replace").strip()
            raise NoServer(f"{Path(command[0]).name} failed: {words}")


def server_programs() -> Path:
    """The folder with initdb and pg_ctl; the newest when there are several."""
    found = sorted(
        Path("/usr/lib/postgresql").glob("*/bin/initdb"),
        key=lambda path: float(path.parts[-3]),
    )
    on_path = shutil.which("initdb")
    if found:
        return found[-1].parent
    if on_path:
        return Path(on_path).resolve().parent
    raise NoServer("the server programs are not here (Debian and Ubuntu: postgresql)")


def server_owner() -> pwd.struct_passwd | None:
    """Whom the server runs as: the caller, or `postgres` when root calls, whom it refuses."""
    if os.geteuid() != 0:
        return None
    try:
        return pwd.getpwnam("postgres")
    except KeyError:
        raise NoServer("root may not run it, and there is no user called postgres") from None


def free_port() -> int:
    with socket.socket() as probe:
        probe.bind(("127.0.0.1", 0))
        port: int = probe.getsockname()[1]
        return port


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
