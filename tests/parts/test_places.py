import pytest

from garage.models import Car, Person
from parts import places, undo
from parts.models import Piece, Place
from tests import factories
from tests.factories import NOW


def test_a_path_makes_what_is_new_and_finds_what_is_there(db: None) -> None:
    first = places.find_or_make("Shelf A / Box 3 / Bag 31")
    again = places.find_or_make(" shelf a/BOX 3 /bag 31 ")

    assert first == again
    assert [(p.path, p.kind) for p in Place.objects.all()] == [
        ("Shelf A", "shelf"),
        ("Shelf A / Box 3", "box"),
        ("Shelf A / Box 3 / Bag 31", "bag"),
    ]


def test_an_empty_path_is_no_place(db: None) -> None:
    with pytest.raises(places.PlaceRefused):
        places.find_or_make(" / ")


def test_a_box_moved_to_another_shelf_takes_its_bags_along(owner: Person, car: Car) -> None:
    bag = places.find_or_make("Shelf A / Box 3 / Bag 31")
    piece = factories.make_piece(car=car, by=owner, place=bag)
    shelf = places.find_or_make("Shelf B")

    places.rename(place=Place.objects.get(path="Shelf A / Box 3"), name="Crate", within=shelf)

    bag.refresh_from_db()
    assert bag.path == "Shelf B / Crate / Bag 31"
    assert list(Piece.objects.matching("crate bag")) == [piece]
    assert list(Piece.objects.in_place(shelf)) == [piece]


def test_a_place_cannot_stand_in_itself(db: None) -> None:
    places.find_or_make("Shelf A / Box 3")
    shelf, box = Place.objects.order_by("path")

    with pytest.raises(places.PlaceRefused, match="in itself"):
        places.rename(place=shelf, name="Shelf A", within=box)


def test_two_places_cannot_share_a_path(db: None) -> None:
    places.find_or_make("Shelf A / Box 3")
    other = places.find_or_make("Shelf A / Box 4")

    with pytest.raises(places.PlaceRefused, match="already"):
        places.rename(place=other, name="box 3", within=other.within)


def test_shelf_a_is_not_shelf_a_extra(owner: Person, car: Car) -> None:
    inside = factories.make_piece(car=car, by=owner, place=places.find_or_make("Shelf A / Box 1"))
    factories.make_piece(car=car, by=owner, place=places.find_or_make("Shelf A extra / Box 1"))

    assert list(Piece.objects.in_place(Place.objects.get(path="Shelf A"))) == [inside]


def test_many_put_away_at_once_are_taken_back_at_once(owner: Person, car: Car) -> None:
    old, new = places.find_or_make("Box 1"), places.find_or_make("Box 2")
    pieces = [factories.make_piece(car=car, by=owner, place=old) for _ in range(3)]

    batch = places.put(pieces=pieces, place=new, by=owner, now=NOW)
    assert Piece.objects.in_place(new).count() == 3

    undo.undo(key=batch, by=owner, now=NOW)
    assert Piece.objects.in_place(old).count() == 3
