from itertools import pairwise
from uuid import uuid4

import pytest

from garage.models import Car, Person, Photo
from parts import takeoff
from parts.models import Event, Part, Piece
from parts.statuses import Status
from tests import factories
from tests.factories import NOW


def test_a_part_taken_off_has_a_tag_a_place_a_photo_and_its_turn(owner: Person, car: Car) -> None:
    place = factories.make_place("Shelf A / Box 3")
    photo = factories.make_photo(by=owner)

    part = factories.make_part(car=car, by=owner, name="Wiper motor", place=place, photos=[photo])

    piece = part.pieces.get()
    assert len(part.tag) == 3
    assert (piece.status, piece.place, piece.cover, piece.off_at) == (Status.OFF, place, photo, NOW)
    assert part.removal_order == 1
    assert Photo.objects.get().in_use


def test_parts_come_off_in_a_numbered_order_per_car(owner: Person, car: Car) -> None:
    other_car = factories.make_car(model="Roadster")

    turns = [factories.make_part(car=c, by=owner).removal_order for c in (car, car, other_car, car)]

    assert turns == [1, 2, 1, 3]


def test_a_part_still_on_the_car_gets_its_turn_when_it_comes_off(owner: Person, car: Car) -> None:
    listed = factories.make_part(car=car, by=owner, still_on_car=True)
    factories.make_part(car=car, by=owner)
    assert listed.removal_order is None

    takeoff.take_off(piece=listed.pieces.get(), place=None, by=owner, now=NOW)

    listed.refresh_from_db()
    assert listed.removal_order == 2
    assert listed.pieces.get().status == Status.OFF


def test_the_same_form_sent_twice_is_one_part(owner: Person, car: Car) -> None:
    key = uuid4()
    system = car.systems.first()

    first, again = (
        takeoff.log_part(key=key, car=car, system=system, name="Coil", by=owner, now=NOW)
        for _ in range(2)
    )

    assert first == again
    assert Part.objects.count() == 1
    assert Piece.objects.count() == 1


def test_a_used_form_with_another_part_on_it_is_refused(owner: Person, car: Car) -> None:
    key, system = uuid4(), car.systems.first()
    takeoff.log_part(key=key, car=car, system=system, name="Coil", by=owner, now=NOW)

    with pytest.raises(takeoff.FormUsedAlready, match="saved as"):
        takeoff.log_part(key=key, car=car, system=system, name="Starter", by=owner, now=NOW)

    assert Part.objects.count() == 1


def test_a_new_piece_to_be_fitted_makes_the_old_one_the_pattern(owner: Person, car: Car) -> None:
    part = factories.make_part(car=car, by=owner, name="Bypass pipe")
    old = part.pieces.get()

    made = takeoff.add_piece(part=part, purpose="to_fit", by=owner, now=NOW, origin="made here")

    old.refresh_from_db()
    assert (old.purpose, old.tag) == ("pattern", part.tag)
    assert (made.purpose, made.tag) == ("to_fit", f"{part.tag} b")
    assert made.status == Status.OFF


def test_history_replays_to_where_the_piece_is(owner: Person, car: Car) -> None:
    piece = factories.make_piece(car=car, by=owner)
    piece.move("put on the bench", by=owner, now=NOW)
    piece.move("put away", by=owner, now=NOW)

    moves = Event.objects.filter(piece=piece).exclude(after="").order_by("pk")
    assert [event.after for event in moves][-1] == piece.status
    assert all(one.after == two.before for one, two in pairwise(moves))


def test_a_photo_thrown_out_leaves_the_next_one_standing_for_the_piece(
    owner: Person, car: Car
) -> None:
    first, second = factories.make_photo(by=owner), factories.make_photo(by=owner, colour="#223344")
    piece = factories.make_piece(car=car, by=owner, photos=[first, second])
    assert piece.cover == second

    takeoff.throw_out_photo(shot=second.of_part, by=owner, now=NOW)

    piece.refresh_from_db()
    assert piece.cover == first
    assert Photo.objects.count() == 2  # the file is proof and stays
