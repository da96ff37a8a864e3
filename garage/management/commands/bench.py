"""Prints what Splitpin costs on this machine, with ratios measured in this one run."""

import re
from functools import partial
from pathlib import Path
from typing import Any
from uuid import uuid4

import brotli
from django.contrib.staticfiles import finders
from django.core.files.uploadedfile import SimpleUploadedFile
from django.core.management import call_command
from django.core.management.base import BaseCommand, CommandError
from django.db import connection
from django.test import Client
from django.test.utils import override_settings
from django.utils import timezone

from garage.bench import brackets, gate, least, measure, pipes, world
from garage.models import Person
from parts import dropoff, sheets
from parts.models import DropOff, Finisher, Part, Piece, Service

GOALS = {"list": 2.0, "pdf": 1.5, "first_kb": 60.0, "next_kb": 15.0}


class Command(BaseCommand):
    help = "Measures the pages and sheets on a throw-away garage and prints the figures."

    @override_settings(ROOT_URLCONF="garage.bench.least")
    def handle(self, *args: Any, **options: Any) -> None:
        call_command("migrate", verbosity=0)
        call_command("collectstatic", interactive=False, verbosity=0)
        if Person.objects.exists():
            raise CommandError(
                "The bench wants an empty data folder: python3 manage.py bench makes one."
            )
        self.now = timezone.now()
        self.owner, self.car = world.open_garage(now=self.now)
        self.client = Client(headers={"host": "localhost"})
        self.client.force_login(self.owner, backend="django.contrib.auth.backends.ModelBackend")
        big = world.photo_bytes()
        self.photo = world.make_photo(owner=self.owner, now=self.now, content=big)
        self.lists()
        self.pages()
        self.save_with_photo(big)
        self.sheet()
        self.gate()
        self.pipe()
        self.bracket()
        self.bytes_sent()

    def say(self, text: str, *, goal: bool | None = None) -> None:
        mark = "" if goal is None else "   goal met" if goal else "   GOAL MISSED"
        self.stdout.write(text + mark)

    def lists(self) -> None:
        self.say(
            "Parts list, server CPU time a request (30 rows), beside a bare view of the same rows"
        )
        bests = {}
        for count in (100, 1_000, 10_000):
            world.fill(car=self.car, count=count, photo=self.photo, now=self.now)
            connection.cursor().execute("ANALYZE")
            ours, bare = measure.in_turn(
                lambda: self.client.get("/parts/"), lambda: self.client.get("/bench-bare/"), runs=40
            )
            bests[count] = ours.best_ms
            ratio = ours.median_ms / bare.median_ms
            self.say(
                f"  {count:>6} parts: {ours}; bare {bare}; ratio {ratio:.2f}",
                goal=ratio <= GOALS["list"],
            )
        growth = bests[10_000] / bests[1_000]
        self.say(f"  10,000 parts cost {growth:.2f} x 1,000 parts", goal=growth <= 1.2)
        search = measure.in_turn(lambda: self.client.get("/parts/?q=hinge+rear"), runs=15)[0]
        counts = measure.in_turn(lambda: self.client.get("/parts/counts/"), runs=15)[0]
        self.say(
            f"  search in 10,000 parts: {search}; filter counts (fetched after the page): {counts}"
        )

    def pages(self) -> None:
        part = Part.objects.order_by("pk").last()
        self.say("Queries a page")
        for url in (
            "/",
            "/parts/",
            f"/parts/{part.tag}/",
            "/out/",
            "/refit/",
            "/bench/",
            "/day-book/",
        ):
            asked: list[str] = []
            with connection.execute_wrapper(measure.noting(asked)):
                self.client.get(url)
            time = measure.in_turn(partial(self.client.get, url), runs=5)[0]
            self.say(f"  {url:<14} {len(asked):>3} queries, {time}")

    def save_with_photo(self, content: bytes) -> None:
        system = self.car.systems.first()

        def save() -> None:
            form = {
                "key": str(uuid4()),
                "name": "Wiper motor",
                "system": system.pk,
                "quantity": "1",
                "place": "Shelf A / Box 1",
                "photo_files": SimpleUploadedFile("p.jpg", content, content_type="image/jpeg"),
            }
            assert self.client.post("/take-off/", form).status_code == 302

        wall = measure.wall_ms(save, runs=7)
        self.say(
            f"Part with a 12 MP photo ({len(content) / 1e6:.1f} MB), saved and on the disk:"
            f" {wall:.0f} ms wall"
        )

    def sheet(self) -> None:
        self.say("Drop-off sheet beside the smallest document of as many pages")
        finisher = Finisher.objects.create(name="Bench Coatings")
        for process in ("blast", "powder"):
            Service.objects.create(finisher=finisher, process=process)
        for count in (5, 40):
            pieces = list(Piece.objects.filter(status="off", lines=None)[:count])
            batch = dropoff.start(
                key=uuid4(),
                car=self.car,
                finisher=finisher,
                pieces=pieces,
                by=self.owner,
                now=self.now,
            )
            pdf = self.print_sheet(batch)
            pages = least.pages_of(pdf)
            ours, undressed, plain, empty = measure.in_turn(
                partial(self.print_sheet, batch),
                partial(least.undressed_sheet, batch, by=self.owner, now=self.now),
                partial(least.bare_sheet, batch),
                partial(least.empty_pages, pages),
                runs=5,
            )
            self.say(f"  {count:>3} lines, {pages} pages, {len(pdf) / 1024:.0f} KB: {ours}")
            ratio = ours.median_ms / empty.median_ms
            self.say(f"      empty pages {empty}; ratio {ratio:.2f}", goal=ratio <= GOALS["pdf"])
            ratio = ours.median_ms / undressed.median_ms
            self.say(f"      same sheet, no stylesheet {undressed}; ratio {ratio:.2f}")
            ratio = ours.median_ms / plain.median_ms
            self.say(f"      names and work in a plain table {plain}; ratio {ratio:.2f}")

    def gate(self) -> None:
        found = gate.weigh(gate.fill(count=1_000, now=self.now), now=self.now)
        self.say(f"Fit to send? over {found.pieces} parts, {found.findings} warnings")
        self.say(
            f"  reading what is known: {found.queries} queries, {found.reading};"
            f" bare read of the same rows {found.bare}"
        )
        self.say(f"  the rules: {found.rules}")

    def pipe(self) -> None:
        sheet = pipes.make(car=self.car, by=self.owner, now=self.now)
        found = pipes.weigh(sheet, client=self.client, by=self.owner, now=self.now)
        for text, goal in pipes.lines_of(found):
            self.say(text, goal=goal)

    def bracket(self) -> None:
        sheet = brackets.make(car=self.car, by=self.owner, now=self.now)
        for line in brackets.lines_of(brackets.weigh(sheet, by=self.owner, now=self.now)):
            self.say(line)

    def print_sheet(self, batch: DropOff) -> bytes:
        return sheets.dropoff_sheet(
            batch, count_url="http://localhost/count/1/", by=self.owner, now=self.now
        )

    def bytes_sent(self) -> None:
        first = self.client.get("/").content
        then = self.client.get("/parts/").content
        assets = set(re.findall(r'(?:href|src)="/static/([^"]+)"', first.decode()))
        sizes = {name: _compressed(_static(name)) for name in sorted(assets)}
        total = sum(sizes.values()) + _compressed(first)
        again = _compressed(then)
        self.say("Bytes, brotli")
        for name, size in sizes.items():
            self.say(f"  {name:<42} {size / 1024:6.1f} KB")
        self.say(
            f"  first page with everything: {total / 1024:.1f} KB",
            goal=total / 1024 <= GOALS["first_kb"],
        )
        self.say(f"  next page: {again / 1024:.1f} KB", goal=again / 1024 <= GOALS["next_kb"])


def _compressed(content: bytes) -> int:
    return len(brotli.compress(content))


def _static(name: str) -> bytes:
    """A static file by the name a page asks for, whether or not that name carries a hash."""
    plain = re.sub(r"\.[0-9a-f]{12}(?=\.)", "", name)
    found = finders.find(plain)
    if found is None:
        raise CommandError(f"{name} is on the page and nowhere on the disk.")
    return Path(found).read_bytes()
