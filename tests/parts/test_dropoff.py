import hashlib
from datetime import date, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from django.conf import settings

from garage.models import Car, Garage, Person
from parts import dropoff, sheets
from parts.dropoff import DropOffRefused
from parts.lines import MOST_LINES
from parts.models import DropOff, Event, Kind, Line, Piece, Progress
from parts.statuses import Move, Status
from tests import factories
from tests.factories import NOW
from tests.parts.batches import (
    DUE_ON,
    OUT_ON,
    bolt,
    change,
    count_line,
    make_building,
    make_out,
    make_waiting,
    send,
)


@pytest.fixture
def piece(car: Car, owner: Person) -> Piece:
    return make_waiting(car=car, by=owner, quantity=2)


# ---- being built


def test_numbers_count_up_and_are_not_given_twice(car: Car, owner: Person) -> None:
    first = make_building(car=car, by=owner, pieces=[])
    first.delete()
    second = make_building(car=car, by=owner, pieces=[])

    assert (first.number, second.number) == (1, 2)
    assert Garage.here().dropoffs_numbered == 2


def test_started_twice_with_one_key_it_is_one_dropoff(car: Car, owner: Person) -> None:
    finisher, key = factories.make_finisher(), uuid4()
    start = {"key": key, "car": car, "finisher": finisher, "by": owner, "now": NOW}

    first, second = dropoff.start(**start), dropoff.start(**start)

    assert first == second
    assert DropOff.objects.count() == 1


def test_a_line_takes_quantity_and_work_from_the_piece(
    car: Car, owner: Person, piece: Piece
) -> None:
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    assert (line.count, line.work, line.step) == (2, "blast,powder", piece.next_step)
    assert line.work_in_words == "Blast then powder coat"


def test_masks_come_from_the_fasteners_without_a_nut(car: Car, owner: Person, piece: Piece) -> None:
    bolt(piece, number=1, count=4, thread="M6")
    bolt(piece, number=2, count=2, thread="M6")
    bolt(piece, number=3, count=1, thread="M10", nut=True)

    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    assert [(m.count, str(m)) for m in line.masks.all()] == [(6, "threaded holes M6, plug")]


def test_a_stud_is_a_thread_outside(car: Car, owner: Person, piece: Piece) -> None:
    hole = bolt(piece, count=2)
    hole.stack.update(what="stud")

    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    assert str(line.masks.get()) == "threads outside M8, cap"


def test_a_piece_on_the_sheet_keeps_its_one_line(car: Car, owner: Person, piece: Piece) -> None:
    one = make_building(car=car, by=owner, pieces=[piece])

    added = dropoff.add_pieces(dropoff=one, pieces=[piece], by=owner, now=NOW)

    assert added == []
    assert one.lines.count() == 1


def test_a_piece_is_on_one_sheet_at_a_time(car: Car, owner: Person, piece: Piece) -> None:
    make_building(car=car, by=owner, pieces=[piece])

    with pytest.raises(DropOffRefused, match=f"{piece} is on Drop-off 1 already"):
        make_building(car=car, by=owner, pieces=[piece])
    assert DropOff.objects.count() == 1


def test_a_piece_on_the_car_cannot_be_put_on_a_sheet(car: Car, owner: Person) -> None:
    on_car = factories.make_piece(car=car, by=owner, still_on_car=True)

    with pytest.raises(DropOffRefused, match="cannot be sent: it is on car"):
        make_building(car=car, by=owner, pieces=[on_car])


def test_what_is_joined_into_another_piece_goes_with_that(
    car: Car, owner: Person, piece: Piece
) -> None:
    bracket = make_waiting(car=car, by=owner, name="Clip")
    bracket.change({"joined_into": piece})

    with pytest.raises(DropOffRefused, match=f"joined into {piece}"):
        make_building(car=car, by=owner, pieces=[bracket])


def test_a_piece_without_sending_out_in_its_plan_gets_that_step(car: Car, owner: Person) -> None:
    plain = factories.make_piece(car=car, by=owner)

    line = make_building(car=car, by=owner, pieces=[plain]).lines.get()

    plain.refresh_from_db()
    assert plain.next_step == line.step
    assert line.step.kind == Kind.SEND_OUT


def test_a_lot_sent_twice_is_one_line(car: Car, owner: Person) -> None:
    one, key = make_building(car=car, by=owner, pieces=[]), uuid4()

    for _ in range(2):
        dropoff.add_lot(
            dropoff=one,
            key=key,
            lot="Hinge bolts",
            count=24,
            weight_g=380,
            work="plate",
            by=owner,
            now=NOW,
        )

    line = one.lines.get()
    assert (line.name, line.count, line.weight_g) == ("Hinge bolts", 24, 380)


def test_more_than_there_are_cannot_be_sent(car: Car, owner: Person, piece: Piece) -> None:
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    with pytest.raises(DropOffRefused, match="is 2 in all: 3 cannot be sent"):
        change(line, by=owner, count=3)


def test_a_line_somebody_else_changed_is_not_overwritten(
    car: Car, owner: Person, piece: Piece
) -> None:
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()
    change(line, by=owner, grit="glass bead")

    with pytest.raises(DropOffRefused, match="somebody else wrote “glass bead”"):
        dropoff.change_line(line=line, changes={"grit": ("", "garnet")}, by=owner, now=NOW)
    assert Line.objects.get().grit == "glass bead"


def test_terms_somebody_else_changed_are_not_overwritten(car: Car, owner: Person) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    dropoff.change_terms(dropoff=one, changes={"colour": ("", "red")}, by=owner, now=NOW)

    with pytest.raises(DropOffRefused, match="Colour: somebody else wrote “red”"):
        dropoff.change_terms(dropoff=one, changes={"colour": ("", "black")}, by=owner, now=NOW)
    dropoff.change_terms(dropoff=one, changes={"gloss": ("", "30")}, by=owner, now=NOW)
    one.refresh_from_db()
    assert (one.colour, one.gloss) == ("red", "30")


def test_a_line_taken_off_lets_the_piece_wait_again(car: Car, owner: Person, piece: Piece) -> None:
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()
    waited = piece in Piece.objects.waiting_to_go_out()

    dropoff.take_line_off(line=line, by=owner, now=NOW)

    assert not waited
    assert piece in Piece.objects.waiting_to_go_out()


def test_a_sheet_has_a_limit_of_lines(car: Car, owner: Person) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    lot = {"dropoff": one, "lot": "Bolts", "count": 1, "by": owner, "now": NOW}
    for _ in range(MOST_LINES):
        dropoff.add_lot(key=uuid4(), **lot)

    with pytest.raises(DropOffRefused, match="Start another drop-off"):
        dropoff.add_lot(key=uuid4(), **lot)
    assert one.lines.count() == MOST_LINES


# ---- handed over


def test_handing_over_moves_every_piece_and_begins_its_step(
    car: Car, owner: Person, piece: Piece
) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])

    piece.refresh_from_db()
    assert (piece.status, piece.finisher, piece.place) == (Status.AT_FINISHER, one.finisher, None)
    assert piece.next_step.progress == Progress.DOING
    assert (one.state, one.hand_over_on, one.due_on) == (DropOff.State.OUT, OUT_ON, DUE_ON)
    assert set(Event.objects.filter(kind=Move.HAND_OVER).values_list("batch", flat=True)) == {
        one.key
    }


def test_what_is_joined_travels_with_the_piece(car: Car, owner: Person, piece: Piece) -> None:
    bracket = factories.make_piece(car=car, by=owner, name="Clip")
    bracket.change({"joined_into": piece})

    make_out(car=car, by=owner, pieces=[piece])

    bracket.refresh_from_db()
    assert bracket.status == Status.AT_FINISHER


def test_the_sheet_is_kept_with_its_digest(car: Car, owner: Person, piece: Piece) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])

    kept = dropoff.kept_sheet(one)
    assert one.sheet_file == "prints/dropoff-1-20261125.pdf"
    assert kept == Path(settings.SPLITPIN_DATA) / one.sheet_file
    assert kept.read_bytes().startswith(b"%PDF-")
    assert hashlib.sha256(kept.read_bytes()).hexdigest() == one.sheet_sha256
    assert not list(kept.parent.glob("*.part"))


def test_handed_over_twice_is_refused(car: Car, owner: Person, piece: Piece) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])

    with pytest.raises(DropOffRefused, match="Drop-off 1 was handed over already"):
        send(one, by=owner)


def test_a_piece_that_moved_meanwhile_stops_the_whole_batch(
    car: Car, owner: Person, piece: Piece
) -> None:
    other = make_waiting(car=car, by=owner, name="Fan blades")
    one = make_building(car=car, by=owner, pieces=[piece, other])
    other.move(Move.LOSE, by=owner, now=NOW)

    with pytest.raises(DropOffRefused, match=f"{other} cannot be sent: it is missing"):
        send(one, by=owner)
    piece.refresh_from_db()
    one.refresh_from_db()
    assert (piece.status, one.state) == (Status.OFF, DropOff.State.BUILDING)
    assert one.sheet_file == ""


def test_a_piece_that_moves_while_the_sheet_is_made_stops_the_batch(
    car: Car, owner: Person, piece: Piece, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = make_building(car=car, by=owner, pieces=[piece])
    really = sheets.dropoff_sheet

    def slowly(*args: object, **kwargs: object) -> bytes:
        pdf = really(*args, **kwargs)
        Piece.objects.get(pk=piece.pk).move(Move.LOSE, by=owner, now=NOW)
        return pdf

    monkeypatch.setattr(sheets, "dropoff_sheet", slowly)
    with pytest.raises(DropOffRefused, match="cannot be sent"):
        send(one, by=owner)
    one.refresh_from_db()
    assert one.is_being_built
    assert not list((Path(settings.SPLITPIN_DATA) / "prints").glob("*.part"))


def test_a_line_changed_while_the_sheet_is_made_stops_the_batch(
    car: Car, owner: Person, piece: Piece, monkeypatch: pytest.MonkeyPatch
) -> None:
    one = make_building(car=car, by=owner, pieces=[piece])
    really = sheets.dropoff_sheet

    def slowly(*args: object, **kwargs: object) -> bytes:
        pdf = really(*args, **kwargs)
        change(one.lines.get(), by=owner, grit="garnet")
        return pdf

    monkeypatch.setattr(sheets, "dropoff_sheet", slowly)
    with pytest.raises(DropOffRefused, match="changed meanwhile"):
        send(one, by=owner)
    piece.refresh_from_db()
    assert piece.status == Status.OFF


def test_an_empty_sheet_and_a_line_without_work_are_not_handed_over(
    car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    with pytest.raises(DropOffRefused, match="nothing on the sheet"):
        send(one, by=owner)

    dropoff.add_lot(dropoff=one, key=uuid4(), lot="Bolts", count=8, by=owner, now=NOW)
    with pytest.raises(DropOffRefused, match="Bolts: say what work is wanted"):
        send(one, by=owner)


def test_sending_two_of_four_leaves_two_at_home(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner, quantity=4)
    one = make_building(car=car, by=owner, pieces=[piece])
    change(one.lines.get(), by=owner, count=2)

    send(one, by=owner)

    piece.refresh_from_db()
    home = piece.split_off.get()
    assert (piece.quantity, piece.status) == (2, Status.AT_FINISHER)
    assert (home.quantity, home.status, home.notes) == (
        2,
        Status.OFF,
        f"Belongs to {piece.tag}, 2 of 4.",
    )
    assert home in Piece.objects.waiting_to_go_out()


def test_a_sheet_handed_over_does_not_change_any_more(
    car: Car, owner: Person, piece: Piece
) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])

    for verb in (
        lambda: change(one.lines.get(), by=owner, grit="sand"),
        lambda: dropoff.take_line_off(line=one.lines.get(), by=owner, now=NOW),
        lambda: dropoff.add_lot(dropoff=one, key=uuid4(), lot="x", count=1, by=owner, now=NOW),
        lambda: dropoff.change_terms(
            dropoff=one, changes={"colour": ("", "red")}, by=owner, now=NOW
        ),
    ):
        with pytest.raises(DropOffRefused, match="does not change any more"):
            verb()


# ---- taken back, started again, closed


def test_taking_back_puts_each_piece_where_it_lay_and_keeps_number_and_sheet(
    car: Car, owner: Person, piece: Piece
) -> None:
    place = piece.place
    one = make_out(car=car, by=owner, pieces=[piece])
    kept = dropoff.kept_sheet(one).read_bytes()

    dropoff.take_back(dropoff=one, because="shop is shut", by=owner, now=NOW)

    piece.refresh_from_db()
    one.refresh_from_db()
    assert (piece.status, piece.place, piece.finisher) == (Status.OFF, place, None)
    assert piece.next_step.progress == Progress.OPEN
    assert (one.state, one.number, one.closed_because) == (DropOff.State.VOID, 1, "shop is shut")
    assert dropoff.kept_sheet(one).read_bytes() == kept


def test_history_of_a_batch_taken_back_replays_to_the_state(
    car: Car, owner: Person, piece: Piece
) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])
    dropoff.take_back(dropoff=one, by=owner, now=NOW)
    piece.refresh_from_db()

    seen: dict[str, object] = {}
    for event in piece.events.order_by("pk"):
        for name, (before, after) in event.changes.items():
            assert seen.get(name, before) == before, f"{event.kind} starts from another {name}"
            seen[name] = after
    assert {name: getattr(piece, name) for name in ("status", "place_id", "finisher_id")} == {
        name: seen[name] for name in ("status", "place_id", "finisher_id")
    }


def test_what_is_partly_counted_cannot_be_taken_back(car: Car, owner: Person, piece: Piece) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])
    count_line(one.lines.get(), by=owner, good=1)

    with pytest.raises(DropOffRefused, match="counted back already"):
        dropoff.take_back(dropoff=one, by=owner, now=NOW)


def test_starting_again_copies_lines_masks_and_terms(car: Car, owner: Person, piece: Piece) -> None:
    one = make_building(car=car, by=owner, pieces=[piece], colour="satin black")
    mask = {"what": "earth", "count": 1, "thread": "", "how": "tape"}
    change(one.lines.get(), by=owner, grit="garnet", count=1, masks=[mask])
    dropoff.add_lot(
        dropoff=one, key=uuid4(), lot="Bolts", count=8, weight_g=90, work="plate", by=owner, now=NOW
    )
    dropoff.take_back(dropoff=send(one, by=owner), by=owner, now=NOW)

    new = dropoff.start_again(dropoff=one, key=uuid4(), by=owner, now=NOW)

    first, lot = new.lines.all()
    assert (new.number, new.colour, new.is_being_built) == (2, "satin black", True)
    assert (first.piece, first.grit, first.count, str(first.masks.get())) == (
        piece,
        "garnet",
        1,
        "earth point, tape",
    )
    assert (lot.lot, lot.count, lot.weight_g, lot.work) == ("Bolts", 8, 90, "plate")


def test_closing_with_something_uncounted_needs_a_reason(
    car: Car, owner: Person, piece: Piece
) -> None:
    one = make_out(car=car, by=owner, pieces=[piece])

    with pytest.raises(DropOffRefused, match="2 not counted yet"):
        dropoff.close(dropoff=one, by=owner, now=NOW)
    closed = dropoff.close(dropoff=one, because="the shop burnt down", by=owner, now=NOW)

    assert (closed.state, closed.closed_because) == (DropOff.State.CLOSED, "the shop burnt down")
    piece.refresh_from_db()
    assert piece.is_out


# ---- how long it takes


def test_due_is_what_they_say_until_something_came_back(car: Car, owner: Person) -> None:
    finisher = factories.make_finisher()

    assert dropoff.really_takes_days(finisher) is None
    assert dropoff.due_day(finisher, handed_over=date(2026, 11, 27)) == date(2026, 12, 7)


def test_due_is_the_median_of_how_long_it_really_took(car: Car, owner: Person) -> None:
    finisher = factories.make_finisher()
    for days in (3, 20, 13):
        one = make_building(
            car=car, by=owner, finisher=finisher, pieces=[make_waiting(car=car, by=owner)]
        )
        send(one, by=owner)
        count_line(one.lines.get(), by=owner, good=1, days=days)

    # 13 is the middle of 3, 13, 20 by the definition of the median.
    assert dropoff.really_takes_days(finisher) == 13
    assert dropoff.due_day(finisher, handed_over=OUT_ON) == OUT_ON + timedelta(days=13)


def test_nobody_knows_when_it_is_due_if_nobody_asked(car: Car, owner: Person) -> None:
    finisher = factories.make_finisher()
    finisher.lead_days = None

    assert dropoff.due_day(finisher, handed_over=OUT_ON) is None
