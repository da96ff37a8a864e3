import pytest

from garage.models import Car, Person
from parts import places, undo
from parts.models import Event, Piece
from parts.statuses import Move, Status
from tests import factories
from tests.factories import NOW


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return factories.make_piece(car=car, by=owner, place=places.find_or_make("Box 1"))


def test_taking_back_puts_every_field_back(piece: Piece, owner: Person) -> None:
    before = Piece.objects.filter(pk=piece.pk).values().get()

    event = piece.move(Move.SCRAP, by=owner, now=NOW)
    assert piece.place is None
    undo.undo(key=event.key, by=owner, now=NOW)

    assert Piece.objects.filter(pk=piece.pk).values().get() == before


def test_taking_back_is_itself_a_line_of_history(piece: Piece, owner: Person) -> None:
    event = piece.move(Move.LOSE, by=owner, now=NOW)

    back = undo.undo(key=event.key, by=owner, now=NOW)[0]

    assert (back.undoes, back.before, back.after) == (event, Status.MISSING, Status.OFF)


def test_nothing_is_taken_back_twice(piece: Piece, owner: Person) -> None:
    event = piece.move(Move.LOSE, by=owner, now=NOW)
    undo.undo(key=event.key, by=owner, now=NOW)

    with pytest.raises(undo.TooLate, match="already"):
        undo.undo(key=event.key, by=owner, now=NOW)


def test_it_is_too_late_once_the_piece_has_moved_on(piece: Piece, owner: Person) -> None:
    event = piece.move(Move.PUT_ON_BENCH, by=owner, now=NOW)
    piece.move(Move.SHELVE, by=owner, now=NOW)

    with pytest.raises(undo.TooLate, match="moved since"):
        undo.undo(key=event.key, by=owner, now=NOW)


def test_a_batch_is_taken_back_whole_or_not_at_all(owner: Person, car: Car) -> None:
    old, new = places.find_or_make("Box 1"), places.find_or_make("Box 2")
    pieces = [factories.make_piece(car=car, by=owner, place=old) for _ in range(3)]
    batch = places.put(pieces=pieces, place=new, by=owner, now=NOW)
    places.put(pieces=pieces[:1], place=old, by=owner, now=NOW)

    with pytest.raises(undo.TooLate):
        undo.undo(key=batch, by=owner, now=NOW)

    assert Piece.objects.in_place(new).count() == 2


def test_what_travels_with_a_piece_comes_back_with_it(owner: Person, car: Car) -> None:
    from parts import judging

    pipe, bracket = (factories.make_piece(car=car, by=owner, name=n) for n in ("Pipe", "Bracket"))
    judging.join(piece=bracket, into=pipe.part, how="bonded", by=owner, now=NOW)

    pipe.move(Move.PUT_ON_BENCH, by=owner, now=NOW)

    bracket.refresh_from_db()
    assert bracket.status == Status.AT_BENCH


def test_an_unknown_event_is_an_error(owner: Person) -> None:
    from uuid import uuid4

    with pytest.raises(Event.DoesNotExist):
        undo.undo(key=uuid4(), by=owner, now=NOW)
