"""What history says of the questions about a piece."""

import pytest

from garage.models import Car, Person
from parts import questions
from parts.models import Event, Piece
from parts.questions import Said
from tests import factories
from tests.factories import NOW

NOTHING_WRONG = {"fuel": "no", "left_on": "no", "glue": "no"}


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return factories.make_piece(car=car, by=owner)


def say(piece: Piece, by: Person, says: dict[str, str]) -> Event:
    said = [Said(question=code, says=word) for code, word in says.items()]
    event = questions.answer(piece=piece, said=said, by=by, now=NOW)
    assert event is not None
    return event


def test_history_names_yes_and_dont_know_and_counts_the_noes(piece: Piece, owner: Person) -> None:
    event = say(piece, owner, NOTHING_WRONG | {"hollow": "unknown", "repair": "yes"})

    assert event.text == (
        "Closed hollow: don't know; Soldered or unknown repair: yes; no to 3 other questions"
    )


def test_history_of_noes_alone_is_their_count(piece: Piece, owner: Person) -> None:
    assert say(piece, owner, NOTHING_WRONG).text == "no to 3 questions"


def test_a_single_no_is_named(piece: Piece, owner: Person) -> None:
    assert say(piece, owner, {"glue": "no"}).text == "Glue: no"


def test_a_no_that_takes_another_answer_back_is_named(piece: Piece, owner: Person) -> None:
    say(piece, owner, {"repair": "yes", "hollow": "unknown"})

    event = say(piece, owner, NOTHING_WRONG | {"repair": "no", "hollow": "no"})

    assert event.text == (
        "Soldered or unknown repair: no; Closed hollow: no; no to 3 other questions"
    )
