"""Things to test with: plain functions, keyword-only, saved, and valid without arguments."""

import io
from datetime import UTC, datetime
from typing import Any
from uuid import uuid4

from django.core.files.uploadedfile import SimpleUploadedFile
from PIL import Image

from garage.models import Car, Person, Photo, Role, System
from garage.models.car import give_starter_systems
from garage.photos import store
from parts import heat_seeds, joints, questions
from parts.gate.questions import QUESTIONS
from parts.models import (
    Adhesive,
    Alloy,
    Finisher,
    Joint,
    Limit,
    Part,
    Piece,
    Place,
    Process,
    Service,
)
from parts.places import find_or_make
from parts.takeoff import log_part

NOW = datetime(2026, 11, 25, 16, 40, tzinfo=UTC)
PASS_PHRASE = "a spare half shaft in the loft"


def make_person(*, username: str = "wren", role: Role = Role.OWNER, **fields: Any) -> Person:
    person = Person.objects.add(
        username=username,
        name=fields.pop("name", username.title()),
        password=PASS_PHRASE,
        role=role,
    )
    for name, value in fields.items():
        setattr(person, name, value)
    person.save()
    return person


def make_car(*, marque: str = "Hollin", model: str = "Wayfarer 1600", year: int = 1969) -> Car:
    car = Car.objects.create(marque=marque, model=model, year=year, created_at=NOW)
    give_starter_systems(car)
    return car


def system_of(car: Car, name: str = "Cooling") -> System:
    return System.objects.get(car=car, name=name)


def make_place(path: str = "Shelf A / Box 1") -> Place:
    return find_or_make(path)


def make_part(*, car: Car, by: Person, name: str = "Water pump pulley", **fields: Any) -> Part:
    """A part that was taken off, unless ``still_on_car=True``."""
    system = fields.pop("system", None) or System.objects.filter(car=car).first()
    now = fields.pop("now", NOW)
    return log_part(key=uuid4(), car=car, system=system, name=name, by=by, now=now, **fields)


def make_piece(*, car: Car, by: Person, name: str = "Water pump pulley", **fields: Any) -> Piece:
    """The piece to be fitted of a new part, off the car."""
    return make_part(car=car, by=by, name=name, **fields).pieces.get()


def make_finisher(
    *, name: str = "Scarrow Coatings", offers: tuple[str, ...] = (Process.BLAST, Process.POWDER)
) -> Finisher:
    finisher = Finisher.objects.create(name=name, lead_days=10)
    for process in offers:
        hot = process == Process.POWDER
        Service.objects.create(
            finisher=finisher,
            process=process,
            peak_c=190 if hot else None,
            peak_minutes=12 if hot else None,
        )
    return finisher


def jpeg_bytes(*, size: tuple[int, int] = (64, 48), colour: str = "#8a5a2b") -> bytes:
    file = io.BytesIO()
    Image.new("RGB", size, colour).save(file, "JPEG")
    return file.getvalue()


def make_upload(*, name: str = "pulley.jpg", content: bytes | None = None) -> SimpleUploadedFile:
    return SimpleUploadedFile(name, content or jpeg_bytes(), content_type="image/jpeg")


def make_photo(*, by: Person, colour: str = "#8a5a2b") -> Photo:
    return store.accept(
        upload=make_upload(content=jpeg_bytes(colour=colour)), key=uuid4(), by=by, now=NOW
    )


def sow_heat() -> None:
    """The tables of adhesives, alloys and limits as a new garage has them.

    The migration writes them once; a test that empties the database has to write them again.
    """
    heat_seeds.sow(adhesives=Adhesive.objects, alloys=Alloy.objects, limits=Limit.objects)


def make_adhesive(**fields: Any) -> Adhesive:
    """A slow steel-filled epoxy whose product sheet allows one coating oven of 200 C, 30 min."""
    wanted: dict[str, Any] = {
        "code": Adhesive.Code.STEEL_EPOXY,
        "name": "Weir Yard bracket epoxy",
        "schedule": [{"temp_c": 20.0, "handling_h": 16.0, "full_h": 72.0}],
        "short_peak_c": 200.0,
        "short_peak_minutes": 30.0,
        "source": "Product sheet of 2025",
        **fields,
    }
    made = Adhesive.objects.filter(name=wanted["name"]).first()
    return made or Adhesive.objects.create(key=uuid4(), **wanted)


def make_joint(*, piece: Piece, by: Person, how: str = "glue", **fields: Any) -> Joint:
    """A joint of the piece; glue is the bracket epoxy unless ``adhesive`` says other."""
    if how == "glue" and "adhesive" not in fields:
        fields["adhesive"] = make_adhesive()
    return joints.make_joint(
        piece=piece, key=uuid4(), how=how, by=by, now=fields.pop("now", NOW), **fields
    )


def answer(piece: Piece, *, by: Person, **says: str) -> None:
    """The usual questions about a piece answered with no, except for what ``says`` says."""
    everything = {question.code: "no" for question in QUESTIONS} | says
    said = [questions.Said(question=code, says=word) for code, word in everything.items()]
    questions.answer(piece=piece, said=said, by=by, now=NOW)
