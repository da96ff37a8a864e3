"""People who log parts with photos as fast as they can, until the power goes or the process dies.

    python -m tests.crash.writers ACKS --hands 6 [--fault NAME]

writes a line to the file ACKS, on another disk, for whatever a page said was saved: what it was
and its key, after the answer and never before. Each line on its standard input has it begin anew in
a new process, whose number it prints: that one is to be killed.
"""

import os
import random
import sys
import threading
from argparse import ArgumentParser
from collections.abc import Callable
from pathlib import Path
from uuid import UUID

import django

django.setup()

from django.conf import settings  # noqa: E402
from django.db import connections  # noqa: E402

from garage.models import Car  # noqa: E402
from garage.photos import durable  # noqa: E402
from tests import factories  # noqa: E402
from tests.crash import job  # noqa: E402
from tests.garage.photos import corpus  # noqa: E402

SIZES = ((64, 48), (320, 240), (1_600, 1_200))


def trust_the_cache() -> None:
    """The planted fault: what Django's own storage does, which never settles a file."""
    durable._sync = lambda number: None


def trust_the_journal() -> None:
    """The planted fault: the usual advice for SQLite, which loses what was just confirmed."""
    settings.DATABASES["default"]["OPTIONS"]["init_command"] = (
        "PRAGMA journal_mode=WAL; PRAGMA synchronous=OFF"
    )


FAULTS: dict[str, Callable[[], None]] = {
    "none": lambda: None,
    "unsettled files": trust_the_cache,
    "unsettled rows": trust_the_journal,
}


def write(acks: int, hand: int, said: dict[tuple[int, int], bytes], system: str) -> None:
    """One person's evening: a photo, the part that shows it, and the next."""
    chance, browser, number = random.Random(hand), job.client(), 0
    while True:
        number += 1
        key = UUID(int=(os.getpid() << 64) | (hand << 32) | number)
        picture = said[chance.choice(SIZES)]
        sent = browser.post(
            "/photos/", {"key": str(key), "photo": factories.make_upload(content=picture)}
        )
        if sent.status_code != 201:
            continue
        os.write(acks, f"photo {key}\n".encode())
        form = {
            "key": str(key),
            "name": f"Part {hand}-{number}",
            "system": system,
            "quantity": "1",
            "place": "Shelf A / Box 1",
            "photos": str(key),
        }
        if browser.post("/take-off/", form).status_code == 302:
            os.write(acks, f"part {key}\n".encode())


def begin(hands: int, acks: int, pictures: dict[tuple[int, int], bytes], system: str) -> None:
    os.setsid()
    people = [
        threading.Thread(target=write, args=(acks, hand, pictures, system)) for hand in range(hands)
    ]
    for person in people:
        person.start()
    for person in people:
        person.join()
    os._exit(1)  # they never stop by themselves


def main() -> None:
    parser = ArgumentParser()
    parser.add_argument("acks", type=Path)
    parser.add_argument("--hands", type=int, default=6)
    parser.add_argument("--fault", choices=FAULTS, default="none")
    asked = parser.parse_args()
    FAULTS[asked.fault]()
    acks = os.open(asked.acks, os.O_WRONLY | os.O_CREAT | os.O_APPEND, 0o600)
    pictures = {size: corpus.saved(corpus.picture(size=size)) for size in SIZES}
    system = str(Car.objects.get().systems.first().pk)
    job.client().get("/take-off/")  # what the first page loads is not what is to be killed
    connections.close_all()
    print("ready", flush=True)
    for _ in sys.stdin:
        child = os.fork()
        if child == 0:
            begin(asked.hands, acks, pictures, system)
        print(child, flush=True)
        os.waitpid(child, 0)


if __name__ == "__main__":
    main()
