"""The one table of statuses: every pair is asked, and the docs show the same table."""

from pathlib import Path

import pytest

from parts import statuses
from parts.statuses import TRANSITIONS, Move, MoveNotAllowed, Status, next_status

DOC = Path(__file__).parents[2] / "docs" / "statuses.md"


def test_every_pair_of_status_and_move_is_either_in_the_table_or_refused() -> None:
    for status in Status:
        for move in Move:
            if move in TRANSITIONS[status]:
                assert next_status(status, move) in Status
            else:
                with pytest.raises(MoveNotAllowed, match=f"cannot {move}"):
                    next_status(status, move)


def test_every_status_can_be_left() -> None:
    assert {status for status in Status if not TRANSITIONS[status]} == set()


def test_every_status_can_be_reached_from_the_car() -> None:
    reached = {Status.ON_CAR}
    while True:
        further = {to for status in reached for to in TRANSITIONS[status].values()} | reached
        if further == reached:
            break
        reached = further

    assert reached == set(Status)


def test_nothing_goes_on_the_car_without_being_called_ready() -> None:
    for status, moves in TRANSITIONS.items():
        for move, to in moves.items():
            if to in statuses.FITTED and status not in statuses.FITTED:
                assert (status, move) in {
                    (Status.READY, Move.FIT_LOOSE),
                    (Status.READY, Move.TIGHTEN),
                }


def test_only_a_counted_or_taken_back_piece_leaves_a_finisher_for_the_shelf() -> None:
    leaving = {
        move
        for status in (Status.AT_FINISHER, Status.BACK)
        for move, to in TRANSITIONS[status].items()
        if to is Status.OFF
    }

    assert leaving == {Move.TAKE_BACK, Move.COUNT_IN}


def test_the_document_shows_the_table_of_the_code() -> None:
    assert statuses.as_markdown() in DOC.read_text()
