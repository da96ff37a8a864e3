from datetime import timedelta
from decimal import Decimal
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import countback, dropoff, invoices
from parts.countback import CountedAlready
from parts.dropoff import DropOffRefused
from parts.models import Count, DropOff, Kind, Line, PartPhoto, Piece, Preparation, Progress
from parts.statuses import Status
from tests import factories
from tests.factories import NOW
from tests.parts.batches import (
    bolt,
    change,
    count_line,
    make_building,
    make_out,
    make_waiting,
    send,
    tally,
)

LATER = NOW + timedelta(days=5)


def _out(car: Car, by: Person, **fields: object) -> tuple[Piece, Line]:
    piece = make_waiting(car=car, by=by, **fields)
    one = make_out(car=car, by=by, pieces=[piece])
    return piece, one.lines.get()


# ---- what an answer does


def test_good_is_off_in_its_place_with_the_step_done(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)
    place = factories.make_place("Shelf C")

    count_line(line, by=owner, place=place, good=1)

    piece.refresh_from_db()
    line.step.refresh_from_db()
    assert (piece.status, piece.place, piece.finisher) == (Status.OFF, place, None)
    assert (line.step.progress, line.step.who) == (Progress.DONE, "Scarrow Coatings")
    assert piece.next_step.kind == Kind.PREPARE
    assert DropOff.objects.get().state == DropOff.State.CLOSED


def test_to_be_redone_opens_the_step_again_with_the_reason(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)

    count_line(line, by=owner, redo=1, note="runs on the edge")

    piece.refresh_from_db()
    assert (piece.status, piece.next_step, piece.next_step.progress) == (
        Status.OFF,
        line.step,
        Progress.OPEN,
    )
    assert piece.next_step.why == "runs on the edge"
    assert piece in Piece.objects.waiting_to_go_out()


def test_missing_is_reported_missing(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)

    count_line(line, by=owner, missing=1)

    piece.refresh_from_db()
    assert (piece.status, piece.finisher) == (Status.MISSING, None)


def test_found_unsound_is_to_be_judged_again(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)

    count_line(line, by=owner, unsound=1, note="cracked at the web")

    piece.refresh_from_db()
    assert piece.is_undecided
    assert piece in Piece.objects.to_be_judged()
    assert set(piece.steps.values_list("progress", "why")) == {(Progress.LEFT, "found unsound")}
    assert "cracked at the web" in piece.events.get(kind="found unsound").text


def test_the_same_piece_goes_out_again_after_it_was_to_be_redone(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)
    count_line(line, by=owner, redo=1)

    again = make_out(car=car, by=owner, pieces=[piece])
    count_line(again.lines.get(), by=owner, good=1)

    piece.refresh_from_db()
    assert piece.lines.count() == 2
    assert piece.steps.get(kind=Kind.SEND_OUT).progress == Progress.DONE


def test_a_photo_on_return_belongs_to_the_piece(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)
    photo = factories.make_photo(by=owner)

    count_line(line, by=owner, redo=1, note="bare spot", photo=photo)

    shot = PartPhoto.objects.get(photo=photo)
    assert (shot.piece, shot.moment, shot.caption) == (piece, "back", "bare spot")
    photo.refresh_from_db()
    assert photo.in_use


# ---- bare steel


def test_steel_that_comes_back_blasted_runs_the_clock(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, work="blast", piece_fields={"material": "steel"})

    count_line(line, by=owner, good=1)

    piece.refresh_from_db()
    assert piece.bare_since == LATER


def test_a_piece_of_no_known_material_counts_as_steel(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, work="strip")

    count_line(line, by=owner, good=1)

    piece.refresh_from_db()
    assert piece.bare_since == LATER


def test_aluminium_runs_no_clock(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, work="blast", piece_fields={"material": "aluminium"})

    count_line(line, by=owner, good=1)

    piece.refresh_from_db()
    assert piece.bare_since is None


def test_coating_stops_the_clock(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner, work="powder")
    piece.change({"bare_since": NOW})
    line = make_out(car=car, by=owner, pieces=[piece]).lines.get()

    count_line(line, by=owner, good=1)

    piece.refresh_from_db()
    assert piece.bare_since is None


# ---- what is to be prepared


def test_masks_and_renewed_fasteners_become_jobs_once(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner, quantity=2)
    bolt(piece, count=4, thread="M6", treatment="renew", length_mm=20.0)
    one = make_building(car=car, by=owner, pieces=[piece])
    masks = [
        {"what": "thread_in", "count": 4, "thread": "M6", "how": "plug"},
        {"what": "earth", "count": 1, "thread": "", "how": "tape"},
        {"what": "bore", "count": 1, "thread": "25 mm", "how": "plug"},
    ]
    change(one.lines.get(), by=owner, masks=masks, plug="two bungs")
    line = send(one, by=owner).lines.get()

    count_line(line, by=owner, good=1)
    count_line(line, by=owner, good=1)

    assert list(Preparation.objects.values_list("what", "count", "text")) == [
        ("chase", 4, "4 × thread M6"),
        ("earth", 1, "1 × earth point"),
        ("bore", 1, "1 × bore 25 mm"),
        ("bore", 1, "plugs out: two bungs"),
        ("renew", 4, "New: 4 × bolt M6 × 20 mm"),
    ]
    assert set(Preparation.objects.values_list("piece", flat=True)) == {piece.pk}


def test_threads_nobody_masked_are_chased_as_well(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner)
    bolt(piece, count=3, thread="M8")
    one = make_building(car=car, by=owner, pieces=[piece])
    change(one.lines.get(), by=owner, masks=[])

    count_line(send(one, by=owner).lines.get(), by=owner, good=1)

    assert list(Preparation.objects.values_list("what", "text")) == [("chase", "3 × thread M8")]


def test_a_prepare_step_comes_before_refit_when_the_plan_has_none(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner, route="repair_send")
    piece.steps.filter(kind__in=(Kind.REPAIR, Kind.PREPARE)).delete()
    bolt(piece)

    count_line(make_out(car=car, by=owner, pieces=[piece]).lines.get(), by=owner, good=1)

    piece.refresh_from_db()
    assert list(piece.steps.values_list("kind", flat=True)) == [
        Kind.SEND_OUT,
        Kind.PREPARE,
        Kind.REFIT,
    ]
    assert (piece.next_step.kind, piece.status) == (Kind.PREPARE, Status.OFF)


def test_blasting_alone_leaves_nothing_to_prepare(car: Car, owner: Person) -> None:
    piece = make_waiting(car=car, by=owner, work="blast")
    bolt(piece)

    count_line(make_out(car=car, by=owner, pieces=[piece]).lines.get(), by=owner, good=1)

    assert Preparation.objects.count() == 0


# ---- several alike, in parts


def test_two_of_four_good_splits_the_rest_off(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=4)

    count_line(line, by=owner, good=2)

    piece.refresh_from_db()
    line.refresh_from_db()
    rest = piece.split_off.get()
    assert (piece.quantity, piece.status, piece.is_to_fit) == (2, Status.OFF, True)
    assert (rest.quantity, rest.status, rest.purpose) == (2, Status.AT_FINISHER, "spare")
    assert rest.notes == f"Belongs to {piece.tag}, 2 of 4."
    assert (line.rest, line.still_out, line.dropoff.is_out) == (rest, 2, True)


def test_the_rest_that_comes_back_good_is_put_together_again(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=4)
    count_line(line, by=owner, good=2)

    count_line(line, by=owner, good=2)

    piece.refresh_from_db()
    rest = piece.split_off.get()
    assert (piece.quantity, DropOff.objects.get().state) == (4, DropOff.State.CLOSED)
    assert (rest.joined_into, rest.joined_how) == (piece, "counted with the others again")
    assert {"split", "put together"} <= set(piece.events.values_list("kind", flat=True))
    assert {"split off", "put together"} <= set(rest.events.values_list("kind", flat=True))


def test_what_was_put_together_is_no_longer_contents_and_not_to_be_judged(
    car: Car, owner: Person
) -> None:
    piece, line = _out(car, owner, quantity=2)
    count_line(line, by=owner, good=1)
    count_line(line, by=owner, good=1)
    piece.refresh_from_db()

    assert Line.objects.for_sheet().get().contents == []
    assert not Piece.objects.can_be_sent().filter(split_from=piece).exists()


def test_every_answer_at_once(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=6)

    count_line(line, by=owner, good=2, redo=1, missing=1, unsound=1, note="see photo")

    piece.refresh_from_db()
    found = {one.status: one for one in piece.split_off.all()}
    off = {one.is_undecided: one for one in piece.split_off.filter(status=Status.OFF)}
    assert (piece.quantity, piece.status) == (2, Status.OFF)
    assert [found[s].quantity for s in (Status.AT_FINISHER, Status.MISSING)] == [1, 1]
    assert off[True].steps.get().why == "found unsound"
    assert off[False].next_step.why == "see photo"
    assert sum(piece.part.pieces.values_list("quantity", flat=True)) == 6


def test_none_good_and_some_out_keeps_the_piece_out(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=3)

    count_line(line, by=owner, redo=1)

    piece.refresh_from_db()
    line.refresh_from_db()
    assert (piece.quantity, piece.status, line.rest) == (2, Status.AT_FINISHER, None)

    count_line(line, by=owner, good=2)
    piece.refresh_from_db()
    assert (piece.quantity, piece.status) == (2, Status.OFF)


def test_a_redone_one_rejoins_when_it_is_good_the_second_time(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=2)
    count_line(line, by=owner, good=1, redo=1)
    again = make_out(car=car, by=owner, pieces=[piece.split_off.get()])

    count_line(again.lines.get(), by=owner, good=1)

    piece.refresh_from_db()
    assert piece.quantity == 2
    assert piece.split_off.get().joined_into == piece


def test_what_is_good_while_the_others_are_out_waits_for_them(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=2)
    count_line(line, by=owner, good=1)
    piece.refresh_from_db()
    piece.steps.filter(kind=Kind.SEND_OUT).update(progress=Progress.OPEN)
    second = make_out(car=car, by=owner, pieces=[piece])

    count_line(line, by=owner, good=1)
    piece.refresh_from_db()
    assert piece.quantity == 1
    count_line(second.lines.get(), by=owner, good=1)

    piece.refresh_from_db()
    assert piece.quantity == 2


def test_an_unsound_one_is_never_put_together_with_the_good_ones(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=3)
    count_line(line, by=owner, unsound=1)
    count_line(line, by=owner, good=2)

    piece.refresh_from_db()
    assert piece.quantity == 2
    assert piece.split_off.get().joined_into is None


# ---- saving


def test_the_same_post_twice_counts_once(car: Car, owner: Person) -> None:
    _, line = _out(car, owner, quantity=4)
    key = uuid4()

    first = count_line(line, by=owner, key=key, good=2)
    second = count_line(line, by=owner, key=key, good=2)

    assert (len(first), len(second), Count.objects.count()) == (1, 0, 1)
    assert Line.objects.get().still_out == 2


def test_the_same_key_with_other_figures_is_refused(car: Car, owner: Person) -> None:
    _, line = _out(car, owner, quantity=4)
    key = uuid4()
    count_line(line, by=owner, key=key, good=2)

    with pytest.raises(CountedAlready):
        count_line(line, by=owner, key=key, good=1)


def test_more_than_went_is_refused_and_nothing_is_counted(car: Car, owner: Person) -> None:
    pieces = [make_waiting(car=car, by=owner, name=name, quantity=2) for name in ("Hub", "Drum")]
    one = make_out(car=car, by=owner, pieces=pieces)
    hub, drum = one.lines.all()

    with pytest.raises(DropOffRefused, match="Drum: 3 counted, but only 2 still out"):
        countback.count(
            dropoff=one, tallies=[tally(hub, good=2), tally(drum, good=3)], by=owner, now=LATER
        )
    assert Count.objects.count() == 0
    assert Piece.objects.filter(status=Status.AT_FINISHER).count() == 2


def test_a_lot_is_counted_like_any_line(car: Car, owner: Person) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    dropoff.add_lot(
        dropoff=one, key=uuid4(), lot="Bolts", count=24, work="plate", by=owner, now=NOW
    )
    line = send(one, by=owner).lines.get()

    count_line(line, by=owner, good=22, missing=2)

    one.refresh_from_db()
    assert one.state == DropOff.State.CLOSED


def test_fetched_pieces_are_back_not_counted(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner)

    countback.collect(dropoff=line.dropoff, by=owner, now=LATER)

    piece.refresh_from_db()
    assert piece.status == Status.BACK
    count_line(line, by=owner, good=1)
    piece.refresh_from_db()
    assert piece.status == Status.OFF


def test_what_was_left_at_closing_can_be_counted_later(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=2)
    count_line(line, by=owner, good=1)
    dropoff.close(dropoff=line.dropoff, because="lost behind their oven", by=owner, now=LATER)

    count_line(line, by=owner, good=1, days=90)

    piece.refresh_from_db()
    assert piece.quantity == 2


def test_a_dropoff_being_built_cannot_be_counted(car: Car, owner: Person) -> None:
    line = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]).lines.get()

    with pytest.raises(DropOffRefused, match="is not out: not handed over yet"):
        count_line(line, by=owner, good=1)


# ---- invoice


def test_shares_are_even_and_together_the_invoice(car: Car, owner: Person) -> None:
    pieces = [make_waiting(car=car, by=owner, name=f"Part {n}") for n in range(3)]
    one = make_building(car=car, by=owner, pieces=pieces)
    one.invoiced = Decimal("100.00")

    shares = list(invoices.shares(one).values())

    assert sum(shares) == Decimal("100.00")
    assert max(shares) - min(shares) <= Decimal("0.01")


def test_an_invoice_that_comes_later_is_shared_over_the_steps_done(car: Car, owner: Person) -> None:
    piece, line = _out(car, owner, quantity=2)
    count_line(line, by=owner, good=2)

    countback.count(
        dropoff=line.dropoff, tallies=[], invoiced=Decimal("84.00"), by=owner, now=LATER
    )
    countback.count(
        dropoff=line.dropoff, tallies=[], invoiced=Decimal("90.00"), by=owner, now=LATER
    )

    line.step.refresh_from_db()
    assert line.step.cost == Decimal("90.00")
    assert sum(event.cost for event in piece.events.exclude(cost=None)) == Decimal("90.00")


# ---- a tag is gone


def test_likely_matches_are_what_is_still_there_this_sheet_first(car: Car, owner: Person) -> None:
    first, second, home = (make_waiting(car=car, by=owner, name=n) for n in ("Hub", "Drum", "Arm"))
    older = make_out(car=car, by=owner, pieces=[first])
    newer = make_out(car=car, by=owner, pieces=[second, home])
    count_line(newer.lines.get(piece=home), by=owner, good=1)

    assert [line.name for line in countback.likely_matches(older)] == ["Hub", "Drum"]
    assert [line.name for line in countback.likely_matches(newer)] == ["Drum", "Hub"]
