"""The filters of a list as an address: read, written, and never more than they say."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.http import QueryDict
from hypothesis import example, given
from hypothesis import strategies as st

from garage.models import Car, Person
from parts import plan
from parts.filters import KINDS, TO_BE_JUDGED, PartFilter, facets
from parts.models import Kind, Part
from parts.statuses import Move, Status
from tests.factories import NOW, make_part, make_piece, make_place, system_of

NAMES = ("q", "system", "where", "next", "place", "kind", "page")
WORDS = st.one_of(
    st.text(max_size=130),
    st.sampled_from([*Status.values, *Kind.values, *KINDS, TO_BE_JUDGED]),
    st.integers(-5, 10**12).map(str),
)


def read(**typed: str) -> PartFilter:
    query = QueryDict(mutable=True)
    query.update(typed)
    return PartFilter.read(query)


def again(wanted: PartFilter, **changes: Any) -> PartFilter:
    """What a browser sends that follows the link of ``wanted``, read."""
    return PartFilter.read(QueryDict(wanted.url(**changes).removeprefix("?")))


# ---- the address


@given(st.dictionaries(st.sampled_from(NAMES), WORDS))
@example({"q": "a" * 99 + " b"})  # cut at a hundred letters it would end in a blank
@example({"system": "0", "page": "0"})
@example({"q": "½ Zoll & mehr #1 + 2 %20"})
def test_a_filter_is_the_same_when_its_own_address_is_read(typed: dict[str, str]) -> None:
    wanted = read(**typed)

    assert again(wanted, page=wanted.page) == wanted


@given(st.dictionaries(st.sampled_from(NAMES), WORDS))
def test_a_changed_filter_starts_at_the_first_page_and_changes_nothing_else(
    typed: dict[str, str],
) -> None:
    wanted = read(**typed)

    changed = again(wanted, where=Status.OFF.value)

    assert (changed.where, changed.page) == ("off", 1)
    for name in ("q", "system", "next", "place", "kind"):
        assert getattr(changed, name) == getattr(wanted, name)


@given(st.dictionaries(st.sampled_from(NAMES), WORDS))
def test_an_address_holds_letters_an_address_may_hold(typed: dict[str, str]) -> None:
    assert re.fullmatch(r"\?[A-Za-z0-9%+=&_.~-]*", read(**typed).url())


@pytest.mark.parametrize(
    ("typed", "wanted"),
    [
        ({}, PartFilter()),
        ({"q": "  hub  nut "}, PartFilter(q="hub  nut")),
        ({"system": "7"}, PartFilter(system=7)),
        ({"system": "seven"}, PartFilter()),
        ({"system": "٧"}, PartFilter()),
        ({"system": "-7"}, PartFilter()),
        ({"system": "1" * 10}, PartFilter()),
        ({"where": "off"}, PartFilter(where="off")),
        ({"where": "Off"}, PartFilter()),
        ({"next": "judge"}, PartFilter(next="judge")),
        ({"next": "repair"}, PartFilter(next="repair")),
        ({"next": "off"}, PartFilter()),
        ({"kind": "bare"}, PartFilter(kind="bare")),
        ({"kind": "rare"}, PartFilter()),
        ({"page": "2"}, PartFilter(page=2)),
        ({"page": "0"}, PartFilter()),
        ({"page": "99999999"}, PartFilter(page=10_000)),
    ],
)
def test_what_an_address_cannot_mean_is_not_there(
    typed: dict[str, str], wanted: PartFilter
) -> None:
    assert read(**typed) == wanted


def test_a_filter_that_is_off_is_not_in_the_address() -> None:
    assert PartFilter().url() == "?"
    assert PartFilter(q="hub", where="off").url() == "?q=hub&where=off"
    assert PartFilter(q="hub", where="off", page=3).url() == "?q=hub&where=off"
    assert PartFilter(q="hub").url(page=3) == "?q=hub&page=3"
    assert PartFilter(q="hub", where="off").url(q="") == "?where=off"


# ---- what it finds


INJECTIONS = [
    "'; DROP TABLE parts_piece; --",
    '" OR 1=1 --',
    "%",
    "_",
    "\\",
    "a' UNION SELECT password FROM garage_person",
    "{{ 7 * 7 }}",
    "${jndi:ldap://x}",
    "<img src=x onerror=alert(1)>",
    "\u202e",
    "🔧" * 60,
]


@pytest.mark.parametrize("typed", INJECTIONS)
def test_what_is_typed_is_only_ever_looked_for(owner: Person, car: Car, typed: str) -> None:
    make_part(car=car, by=owner, name="Hub")
    named = make_part(car=car, by=owner, name=f"Odd {typed}"[:80])

    found = [piece.part for piece in read(q=typed).apply(car)]

    assert found == [named]
    assert Part.objects.count() == 2


@pytest.mark.parametrize("name", ["system", "where", "next", "place", "kind", "page"])
@pytest.mark.parametrize("typed", INJECTIONS)
def test_a_filter_of_nonsense_shows_the_whole_list(
    owner: Person, car: Car, name: str, typed: str
) -> None:
    piece = make_piece(car=car, by=owner)

    wanted = read(**{name: typed})

    assert list(wanted.apply(car)) == [piece]
    assert wanted.slips(car) == []


def test_one_row_too_many_says_that_there_are_more(owner: Person, car: Car) -> None:
    for number in range(31):
        make_part(car=car, by=owner, name=f"Clip {number}")

    first, more = PartFilter().rows(car)
    second, no_more = PartFilter(page=2).rows(car)

    assert (len(first), more) == (30, True)
    assert ([piece.part.name for piece in second], no_more) == (["Clip 0"], False)


@pytest.fixture
def shelf(owner: Person, car: Car) -> None:
    """Pieces of four statuses in two systems and two places, some with a plan."""
    places = [make_place("Shelf A / Box 1"), make_place("Rack"), None]
    for number in range(12):
        system = system_of(car, ("Cooling", "Brakes")[number % 2])
        piece = make_piece(
            car=car, by=owner, name=f"Clip {number}", system=system, place=places[number % 3]
        )
        if number % 4 == 0:
            plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["buy"], by=owner, now=NOW)
        if number % 5 == 0:
            piece.move(Move.SCRAP, by=owner, now=NOW)
        elif number % 5 == 1:
            piece.move(Move.KEEP_AS_PATTERN, by=owner, now=NOW)


def test_each_count_is_what_the_filter_then_shows(car: Car, shelf: None) -> None:
    system, box = system_of(car, "Cooling").pk, make_place("Shelf A / Box 1").pk

    for on in (
        PartFilter(),
        PartFilter(system=system),
        PartFilter(place=box),
        PartFilter(where="scrapped"),
        PartFilter(where="off", next="buy"),
        PartFilter(next=TO_BE_JUDGED, system=system),
        PartFilter(q="clip 1"),
        PartFilter(q="clip", kind="beside"),
        PartFilter(place=999_999),
    ):
        for heading, links in facets(on, car, counted=True):
            for link in links:
                shown = PartFilter.read(QueryDict(link.url.removeprefix("?"))).apply(car).count()
                assert link.count in (None, shown), (on, heading, link)
                assert (link.count is None) is (heading == "More")


def test_the_quick_page_counts_nothing(car: Car, shelf: None) -> None:
    links = [link for _, links in facets(PartFilter(), car, counted=False) for link in links]

    assert {link.count for link in links} == {None}
    assert len(links) == car.systems.count() + len(Status) + 1 + len(Kind) + len(KINDS)


def test_what_is_on_is_marked(car: Car, shelf: None) -> None:
    system = system_of(car, "Brakes").pk
    wanted = PartFilter(system=system, where="off", next=TO_BE_JUDGED, kind="bare")

    on = [
        link.word for _, links in facets(wanted, car, counted=False) for link in links if link.is_on
    ]

    assert on == ["Brakes", "Off", "To be judged", "Bare steel"]


def test_a_part_is_doubted_as_long_as_one_doubt_is_open(owner: Person, car: Car) -> None:
    from parts import judging

    make_piece(car=car, by=owner)
    piece = make_piece(car=car, by=owner)
    first, second = (
        judging.doubt(part=piece.part, key=uuid4(), question=said, asked_of="", by=owner, now=NOW)
        for said in ("Flange?", "Thread?")
    )
    assert list(PartFilter(kind="doubted").apply(car)) == [piece]

    judging.answer(question=first, text="Right", settled=True, by=owner, now=NOW)
    assert list(PartFilter(kind="doubted").apply(car)) == [piece]

    judging.answer(question=second, text="Right", settled=True, by=owner, now=NOW)
    assert list(PartFilter(kind="doubted").apply(car)) == []
