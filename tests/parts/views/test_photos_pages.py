"""Photos as pages: sent ahead of the form, shown, described, thrown out."""

import re
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import Settings

from garage.models import Car, Person, Photo
from parts.models import Event, Part, PartPhoto, Piece
from tests.factories import jpeg_bytes, make_part, make_photo, make_upload

SEND = "/photos/"


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


def bytes_of(response) -> bytes:  # type: ignore[no-untyped-def]
    return b"".join(response.streaming_content)


@pytest.fixture
def part(owner: Person, car: Car) -> Part:
    return make_part(car=car, by=owner, name="Coil")


# ---- sent ahead of the form


def test_a_photo_sent_ahead_answers_with_its_place_in_the_form(client_of_helper: Client) -> None:
    key = str(uuid4())

    answer = client_of_helper.post(SEND, {"key": key, "photo": make_upload()})

    photo = Photo.objects.get()
    assert answer.status_code == 201
    assert f'name="photos" value="{key}"' in text_of(answer)
    assert photo.small in text_of(answer)
    assert "<html" not in text_of(answer)
    assert not photo.in_use


def test_the_same_photo_sent_twice_is_one_photo(client_of_helper: Client) -> None:
    key = str(uuid4())

    answers = [client_of_helper.post(SEND, {"key": key, "photo": make_upload()}) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [201, 201]
    assert answers[0].content == answers[1].content
    assert Photo.objects.count() == 1


def test_another_photo_under_the_same_key_is_refused(client_of_helper: Client) -> None:
    key = str(uuid4())
    client_of_helper.post(SEND, {"key": key, "photo": make_upload()})
    other = make_upload(content=jpeg_bytes(colour="#112233"))

    answer = client_of_helper.post(SEND, {"key": key, "photo": other})

    assert answer.status_code == 422
    assert "Another photo was sent under this key." in text_of(answer)


@pytest.mark.parametrize(
    ("sent", "says"),
    [
        ({"photo": make_upload(content=b"GIF89a" + bytes(40))}, "Send a JPEG"),
        ({"photo": make_upload(content=jpeg_bytes()[:150])}, "cut off"),
        ({}, "No photo came with that."),
        ({"key": "no key", "photo": make_upload()}, "No photo came with that."),
    ],
)
def test_what_is_no_photo_is_refused_in_a_sentence(
    client_of_helper: Client, sent: dict[str, object], says: str
) -> None:
    answer = client_of_helper.post(SEND, {"key": str(uuid4())} | sent)

    assert answer.status_code == 422
    assert re.fullmatch(rf'<p class="error red" role="alert">.*{says}.*</p>', text_of(answer))
    assert not Photo.objects.exists()


def test_a_full_disk_answers_507_and_keeps_nothing(
    client_of_helper: Client, settings: Settings
) -> None:
    settings.SPLITPIN_MIN_FREE_BYTES = 1 << 60

    answer = client_of_helper.post(SEND, {"key": str(uuid4()), "photo": make_upload()})

    assert answer.status_code == 507
    assert "Make room, then send it again." in text_of(answer)
    assert not Photo.objects.exists()


# ---- shown


@pytest.mark.parametrize("size", [320, 1600])
def test_a_rendition_is_a_picture_that_may_be_kept_by_this_browser_alone(
    client_of_viewer: Client, owner: Person, size: int
) -> None:
    photo = make_photo(by=owner)

    answer = client_of_viewer.get(reverse("photo", args=[photo.key, size]))

    assert answer.status_code == 200
    assert bytes_of(answer).startswith(b"\xff\xd8\xff")
    assert answer.headers["Content-Type"] == "image/jpeg"
    assert answer.headers["Cache-Control"] == "private, max-age=31536000, immutable"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert "Content-Disposition" not in answer.headers or answer.headers[
        "Content-Disposition"
    ].startswith("inline")


@pytest.mark.parametrize("size", [1, 640, 99_999])
def test_a_size_nobody_made_is_not_there(
    client_of_viewer: Client, owner: Person, size: int
) -> None:
    photo = make_photo(by=owner)

    assert client_of_viewer.get(reverse("photo", args=[photo.key, size])).status_code == 404
    assert client_of_viewer.get(reverse("photo", args=[uuid4(), 320])).status_code == 404


def test_the_original_is_the_owners_to_save_byte_for_byte(
    client_of_owner: Client, client_of_helper: Client, client_of_viewer: Client, owner: Person
) -> None:
    photo = make_photo(by=owner)
    url = reverse("photo_original", args=[photo.key])

    answer = client_of_owner.get(url)

    assert bytes_of(answer) == jpeg_bytes()
    assert answer.headers["Content-Type"] == "application/octet-stream"
    assert re.fullmatch(
        r'attachment; filename="photo-2026-11-25-[0-9a-f]{8}\.jpg"',
        answer.headers["Content-Disposition"],
    )
    assert [client.get(url).status_code for client in (client_of_helper, client_of_viewer)] == [
        403,
        403,
    ]


# ---- on a part


def add(client: Client, part: Part, **form: object):  # type: ignore[no-untyped-def]
    return client.post(
        reverse("part_photos", args=[part.tag]), {"moment": "damage", "caption": ""} | form
    )


def test_photos_are_added_by_file_and_by_key(client_of_helper: Client, part: Part) -> None:
    key = str(uuid4())
    client_of_helper.post(SEND, {"key": key, "photo": make_upload()})
    other = make_upload(content=jpeg_bytes(colour="#102030"))

    answer = add(client_of_helper, part, photos=[key], photo_files=[other], caption="Crack at lug")

    shots = list(part.photos.all())
    assert answer.status_code == 302
    assert str(shots[0].photo.key) == key
    assert [(shot.moment, shot.caption) for shot in shots] == [("damage", "Crack at lug")] * 2
    assert part.pieces.get().cover == shots[-1].photo


def test_photos_sent_ahead_keep_the_order_they_were_taken_in(
    client_of_helper: Client, part: Part
) -> None:
    keys = [str(uuid4()) for _ in range(3)]
    for number, key in enumerate(keys):
        upload = make_upload(content=jpeg_bytes(colour=f"#0000{number}0"))
        client_of_helper.post(SEND, {"key": key, "photo": upload})

    add(client_of_helper, part, photos=keys)

    assert [str(shot.photo.key) for shot in part.photos.order_by("pk")] == keys


def test_the_same_photos_saved_twice_are_there_once(client_of_helper: Client, part: Part) -> None:
    key = str(uuid4())
    client_of_helper.post(SEND, {"key": key, "photo": make_upload()})

    answers = [add(client_of_helper, part, photos=[key]) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 422]
    assert part.photos.count() == 1


def test_somebody_elses_waiting_photo_is_not_taken(
    client_of_helper: Client, part: Part, owner: Person
) -> None:
    theirs = make_photo(by=owner)

    answer = add(client_of_helper, part, photos=[str(theirs.key)])

    assert answer.status_code == 422
    assert not part.photos.exists()
    theirs.refresh_from_db()
    assert not theirs.in_use


def test_saving_without_a_photo_asks_for_one(client_of_helper: Client, part: Part) -> None:
    answer = add(client_of_helper, part, caption="Crack at lug")

    page = text_of(answer)
    assert answer.status_code == 422
    assert "Take a photo, or choose one" in page
    assert 'value="Crack at lug"' in page


def test_a_refused_photo_says_why_and_the_good_one_waits_in_the_form(
    client_of_helper: Client, part: Part
) -> None:
    half = make_upload(name="half.jpg", content=jpeg_bytes()[:200])

    answer = add(client_of_helper, part, photo_files=[make_upload(), half], caption="Crack")

    page = text_of(answer)
    assert answer.status_code == 422
    assert page.count("half.jpg: The photo is cut off") == 2
    assert f'name="photos" value="{Photo.objects.get().key}"' in page
    assert 'value="Crack"' in page
    assert not part.photos.exists()


def test_a_photo_goes_to_the_piece_it_was_taken_of(
    client_of_helper: Client, part: Part, owner: Person
) -> None:
    from parts import takeoff
    from tests.factories import NOW

    old: Piece = part.pieces.get()
    takeoff.add_piece(part=part, purpose="to_fit", by=owner, now=NOW)

    add(client_of_helper, part, piece=str(old.pk), photo_files=[make_upload()])

    assert part.photos.get().piece == old


# ---- one photo


@pytest.fixture
def shot(client_of_helper: Client, part: Part) -> PartPhoto:
    add(client_of_helper, part, photo_files=[make_upload()])
    return part.photos.get()


def shot_url(shot: PartPhoto) -> str:
    return reverse("part_photo", args=[shot.pk])


def test_a_photo_is_described_by_its_moment_and_what_it_shows(
    client_of_helper: Client, shot: PartPhoto
) -> None:
    answer = client_of_helper.post(
        shot_url(shot), {"moment": "mended", "caption": "New stud"}, follow=True
    )

    shot.refresh_from_db()
    assert (shot.moment, shot.caption) == ("mended", "New stud")
    assert "The photo is described." in text_of(answer)
    assert Event.objects.latest("pk").says == "Photo described: Mended: New stud"


@pytest.mark.parametrize(
    ("wrong", "kept"),
    [({"moment": "later", "caption": "New stud"}, "New stud"), ({"caption": "x" * 121}, "x" * 121)],
)
def test_a_wrong_description_is_refused_with_what_was_typed(
    client_of_helper: Client, shot: PartPhoto, wrong: dict[str, str], kept: str
) -> None:
    answer = client_of_helper.post(shot_url(shot), {"moment": "off"} | wrong)

    assert answer.status_code == 422
    assert f'value="{kept}"' in text_of(answer)
    shot.refresh_from_db()
    assert (shot.moment, shot.caption) == ("damage", "")


def test_a_photo_thrown_out_leaves_the_page_and_its_file_stays(
    client_of_owner: Client, shot: PartPhoto, part: Part
) -> None:
    answer = client_of_owner.post(shot_url(shot), {"throw-out": "1"}, follow=True)

    assert "The photo is thrown out." in text_of(answer)
    assert "No photo yet" in text_of(answer)
    assert part.pieces.get().cover is None
    assert client_of_owner.get(shot_url(shot)).status_code == 404
    assert client_of_owner.get(reverse("photo_original", args=[shot.photo.key])).status_code == 200


def test_only_the_owner_is_offered_the_original(
    client_of_owner: Client, client_of_helper: Client, shot: PartPhoto
) -> None:
    url = reverse("photo_original", args=[shot.photo.key])

    assert url in text_of(client_of_owner.get(shot_url(shot)))
    assert url not in text_of(client_of_helper.get(shot_url(shot)))
