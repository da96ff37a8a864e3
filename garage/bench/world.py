"""A garage to measure in: as many parts as asked for, made without ceremony."""

import io
import random
from datetime import datetime
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from garage.cars import add_car
from garage.models import Car, Garage, Person, Photo, Role, System
from garage.photos import store
from parts.models import Part, Piece, Place, Step
from parts.places import find_or_make
from parts.statuses import Status
from parts.tags import tag_for

NAMES = (
    "Bracket",
    "Pulley",
    "Housing",
    "Lever",
    "Clip",
    "Hose",
    "Pipe",
    "Plate",
    "Hinge",
    "Spring",
)
SIDES = ("front left", "front right", "rear left", "rear right", "upper", "lower")


def open_garage(*, now: datetime) -> tuple[Person, Car]:
    """An owner and a car in an empty database."""
    owner = Person.objects.add(
        username="bench", name="Bench", password="measured twice, cut once", role=Role.OWNER
    )
    return owner, add_car(car=Car(marque="Hollin", model="Wayfarer"), by=owner, now=now)


def fill(*, car: Car, count: int, photo: Photo, now: datetime) -> None:
    """Parts up to ``count``, each with a piece, a place, a next step and a photo."""
    chance = random.Random(count)
    systems = list(System.objects.filter(car=car))
    places = [
        find_or_make(f"Shelf {letter} / Box {number}") for letter in "ABCDE" for number in range(8)
    ]
    first = Part.objects.count()
    parts = [_part(number, car, systems, chance, now) for number in range(first, count)]
    Part.objects.bulk_create(parts, batch_size=400)
    pieces = [_piece(part, places, photo, chance, now) for part in parts]
    Piece.objects.bulk_create(pieces, batch_size=400)
    steps = [_step(piece, chance) for piece in pieces]
    Step.objects.bulk_create(steps, batch_size=400)
    for piece, step in zip(pieces, steps, strict=True):
        piece.next_step = step
    Piece.objects.bulk_update(pieces, ["next_step"], batch_size=200)
    Garage.objects.filter(pk=Garage.here().pk).update(tags_given=count)


def _part(
    number: int, car: Car, systems: list[System], chance: random.Random, now: datetime
) -> Part:
    part = Part(
        key=uuid4(),
        car=car,
        system=chance.choice(systems),
        tag=tag_for(number),
        name=f"{chance.choice(NAMES)}, {chance.choice(SIDES)}",
        makers_number=f"HW {number % 90:02d}-{number:05d}",
        removal_order=number + 1,
        created_at=now,
    )
    part.fold_search_text()
    return part


def _piece(
    part: Part, places: list[Place], photo: Photo, chance: random.Random, now: datetime
) -> Piece:
    status = chance.choice((Status.OFF, Status.OFF, Status.AT_BENCH, Status.READY))
    return Piece(part=part, status=status, place=chance.choice(places), cover=photo, off_at=now)


def _step(piece: Piece, chance: random.Random) -> Step:
    kind = (
        "refit"
        if piece.status == Status.READY
        else chance.choice(("clean", "repair", "buy", "send_out"))
    )
    work = "blast,powder" if kind == "send_out" else ""
    return Step(key=uuid4(), piece=piece, position=1, kind=kind, work=work)


def photo_bytes(width_px: int = 4000, height_px: int = 3000) -> bytes:
    """A 12 megapixel JPEG with the grain of a real one, as a phone sends it."""
    small = Image.effect_noise((width_px // 8, height_px // 8), 40).convert("RGB")
    file = io.BytesIO()
    small.resize((width_px, height_px)).save(file, "JPEG", quality=90)
    return file.getvalue()


def make_photo(*, owner: Person, now: datetime, content: bytes) -> Photo:
    upload = SimpleUploadedFile("bench.jpg", content, content_type="image/jpeg")
    return store.accept(upload=upload, key=uuid4(), by=owner, now=now)
