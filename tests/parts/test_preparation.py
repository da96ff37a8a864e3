"""Between coating and refit: a checklist whose last tick makes the piece ready."""

from datetime import timedelta
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import plan
from parts.models import Hole, Kind, Piece, Preparation, Progress, StackItem
from parts.preparation import (
    PreparationRefused,
    add_preparation,
    all_prepared,
    list_renewals,
    renewals,
    tick_preparation,
)
from parts.refit import fit_tight
from parts.statuses import Move, Status
from parts.undo import undo
from tests.factories import NOW, make_finisher, make_piece

LATER = NOW + timedelta(hours=1)


@pytest.fixture
def piece(car: Car, owner: Person) -> Piece:
    """A piece that was coated: prepare and refit are left."""
    piece = make_piece(car=car, by=owner, name="Battery tray")
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["send_out"], by=owner, now=NOW)
    plan.finish(step=piece.steps.get(kind=Kind.SEND_OUT), by=owner, now=NOW)
    return Piece.objects.get(pk=piece.pk)


def add(piece: Piece, by: Person, text: str = "Chase 2 threads M8") -> Preparation:
    return add_preparation(
        piece=piece, key=uuid4(), what="chase", text=text, count=2, by=by, now=NOW
    )


def test_the_last_tick_makes_the_piece_ready(piece: Piece, owner: Person) -> None:
    chase, earth = add(piece, owner), add(piece, owner, "Clear the earth")
    tick_preparation(preparation=chase, done=True, by=owner, now=NOW)
    piece.refresh_from_db()
    assert piece.status == Status.OFF

    tick_preparation(preparation=earth, done=True, by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.status == Status.READY
    assert piece.steps.get(kind=Kind.PREPARE).progress == Progress.DONE
    assert piece.next_step.kind == Kind.REFIT


@pytest.mark.parametrize("on_bench", [False, True])
def test_the_last_tick_is_taken_back_whole(piece: Piece, owner: Person, on_bench: bool) -> None:
    if on_bench:
        piece.move(Move.PUT_ON_BENCH, by=owner, now=NOW)
    before = piece.state
    line = add(piece, owner)
    event = tick_preparation(preparation=line, done=True, by=owner, now=NOW)
    assert event is not None

    undo(key=event.key, by=owner, now=LATER)

    piece.refresh_from_db()
    line.refresh_from_db()
    assert (piece.state, line.done_at) == (before, None)
    assert piece.next_step.kind == Kind.PREPARE


def test_a_double_tap_ticks_once(piece: Piece, owner: Person) -> None:
    line = add(piece, owner)

    assert tick_preparation(preparation=line, done=True, by=owner, now=NOW) is not None
    assert tick_preparation(preparation=line, done=True, by=owner, now=LATER) is None
    assert line.done_at == NOW


def test_unticked_the_piece_is_to_be_prepared_again(piece: Piece, owner: Person) -> None:
    line = add(piece, owner)
    tick_preparation(preparation=line, done=True, by=owner, now=NOW)

    tick_preparation(preparation=line, done=False, by=owner, now=LATER)

    piece.refresh_from_db()
    assert (piece.state, piece.next_step.kind) == (Status.OFF, Kind.PREPARE)


def test_a_line_added_to_a_ready_piece_holds_it_back(piece: Piece, owner: Person) -> None:
    all_prepared(piece=piece, by=owner, now=NOW)
    piece.refresh_from_db()
    assert piece.status == Status.READY

    add(piece, owner)

    piece.refresh_from_db()
    assert (piece.state, piece.next_step.kind) == (Status.OFF, Kind.PREPARE)


def test_the_same_form_twice_adds_one_line(piece: Piece, owner: Person) -> None:
    fields = {"piece": piece, "key": uuid4(), "what": "bore", "text": "Clear the drain", "count": 1}

    first = add_preparation(**fields, by=owner, now=NOW)
    second = add_preparation(**fields, by=owner, now=LATER)

    assert first == second
    assert Preparation.objects.count() == 1


def test_it_is_not_prepared_while_a_line_is_left(piece: Piece, owner: Person) -> None:
    add(piece, owner)

    with pytest.raises(PreparationRefused, match="1 on the list still to do"):
        all_prepared(piece=piece, by=owner, now=NOW)


def test_a_piece_that_is_out_cannot_be_prepared(piece: Piece, owner: Person) -> None:
    line = add(piece, owner)
    piece.move(Move.HAND_OVER, by=owner, now=NOW, finisher=make_finisher())

    with pytest.raises(PreparationRefused, match="out"):
        tick_preparation(preparation=line, done=True, by=owner, now=NOW)


def test_a_piece_on_the_car_keeps_its_ticks(piece: Piece, owner: Person) -> None:
    line = add(piece, owner)
    tick_preparation(preparation=line, done=True, by=owner, now=NOW)
    piece.refresh_from_db()
    fit_tight(piece=piece, by=owner, now=NOW)

    with pytest.raises(PreparationRefused):
        tick_preparation(preparation=line, done=False, by=owner, now=LATER)


def test_fasteners_to_renew_are_counted_by_sort(piece: Piece, owner: Person) -> None:
    for number, count in ((1, 2), (2, 1)):
        hole = Hole.objects.create(key=uuid4(), part=piece.part, number=number, count=count)
        for place, (what, treatment) in enumerate([("bolt", "clean"), ("nut", "renew")]):
            StackItem.objects.create(
                hole=hole, position=place, what=what, thread="M8", treatment=treatment
            )

    assert renewals(piece) == {"nut M8": 3}

    list_renewals(piece=piece, by=owner, now=NOW)
    list_renewals(piece=piece, by=owner, now=LATER)

    assert [row.text for row in piece.preparations.all()] == ["New: 3 × nut M8"]
