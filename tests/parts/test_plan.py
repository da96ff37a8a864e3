from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import plan
from parts.models import Event, Kind, Piece, Progress
from parts.statuses import Move, Status
from tests import factories
from tests.factories import NOW


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return factories.make_piece(car=car, by=owner)


def judged(piece: Piece, owner: Person, route: str, **fields: str) -> Piece:
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE[route], by=owner, now=NOW, **fields)
    piece.refresh_from_db()
    return piece


def kinds(piece: Piece) -> list[tuple[str, str]]:
    return [(step.kind, step.progress) for step in piece.steps.all()]


def test_judging_writes_the_route_card_and_points_at_the_first_step(
    piece: Piece, owner: Person
) -> None:
    judged(piece, owner, "send_out", work="blast,powder")

    assert kinds(piece) == [("send_out", "open"), ("prepare", "open"), ("refit", "open")]
    assert piece.next_step.work_in_words == "Blast then powder coat"
    assert not piece.is_undecided


def test_a_piece_with_only_refit_left_is_ready(piece: Piece, owner: Person) -> None:
    judged(piece, owner, "refit")
    assert piece.status == Status.OFF

    plan.finish(step=piece.next_step, by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.status == Status.READY
    assert piece.next_step.kind == Kind.REFIT


def test_a_further_step_takes_ready_away_again(piece: Piece, owner: Person) -> None:
    judged(piece, owner, "refit")
    plan.finish(step=piece.next_step, by=owner, now=NOW)

    plan.add_step(piece=piece, key=uuid4(), kind=Kind.REPAIR, by=owner, now=NOW, what="stud")

    piece.refresh_from_db()
    assert piece.status == Status.OFF
    assert kinds(piece)[-2:] == [("repair", "open"), ("refit", "open")]


def test_beginning_bench_work_puts_the_piece_on_the_bench(piece: Piece, owner: Person) -> None:
    judged(piece, owner, "repair")

    plan.begin(step=piece.next_step, by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.status == Status.AT_BENCH
    assert piece.next_step.progress == Progress.DOING


def test_cost_and_time_stand_on_the_step_and_in_the_history(piece: Piece, owner: Person) -> None:
    judged(piece, owner, "repair")

    event = plan.finish(
        step=piece.next_step, by=owner, now=NOW, cost=Decimal("4.20"), minutes=85, note="insert M8"
    )

    step = piece.steps.get(kind="repair")
    assert (step.cost, step.minutes, step.who) == (Decimal("4.20"), 85, owner.name)
    assert (event.cost, event.minutes) == (Decimal("4.20"), 85)


def test_a_step_cannot_be_done_twice(piece: Piece, owner: Person) -> None:
    step = judged(piece, owner, "repair").next_step
    plan.finish(step=step, by=owner, now=NOW)

    with pytest.raises(plan.StepRefused, match="done already"):
        plan.finish(step=step, by=owner, now=NOW)

    assert Event.objects.filter(kind="step done").count() == 1


def test_a_step_left_needs_no_doing_and_keeps_its_reason(piece: Piece, owner: Person) -> None:
    step = judged(piece, owner, "repair").next_step

    plan.leave(step=step, because="it is sound after all", by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.steps.get(kind="repair").why == "it is sound after all"
    assert piece.status == Status.READY


def test_opening_a_step_again_takes_the_piece_back_to_it(piece: Piece, owner: Person) -> None:
    step = judged(piece, owner, "repair").next_step
    plan.finish(step=step, by=owner, now=NOW)

    plan.reopen(step=step, by=owner, now=NOW, why="cracked again")

    piece.refresh_from_db()
    assert (piece.next_step, piece.status) == (step, Status.OFF)


def test_judging_anew_leaves_the_steps_nobody_did(piece: Piece, owner: Person) -> None:
    judged(piece, owner, "repair")
    judged(piece, owner, "buy")

    assert kinds(piece) == [
        ("repair", "left"),
        ("refit", "left"),
        ("buy", "open"),
        ("refit", "open"),
    ]
    assert piece.next_step.kind == Kind.BUY


def test_steps_still_to_do_change_places_and_done_ones_stay(piece: Piece, owner: Person) -> None:
    judged(piece, owner, "repair_send", work="blast")
    send = piece.steps.get(kind="send_out")

    plan.shift(step=send, up=True, by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.next_step == send
    plan.finish(step=piece.steps.get(kind="repair"), by=owner, now=NOW)
    with pytest.raises(plan.StepRefused):
        plan.shift(step=send, up=True, by=owner, now=NOW)


def test_the_same_step_form_sent_twice_is_one_step(piece: Piece, owner: Person) -> None:
    key = uuid4()
    for _ in range(2):
        plan.add_step(piece=piece, key=key, kind=Kind.CLEAN, by=owner, now=NOW)

    assert piece.steps.count() == 1


def test_a_spare_with_only_refit_left_is_not_called_ready(owner: Person, car: Car) -> None:
    from parts.takeoff import add_piece

    part = factories.make_part(car=car, by=owner)
    spare = add_piece(part=part, purpose="spare", by=owner, now=NOW)

    judged(spare, owner, "refit")
    plan.finish(step=spare.next_step, by=owner, now=NOW + timedelta(hours=1))

    spare.refresh_from_db()
    assert spare.status == Status.OFF


def test_painting_at_home_ends_bare_steel(piece: Piece, owner: Person) -> None:
    piece.change({"bare_since": NOW})
    judged(piece, owner, "finish")
    plan.finish(step=piece.next_step, by=owner, now=NOW)
    assert Piece.objects.bare().exists()

    plan.finish(step=piece.steps.get(kind="finish_home"), by=owner, now=NOW)

    assert not Piece.objects.bare().exists()


def test_a_move_the_table_does_not_know_changes_nothing(piece: Piece, owner: Person) -> None:
    before = Event.objects.count()

    with pytest.raises(Exception, match="cannot tighten"):
        piece.move(Move.TIGHTEN, by=owner, now=NOW)

    piece.refresh_from_db()
    assert (piece.status, Event.objects.count()) == (Status.OFF, before)
