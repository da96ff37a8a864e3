"""Taking a part off as a page: photos with and without a script, nothing twice, nothing lost."""

import re
from html import unescape
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from garage.models import Car, Person, Photo
from parts.models import Event, Part, Place
from parts.statuses import Status
from tests.factories import jpeg_bytes, make_part, make_photo, make_place, make_upload, system_of

TAKE_OFF = "/take-off/"


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


def filled(car: Car, **changes: object) -> dict[str, object]:
    form: dict[str, object] = {
        "key": str(uuid4()),
        "name": "Wiper motor",
        "system": str(system_of(car, "Electrics").pk),
        "position": "Bulkhead",
        "side": "left",
        "place": "Shelf A / Box 3",
        "quantity": "1",
        "condition": "worn",
        "material": "",
        "makers_number": "",
        "notes": "Wires cut short",
    }
    return form | changes


def cut_off() -> SimpleUploadedFile:
    return make_upload(name="half.jpg", content=jpeg_bytes()[:200])


def two_photos() -> list[SimpleUploadedFile]:
    return [make_upload(content=jpeg_bytes(colour=colour)) for colour in ("#334455", "#665544")]


def keys_on(page: str) -> list[str]:
    """The keys of the photos the form carries."""
    return re.findall(r'name="photos" value="([^"]+)"', page)


# ---- saved


def test_a_plain_post_with_photos_needs_no_script(client_of_helper: Client, car: Car) -> None:
    answer = client_of_helper.post(TAKE_OFF, filled(car, photo_files=two_photos()), follow=True)

    part = Part.objects.get()
    piece = part.pieces.get()
    assert answer.redirect_chain == [(part.get_absolute_url(), 302)]
    assert f"{part.tag} is its tag. Wire it on." in text_of(answer)
    assert (part.name, part.where_it_sat, part.notes) == (
        "Wiper motor",
        "Bulkhead, left",
        "Wires cut short",
    )
    assert (piece.status, piece.condition, str(piece.place)) == (
        Status.OFF,
        "worn",
        "Shelf A / Box 3",
    )
    assert part.photos.count() == 2
    assert all(Photo.objects.values_list("in_use", flat=True))


def test_a_place_typed_for_the_first_time_is_made_with_its_shelf(
    client_of_helper: Client, car: Car
) -> None:
    client_of_helper.post(TAKE_OFF, filled(car, place="Loft / Crate 7"))

    assert [place.path for place in Place.objects.all()] == ["Loft", "Loft / Crate 7"]


def test_a_part_without_a_place_is_not_put_away(client_of_helper: Client, car: Car) -> None:
    client_of_helper.post(TAKE_OFF, filled(car, place=""))

    assert Part.objects.get().pieces.get().whereabouts == "Not put away"


def test_back_to_the_empty_form_for_the_next_part(client_of_helper: Client, car: Car) -> None:
    answer = client_of_helper.post(TAKE_OFF, filled(car, another="1"), follow=True)

    page = text_of(answer)
    assert answer.redirect_chain == [(TAKE_OFF, 302)]
    assert f"{Part.objects.get()} is saved." in page
    assert 'value="Wiper motor"' not in page


def test_the_last_place_and_system_are_offered_for_the_next_part(
    client_of_helper: Client, car: Car
) -> None:
    electrics = system_of(car, "Electrics")
    client_of_helper.post(TAKE_OFF, filled(car))

    page = text_of(client_of_helper.get(TAKE_OFF))

    assert 'name="place" value="Shelf A / Box 3"' in page
    assert f'<option value="{electrics.pk}" selected>Electrics</option>' in page


def test_the_address_can_offer_a_system(client_of_helper: Client, car: Car) -> None:
    brakes = system_of(car, "Brakes")

    page = text_of(client_of_helper.get(TAKE_OFF, {"system": brakes.pk}))

    assert f'<option value="{brakes.pk}" selected>Brakes</option>' in page


@pytest.mark.parametrize("nonsense", ["²", "x", "999999", "9" * 40])
def test_a_system_the_address_cannot_mean_breaks_nothing(
    client_of_helper: Client, car: Car, nonsense: str
) -> None:
    assert client_of_helper.get(TAKE_OFF, {"system": nonsense}).status_code == 200


def test_the_tag_that_is_told_is_the_tag_that_is_given(client_of_helper: Client, car: Car) -> None:
    page = text_of(client_of_helper.get(TAKE_OFF))
    told = re.search(r"It gets tag <span.*?</span>(\w{3,4})</span>", page)
    assert told

    client_of_helper.post(TAKE_OFF, filled(car))

    assert Part.objects.get().tag == told[1]


# ---- twice


def test_the_same_form_sent_twice_is_one_part(client_of_helper: Client, car: Car) -> None:
    form = filled(car)

    first, again = (client_of_helper.post(TAKE_OFF, form) for _ in range(2))

    assert first.headers["Location"] == again.headers["Location"]
    assert Part.objects.count() == 1
    assert Event.objects.filter(kind="take off").count() == 1


@pytest.mark.parametrize(
    "other",
    [{"name": "Wiper arm"}, {"notes": "Wires whole"}, {"condition": "sound"}, {"quantity": "2"}],
)
def test_back_and_something_else_written_asks_once_more_and_loses_nothing(
    client_of_helper: Client, car: Car, other: dict[str, str]
) -> None:
    form = filled(car)
    client_of_helper.post(TAKE_OFF, form)
    saved = Part.objects.get()

    answer = client_of_helper.post(TAKE_OFF, form | other)

    page = text_of(answer)
    assert answer.status_code == 422
    assert f"This form was saved as {saved} already." in page
    assert str(form["key"]) not in page
    (typed,) = other.values()
    assert typed in page
    fresh = re.search(r'name="key" value="([^"]+)"', page)
    assert fresh
    client_of_helper.post(TAKE_OFF, form | other | {"key": fresh[1]})
    assert Part.objects.count() == 2


# ---- refused


def test_an_error_keeps_the_text_and_the_photos_by_their_keys(
    client_of_helper: Client, car: Car
) -> None:
    answer = client_of_helper.post(TAKE_OFF, filled(car, name="", photo_files=two_photos()))

    page = text_of(answer)
    keys = keys_on(page)
    assert answer.status_code == 422
    assert "Give the part a name" in page
    assert "Wires cut short</textarea>" in page
    assert 'name="place" value="Shelf A / Box 3"' in page
    assert len(keys) == 2
    assert not Part.objects.exists()

    client_of_helper.post(TAKE_OFF, filled(car, photos=keys))
    shown = Part.objects.get().photos.values_list("photo__key", flat=True)
    assert [str(key) for key in shown] == keys


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("/".join("abcdefghijklmnopqrstuvwxyz" * 3), "too many boxes in boxes"),
        ("Shelf / " + "x" * 60, "at most 40 letters"),
        (" / / ", "Give the place a name."),
    ],
)
def test_a_place_that_cannot_be_is_refused_beside_its_box_and_none_of_it_is_made(
    client_of_helper: Client, car: Car, typed: str, says: str
) -> None:
    answer = client_of_helper.post(TAKE_OFF, filled(car, place=typed))

    page = text_of(answer)
    assert answer.status_code == 422
    assert re.search(rf'<p class="error" id="id_place_error">[^<]*{says}', page)
    assert 'value="Wiper motor"' in page
    assert not Part.objects.exists()
    assert not Place.objects.exists()


def test_a_refused_photo_says_why_beside_the_camera_and_the_good_one_is_kept(
    client_of_helper: Client, car: Car
) -> None:
    answer = client_of_helper.post(TAKE_OFF, filled(car, photo_files=[make_upload(), cut_off()]))

    page = text_of(answer)
    beside = page.split('data-shots data-url="/photos/"')[1].split("</fieldset>")[0]
    assert answer.status_code == 422
    assert "half.jpg: The photo is cut off" in beside
    assert page.count("half.jpg: The photo is cut off") == 2  # and in the summary on top
    assert len(keys_on(page)) == 1
    assert 'value="Wiper motor"' in page
    assert not Part.objects.exists()


def test_a_full_disk_refuses_the_photo_and_loses_nothing_typed(
    client_of_helper: Client, car: Car, settings: Settings
) -> None:
    settings.SPLITPIN_MIN_FREE_BYTES = 1 << 60

    answer = client_of_helper.post(TAKE_OFF, filled(car, photo_files=[make_upload()]))

    page = text_of(answer)
    assert answer.status_code == 422
    assert "The disk is too full to take in photos." in page
    assert 'value="Wiper motor"' in page
    assert not Photo.objects.exists()

    assert client_of_helper.post(TAKE_OFF, filled(car)).status_code == 302


def test_a_photo_waiting_on_somebody_elses_form_is_left_there(
    client_of_helper: Client, car: Car, owner: Person
) -> None:
    theirs = make_photo(by=owner)

    client_of_helper.post(TAKE_OFF, filled(car, photos=[str(theirs.key), "no key"]))

    theirs.refresh_from_db()
    assert not theirs.in_use
    assert not Part.objects.get().photos.exists()


def test_the_system_of_another_car_is_refused(
    client_of_helper: Client, car: Car, owner: Person
) -> None:
    from tests.factories import make_car

    theirs = make_car(model="Roadster").systems.first()

    answer = client_of_helper.post(TAKE_OFF, filled(car, system=str(theirs.pk)))

    assert answer.status_code == 422
    assert not Part.objects.exists()


def test_somebody_without_a_car_names_one_first(client: Client, owner: Person) -> None:
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")

    assert client.get(TAKE_OFF).headers["Location"] == reverse("cars")


# ---- still on the car


@pytest.fixture
def listed(client_of_helper: Client, car: Car) -> Part:
    client_of_helper.post(
        TAKE_OFF, filled(car, still_on_car="on", place="", photo_files=[make_upload()])
    )
    return Part.objects.get()


def listed_url(part: Part) -> str:
    return reverse("take_off_listed", args=[part.tag])


def test_a_part_is_listed_on_the_car_and_taken_off_later(
    client_of_helper: Client, listed: Part
) -> None:
    piece = listed.pieces.get()
    assert (piece.status, listed.removal_order) == (Status.ON_CAR, None)
    assert listed.photos.get().moment == "in_place"
    assert "It is off" in text_of(client_of_helper.get(listed_url(listed)))

    answer = client_of_helper.post(
        listed_url(listed), {"place": "Shelf B", "photo_files": two_photos()}, follow=True
    )

    piece.refresh_from_db()
    listed.refresh_from_db()
    assert f"{listed} is off." in text_of(answer)
    assert (piece.status, str(piece.place), listed.removal_order) == (Status.OFF, "Shelf B", 1)
    assert [shot.moment for shot in listed.photos.all()] == ["in_place", "off", "off"]


def test_taken_off_twice_is_off_once_and_the_second_photo_is_kept(
    client_of_helper: Client, listed: Part
) -> None:
    client_of_helper.post(listed_url(listed), {"place": "Shelf B"})

    answer = client_of_helper.post(
        listed_url(listed), {"place": "Shelf C", "photo_files": [make_upload()]}, follow=True
    )

    assert f"{listed} was off already." in text_of(answer)
    assert str(listed.pieces.get().place) == "Shelf B"
    assert listed.photos.count() == 2
    assert Event.objects.filter(kind="take off").count() == 1
    assert "It is off already" in text_of(client_of_helper.get(listed_url(listed)))


def test_a_refused_place_or_photo_leaves_the_part_on_the_car(
    client_of_helper: Client, listed: Part
) -> None:
    photos = [make_upload(content=jpeg_bytes(colour="#123123")), cut_off()]

    wrong_place = client_of_helper.post(listed_url(listed), {"place": "x" * 60})
    wrong_photo = client_of_helper.post(
        listed_url(listed), {"place": "Shelf B", "photo_files": photos}
    )

    assert (wrong_place.status_code, wrong_photo.status_code) == (422, 422)
    assert "at most 40 letters" in text_of(wrong_place)
    assert f'value="{"x" * 60}"' in text_of(wrong_place)
    assert "half.jpg: The photo is cut off" in text_of(wrong_photo)
    assert 'value="Shelf B"' in text_of(wrong_photo)
    assert len(keys_on(text_of(wrong_photo))) == 1
    assert listed.pieces.get().status == Status.ON_CAR


def test_what_a_part_taken_off_was_joined_to_stands_on_its_page(
    client_of_owner: Client, listed: Part, car: Car, owner: Person
) -> None:
    from parts import connections
    from tests.factories import NOW

    pump = make_part(car=car, by=owner, name="Pump", place=make_place("Rack"))
    fields = {"carries": "wire", "end": "Blue wire", "port": "Fuse 4", "note": "", "other": pump}
    connections.save_connection(part=listed, key=uuid4(), fields=fields, by=owner, now=NOW)

    page = text_of(client_of_owner.get(listed_url(listed)))

    assert "What is joined to it" in page
    assert "Blue wire" in page
    assert "Fuse 4" in page
