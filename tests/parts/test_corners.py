"""Corners and pins: no photo lost, each pin once, what is still on the car comes off next."""

from typing import Any
from uuid import UUID, uuid4

import pytest

from garage.models import Car, Person, Photo
from parts import corners, takeoff
from parts.models import Corner, Event, Part, Pin
from parts.pin_stages import corner_stage
from parts.statuses import Status
from tests import factories

NOW = factories.NOW


@pytest.fixture
def photo(owner: Person) -> Photo:
    return factories.make_photo(by=owner)


@pytest.fixture
def corner(car: Car, owner: Person, photo: Photo) -> Corner:
    return corners.add_corner(
        key=uuid4(), car=car, name="Engine bay, left", photos=[photo], by=owner, now=NOW
    )[0]


def pin_in(corner: Corner, by: Person, *, key: UUID | None = None, **fields: Any) -> Pin:
    fields = {"x": 0.2, "y": 0.3, "note": "Coil bracket"} | fields
    return corners.add_pin(corner=corner, key=key or uuid4(), by=by, now=NOW, **fields)


def test_a_corner_keeps_its_photo_from_the_sweeper(corner: Corner) -> None:
    assert Photo.objects.get(of_corner=corner).in_use


def test_every_photo_sent_becomes_a_corner(car: Car, owner: Person) -> None:
    photos = [factories.make_photo(by=owner, colour=colour) for colour in ("#111111", "#222222")]

    made = corners.add_corner(key=uuid4(), car=car, name="Boot", photos=photos, by=owner, now=NOW)

    assert [corner.name for corner in made] == ["Boot", "Boot 2"]
    assert [corner.photo for corner in made] == photos


def test_the_same_form_sent_twice_is_one_corner(car: Car, owner: Person, photo: Photo) -> None:
    key = uuid4()
    first = corners.add_corner(key=key, car=car, name="Boot", photos=[photo], by=owner, now=NOW)

    second = corners.add_corner(key=key, car=car, name="Boot", photos=[], by=owner, now=NOW)

    assert first == second
    assert Corner.objects.count() == 1


def test_another_corner_under_a_used_key_is_refused(car: Car, owner: Person, photo: Photo) -> None:
    key = uuid4()
    corners.add_corner(key=key, car=car, name="Boot", photos=[photo], by=owner, now=NOW)

    with pytest.raises(corners.SavedAlready, match="Boot"):
        corners.add_corner(key=key, car=car, name="Dash", photos=[photo], by=owner, now=NOW)


def test_a_corner_without_a_photo_is_refused(car: Car, owner: Person) -> None:
    with pytest.raises(ValueError, match="photo"):
        corners.add_corner(key=uuid4(), car=car, name="Boot", photos=[], by=owner, now=NOW)


def test_pins_are_numbered_and_a_number_is_not_given_again(corner: Corner, owner: Person) -> None:
    first, second = pin_in(corner, owner), pin_in(corner, owner)
    corners.take_out_pin(pin=first, by=owner, now=NOW)

    third = pin_in(corner, owner)

    assert (second.number, third.number) == (2, 3)


def test_the_same_pin_sent_twice_is_one_pin_and_one_part(corner: Corner, owner: Person) -> None:
    key, system = uuid4(), factories.system_of(corner.car)

    first, second = (pin_in(corner, owner, key=key, system=system) for _ in range(2))

    assert first == second
    assert Part.objects.get().pins.get() == first


def test_a_pin_lists_a_part_that_is_still_on_the_car(corner: Corner, owner: Person) -> None:
    pin = pin_in(corner, owner, system=factories.system_of(corner.car))

    assert pin.part is not None
    assert pin.part.name == "Coil bracket"
    assert pin.part.pieces.get().status == Status.ON_CAR


def test_a_pin_with_a_part_is_not_listed_as_another(corner: Corner, owner: Person) -> None:
    pin = pin_in(corner, owner, part=factories.make_part(car=corner.car, by=owner))

    with pytest.raises(corners.PinHasPart):
        corners.list_part_from_pin(
            pin=pin,
            key=uuid4(),
            name="Coil",
            system=factories.system_of(corner.car),
            by=owner,
            now=NOW,
        )


def test_a_pin_is_moved_and_named(corner: Corner, owner: Person) -> None:
    pin, part = pin_in(corner, owner), factories.make_part(car=corner.car, by=owner)

    corners.name_pin(pin=pin, key=uuid4(), x=0.5, y=0.6, note="", part=part, by=owner, now=NOW)

    pin.refresh_from_db()
    assert (pin.x, pin.y, pin.note, pin.part) == (0.5, 0.6, "", part)


def test_a_pin_taken_out_leaves_its_part_and_a_line(corner: Corner, owner: Person) -> None:
    part = factories.make_part(car=corner.car, by=owner)

    corners.take_out_pin(pin=pin_in(corner, owner, part=part), by=owner, now=NOW)

    assert Part.objects.filter(pk=part.pk).exists()
    assert Event.objects.last().text == "Pin 1 taken out of Engine bay, left: Coil bracket"


def test_only_what_is_still_on_the_car_comes_off_next(corner: Corner, owner: Person) -> None:
    system = factories.system_of(corner.car)
    on, off = (pin_in(corner, owner, note=name, system=system) for name in ("Coil", "Strap"))
    pin_in(corner, owner, note="No part")
    assert off.part is not None
    takeoff.take_off(piece=off.part.pieces.get(), place=None, by=owner, now=NOW)

    pins = corners.corners_with_pins().get(pk=corner.pk).pins.all()

    assert corners.next_to_come_off(pins) == [on]


def test_pins_sit_at_their_share_of_the_photo(corner: Corner, owner: Person) -> None:
    """The test photo is 64 by 48: a layer 1000 wide is 750 high."""
    pin = pin_in(corner, owner, x=0.2, y=0.4)

    stage = corner_stage(corners.corners_with_pins().get(pk=corner.pk))

    assert stage.height == 750
    assert [(b.number, b.cx, b.cy, b.url) for b in stage.balloons] == [
        (1, 200, 300, f"/pins/{pin.pk}/")
    ]
