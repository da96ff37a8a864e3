"""What is done on the page of a part: doubts, the bin, moves, joining and taking apart."""

from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from garage.models import Car, Person
from parts import judging
from parts.models import Event, Part, Piece, Question
from parts.statuses import Move, Status
from tests.factories import NOW, make_part, make_piece, make_place


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return make_piece(car=car, by=owner, name="Bypass pipe", place=make_place("Shelf A / Box 1"))


@pytest.fixture
def part(piece: Piece) -> Part:
    return piece.part


# ---- doubts


def asked(**changes: str) -> dict[str, str]:
    return {"key": str(uuid4()), "question": "Is it the later one?", "asked_of": "Mo"} | changes


def questions_url(part: Part) -> str:
    return reverse("part_questions", args=[part.tag])


@pytest.fixture
def doubt(part: Part, owner: Person) -> Question:
    return judging.doubt(
        part=part, key=uuid4(), question="Is it the later one?", asked_of="", by=owner, now=NOW
    )


def test_a_doubt_is_written_down_once(client_of_helper: Client, part: Part) -> None:
    form = asked()

    for _ in range(2):
        assert client_of_helper.post(questions_url(part), form).status_code == 302

    question = Question.objects.get()
    assert (question.part, question.question, question.asked_of) == (
        part,
        "Is it the later one?",
        "Mo",
    )
    assert Event.objects.filter(kind="doubt").count() == 1
    assert "Is it the later one?" in text_of(client_of_helper.get(part.get_absolute_url()))


def test_another_doubt_on_a_used_form_asks_once_more(client_of_owner: Client, part: Part) -> None:
    form = asked()
    client_of_owner.post(questions_url(part), form)

    answer = client_of_owner.post(questions_url(part), form | {"question": "Is it cracked?"})

    page = text_of(answer)
    assert answer.status_code == 422
    assert "This form was saved already: Is it the later one?" in page
    assert 'value="Is it cracked?"' in page
    assert form["key"] not in page
    assert Question.objects.count() == 1


def test_a_doubt_without_words_is_refused(client_of_owner: Client, part: Part) -> None:
    answer = client_of_owner.post(questions_url(part), asked(question=" "))

    assert answer.status_code == 422
    assert 'value="Mo"' in text_of(answer)
    assert not Question.objects.exists()


@pytest.mark.parametrize("settled", [False, True])
def test_an_answer_is_written_down_and_may_settle_the_doubt(
    client_of_helper: Client, part: Part, doubt: Question, settled: bool
) -> None:
    form = {"question_pk": str(doubt.pk), "answer": "Earlier: flat flange"}

    client_of_helper.post(questions_url(part), form | ({"settled": "1"} if settled else {}))

    doubt.refresh_from_db()
    assert doubt.answer == "Earlier: flat flange"
    assert bool(doubt.settled_at) is settled
    page = text_of(client_of_helper.get(part.get_absolute_url()))
    assert ("Write down, settled" in page) is not settled


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ("", "Write down the answer, or that the doubt is settled."),
        ("x" * 2_001, "at most 2000 characters"),
    ],
)
def test_a_refused_answer_stays_in_its_box(
    client_of_owner: Client, part: Part, doubt: Question, typed: str, says: str
) -> None:
    answer = client_of_owner.post(
        questions_url(part), {"question_pk": str(doubt.pk), "answer": typed}
    )

    page = text_of(answer)
    assert answer.status_code == 422
    assert page.count(says) == 2  # on top, and beside the box
    assert f">{typed}</textarea>" in page
    doubt.refresh_from_db()
    assert doubt.answer == ""


@pytest.mark.parametrize("number", ["abc", "", "0", "9" * 40])
def test_an_answer_to_no_doubt_of_this_part_is_refused(
    client_of_owner: Client, part: Part, number: str
) -> None:
    answer = client_of_owner.post(questions_url(part), {"question_pk": number, "answer": "Yes"})

    assert answer.status_code == 422
    assert not Event.objects.filter(kind="answer").exists()


def test_the_doubt_of_another_part_is_not_answered_here(
    client_of_owner: Client, part: Part, doubt: Question, car: Car, owner: Person
) -> None:
    other = make_part(car=car, by=owner)

    answer = client_of_owner.post(
        questions_url(other), {"question_pk": str(doubt.pk), "answer": "Yes"}
    )

    assert answer.status_code == 422
    assert "That doubt is not there any more." in text_of(answer)
    doubt.refresh_from_db()
    assert doubt.answer == ""


# ---- the bin


def test_a_record_thrown_out_lies_in_the_bin_and_comes_back(
    client_of_helper: Client, part: Part
) -> None:
    out = client_of_helper.post(reverse("part_throw_out", args=[part.tag]), follow=True)

    assert "lies in the bin for 30 days" in text_of(out)
    assert part.name in text_of(out)
    assert client_of_helper.get(part.get_absolute_url()).status_code == 404

    back = client_of_helper.post(reverse("part_bring_back", args=[part.tag]), follow=True)

    assert f"{part} is back." in text_of(back)
    assert client_of_helper.get(part.get_absolute_url()).status_code == 200
    assert "The bin is empty" in text_of(client_of_helper.get(reverse("parts_thrown_out")))


def test_a_record_is_thrown_out_once(client_of_helper: Client, part: Part) -> None:
    url = reverse("part_throw_out", args=[part.tag])

    codes = [client_of_helper.post(url).status_code for _ in range(2)]

    assert codes == [302, 404]
    assert Event.objects.filter(kind="throw out").count() == 1


# ---- moves


def move(client: Client, piece: Piece, **form: str):  # type: ignore[no-untyped-def]
    return client.post(reverse("piece_move", args=[piece.pk]), form, follow=True)


@pytest.mark.parametrize(
    ("made", "after"),
    [
        (Move.PUT_ON_BENCH, Status.AT_BENCH),
        (Move.LOSE, Status.MISSING),
        (Move.KEEP_AS_PATTERN, Status.PATTERN),
        (Move.SCRAP, Status.SCRAPPED),
        (Move.SELL, Status.SOLD),
    ],
)
def test_a_move_is_made_and_can_be_taken_back(
    client_of_helper: Client, piece: Piece, made: Move, after: Status
) -> None:
    page = text_of(move(client_of_helper, piece, move=made.value, note="Too far gone"))

    piece.refresh_from_db()
    event = Event.objects.latest("pk")
    assert (piece.status, event.text) == (after, "Too far gone")
    assert f'name="event" value="{event.key}"' in page

    client_of_helper.post(reverse("take_back"), {"event": str(event.key)})
    piece.refresh_from_db()
    assert (piece.status, str(piece.place)) == (Status.OFF, "Shelf A / Box 1")


def test_a_move_that_cannot_be_made_says_why_and_keeps_the_reason_typed(
    client_of_helper: Client, piece: Piece, owner: Person
) -> None:
    piece.move(Move.SCRAP, by=owner, now=NOW)

    answer = move(client_of_helper, piece, move=Move.SELL.value, note="To Ade's cousin")

    page = text_of(answer)
    assert answer.status_code == 422
    assert "You cannot sell a piece that is scrapped." in page
    assert 'value="To Ade\'s cousin"' in page
    piece.refresh_from_db()
    assert piece.status == Status.SCRAPPED


@pytest.mark.parametrize("nonsense", ["", "melt", Move.TAKE_OFF.value, Move.FIT_LOOSE.value])
def test_only_what_the_page_offers_is_a_move_of_the_page(
    client_of_helper: Client, piece: Piece, nonsense: str
) -> None:
    answer = move(client_of_helper, piece, move=nonsense)

    assert answer.status_code == 422
    piece.refresh_from_db()
    assert piece.status == Status.OFF


def test_the_page_offers_the_moves_the_table_knows(client_of_owner: Client, piece: Piece) -> None:
    page = text_of(client_of_owner.get(piece.get_absolute_url()))

    assert 'value="put on the bench">Put on the bench</button>' in page
    assert 'value="report missing">It is missing</button>' in page
    assert 'value="get back"' not in page
    assert 'value="hand over"' not in page


# ---- joining


def join(client: Client, piece: Piece, **form: str):  # type: ignore[no-untyped-def]
    return client.post(reverse("piece_join", args=[piece.pk]), form, follow=True)


@pytest.fixture
def bracket(owner: Person, car: Car) -> Piece:
    return make_piece(car=car, by=owner, name="Bracket", place=make_place("Rack"))


def test_a_joined_piece_travels_with_the_other_and_comes_apart(
    client_of_helper: Client, piece: Piece, bracket: Piece
) -> None:
    said = text_of(
        join(client_of_helper, bracket, into=piece.part.tag.lower(), joined_how="Bonded")
    )
    assert f"{bracket.tag} travels with {piece.tag}." in said
    assert f"Take it off {piece.tag}" in said

    move(client_of_helper, piece, move=Move.PUT_ON_BENCH.value)
    bracket.refresh_from_db()
    assert (bracket.status, str(bracket.place)) == (Status.AT_BENCH, "Shelf A / Box 1")

    said = text_of(join(client_of_helper, bracket, apart="1"))
    bracket.refresh_from_db()
    assert f"{bracket.tag} is on its own again." in said
    assert bracket.joined_into is None


def test_what_travelled_along_is_taken_back_along(
    client_of_helper: Client, piece: Piece, bracket: Piece
) -> None:
    join(client_of_helper, bracket, into=piece.part.tag)
    move(client_of_helper, piece, move=Move.LOSE.value)
    key = Event.objects.get(piece=piece, kind=Move.LOSE.value).key

    client_of_helper.post(reverse("take_back"), {"event": str(key)})

    piece.refresh_from_db()
    bracket.refresh_from_db()
    assert (piece.status, bracket.status) == (Status.OFF, Status.OFF)


def test_the_place_of_a_piece_is_the_place_of_what_is_joined_into_it(
    client_of_helper: Client, piece: Piece, bracket: Piece
) -> None:
    join(client_of_helper, bracket, into=piece.part.tag)

    client_of_helper.post(reverse("place_put"), {"piece": piece.pk, "place": "Shelf B"})
    bracket.refresh_from_db()
    assert str(bracket.place) == "Shelf B"

    client_of_helper.post(reverse("place_put"), {"piece": bracket.pk, "place": "Shelf C"})
    bracket.refresh_from_db()
    assert str(bracket.place) == "Shelf B"


@pytest.mark.parametrize("spelled", ["", "QQQ", "own"])
def test_a_join_to_nothing_or_to_itself_is_refused(
    client_of_helper: Client, bracket: Piece, spelled: str
) -> None:
    into = bracket.part.tag if spelled == "own" else spelled
    says = {
        "": "Give the tag it is joined into",
        "QQQ": "No part of this car has the tag QQQ",
        "own": "A piece cannot be joined into itself.",
    }[spelled]

    answer = join(client_of_helper, bracket, into=into, joined_how="Bonded")

    assert answer.status_code == 422
    assert says in text_of(answer)
    assert 'value="Bonded"' in text_of(answer)


def test_pieces_in_different_hands_are_not_joined(
    client_of_helper: Client, piece: Piece, bracket: Piece, owner: Person
) -> None:
    piece.move(Move.PUT_ON_BENCH, by=owner, now=NOW)

    answer = join(client_of_helper, bracket, into=piece.part.tag)

    assert "Bring them together first." in text_of(answer)
    bracket.refresh_from_db()
    assert bracket.joined_into is None


def test_two_pieces_are_not_joined_into_each_other(
    client_of_helper: Client, piece: Piece, bracket: Piece
) -> None:
    join(client_of_helper, bracket, into=piece.part.tag)

    answer = join(client_of_helper, piece, into=bracket.part.tag)

    assert answer.status_code == 422
    piece.refresh_from_db()
    assert piece.joined_into is None
