"""The pictures of the demo: which there are, drawn on all cores, kept like any other photo."""

import os
from collections.abc import Callable, Iterable, Iterator, Sequence
from concurrent.futures import ProcessPoolExecutor
from dataclasses import dataclass
from datetime import datetime, timedelta
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile

from garage.demo import pictures, wayfarer
from garage.demo.story import CAME_BACK, WEEKS, Demo, off_at
from garage.photos import store

SIZE = (960, 720)


@dataclass(frozen=True, slots=True)
class Shot:
    """One picture to draw: what, how it looks, when."""

    name: str
    subject: str
    look: str
    moment: str
    seed: int
    at: datetime

    def draw(self) -> bytes:
        return pictures.draw(
            self.subject,
            look=self.look,
            moment=self.moment,
            seed=self.seed,
            size=SIZE,
            taken_at=self.at,
        )


def shots(demo: Demo) -> Iterator[Shot]:
    for turn, row in enumerate(wayfarer.PARTS):
        off = off_at(demo, turn)
        old = row.look if row.look in ("rusty", "greasy", "aluminium") else "rusty"
        if row.fate == "car" or turn % 14 == 0:
            yield Shot(row.name, row.subject, "greasy", "in_place", turn, off - timedelta(hours=1))
        if row.fate != "car":
            yield Shot(row.name, row.subject, old, "off", turn, off)
        if row.more.get("cond") in ("cracked", "broken", "seized"):
            yield Shot(row.name, row.subject, old, "damage", turn, off)
        if row.fate in CAME_BACK and row.look != "aluminium":
            coat = "satin black" if row.look == "rusty" else row.look
            yield Shot(row.name, row.subject, coat, "back", turn, demo.ago(days=88))
        if row.fate in ("tight", "loose"):
            yield Shot(row.name, row.subject, row.look, "refitted", turn, demo.ago(days=30))
    for number, (name, subject, _) in enumerate(wayfarer.CORNERS):
        yield Shot(name, subject, "greasy", "in_place", 900 + number, demo.ago(days=WEEKS * 7))
    for number in range(2):
        yield Shot(f"laid out {number}", "batch", "rusty", "off", 950 + number, demo.ago(days=20))


def drawn_on_all_cores(wanted: Sequence[Shot]) -> Iterator[bytes]:
    """The JPEG of each shot, in their order."""
    with ProcessPoolExecutor(max_workers=os.cpu_count() or 1) as pool:
        yield from pool.map(Shot.draw, wanted, chunksize=4)


def take_photos(demo: Demo, draw: Callable[[Sequence[Shot]], Iterable[bytes]]) -> None:
    """Draws every picture with ``draw`` and puts each through the same door as a real photo."""
    # Pictures of one subject share a solid, so they are drawn one after the other.
    wanted = sorted(shots(demo), key=lambda shot: shot.subject)
    for shot, jpeg in zip(wanted, draw(wanted), strict=True):
        upload = SimpleUploadedFile(f"{shot.moment}.jpg", jpeg, content_type="image/jpeg")
        photo = store.accept(upload=upload, key=uuid4(), by=demo.wren, now=shot.at)
        demo.photos[shot.name, shot.moment] = photo
