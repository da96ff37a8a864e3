from hypothesis import given
from hypothesis import strategies as st

from garage.models import Car, Person
from parts.models import Piece
from parts.search import fold, search_words
from tests import factories


def test_accents_and_case_make_no_difference() -> None:
    assert fold("Stoßdämpfer LINKS, Élan") == fold("stossdämpfer links, elan".replace("ä", "a"))


@given(st.text(max_size=60))
def test_folding_twice_is_folding_once(text: str) -> None:
    assert fold(fold(text)) == fold(text)


@given(st.text(max_size=200))
def test_a_search_never_asks_for_more_than_eight_words(text: str) -> None:
    assert len(search_words(text)) <= 8


def test_a_part_is_found_by_name_tag_number_place_and_note(owner: Person, car: Car) -> None:
    place = factories.make_place("Shelf A / Box 7")
    piece = factories.make_piece(
        car=car,
        by=owner,
        name="Küchenuhr bracket",
        makers_number="HW 21-0417",
        notes="bought at a breaker",
        place=place,
    )
    factories.make_piece(car=car, by=owner, name="Wiper motor")

    for typed in (
        "kuchenuhr",
        "KÜCHENUHR brack",
        piece.part.tag.lower(),
        "21-04",
        "box 7",
        "breaker",
    ):
        assert list(Piece.objects.matching(typed)) == [piece], typed


def test_every_word_must_be_found(owner: Person, car: Car) -> None:
    factories.make_piece(car=car, by=owner, name="Wiper motor")

    assert list(Piece.objects.matching("wiper bracket")) == []


def test_wildcards_are_plain_characters(owner: Person, car: Car) -> None:
    factories.make_piece(car=car, by=owner, name="Wiper motor")

    assert list(Piece.objects.matching("w%r")) == []
    assert list(Piece.objects.matching("wip_r")) == []
