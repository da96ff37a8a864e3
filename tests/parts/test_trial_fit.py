"""A remade piece is tried on the car before it is coated; when it does not fit, work reopens."""

from datetime import timedelta
from uuid import uuid4

from garage.models import Car, Person
from parts import plan
from parts.models import Kind, Piece
from parts.refit import trial_fit_done
from parts.undo import undo
from tests.factories import NOW, make_piece

LATER = NOW + timedelta(hours=1)


def make_trial(car: Car, owner: Person) -> Piece:
    piece = make_piece(car=car, by=owner, name="Bypass pipe")
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["remake"], by=owner, now=NOW)
    plan.finish(step=piece.steps.get(kind=Kind.REMAKE), by=owner, now=NOW)
    return Piece.objects.get(pk=piece.pk)


def test_a_trial_fit_that_fits_goes_on_to_the_coat(car: Car, owner: Person) -> None:
    piece = make_trial(car, owner)

    event = trial_fit_done(step=piece.next_step, fits=True, by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.next_step.kind == Kind.SEND_OUT
    undo(key=event.key, by=owner, now=LATER)
    piece.refresh_from_db()
    assert piece.next_step.kind == Kind.TRIAL_FIT


def test_a_trial_fit_that_does_not_fit_opens_the_work_before_it(car: Car, owner: Person) -> None:
    piece = make_trial(car, owner)

    event = trial_fit_done(
        step=piece.next_step, fits=False, because="touches the fan", by=owner, now=NOW
    )

    piece.refresh_from_db()
    assert (piece.next_step.kind, piece.next_step.why) == (Kind.REMAKE, "touches the fan")
    assert "touches the fan" in event.text
    undo(key=event.key, by=owner, now=LATER)
    piece.refresh_from_db()
    assert piece.next_step.kind == Kind.TRIAL_FIT


def test_with_no_work_before_it_a_repair_is_put_in(car: Car, owner: Person) -> None:
    piece = make_piece(car=car, by=owner)
    trial = plan.add_step(piece=piece, key=uuid4(), kind=Kind.TRIAL_FIT, by=owner, now=NOW)

    assert trial_fit_done(step=trial, fits=False, because="too long", by=owner, now=NOW) is None

    piece.refresh_from_db()
    assert (piece.next_step.kind, piece.next_step.what) == (Kind.REPAIR, "too long")
