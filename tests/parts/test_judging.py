"""Doubts and answers, joining and taking apart, and what history says of them."""

from datetime import timedelta
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import judging, takeoff
from parts.models import Event, Part, Piece, Question
from parts.statuses import Move, Status
from tests.factories import NOW, make_part, make_piece, make_place

LATER = NOW + timedelta(days=3)


@pytest.fixture
def pipe(owner: Person, car: Car) -> Piece:
    return make_piece(car=car, by=owner, name="Pipe", place=make_place("Shelf A"))


@pytest.fixture
def bracket(owner: Person, car: Car) -> Piece:
    return make_piece(car=car, by=owner, name="Bracket", place=make_place("Rack"))


def join(piece: Piece, into: Part | None, by: Person, how: str = "bonded") -> None:
    judging.join(piece=piece, into=into, how=how, by=by, now=NOW)
    piece.refresh_from_db()


# ---- doubts


def test_a_doubt_is_asked_once_under_its_key(pipe: Piece, owner: Person) -> None:
    said = {"part": pipe.part, "key": uuid4(), "question": "Ours?", "asked_of": "The registrar"}

    first, again = (judging.doubt(by=owner, now=now, **said) for now in (NOW, LATER))

    assert first == again
    assert (again.asked_at, again.asked_of, again.settled_at) == (NOW, "The registrar", None)
    assert [event.says for event in Event.objects.filter(kind="doubt")] == ["Doubt: Ours?"]


@pytest.mark.parametrize("changed", [{"question": "Cracked?"}, {"asked_of": "Ade"}])
def test_another_doubt_under_the_same_key_is_refused_and_the_first_stays(
    pipe: Piece, owner: Person, changed: dict[str, str]
) -> None:
    said = {"part": pipe.part, "key": uuid4(), "question": "Ours?", "asked_of": ""}
    judging.doubt(by=owner, now=NOW, **said)

    with pytest.raises(judging.DoubtedAlready, match=r"saved already: Ours\?"):
        judging.doubt(by=owner, now=NOW, **said | changed)

    assert (Question.objects.get().question, Question.objects.get().asked_of) == ("Ours?", "")


def test_the_same_key_on_another_part_is_refused(
    pipe: Piece, bracket: Piece, owner: Person
) -> None:
    said = {"key": uuid4(), "question": "Ours?", "asked_of": ""}
    judging.doubt(part=pipe.part, by=owner, now=NOW, **said)

    with pytest.raises(judging.DoubtedAlready):
        judging.doubt(part=bracket.part, by=owner, now=NOW, **said)


def test_an_answer_may_leave_the_doubt_open_or_settle_it(pipe: Piece, owner: Person) -> None:
    doubt = judging.doubt(
        part=pipe.part, key=uuid4(), question="Ours?", asked_of="", by=owner, now=NOW
    )

    judging.answer(question=doubt, text="Asked again", settled=False, by=owner, now=NOW)
    assert list(Question.objects.unsettled()) == [doubt]
    judging.answer(question=doubt, text="Yes, 1969 on", settled=True, by=owner, now=LATER)

    doubt.refresh_from_db()
    assert (doubt.answer, doubt.settled_at) == ("Yes, 1969 on", LATER)
    assert [event.says for event in Event.objects.order_by("pk")][-2:] == [
        "Answer: Ours? Asked again",
        "Doubt settled: Ours? Yes, 1969 on",
    ]


# ---- joining


def test_a_joined_piece_lies_where_the_other_lies(
    pipe: Piece, bracket: Piece, owner: Person
) -> None:
    join(bracket, pipe.part, owner)

    assert (bracket.joined_into, bracket.joined_how, bracket.place) == (pipe, "bonded", pipe.place)
    assert Event.objects.latest("pk").text == f"Joined into {pipe}. bonded"


@pytest.mark.parametrize(
    "move", [Move.PUT_ON_BENCH, Move.LOSE, Move.KEEP_AS_PATTERN, Move.SCRAP, Move.CALL_READY]
)
def test_every_move_takes_along_what_is_joined(
    pipe: Piece, bracket: Piece, owner: Person, car: Car, move: Move
) -> None:
    clip = make_piece(car=car, by=owner, name="Clip")
    join(clip, bracket.part, owner)
    join(bracket, pipe.part, owner)

    pipe.move(move, by=owner, now=NOW)

    for piece in (bracket, clip):
        piece.refresh_from_db()
    assert bracket.status == clip.status == pipe.status != Status.OFF


def test_nothing_is_joined_to_no_part(bracket: Piece, owner: Person) -> None:
    with pytest.raises(judging.JoinRefused, match="Give the tag"):
        join(bracket, None, owner)


def test_nothing_is_joined_into_itself_not_even_round_a_corner(
    pipe: Piece, bracket: Piece, owner: Person, car: Car
) -> None:
    clip = make_piece(car=car, by=owner, name="Clip")
    join(bracket, pipe.part, owner)
    join(clip, bracket.part, owner)

    for piece, into in ((pipe, pipe), (pipe, bracket), (pipe, clip)):
        with pytest.raises(judging.JoinRefused, match="into itself"):
            join(piece, into.part, owner)

    pipe.refresh_from_db()
    assert pipe.joined_into is None


def test_pieces_in_different_hands_are_named_with_where_they_are(
    pipe: Piece, bracket: Piece, owner: Person
) -> None:
    pipe.move(Move.PUT_ON_BENCH, by=owner, now=NOW)

    with pytest.raises(judging.JoinRefused, match=f"{pipe.tag} is at bench and {bracket.tag} is"):
        join(bracket, pipe.part, owner)


def test_a_spare_goes_into_the_piece_that_is_to_be_fitted(
    pipe: Piece, bracket: Piece, owner: Person
) -> None:
    new = takeoff.add_piece(part=pipe.part, purpose="to_fit", by=owner, now=NOW)

    join(bracket, pipe.part, owner)

    assert bracket.joined_into == new


def test_taken_apart_it_goes_its_own_way(pipe: Piece, bracket: Piece, owner: Person) -> None:
    join(bracket, pipe.part, owner)

    judging.take_apart(piece=bracket, by=owner, now=NOW)
    pipe.move(Move.SCRAP, by=owner, now=NOW)

    bracket.refresh_from_db()
    assert (bracket.joined_into, bracket.joined_how, bracket.status) == (None, "", Status.OFF)
    assert Event.objects.filter(kind="take apart").get().text == f"Off {pipe}"


def test_taking_apart_what_is_not_joined_writes_nothing(bracket: Piece, owner: Person) -> None:
    judging.take_apart(piece=bracket, by=owner, now=NOW)

    assert not Event.objects.filter(kind="take apart").exists()


# ---- the bin (what is kept how long: test_bin)


def test_into_the_bin_and_out_again_stands_in_the_history(owner: Person, car: Car) -> None:
    part = make_part(car=car, by=owner, name="Ashtray")

    judging.throw_out(part=part, by=owner, now=NOW)
    part.refresh_from_db()
    assert part.thrown_out_at == NOW
    assert list(Part.objects.thrown_out()) == [part]

    judging.bring_back(part=part, by=owner, now=LATER)
    part.refresh_from_db()
    assert part.thrown_out_at is None
    assert [event.kind for event in Event.objects.filter(part=part).order_by("pk")][-2:] == [
        "throw out",
        "bring back",
    ]
