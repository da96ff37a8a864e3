"""Shelves, boxes and bags as pages: made, renamed, and many pieces moved at once."""

import re
from html import unescape

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts.models import Event, Piece, Place
from parts.statuses import Move
from tests.factories import NOW, make_piece, make_place

PLACES, PUT = "/places/", "/places/put/"


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


def url_of(path: str) -> str:
    return Place.objects.get(path=path).get_absolute_url()


@pytest.fixture
def box(db: None) -> Place:
    return make_place("Shelf A / Box 1")


@pytest.fixture
def pieces(owner: Person, car: Car, box: Place) -> list[Piece]:
    return [make_piece(car=car, by=owner, name=f"Clip {n}", place=box) for n in range(3)]


# ---- the list


def test_no_places_teach_how_one_is_written(client_of_owner: Client) -> None:
    assert "Shelf A / Box 3 / Bag 31" in text_of(client_of_owner.get(PLACES))


@pytest.mark.parametrize("count", [1, 3])
def test_the_places_take_as_many_queries_for_three_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        place = make_place(f"Shelf {number}")
        for _ in range(number + 1):
            make_piece(car=car, by=owner, place=place)
    client_of_owner.get(PLACES)

    with django_assert_num_queries(4):
        page = text_of(client_of_owner.get(PLACES))

    found = re.findall(r'>Shelf (\d)</a></th><td class="num">(\d)</td>', page)
    assert found == [(str(n), str(n + 1)) for n in range(count)]


def test_a_shelf_does_not_count_what_lies_in_its_boxes(
    client_of_owner: Client, pieces: list[Piece]
) -> None:
    page = text_of(client_of_owner.get(PLACES))

    shelf = r'>Shelf A</a></th><td class="num">0 <span class="second">\+ 3 in its boxes</span></td>'
    assert re.search(shelf, page)
    assert re.search(r'>Box 1</a></th><td class="num">3</td>', page)


@pytest.mark.parametrize("times", [1, 2])
def test_a_place_is_made_once_however_often_it_is_sent(
    client_of_helper: Client, times: int
) -> None:
    for _ in range(times):
        answer = client_of_helper.post(PLACES, {"path": "Shelf A / Box 3"})

    assert answer.headers["Location"] == url_of("Shelf A / Box 3")
    assert Place.objects.count() == 2


@pytest.mark.parametrize(
    ("path", "says"),
    [
        ("", "Give the place a name"),
        ("//", "Give the place a name."),
        ("Shelf / " + "x" * 41, "at most 40 letters"),
        ("/".join("abc" * 30), "too many boxes in boxes"),
    ],
)
def test_a_place_that_cannot_be_is_refused_and_none_of_it_is_made(
    client_of_helper: Client, path: str, says: str
) -> None:
    answer = client_of_helper.post(PLACES, {"path": path})

    assert answer.status_code == 422
    assert says in text_of(answer)
    assert not Place.objects.exists()


# ---- one place


@pytest.mark.parametrize("count", [1, 3])
def test_a_place_takes_as_many_queries_for_three_pieces_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    box: Place,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        bag = make_place(f"Shelf A / Box 1 / Bag {number}")
        make_piece(car=car, by=owner, name=f"Clip {number}", place=bag)
    client_of_owner.get(box.get_absolute_url())

    with django_assert_num_queries(7):
        page = text_of(client_of_owner.get(box.get_absolute_url()))

    assert page.count('name="piece"') == count
    assert page.count('class="plain-row"') == count


def test_a_place_shows_what_lies_in_it_and_what_stands_in_it(
    client_of_owner: Client, pieces: list[Piece]
) -> None:
    shelf = text_of(client_of_owner.get(url_of("Shelf A")))

    assert "3 parts" in shelf
    assert "Clip 2" in shelf
    assert "Shelf A / Box 1" in shelf
    assert url_of("Shelf A / Box 1") in shelf


def test_an_empty_place_teaches(client_of_owner: Client, box: Place) -> None:
    page = text_of(client_of_owner.get(box.get_absolute_url()))

    assert "Nothing in it" in page
    assert f"Put K7M away in {box}" in page


def test_a_viewer_is_offered_no_ticks(client_of_viewer: Client, pieces: list[Piece]) -> None:
    page = text_of(client_of_viewer.get(url_of("Shelf A / Box 1")))

    assert "Clip 2" in page
    assert 'type="checkbox"' not in page
    assert "Rename" not in page


def test_a_box_moves_to_another_shelf_with_what_is_in_it(
    client_of_helper: Client, pieces: list[Piece], box: Place
) -> None:
    answer = client_of_helper.post(
        box.get_absolute_url(), {"name": "Crate", "within": "Shelf B"}, follow=True
    )

    assert "It is Shelf B / Crate now." in text_of(answer)
    pieces[0].refresh_from_db()
    assert pieces[0].whereabouts == "Shelf B / Crate"


@pytest.mark.parametrize(
    ("form", "says"),
    [
        ({"name": ""}, "Give the place a name"),
        ({"name": "Box 2"}, "There is a Shelf A / Box 2 already."),
        ({"name": "Box / 9"}, "A name has no / in it"),
        ({"name": "Box 1", "within": "Shelf A / Box 1"}, "cannot stand in itself"),
        ({"name": "Box 1", "within": "/"}, "Give the place a name."),
        ({"name": "Box 1", "within": "/".join("abcdefghij" * 6)}, "too many boxes in boxes"),
        ({"name": "Box 1", "within": "/".join(["x" * 36] * 5)}, "too many boxes in boxes"),
    ],
)
def test_a_place_that_cannot_be_renamed_says_why_and_stays(
    client_of_helper: Client, box: Place, form: dict[str, str], says: str
) -> None:
    make_place("Shelf A / Box 2")
    make_place("Shelf A / Box 1 / Bag 31")

    answer = client_of_helper.post(box.get_absolute_url(), {"within": "Shelf A"} | form)

    page = text_of(answer)
    assert answer.status_code == 422
    assert says in page
    assert "<h1>Box 1</h1>" in page
    box.refresh_from_db()
    assert box.path == "Shelf A / Box 1"
    assert Place.objects.filter(path="Shelf A / Box 1 / Bag 31").exists()


# ---- putting many away


def put(client: Client, pieces: list[Piece], place: str, **form: str):  # type: ignore[no-untyped-def]
    sent = {"piece": [piece.pk for piece in pieces], "place": place}
    return client.post(PUT, sent | form, follow=True)


def test_many_are_put_away_at_once_and_taken_back_at_once(
    client_of_helper: Client, pieces: list[Piece], box: Place
) -> None:
    page = text_of(put(client_of_helper, pieces, "Shelf B", next=box.get_absolute_url()))

    assert "3 parts in Shelf B." in page
    assert "<h1>Box 1</h1>" in page
    assert Piece.objects.in_place(Place.objects.get(path="Shelf B")).count() == 3

    key = re.search(r'name="event" value="([^"]+)"', page)
    assert key
    client_of_helper.post(reverse("take_back"), {"event": key[1]})
    assert Piece.objects.in_place(box).count() == 3


def test_one_is_named_by_its_tag(client_of_helper: Client, pieces: list[Piece]) -> None:
    page = text_of(put(client_of_helper, pieces[:1], "Shelf B"))

    assert f"{pieces[0].tag} in Shelf B." in page
    assert "<h1>Places</h1>" in page


@pytest.mark.parametrize("numbers", [[], ["abc"], ["²"], ["٣٣٣"], ["9" * 40], ["-1"], [""]])
def test_nothing_ticked_moves_nothing(
    client_of_helper: Client, pieces: list[Piece], numbers: list[str]
) -> None:
    answer = client_of_helper.post(PUT, {"piece": numbers, "place": "Shelf B"}, follow=True)

    assert answer.status_code == 200
    assert "Tick the parts to move first." in text_of(answer)
    assert not Place.objects.filter(path="Shelf B").exists()


@pytest.mark.parametrize("place", ["x" * 41, "/", "y" * 300])
def test_a_place_that_cannot_be_moves_nothing_and_says_why(
    client_of_helper: Client, pieces: list[Piece], box: Place, place: str
) -> None:
    page = text_of(put(client_of_helper, pieces, place))

    assert re.search("at most (40 letters|200 characters)|Give the place a name", page)
    assert Piece.objects.in_place(box).count() == 3


def test_what_is_not_in_the_garage_cannot_be_put_away_and_nothing_is_moved(
    client_of_helper: Client, pieces: list[Piece], box: Place, owner: Person, car: Car
) -> None:
    on_car = make_piece(car=car, by=owner, name="Shroud", still_on_car=True)
    lost = make_piece(car=car, by=owner, name="Cap", place=box)
    lost.move(Move.LOSE, by=owner, now=NOW)

    first = text_of(put(client_of_helper, [*pieces, on_car], "Shelf B"))
    second = text_of(put(client_of_helper, [lost], "Shelf B"))

    assert f"{on_car.tag} cannot be put away. On the car." in first
    assert f"{lost.tag} cannot be put away. Last seen Shelf A / Box 1." in second
    assert not Event.objects.filter(kind="put away").exists()


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "/\\evil.example", "elsewhere", "", "today"]
)
def test_it_never_leads_off_the_site(
    client_of_helper: Client, pieces: list[Piece], back: str
) -> None:
    answer = client_of_helper.post(PUT, {"piece": pieces[0].pk, "place": "Rack", "next": back})

    assert answer.headers["Location"] == PLACES
