"""Photos of a whole corner of the car, with numbered pins that name what sits there."""

from collections.abc import Sequence
from datetime import datetime
from uuid import UUID, uuid5

from django.db import transaction
from django.db.models import Max, Prefetch, QuerySet

from garage.models import Car, Person, Photo, System
from garage.photo_fields import use
from parts.models import Corner, Event, Part, Pin
from parts.takeoff import log_part


class SavedAlready(Exception):
    """The same form was saved before with something else in it."""


class PinHasPart(Exception):
    """The pin names a part already."""


def add_corner(
    *, key: UUID, car: Car, name: str, photos: Sequence[Photo], by: Person, now: datetime
) -> list[Corner]:
    """A corner for each photo, so that none is lost; the second one is called "name 2".

    Sent twice with the same ``key`` they are the same corners.

    Raises
    ------
    SavedAlready
        When ``key`` belongs to a corner of another name.
    ValueError
        When there is no photo.
    """
    with transaction.atomic():
        Car.objects.select_for_update().get(pk=car.pk)
        if again := corner_of(key):
            if again.name != name:
                raise SavedAlready(
                    f"This form was saved as “{again}” already. Save once more for another corner."
                )
            return [again]
        if not photos:
            raise ValueError("A corner is a photo.")
        corners = []
        for number, photo in enumerate(photos, start=1):
            corners.append(
                Corner.objects.create(
                    key=key if number == 1 else uuid5(key, str(number)),
                    car=car,
                    name=name if number == 1 else f"{name[:76]} {number}",
                    photo=use(photo),
                    created_at=now,
                )
            )
            Event.objects.write(car=car, kind="corner", text=corners[-1].name, by=by, at=now)
    return corners


def corner_of(key: UUID) -> Corner | None:
    """The corner a form was saved as, when it was."""
    return Corner.objects.filter(key=key).first()


def rename_corner(*, corner: Corner, name: str) -> None:
    corner.name = name
    corner.save(update_fields=["name"])


def add_pin(
    *,
    corner: Corner,
    key: UUID,
    x: float,
    y: float,
    note: str,
    by: Person,
    now: datetime,
    part: Part | None = None,
    system: System | None = None,
) -> Pin:
    """A pin under the next number, ``x`` and ``y`` as shares of the photo from its top left.

    With a ``system`` what it shows is listed as a part that is still on the car; with a ``part``
    it names that one. Sent twice with the same ``key`` it is one pin.

    Raises
    ------
    SavedAlready
        When ``key`` belongs to a pin with another note.
    """
    with transaction.atomic():
        Corner.objects.select_for_update().get(pk=corner.pk)
        if again := Pin.objects.filter(key=key).first():
            if again.note != note:
                raise SavedAlready(
                    f"This form was saved as pin {again.number} already. Save again for another."
                )
            return again
        last = corner.pins.aggregate(last=Max("number"))["last"] or 0
        pin = Pin.objects.create(
            corner=corner, key=key, number=last + 1, x=x, y=y, note=note, part=part
        )
        text = f"Pin {pin.number} in {corner}: {note or part}"
        Event.objects.write(car=corner.car, part=part, kind="pin", text=text, by=by, at=now)
        if system:
            list_part_from_pin(
                pin=pin, key=uuid5(key, "part"), name=note, system=system, by=by, now=now
            )
    return pin


def name_pin(
    *,
    pin: Pin,
    key: UUID,
    x: float,
    y: float,
    note: str,
    by: Person,
    now: datetime,
    part: Part | None = None,
    system: System | None = None,
) -> None:
    """Moves a pin and says what it shows: a part, a new one of a system, or none yet.

    ``key`` is the form's own, so that a form sent twice lists one part.
    """
    with transaction.atomic():
        Pin.objects.select_for_update().get(pk=pin.pk)
        pin.x, pin.y, pin.note, pin.part = x, y, note, part
        pin.save(update_fields=["x", "y", "note", "part"])
        text = f"Pin {pin.number} in {pin.corner}: {note or part}"
        Event.objects.write(car=pin.corner.car, part=part, kind="pin", text=text, by=by, at=now)
        if system:
            list_part_from_pin(pin=pin, key=key, name=note, system=system, by=by, now=now)


def list_part_from_pin(
    *, pin: Pin, key: UUID, name: str, system: System, by: Person, now: datetime
) -> Part:
    """What a pin shows, listed as a part that is still on the car. The same ``key`` is one part.

    Raises
    ------
    PinHasPart
        When the pin names another part already.
    """
    with transaction.atomic():
        locked = Pin.objects.select_for_update().get(pk=pin.pk)
        if locked.part and locked.part.key != key:
            raise PinHasPart(f"Pin {pin.number} is {locked.part} already.")
        part = locked.part or log_part(
            key=key, car=pin.corner.car, system=system, name=name, still_on_car=True, by=by, now=now
        )
        pin.part, pin.note = part, pin.note or name
        pin.save(update_fields=["part", "note"])
    return part


def take_out_pin(*, pin: Pin, by: Person, now: datetime) -> None:
    """No such pin any more; its part stays, and the other pins keep their numbers."""
    with transaction.atomic():
        text = f"Pin {pin.number} taken out of {pin.corner}: {pin.note or pin.part}"
        Event.objects.write(car=pin.corner.car, part=pin.part, kind="pin", text=text, by=by, at=now)
        pin.delete()


# ---- what the pages show


def corners_of(car: Car) -> QuerySet[Corner]:
    """The corners of a car, newest first; three queries however many."""
    return corners_with_pins().filter(car=car)


def corners_with_pins() -> QuerySet[Corner]:
    """Corners with everything their page shows."""
    return Corner.objects.select_related("photo", "car").prefetch_related(_pins())


def _pins() -> Prefetch:
    return Prefetch(
        "pins", Pin.objects.select_related("part__system").prefetch_related("part__pieces")
    )


def next_to_come_off(pins: Sequence[Pin]) -> list[Pin]:
    """The pins whose part is still on the car, in their order."""
    return [
        pin
        for pin in pins
        if pin.part and pin.part.thrown_out_at is None and pin.part.fitted_piece.is_on_the_car
    ]
