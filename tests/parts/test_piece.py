"""Named sets of pieces, each against a plain reading of what it means; and moving one."""

from collections.abc import Callable
from datetime import timedelta
from itertools import product
from random import Random
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import judging, plan, requirements, takeoff
from parts.models import Event, Finisher, Part, Piece, Requirement, Step
from parts.models.piece_sets import PieceQuerySet
from parts.statuses import TRANSITIONS, Move, MoveNotAllowed, Status
from tests.factories import NOW, make_car, make_finisher, make_part, make_piece, make_place
from tests.parts import batches


def tags(pieces: PieceQuerySet) -> set[str]:
    return {piece.tag for piece in pieces}


def a_finisher() -> Finisher:
    return Finisher.objects.first() or make_finisher()


def stand(piece: Piece, status: Status) -> Piece:
    """The piece as if it had come to ``status``; only for sets that read nothing else."""
    finisher = a_finisher() if status in (Status.AT_FINISHER, Status.BACK) else None
    Piece.objects.filter(pk=piece.pk).update(status=status, finisher=finisher)
    piece.refresh_from_db()
    return piece


@pytest.fixture
def one_of_each(owner: Person, car: Car) -> dict[Status, Piece]:
    return {
        status: stand(make_piece(car=car, by=owner, name=status.label), status) for status in Status
    }


# ---- by status


@pytest.mark.parametrize(
    ("asked", "statuses"),
    [
        (PieceQuerySet.on_the_car, {"on_car"}),
        (PieceQuerySet.at_finisher, {"at_finisher", "back"}),
        (PieceQuerySet.not_counted, {"back"}),
        (PieceQuerySet.on_the_bench, {"at_bench"}),
        (PieceQuerySet.off_the_bench, set(Status.values) - {"at_bench"}),
        (PieceQuerySet.ready, {"ready"}),
        (PieceQuerySet.fitted, {"fitted_loose", "fitted_tight"}),
        (PieceQuerySet.loose, {"fitted_loose"}),
        (PieceQuerySet.missing, {"missing"}),
        (PieceQuerySet.in_work, {"at_bench", "at_finisher", "back"}),
        (PieceQuerySet.to_be_judged, {"off", "at_bench"}),
        (PieceQuerySet.can_be_sent, {"off", "at_bench", "ready"}),
        (PieceQuerySet.on_a_dropoff, {"at_finisher", "back"}),
    ],
)
def test_each_set_holds_just_the_statuses_its_name_says(
    one_of_each: dict[Status, Piece],
    asked: Callable[[PieceQuerySet], PieceQuerySet],
    statuses: set[str],
) -> None:
    assert {piece.status for piece in asked(Piece.objects.all())} == statuses


def test_what_is_gone_for_good_has_no_next_step_to_do(one_of_each: dict[Status, Piece]) -> None:
    for piece in one_of_each.values():
        step = Step.objects.create(key=uuid4(), piece=piece, position=1, kind="buy")
        Piece.objects.filter(pk=piece.pk).update(next_step=step)

    found = {piece.status for piece in Piece.objects.next_is("buy", "repair")}

    assert found == set(Status.values) - {"scrapped", "sold"}
    assert not Piece.objects.next_is("repair").exists()


# ---- by what it is for, whose it is, where it lies


def test_cars_the_bin_and_what_is_to_be_fitted(owner: Person, car: Car) -> None:
    mine = make_piece(car=car, by=owner)
    theirs = make_piece(car=make_car(model="Roadster"), by=owner)
    thrown = make_piece(car=car, by=owner)
    judging.throw_out(part=thrown.part, by=owner, now=NOW)
    new = takeoff.add_piece(part=mine.part, purpose="to_fit", by=owner, now=NOW)

    assert tags(Piece.objects.of(car)) == {mine.tag, new.tag, thrown.tag}
    assert tags(Piece.objects.kept()) == {mine.tag, new.tag, theirs.tag}
    assert tags(Piece.objects.of(car).kept().to_fit()) == {new.tag}
    assert tags(Piece.objects.beside()) == {mine.tag}


def test_a_place_holds_what_stands_in_it_and_not_its_namesake(owner: Person, car: Car) -> None:
    bag, crate = make_place("Shelf A / Box 1 / Bag 2"), make_place("Shelf A / Box 10")
    inside = make_piece(car=car, by=owner, place=bag)
    beside = make_piece(car=car, by=owner, place=crate)
    make_piece(car=car, by=owner)

    assert tags(Piece.objects.in_place(make_place("Shelf A / Box 1"))) == {inside.tag}
    assert tags(Piece.objects.in_place(make_place("Shelf A"))) == {inside.tag, beside.tag}


def test_every_word_is_looked_for_in_the_part_or_in_its_place(owner: Person, car: Car) -> None:
    hub = make_piece(
        car=car, by=owner, name="Radnabe links", makers_number="22A-416", place=make_place("Rack")
    )
    make_piece(car=car, by=owner, name="Radnabe rechts", place=make_place("Shelf A"))

    for typed in ("radnabe rack", "RADNABE links", "22a-416", hub.tag.lower(), " links  rack "):
        assert tags(Piece.objects.matching(typed)) == {hub.tag}, typed
    assert tags(Piece.objects.matching("radnabe")) != {hub.tag}
    assert not Piece.objects.matching("radnabe bench").exists()
    assert Piece.objects.matching("").count() == 2


@pytest.mark.parametrize(
    ("numbers", "found"),
    [
        (["{0}", "{1}"], 2),
        (["{0}", "{0}"], 1),
        (["{0}", "abc", "", "-1", "1.0", " {0}"], 1),
        (["9" * 40, "²", "½"], 0),
        ([], 0),
    ],
)
def test_ticks_that_are_no_numbers_are_left_out(
    owner: Person, car: Car, numbers: list[str], found: int
) -> None:
    pieces = [make_piece(car=car, by=owner) for _ in range(2)]

    typed = [number.format(*(piece.pk for piece in pieces)) for number in numbers]

    assert Piece.objects.numbered(typed).count() == found


def test_a_tag_as_it_is_stamped_finds_its_piece(owner: Person, car: Car) -> None:
    first = make_piece(car=car, by=owner)
    second = takeoff.add_piece(part=first.part, purpose="spare", by=owner, now=NOW)

    assert Piece.objects.tagged(first.part.tag) == first
    assert Piece.objects.tagged(f"{first.part.tag}B") == second
    assert Piece.objects.tagged(f"{first.part.tag}C") is None
    assert Piece.objects.tagged("") is None


def test_the_newest_part_stands_first_and_its_pieces_by_letter(owner: Person, car: Car) -> None:
    old, new = (make_part(car=car, by=owner) for _ in range(2))
    takeoff.add_piece(part=old, purpose="spare", by=owner, now=NOW)

    assert [piece.tag for piece in Piece.objects.newest_first()] == [
        new.tag,
        old.tag,
        f"{old.tag} b",
    ]


def test_a_row_asks_once_for_everything_it_shows(
    owner: Person, car: Car, django_assert_num_queries: object
) -> None:
    for _ in range(2):
        piece = make_piece(car=car, by=owner, place=make_place("Rack"))
        plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["buy"], by=owner, now=NOW)

    with django_assert_num_queries(1):
        for piece in Piece.objects.for_rows():
            said = (piece.tag, piece.part.name, piece.whereabouts, piece.next_step.says)
            assert all(said)
            assert piece.cover is None


def test_what_waits_to_go_out_is_off_judged_and_on_no_sheet(owner: Person, car: Car) -> None:
    waiting = batches.make_waiting(car=car, by=owner)
    on_sheet = batches.make_waiting(car=car, by=owner)
    batches.make_building(car=car, by=owner, pieces=[on_sheet])
    joined = batches.make_waiting(car=car, by=owner)
    judging.join(piece=joined, into=waiting.part, how="", by=owner, now=NOW)
    make_piece(car=car, by=owner)

    assert tags(Piece.objects.waiting_to_go_out()) == {waiting.tag}
    assert tags(Piece.objects.on_a_dropoff()) == {on_sheet.tag}


def test_bare_steel_is_what_was_blasted_and_has_no_coat(owner: Person, car: Car) -> None:
    bare, _ = (make_piece(car=car, by=owner) for _ in range(2))
    bare.change({"bare_since": NOW - timedelta(hours=2)})

    assert tags(Piece.objects.bare()) == {bare.tag}


# ---- what can go on the car


ON_THE_CAR = {"on_car", "fitted_loose", "fitted_tight"}


def may_go_on(piece: Piece) -> bool:
    """The rule as a person would say it, asked of one piece at a time."""
    if piece.status != "ready":
        return False
    if piece.joined_into and piece.joined_into.status not in ON_THE_CAR:
        return False
    for needed in Requirement.objects.filter(then=piece.part):
        first: Part = needed.first
        to_fit = [one for one in first.pieces.all() if one.purpose == "to_fit"]
        if first.thrown_out_at is None and any(one.status not in ON_THE_CAR for one in to_fit):
            return False
    return True


@pytest.mark.parametrize("seed", range(12))
def test_what_can_go_on_is_what_a_person_would_name(owner: Person, car: Car, seed: int) -> None:
    rng = Random(seed)
    pieces = [make_piece(car=car, by=owner, name=f"Part {n}") for n in range(14)]
    for piece in pieces:
        stand(piece, rng.choice([*Status, *[Status.READY] * 12, Status.FITTED_TIGHT]))
        if rng.random() < 0.3:
            extra = takeoff.add_piece(part=piece.part, purpose="spare", by=owner, now=NOW)
            stand(extra, rng.choice(list(Status)))
    for first, then in product(range(14), repeat=2):
        if first < then and rng.random() < 0.12:
            requirements.require(
                first=pieces[first].part, then=pieces[then].part, by=owner, now=NOW
            )
    for piece in rng.sample(pieces, 3):
        Piece.objects.filter(pk=piece.pk).update(joined_into=pieces[rng.randrange(14)])
        Piece.objects.filter(joined_into=piece.pk, pk=piece.pk).update(joined_into=None)
    for piece in rng.sample(pieces, 2):
        Part.objects.filter(pk=piece.part_id).update(thrown_out_at=NOW)

    found = tags(Piece.objects.clear_to_go_on())

    assert found == {piece.tag for piece in Piece.objects.all() if may_go_on(piece)}
    assert found


@pytest.mark.parametrize("status", list(Status))
def test_loose_counts_as_on_and_a_missing_part_holds_the_next_one_up(
    owner: Person, car: Car, status: Status
) -> None:
    first, then = (make_piece(car=car, by=owner) for _ in range(2))
    requirements.require(first=first.part, then=then.part, by=owner, now=NOW)
    stand(then, Status.READY)
    stand(first, status)

    assert (then in Piece.objects.clear_to_go_on()) is (status in ON_THE_CAR)


# ---- moving one


@pytest.mark.parametrize(("status", "move"), list(product(Status, Move)))
def test_a_move_is_made_when_the_table_has_it_and_refused_when_not(
    owner: Person, car: Car, status: Status, move: Move
) -> None:
    piece = stand(make_piece(car=car, by=owner), status)
    written = Event.objects.count()

    if move in TRANSITIONS[status]:
        fields = {"finisher": a_finisher()} if move is Move.HAND_OVER else {}
        event = piece.move(move, by=owner, now=NOW, note="Why", **fields)
        assert piece.status == TRANSITIONS[status][move]
        assert (event.before, event.after, event.text) == (status, piece.status, "Why")
    else:
        with pytest.raises(MoveNotAllowed, match=f"You cannot {move} a piece that is"):
            piece.move(move, by=owner, now=NOW)
        assert Event.objects.count() == written
        piece.refresh_from_db()
        assert piece.status == status


def test_a_move_says_where_the_piece_is_afterwards(owner: Person, car: Car) -> None:
    piece = make_piece(car=car, by=owner, place=make_place("Rack"))
    told = [piece.whereabouts]
    for move in (Move.LOSE, Move.FIND, Move.CALL_READY, Move.FIT_LOOSE, Move.TAKE_OFF, Move.SELL):
        piece.move(move, by=owner, now=NOW)
        told.append(piece.whereabouts)

    assert told == ["Rack", "Last seen Rack", "Rack", "Rack", "On the car", "Not put away", "Gone"]


def test_a_change_names_only_what_really_changed(owner: Person, car: Car) -> None:
    rack = make_place("Rack")
    piece = make_piece(car=car, by=owner, place=rack)

    assert piece.change({"place": rack, "quantity": 1}) == {}
    assert piece.change({"place": None, "quantity": 2, "bare_since": NOW}) == {
        "place_id": [rack.pk, None],
        "quantity": [1, 2],
        "bare_since": [None, NOW.isoformat()],
    }
