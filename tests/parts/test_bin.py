"""Records in the bin: refused while out, kept 30 days, never let go when a sheet names them."""

from datetime import timedelta

import pytest

from garage.models import Car, Person, Photo
from parts import dropoff, judging, plan
from parts.models import Event, Part, Piece
from tests import factories
from tests.factories import NOW


def test_a_record_lies_in_the_bin_for_thirty_days_and_is_then_let_go(
    owner: Person, car: Car
) -> None:
    photo = factories.make_photo(by=owner)
    part = factories.make_part(car=car, by=owner, photos=[photo])
    judging.throw_out(part=part, by=owner, now=NOW)

    assert judging.let_go(now=NOW + timedelta(days=29)) == 0
    assert judging.let_go(now=NOW + timedelta(days=31)) == 1

    assert not Part.objects.exists()
    assert not Piece.objects.exists()
    assert not Event.objects.filter(part=part).exists()
    assert list(Photo.objects.waiting_on_a_form()) == [photo]  # the sweeper's, 30 days more


def test_what_was_brought_back_stays(owner: Person, car: Car) -> None:
    part = factories.make_part(car=car, by=owner)
    judging.throw_out(part=part, by=owner, now=NOW)
    judging.bring_back(part=part, by=owner, now=NOW)

    assert judging.let_go(now=NOW + timedelta(days=400)) == 0
    assert list(Part.objects.kept()) == [part]


def test_a_part_on_a_drop_off_cannot_be_thrown_out(owner: Person, car: Car) -> None:
    from uuid import uuid4

    piece = factories.make_piece(car=car, by=owner)
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["send_out"], work="blast", by=owner, now=NOW)
    batch = dropoff.start(
        key=uuid4(), car=car, finisher=factories.make_finisher(), pieces=[piece], by=owner, now=NOW
    )

    with pytest.raises(judging.ThrowOutRefused, match="on a drop-off"):
        judging.throw_out(part=piece.part, by=owner, now=NOW)

    batch.lines.all().delete()
    judging.throw_out(part=piece.part, by=owner, now=NOW)
    assert not Part.objects.kept().exists()


def test_a_part_a_sheet_names_is_never_let_go(owner: Person, car: Car) -> None:
    from uuid import uuid4

    piece = factories.make_piece(car=car, by=owner)
    batch = dropoff.start(
        key=uuid4(), car=car, finisher=factories.make_finisher(), pieces=[piece], by=owner, now=NOW
    )
    type(batch).objects.filter(pk=batch.pk).update(state="closed", handed_over_at=NOW)
    judging.throw_out(part=piece.part, by=owner, now=NOW)

    assert judging.let_go(now=NOW + timedelta(days=365)) == 0
    assert list(Part.objects.thrown_out()) == [piece.part]
