"""`python3 manage.py start`: opens the garage on this computer, or says why it cannot."""

from __future__ import annotations

import errno
import hashlib
import ipaddress
import logging
import os
import shutil
import socket
import sys
from argparse import ArgumentTypeError
from collections.abc import Iterator
from datetime import timedelta
from pathlib import Path
from typing import IO, Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.staticfiles.finders import get_finders
from django.core import checks
from django.core.management import call_command
from django.core.management.base import CommandError, CommandParser
from django.db import DatabaseError, connection
from django.utils import timezone

from garage import backup
from garage.backup import automatic
from garage.backup.contents import BackupRefused
from garage.health import clock
from garage.management import checking, machine, opening
from garage.management.plain import PlainCommand
from garage.models import Garage, Person, Photo
from garage.people import new_setup_code
from garage.photos import folders
from garage.photos.limits import NoRoomForPhotos
from garage.photos.sweeper import sweep

LOOPBACK = "127.0.0.1"
EVERY_ADDRESS = ("0.0.0.0", "::")


class Command(PlainCommand):
    help = "Opens the garage on this computer."
    requires_system_checks = ()  # run below, after the store was looked at

    def add_arguments(self, parser: CommandParser) -> None:
        parser.add_argument("--demo", action="store_true", help="an invented garage to look round")
        parser.add_argument("--host", default=LOOPBACK, help=f"address to answer on ({LOOPBACK})")
        parser.add_argument("--port", default=8000, type=port_number, help="port (8000)")

    def handle(self, *args: Any, demo: bool, host: str, port: int, **options: Any) -> None:
        data: Path = settings.SPLITPIN_DATA
        if demo:
            refuse_demo(host)
        try:
            # Held open across the exec at the end, and so until the server has gone.
            lock = opening.hold(data, note=f"process {os.getpid()}, port {port}")
            require_free_port(host, port)
            open_store(data)
            collect_static(settings.STATIC_ROOT)
            if demo:
                self.lay_out_demo()
            self.sweep_photos()
        except opening.StoreRefused as refusal:
            raise CommandError(str(refusal)) from None
        except (OSError, DatabaseError) as error:
            raise CommandError(f"the garage in {data} cannot be opened: {error}") from error
        self.tell_health(data)
        self.warn_of_missing_packages()
        host = self.host_for_now(host)
        if not Person.objects.exists():
            self.greet_first_owner(host, port)
        connection.close()
        self.stdout.flush()
        become_server(host, port, lock=lock)

    def lay_out_demo(self) -> None:
        # Only a demo garage pays for loading what draws its parts.
        from garage.demo.load import DEMO_PEOPLE, load_demo  # noqa: PLC0415

        whole = settings.SPLITPIN_DATA / "demo-is-whole"
        if not Person.objects.exists():
            self.stdout.write("Laying out the invented garage, once; this takes a minute or so.")
            self.stdout.flush()
            load_demo(now=timezone.now())
            whole.touch()
        elif not whole.exists():
            raise opening.StoreRefused(
                f"{settings.SPLITPIN_DATA} holds an invented garage that was stopped half way, or "
                "a real one. Let SPLITPIN_DEMO_DATA name another folder, or delete this one if "
                "nothing in it is yours."
            )
        self.stdout.write("Sign in with one of these names and its pass-phrase:")
        for person in DEMO_PEOPLE:
            may = person["role"].label.lower()
            self.stdout.write(f"    {person['username']:6}{person['password']}  ({may})")

    def sweep_photos(self) -> None:
        """Clears up behind a crash while nobody can be sending a photo."""
        # Here a person is reading; the daily sweep is what the log is for.
        logging.getLogger("splitpin").setLevel(logging.ERROR)
        report = sweep(now=timezone.now(), grace=timedelta(0))
        checking.keep_what_the_sweep_found(
            data=settings.SPLITPIN_DATA, report=report, now=timezone.now()
        )
        if report.is_alarm:
            self.stderr.write(
                "splitpin: photos named above are gone or damaged. The records are whole; look "
                "in the last backup for the photos, before it is written over."
            )

    def tell_health(self, data: Path) -> None:
        """One line on the store, once there is something to lose in it."""
        if not Person.objects.exists():
            return
        photos, free_gb = Photo.objects.count(), shutil.disk_usage(data).free / 1e9
        line = f"{photos:,} photos. {free_gb:,.1f} GB free on the disk."
        if connection.vendor == "sqlite":
            garage = Garage.objects.first()
            with timezone.override(ZoneInfo(garage.time_zone if garage else "UTC")):
                line += f" {backup.age(data, timezone.now()).words}."
        self.stdout.write(line)
        if later := clock.was_later(data, timezone.now()):
            self.stderr.write(
                f"splitpin: this computer's clock went backwards: it was at {later:%Y-%m-%d %H:%M} "
                "UTC before. Set it right. Until then no cure is called ready."
            )
        try:
            folders.refuse_when_full(0)
        except NoRoomForPhotos:
            self.stderr.write("splitpin: the disk is too full to take in photos. Make room.")

    def warn_of_missing_packages(self) -> None:
        missing = machine.missing(machine.FOR_PDF)
        if missing:
            self.stderr.write(
                "splitpin: PDFs cannot be made until this computer has more. As root on Debian "
                f"or Ubuntu: {machine.how_to_install(missing)}"
            )

    def host_for_now(self, host: str) -> str:
        """The address to answer on: this computer only, until there is an owner who signs in."""
        if not is_loopback(host) and not Person.objects.exists():
            self.stdout.write(
                "There is no owner yet, so only this computer is let in. Make the first owner, "
                f"then start again with --host {host}."
            )
            return LOOPBACK
        if host in EVERY_ADDRESS and not os.environ.get("SPLITPIN_HOSTS"):
            self.stdout.write(
                "Phones are let in only under the addresses listed in SPLITPIN_HOSTS, and none is "
                "listed. Start with SPLITPIN_HOSTS=192.168.1.20 or --host 192.168.1.20, "
                "with this computer's own address."
            )
        return host

    def greet_first_owner(self, host: str, port: int) -> None:
        code = new_setup_code(now=timezone.now())
        self.stdout.write(
            f"The first owner goes to http://{bracketed(host)}:{port}/setup/ and types this "
            f"code, good once and for 30 minutes:\n\n    {code}\n"
        )


def refuse_demo(host: str) -> None:
    """Stops a demo that would be open to others, or that could not print its sheets."""
    if not is_loopback(host):
        raise CommandError(
            "the demo's pass-phrases are public, so it answers this computer only: leave out "
            "--host."
        )
    if missing := machine.missing(machine.FOR_PDF):
        raise CommandError(
            "the demo prints drop-off sheets and this computer cannot make PDFs yet. As root on "
            f"Debian or Ubuntu: {machine.how_to_install(missing)}"
        )


def open_store(data: Path) -> None:
    """Looks at the store, refuses what is wrong with it, and brings its tables up to date."""
    if connection.vendor == "sqlite":
        opening.check_sqlite_file(Path(settings.DATABASES["default"]["NAME"]), data=data)
    opening.check_history(data)
    problems = checks.run_checks(databases=["default"])
    serious = [problem.msg for problem in problems if problem.is_serious()]
    if serious:
        raise opening.StoreRefused(" ".join(serious))
    if opening.is_behind():
        back_up_first(data)
    if opening.has_new_tables():
        opening.bring_up_to_date()
    opening.mark_as_used(data)


def back_up_first(data: Path) -> None:
    """A backup of the garage as the older Splitpin left it; without one nothing is changed."""
    if connection.vendor != "sqlite":
        return  # pg_dump is the owner's business, and docs/backup.md says to do it first
    try:
        automatic.back_up(data=data, live=opening.sqlite_file(data), now=timezone.now())
    except BackupRefused as refused:
        raise opening.StoreRefused(
            "this Splitpin brings the records up to date, and makes a backup before it does. "
            f"That one was refused: {refused}"
        ) from None


def port_number(text: str) -> int:
    if not text.isdigit() or not 1 <= int(text) <= 65535:
        raise ArgumentTypeError(f"{text!r} is not a port; use 1 to 65535, for example 8000")
    return int(text)


def bracketed(host: str) -> str:
    return f"[{host}]" if ":" in host else host


def is_loopback(host: str) -> bool:
    """True when nobody but this computer can reach `host`."""
    try:
        return ipaddress.ip_address(host).is_loopback
    except ValueError:
        return host == "localhost"


def require_free_port(host: str, port: int) -> None:
    """Refuses in words what the server would otherwise stumble over later."""
    try:
        family, kind, _, _, address = socket.getaddrinfo(host, port, type=socket.SOCK_STREAM)[0]
    except socket.gaierror:
        raise CommandError(f"{host} is not an address of this computer.") from None
    try:
        with socket.socket(family, kind) as probe:
            probe.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
            probe.bind(address)
    except OSError as error:
        reasons = {
            errno.EADDRINUSE: f"port {port} is taken by another program; try --port {port + 1}.",
            errno.EADDRNOTAVAIL: f"{host} is not an address of this computer.",
            errno.EACCES: f"port {port} is kept for root; take one from 1024 up.",
        }
        reason = reasons.get(error.errno or 0, f"{host} port {port}: {error.strerror}.")
        raise CommandError(reason) from None


def collect_static(root: Path) -> None:
    """Copies, names by content and compresses the static files, if any of them has changed."""
    stamp = root.with_name("static.made-from")
    wanted = static_digest()
    if (root / "staticfiles.json").exists() and stamp.exists() and stamp.read_text() == wanted:
        return
    stamp.unlink(missing_ok=True)
    call_command("collectstatic", interactive=False, verbosity=0, clear=True)
    stamp.write_text(wanted)


def static_digest() -> str:
    """One hash over every static file's name and content, and the program's version."""
    digest = hashlib.sha256(settings.VERSION.encode())
    for name, content in sorted(_static_files()):
        digest.update(f"\0{name}\0{len(content)}\0".encode())
        digest.update(content)
    return digest.hexdigest()


def _static_files() -> Iterator[tuple[str, bytes]]:
    for finder in get_finders():
        for name, storage in finder.list([]):
            with storage.open(name) as file:
                yield name, file.read()


def become_server(host: str, port: int, *, lock: IO[str]) -> None:
    """Turns this process into the server, which inherits `lock` and so keeps the garage held."""
    os.set_inheritable(lock.fileno(), True)
    if host not in (*settings.ALLOWED_HOSTS, *EVERY_ADDRESS):
        listed = os.environ.get("SPLITPIN_HOSTS")
        os.environ["SPLITPIN_HOSTS"] = ",".join(filter(None, [listed, bracketed(host)]))
    # The server starts in the project folder, so a relative data folder must not stay relative.
    os.environ["SPLITPIN_DATA"] = str(settings.SPLITPIN_DATA)
    os.chdir(settings.BASE_DIR)
    command = [sys.executable, "-m", "gunicorn", "garage.wsgi:application"]
    command += ["--config", "python:garage.management.serving"]
    os.execv(sys.executable, [*command, "--bind", f"{bracketed(host)}:{port}"])
