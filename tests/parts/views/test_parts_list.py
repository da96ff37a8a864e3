"""The list of parts: its filters as links, a page at a time, whole or as a fragment."""

import re
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import judging, plan, takeoff
from parts.models import Part, Piece
from parts.statuses import Move, Status
from tests.factories import NOW, make_part, make_photo, make_piece, make_place, system_of

LIST, COUNTS = "/parts/", "/parts/counts/"
HTMX = {"HX-Request": "true"}


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(response.content.decode().split())


def names(response) -> list[str]:  # type: ignore[no-untyped-def]
    """The parts of the rows, top to bottom."""
    return re.findall(r'<a class="reach" href="[^"]*">([^<]*)</a>', response.content.decode())


def slips(response) -> list[tuple[str, str]]:  # type: ignore[no-untyped-def]
    """What is on, each with where its slip leads."""
    found = re.search(r'<p class="slips">(.*?)</p>', response.content.decode(), re.DOTALL)
    inside = found[1].replace("&amp;", "&") if found else ""
    return [(word, url) for url, word in re.findall(r'<a href="([^"]*)">([^<]*)<', inside)]


@pytest.fixture
def shelf(owner: Person, car: Car) -> dict[str, Piece]:
    """Five parts that differ in system, place, status and next step."""
    cooling, brakes = system_of(car, "Cooling"), system_of(car, "Brakes")
    box, rack = make_place("Shelf A / Box 1"), make_place("Rack")
    pieces = {
        "Pulley": make_piece(car=car, by=owner, name="Pulley", system=cooling, place=box),
        "Housing": make_piece(car=car, by=owner, name="Housing", system=cooling, place=rack),
        "Drum": make_piece(car=car, by=owner, name="Drum", system=brakes, place=box),
        "Spring": make_piece(car=car, by=owner, name="Spring", system=brakes),
        "Shroud": make_piece(car=car, by=owner, name="Shroud", system=cooling, still_on_car=True),
    }
    repair = plan.ROUTE_BY_CODE["repair"]
    plan.judge(piece=pieces["Drum"], route=repair, by=owner, now=NOW)
    pieces["Spring"].move(Move.LOSE, by=owner, now=NOW)
    return pieces


def filters_of(shelf: dict[str, Piece], *wanted: str) -> dict[str, str]:
    every = {
        "q": "drum",
        "system": str(shelf["Drum"].part.system_id),
        "where": "off",
        "next": "repair",
        "place": str(shelf["Drum"].place_id),
    }
    return {name: every[name] for name in wanted}


# ---- rows


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_queries_for_three_parts_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        photo = make_photo(by=owner, colour=f"#{number}{number}4455")
        place = make_place(f"Box {number}")
        piece = make_piece(car=car, by=owner, place=place, photos=[photo])
        plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["repair"], by=owner, now=NOW)
    client_of_owner.get(LIST)

    with django_assert_num_queries(5):
        page = client_of_owner.get(LIST)

    assert len(names(page)) == count


def test_the_newest_part_stands_on_top_and_a_row_says_what_and_where(
    client_of_owner: Client, shelf: dict[str, Piece]
) -> None:
    page = client_of_owner.get(LIST)

    assert names(page) == ["Shroud", "Spring", "Drum", "Housing", "Pulley"]
    said = text_of(page)
    assert "Shelf A / Box 1" in said
    assert "To come off" in said
    assert "Missing" in said


def test_an_empty_garage_is_taught_what_stands_here(client_of_owner: Client, car: Car) -> None:
    page = text_of(client_of_owner.get(LIST))

    assert "No parts yet" in page
    assert reverse("take_off") in page


def test_parts_of_another_car_and_parts_thrown_out_are_not_listed(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    from tests.factories import make_car

    make_part(car=make_car(model="Roadster"), by=owner, name="Hood")
    judging.throw_out(part=make_part(car=car, by=owner, name="Ashtray"), by=owner, now=NOW)
    make_part(car=car, by=owner, name="Coil")

    assert names(client_of_owner.get(LIST)) == ["Coil"]


def test_somebody_without_a_car_names_one_first(owner: Person, client: Client) -> None:
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")

    assert client.get(LIST).headers["Location"] == reverse("cars")
    assert client.get(COUNTS).content == b""


# ---- filters


@pytest.mark.parametrize(
    ("name", "found"),
    [
        ("q", ["Drum"]),
        ("system", ["Spring", "Drum"]),
        ("where", ["Drum", "Housing", "Pulley"]),
        ("next", ["Drum"]),
        ("place", ["Drum", "Pulley"]),
    ],
)
def test_each_filter_alone_leaves_what_answers_to_it(
    client_of_owner: Client, shelf: dict[str, Piece], name: str, found: list[str]
) -> None:
    page = client_of_owner.get(LIST, filters_of(shelf, name))

    assert names(page) == found
    assert [url for _, url in slips(page)] == ["/parts/?"]


def test_filters_together_leave_what_answers_to_all(
    client_of_owner: Client, shelf: dict[str, Piece]
) -> None:
    both = client_of_owner.get(LIST, filters_of(shelf, "where", "place"))
    every = client_of_owner.get(LIST, filters_of(shelf, "q", "system", "where", "next", "place"))
    none = client_of_owner.get(LIST, filters_of(shelf, "system") | {"q": "pulley"})

    assert names(both) == ["Drum", "Pulley"]
    assert names(every) == ["Drum"]
    assert names(none) == []
    assert "Nothing answers to that" in text_of(none)


def test_a_slip_takes_off_just_its_own_filter(
    client_of_owner: Client, shelf: dict[str, Piece]
) -> None:
    wanted = filters_of(shelf, "q", "system", "where", "next", "place")
    page = client_of_owner.get(LIST, wanted)

    on = slips(page)

    assert [word for word, _ in on] == [
        "“drum”",
        "Brakes",
        "Off",
        "Next: repair",
        "Shelf A / Box 1",
    ]
    for (_, url), left_out in zip(on, wanted, strict=True):
        rest = client_of_owner.get(url)
        assert rest.status_code == 200
        left = {name: value for name, value in wanted.items() if name != left_out}
        assert names(rest) == names(client_of_owner.get(LIST, left))
        assert len(slips(rest)) == 4


def test_a_place_holds_what_lies_in_the_boxes_on_it(
    client_of_owner: Client, shelf: dict[str, Piece]
) -> None:
    a_shelf = shelf["Drum"].place.within

    page = client_of_owner.get(LIST, {"place": a_shelf.pk})

    assert names(page) == ["Drum", "Pulley"]


def test_patterns_bare_steel_and_doubted_parts_have_a_list_each(
    client_of_owner: Client, shelf: dict[str, Piece], owner: Person
) -> None:
    part = shelf["Pulley"].part
    takeoff.add_piece(part=part, purpose="to_fit", by=owner, now=NOW)
    shelf["Housing"].change({"bare_since": NOW})
    judging.doubt(
        part=shelf["Drum"].part, key=uuid4(), question="Later?", asked_of="", by=owner, now=NOW
    )

    beside, bare, doubted = (
        client_of_owner.get(LIST, {"kind": kind}) for kind in ("beside", "bare", "doubted")
    )

    assert (names(beside), names(bare), names(doubted)) == (["Pulley"], ["Housing"], ["Drum"])
    assert [slips(page)[0][0] for page in (beside, bare, doubted)] == [
        "Patterns and spares",
        "Bare steel",
        "Doubted",
    ]


@pytest.mark.parametrize(
    "nonsense",
    [
        {"where": "stolen"},
        {"next": "polish"},
        {"kind": "nice"},
        {"system": "abc"},
        {"system": "0"},
        {"system": "²"},
        {"place": "-1"},
        {"place": "9" * 40},
        {"page": "zero"},
        {"page": "-3"},
        {"colour": "red"},
    ],
)
def test_a_filter_that_means_nothing_is_not_there(
    client_of_owner: Client, shelf: dict[str, Piece], nonsense: dict[str, str]
) -> None:
    page = client_of_owner.get(LIST, nonsense)

    assert len(names(page)) == 5
    assert slips(page) == []


@pytest.mark.parametrize("name", ["system", "place"])
def test_a_system_or_place_that_is_gone_holds_nothing_and_says_so(
    client_of_owner: Client, shelf: dict[str, Piece], name: str
) -> None:
    page = client_of_owner.get(LIST, {name: "999999"})

    assert names(page) == []
    assert slips(page) == [(f"a {name}", "/parts/?")]


def test_what_was_typed_is_looked_for_as_words_and_never_runs(
    client_of_owner: Client, shelf: dict[str, Piece]
) -> None:
    nasty = "<script>'; DROP TABLE parts_part; --%_"

    page = client_of_owner.get(LIST, {"q": nasty})

    assert names(page) == []
    assert "<script>'" not in page.content.decode()
    assert Part.objects.count() == 5


# ---- a tag


@pytest.mark.parametrize("spelled", ["{}", " {} ", "lower"])
def test_a_whole_tag_opens_its_part(
    client_of_owner: Client, shelf: dict[str, Piece], spelled: str
) -> None:
    part = shelf["Drum"].part
    typed = part.tag.lower() if spelled == "lower" else spelled.format(part.tag)

    answer = client_of_owner.get(LIST, {"q": typed, "go": ""})

    assert answer.headers["Location"] == reverse("part", args=[part.tag])


def test_a_tag_still_being_typed_leaves_the_list(
    client_of_owner: Client, shelf: dict[str, Piece]
) -> None:
    page = client_of_owner.get(LIST, {"q": shelf["Drum"].part.tag}, headers=HTMX)

    assert names(page) == ["Drum"]


def test_a_tag_of_another_car_opens_nothing(client_of_owner: Client, owner: Person) -> None:
    from tests.factories import make_car

    other = make_part(car=make_car(model="Roadster"), by=owner)

    page = client_of_owner.get(LIST, {"q": other.tag, "go": ""})

    assert (page.status_code, names(page)) == (200, [])


# ---- pages


@pytest.fixture
def many(owner: Person, car: Car) -> None:
    for number in range(1, 64):
        make_part(car=car, by=owner, name=f"Bracket {number}")


def test_thirty_parts_a_page_with_the_way_on_and_back(client_of_owner: Client, many: None) -> None:
    first, second, third = (client_of_owner.get(LIST, {"page": page}) for page in (1, 2, 3))

    assert [len(names(page)) for page in (first, second, third)] == [30, 30, 3]
    assert names(second)[0] == "Bracket 33"
    assert "1 to 30" in text_of(first)
    assert "31 to 60" in text_of(second)
    assert 'href="/parts/?page=2">Show 30 more</a>' in text_of(first)
    assert 'href="/parts/?page=3">Show 30 more</a>' in text_of(second)
    assert 'href="/parts/?">Earlier 30</a>' in text_of(second)
    assert "Earlier 30" not in text_of(first)
    assert "Show 30 more" not in text_of(third)


def test_the_next_page_keeps_the_filters_and_a_filter_starts_at_the_first(
    client_of_owner: Client, many: None
) -> None:
    page = client_of_owner.get(LIST, {"q": "bracket", "where": "off", "page": "2"})

    assert 'href="/parts/?q=bracket&amp;where=off&amp;page=3">Show 30 more</a>' in text_of(page)
    assert all("page" not in url for _, url in slips(page))


def test_a_page_behind_the_last_leads_to_the_first(client_of_owner: Client, many: None) -> None:
    answer = client_of_owner.get(LIST, {"q": "bracket", "page": "9"})

    assert answer.headers["Location"] == "/parts/?q=bracket"


# ---- whole or fragment


def test_htmx_gets_the_rows_alone(client_of_owner: Client, shelf: dict[str, Piece]) -> None:
    page = client_of_owner.get(LIST, {"q": "drum"}, headers=HTMX)

    assert names(page) == ["Drum"]
    assert "<html" not in text_of(page)
    assert "“drum”" in text_of(page)


@pytest.mark.parametrize("more", [{"HX-History-Restore-Request": "true"}, {"HX-Boosted": "true"}])
def test_a_history_restore_and_a_boosted_link_get_the_whole_page(
    client_of_owner: Client, shelf: dict[str, Piece], more: dict[str, str]
) -> None:
    page = client_of_owner.get(LIST, headers=HTMX | more)

    assert text_of(page).startswith("<!doctype html>")
    assert len(names(page)) == 5


@pytest.mark.parametrize("headers", [{}, HTMX])
def test_a_cache_is_told_that_the_answers_differ(
    client_of_owner: Client, shelf: dict[str, Piece], headers: dict[str, str]
) -> None:
    vary = client_of_owner.get(LIST, headers=headers).headers["Vary"]

    assert "HX-Request" in vary


# ---- counts


def links(client: Client, wanted: dict[str, str]) -> list[tuple[str, str, int]]:
    """Every counted link of the filter list: its words, where it leads, its count."""
    said = client.get(COUNTS, wanted).content.decode().replace("&amp;", "&")
    found = re.findall(r'<a href="(/parts/\?[^"]*)"[^>]*>([^<]*) <span>(\d+)</span></a>', said)
    return [(word, url, int(count)) for url, word, count in found]


@pytest.fixture
def mixed(shelf: dict[str, Piece], owner: Person, car: Car) -> dict[str, Piece]:
    """The shelf, and what makes counting hard: patterns, scrap that has a plan, joined pieces."""
    old = shelf["Pulley"]
    old.move(Move.KEEP_AS_PATTERN, by=owner, now=NOW)
    takeoff.add_piece(part=old.part, purpose="to_fit", by=owner, now=NOW)
    planned = make_piece(car=car, by=owner, name="Bent bracket")
    plan.judge(piece=planned, route=plan.ROUTE_BY_CODE["repair"], by=owner, now=NOW)
    planned.move(Move.SCRAP, by=owner, now=NOW)
    spare = takeoff.add_piece(part=shelf["Drum"].part, purpose="spare", by=owner, now=NOW)
    spare.move(Move.SELL, by=owner, now=NOW)
    return shelf


@pytest.mark.parametrize(
    "on",
    [
        {},
        {"where": "off"},
        {"where": "pattern"},
        {"where": "scrapped"},
        {"next": "repair"},
        {"next": "judge"},
        {"q": "a"},
        {"kind": "beside"},
    ],
)
def test_every_count_is_the_number_of_rows_its_link_then_shows(
    client_of_owner: Client, mixed: dict[str, Piece], on: dict[str, str]
) -> None:
    counted = links(client_of_owner, on)

    assert counted
    wrong = {
        (word, url): (count, len(names(client_of_owner.get(url))))
        for word, url, count in counted
        if count != len(names(client_of_owner.get(url)))
    }
    assert wrong == {}


def test_a_status_nothing_has_is_not_offered(
    client_of_owner: Client, mixed: dict[str, Piece]
) -> None:
    words = {word for word, _, _ in links(client_of_owner, {})}

    assert {Status.OFF.label, Status.PATTERN.label, Status.SCRAPPED.label, "Sold"} <= words
    assert {Status.READY.label, Status.BACK.label}.isdisjoint(words)


@pytest.mark.parametrize(
    ("on", "says"),
    [
        ({}, "6 of 6 parts"),
        ({"q": "bracket"}, "1 of 6 parts"),
        ({"kind": "beside"}, "2 of 2 parts"),
        ({"where": "pattern"}, "1 of 8 parts"),
    ],
)
def test_the_counts_say_how_many_of_how_many(
    client_of_owner: Client, mixed: dict[str, Piece], on: dict[str, str], says: str
) -> None:
    page = text_of(client_of_owner.get(COUNTS, on))

    assert f'id="parts-total" hx-swap-oob="true">{says}</p>' in page
    assert "<html" not in page
