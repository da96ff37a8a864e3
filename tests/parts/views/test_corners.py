"""Corners and pins, without JavaScript: the place of a pin is typed as two figures."""

from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person, Photo
from parts import corners
from parts.models import Corner, Part, Pin
from tests import factories


@pytest.fixture
def corner(car: Car, owner: Person) -> Corner:
    return make_corner(car, owner)


def make_corner(car: Car, owner: Person, colour: str = "#445566") -> Corner:
    photo = factories.make_photo(by=owner, colour=colour)
    return corners.add_corner(
        key=uuid4(), car=car, name="Engine bay, left", photos=[photo], by=owner, now=factories.NOW
    )[0]


def pin_post(**fields: str) -> dict[str, str]:
    return {
        "key": str(uuid4()),
        "x": "20",
        "y": "30.5",
        "name": "Coil bracket",
        "stands_for": "pin",
    } | fields


def listed(corner: Corner, by: Person, name: str = "Coil bracket") -> Pin:
    return corners.add_pin(
        corner=corner, key=uuid4(), x=0.2, y=0.3, note=name, by=by, now=factories.NOW,
        system=factories.system_of(corner.car),
    )  # fmt: skip


def test_the_page_without_corners_teaches(client_of_owner: Client) -> None:
    assert "No corners yet" in client_of_owner.get("/corners/").text


def test_a_corner_is_photographed_and_named(client_of_owner: Client) -> None:
    posted = {"key": str(uuid4()), "name": "Boot floor", "photo_files": factories.make_upload()}

    answer = client_of_owner.post("/corners/new/", posted)

    corner = Corner.objects.get()
    assert answer.url == f"/corners/{corner.pk}/"
    assert (corner.name, corner.photo.in_use) == ("Boot floor", True)


def test_a_corner_without_a_photo_is_refused(client_of_owner: Client) -> None:
    answer = client_of_owner.post("/corners/new/", {"key": str(uuid4()), "name": "Boot floor"})

    assert answer.status_code == 422
    assert "Take a photo of the corner" in answer.text
    assert 'value="Boot floor"' in answer.text


def test_a_photo_outlives_a_missing_name(client_of_owner: Client) -> None:
    key = str(uuid4())
    answer = client_of_owner.post(
        "/corners/new/", {"key": key, "name": "", "photo_files": factories.make_upload()}
    )
    photo = Photo.objects.get()

    assert answer.status_code == 422
    assert "Say what it shows" in answer.text
    assert f'value="{photo.key}"' in answer.text
    client_of_owner.post("/corners/new/", {"key": key, "name": "Boot", "photos": str(photo.key)})
    assert Corner.objects.get().photo == photo


def test_half_a_photo_is_refused_in_words(client_of_owner: Client) -> None:
    half = factories.make_upload(content=factories.jpeg_bytes()[:200])

    answer = client_of_owner.post(
        "/corners/new/", {"key": str(uuid4()), "name": "Boot", "photo_files": half}
    )

    assert answer.status_code == 422
    assert "pulley.jpg:" in answer.text


def test_the_form_sent_twice_is_one_corner(client_of_owner: Client) -> None:
    key = str(uuid4())

    for _ in range(2):
        posted = {"key": key, "name": "Boot", "photo_files": factories.make_upload()}
        assert client_of_owner.post("/corners/new/", posted).status_code == 302

    assert Corner.objects.count() == 1


def test_a_pin_lists_a_part_still_on_the_car(client_of_owner: Client, corner: Corner) -> None:
    system = factories.system_of(corner.car)

    client_of_owner.post(
        f"/corners/{corner.pk}/pins/", pin_post(stands_for="listed", system=str(system.pk))
    )

    part = Part.objects.get()
    assert (part.name, part.system, part.pieces.get().is_on_the_car) == (
        "Coil bracket",
        system,
        True,
    )
    page = client_of_owner.get(f"/corners/{corner.pk}/").text
    assert "Next to come off" in page
    assert f"/take-off/{part.tag}/" in page
    assert 'cx="200"' in page


def test_a_pin_names_a_part_by_its_tag(
    client_of_owner: Client, corner: Corner, owner: Person
) -> None:
    part = factories.make_part(car=corner.car, by=owner)

    client_of_owner.post(
        f"/corners/{corner.pk}/pins/", pin_post(stands_for="tagged", tag=part.tag, name="")
    )

    pin = Pin.objects.get()
    assert (pin.part, pin.x, pin.y) == (part, 0.2, 0.305)
    assert (
        f'<a href="/parts/{part.tag}/" tabindex="-1">'
        in client_of_owner.get(f"/corners/{corner.pk}/").text
    )


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"x": ""}, "Say how far across"),
        ({"y": "101"}, "less than or equal to 100"),
        ({"name": ""}, "Say what it is"),
        ({"stands_for": "listed"}, "Choose the system"),
        ({"stands_for": "tagged"}, "Give the tag of the part"),
        ({"stands_for": "tagged", "tag": "ZZZ"}, "No part of this car has the tag ZZZ"),
    ],
)
def test_a_wrong_box_is_named_and_nothing_typed_is_lost(
    client_of_owner: Client, corner: Corner, wrong: dict[str, str], said: str
) -> None:
    posted = pin_post(**wrong)

    answer = client_of_owner.post(f"/corners/{corner.pk}/pins/", posted)

    assert answer.status_code == 422
    assert said in answer.text
    for name in ("x", "y", "name"):
        assert not posted[name] or f'value="{posted[name]}"' in answer.text
    assert not Pin.objects.exists()


def test_a_pin_sent_twice_is_one_pin_and_one_part(client_of_owner: Client, corner: Corner) -> None:
    posted = pin_post(stands_for="listed", system=str(factories.system_of(corner.car).pk))

    for _ in range(2):
        client_of_owner.post(f"/corners/{corner.pk}/pins/", posted)

    assert (Pin.objects.count(), Part.objects.count()) == (1, 1)


def test_a_pin_becomes_a_part_later(client_of_owner: Client, corner: Corner) -> None:
    client_of_owner.post(f"/corners/{corner.pk}/pins/", pin_post())
    pin, system = Pin.objects.get(), factories.system_of(corner.car)
    assert client_of_owner.get(f"/pins/{pin.pk}/").context["form"]["stands_for"].value() == "listed"

    posted = pin_post(stands_for="listed", system=str(system.pk))
    for _ in range(2):
        client_of_owner.post(f"/pins/{pin.pk}/", posted)

    pin.refresh_from_db()
    assert pin.part == Part.objects.get()


def test_a_pin_form_gone_back_to_with_another_name_is_asked_again(
    client_of_owner: Client, corner: Corner, owner: Person
) -> None:
    client_of_owner.post(f"/corners/{corner.pk}/pins/", pin_post())
    pin = Pin.objects.get()
    posted = pin_post(stands_for="listed", system=str(factories.system_of(corner.car).pk))
    client_of_owner.post(f"/pins/{pin.pk}/", posted)

    answer = client_of_owner.post(f"/pins/{pin.pk}/", posted | {"name": "Heater valve"})

    assert answer.status_code == 422
    assert 'value="Heater valve"' in answer.text
    pin.refresh_from_db()
    assert pin.note == "Coil bracket"


def test_a_pin_is_taken_out(client_of_helper: Client, corner: Corner, owner: Person) -> None:
    pin = listed(corner, owner)

    client_of_helper.post(f"/pins/{pin.pk}/", {"take_out": "1"})

    assert not Pin.objects.exists()
    assert Part.objects.exists()


def test_a_corner_gets_another_name(client_of_owner: Client, corner: Corner) -> None:
    client_of_owner.post(f"/corners/{corner.pk}/", {"key": str(uuid4()), "name": "Bulkhead"})

    corner.refresh_from_db()
    assert corner.name == "Bulkhead"


def test_a_viewer_sees_a_corner_and_cannot_change_it(
    client_of_viewer: Client, corner: Corner, owner: Person
) -> None:
    pin = listed(corner, owner)

    page = client_of_viewer.get(f"/corners/{corner.pk}/")

    assert page.status_code == 200
    assert "New pin" not in page.text
    assert client_of_viewer.post(f"/corners/{corner.pk}/pins/", pin_post()).status_code == 403
    assert client_of_viewer.post(f"/pins/{pin.pk}/", {"take_out": "1"}).status_code == 403
    assert client_of_viewer.post("/corners/new/", {"name": "Boot"}).status_code == 403


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_of_corners_keeps_its_queries(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        listed(make_corner(car, owner, colour=f"#{number}{number}3344"), owner)
    client_of_owner.get("/corners/")

    with django_assert_num_queries(6):
        client_of_owner.get("/corners/")


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_of_a_corner_keeps_its_queries(
    client_of_owner: Client,
    corner: Corner,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for _ in range(count):
        listed(corner, owner)
    client_of_owner.get(f"/corners/{corner.pk}/")

    with django_assert_num_queries(7):
        client_of_owner.get(f"/corners/{corner.pk}/")
