"""The day book, and taking back from the strip under a page."""

import re
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts.models import Event, Piece
from parts.statuses import Move, Status
from tests.factories import NOW, make_car, make_piece, make_place

DAY_BOOK = "/day-book/"


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return make_piece(car=car, by=owner, name="Coil", place=make_place("Shelf A"))


def write(car: Car, by: Person, count: int) -> None:
    Event.objects.bulk_create(
        Event(key=uuid4(), car=car, kind="note", text=f"Line {number}.", by=by, at=NOW)
        for number in range(1, count + 1)
    )


# ---- the day book


def test_an_empty_day_book_says_what_is_written_in_it(client_of_owner: Client, car: Car) -> None:
    assert "Nothing written yet" in text_of(client_of_owner.get(DAY_BOOK))


def test_somebody_without_a_car_reads_an_empty_day_book(client: Client, owner: Person) -> None:
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")

    assert "Nothing written yet" in text_of(client.get(DAY_BOOK))


def test_what_was_done_stands_there_newest_first_with_tag_and_name(
    client_of_owner: Client, piece: Piece, helper: Person
) -> None:
    piece.move(Move.LOSE, by=helper, now=NOW, note="Not in its box")

    page = text_of(client_of_owner.get(DAY_BOOK))

    lines = re.findall(r"<td>([A-Z][^<]*)</td><td>(\w+)</td></tr>", page)
    assert lines == [("Missing: Not in its box", "Ade"), ("Taken off", "Wren")]
    assert page.count(piece.part.get_absolute_url()) == 2


def test_another_car_has_a_day_book_of_its_own(
    client_of_owner: Client, piece: Piece, owner: Person
) -> None:
    write(make_car(model="Roadster"), owner, 3)

    assert "Line 1" not in text_of(client_of_owner.get(DAY_BOOK))


@pytest.mark.parametrize("count", [1, 3])
def test_the_day_book_takes_as_many_queries_for_three_lines_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for _ in range(count):
        make_piece(car=car, by=owner)
    client_of_owner.get(DAY_BOOK)

    with django_assert_num_queries(4):
        page = text_of(client_of_owner.get(DAY_BOOK))

    assert page.count("<td>Taken off</td>") == count


def test_a_hundred_lines_a_page(client_of_owner: Client, car: Car, owner: Person) -> None:
    write(car, owner, 201)

    first, second, third, fourth = (
        text_of(client_of_owner.get(DAY_BOOK, {"page": page})) for page in (1, 2, 3, 4)
    )

    assert [page.count("<td>Note: Line") for page in (first, second, third)] == [100, 100, 1]
    assert "Line 201." in first
    assert "Line 101." in second
    assert 'href="?page=2">Earlier' in first
    assert 'href="?page=3">Earlier' in second
    assert "Earlier</a>" not in third
    assert "Nothing written yet" in fourth


@pytest.mark.parametrize("page", ["x", "0", "-1", "²", "9" * 40])
def test_a_page_that_cannot_be_is_the_first(
    client_of_owner: Client, car: Car, owner: Person, page: str
) -> None:
    write(car, owner, 1)

    assert "Line 1." in text_of(client_of_owner.get(DAY_BOOK, {"page": page}))


# ---- taking back


def take_back(client: Client, key: object, **form: str):  # type: ignore[no-untyped-def]
    return client.post(reverse("take_back"), {"event": str(key)} | form)


def test_the_strip_takes_back_and_leads_back_to_the_page(
    client_of_helper: Client, piece: Piece
) -> None:
    url = reverse("piece_move", args=[piece.pk])
    page = text_of(client_of_helper.post(url, {"move": Move.SCRAP.value}, follow=True))
    strip = re.search(
        r'name="event" value="([^"]+)"><input type="hidden" name="next" value="([^"]+)"', page
    )
    assert strip

    answer = take_back(client_of_helper, strip[1], next=strip[2])

    piece.refresh_from_db()
    assert answer.headers["Location"] == piece.get_absolute_url()
    assert (piece.status, str(piece.place)) == (Status.OFF, "Shelf A")
    assert "Taken back." in text_of(client_of_helper.get(piece.get_absolute_url()))


def test_too_late_says_what_has_happened_since_and_changes_nothing(
    client_of_helper: Client, piece: Piece, owner: Person
) -> None:
    event = piece.move(Move.PUT_ON_BENCH, by=owner, now=NOW)
    piece.move(Move.SCRAP, by=owner, now=NOW)

    take_back(client_of_helper, event.key)

    page = text_of(client_of_helper.get(piece.get_absolute_url()))
    assert f"{piece.tag} has been moved since. Move it on from where it is." in page
    piece.refresh_from_db()
    assert piece.status == Status.SCRAPPED


def test_taken_back_twice_says_so(client_of_helper: Client, piece: Piece, owner: Person) -> None:
    event = piece.move(Move.LOSE, by=owner, now=NOW)

    for _ in range(2):
        assert take_back(client_of_helper, event.key).status_code == 302

    assert "That was taken back already." in text_of(client_of_helper.get(DAY_BOOK))
    assert Event.objects.filter(kind="take back").count() == 1


@pytest.mark.parametrize("key", ["", "no key", str(uuid4())])
def test_what_was_never_done_cannot_be_taken_back(
    client_of_helper: Client, piece: Piece, key: str
) -> None:
    assert take_back(client_of_helper, key).status_code == 404


@pytest.mark.parametrize(
    "back", ["https://evil.example/", "//evil.example", "/\\evil.example", "elsewhere", ""]
)
def test_taking_back_never_leads_off_the_site(
    client_of_helper: Client, piece: Piece, owner: Person, back: str
) -> None:
    event = piece.move(Move.LOSE, by=owner, now=NOW)

    assert take_back(client_of_helper, event.key, next=back).headers["Location"] == "/"


def test_a_viewer_takes_nothing_back(client_of_viewer: Client, piece: Piece, owner: Person) -> None:
    event = piece.move(Move.LOSE, by=owner, now=NOW)

    assert take_back(client_of_viewer, event.key).status_code == 403
    piece.refresh_from_db()
    assert piece.status == Status.MISSING
