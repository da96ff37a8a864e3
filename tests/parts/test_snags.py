"""Snags and next jobs: kept by system, put right with one tap that can be taken back."""

from datetime import timedelta
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import snags
from parts.models import Event, Snag
from parts.undo import undo
from tests.factories import NOW, make_car, make_part, system_of


def write(car: Car, by: Person, text: str = "Hose rubs", **fields: object) -> Snag:
    system = system_of(car, str(fields.pop("system", "Cooling")))
    fields.setdefault("key", uuid4())
    return snags.write_down(system=system, text=text, by=by, now=NOW, **fields)


def test_they_stand_by_system_in_the_order_of_the_car(car: Car, owner: Person) -> None:
    brakes = write(car, owner, "Pipe clip missing", system="Brakes")
    hose = write(car, owner, "Hose rubs")
    fill = write(car, owner, "Fill and look for weeps", sort=Snag.Sort.NEXT)
    write(make_car(model="Wanderer"), owner, "another car")

    lots = snags.by_system(car)

    assert [lot.system.name for lot in lots] == ["Cooling", "Brakes"]
    assert (lots[0].snags, lots[0].next_jobs) == ([hose], [fill])
    assert (lots[1].snags, lots[1].next_jobs) == ([brakes], [])
    assert snags.by_system(car, system=system_of(car, "Fuel").pk) == []


def test_the_same_form_twice_is_one_snag(car: Car, owner: Person) -> None:
    key = uuid4()

    assert write(car, owner, key=key) == write(car, owner, key=key)
    assert Event.objects.filter(kind="snag").count() == 1


def test_a_used_form_with_other_words_is_refused(car: Car, owner: Person) -> None:
    key = uuid4()
    write(car, owner, key=key)

    with pytest.raises(snags.UsedAlready, match="Hose rubs"):
        write(car, owner, "Clip missing", key=key)


def test_it_can_name_a_part_and_shows_in_its_history(car: Car, owner: Person) -> None:
    part = make_part(car=car, by=owner)

    write(car, owner, part=part)

    assert Event.objects.get(kind="snag").part == part


def test_one_tap_puts_it_right_and_a_second_changes_nothing(car: Car, owner: Person) -> None:
    snag = write(car, owner)

    assert snags.done(snag=snag, by=owner, now=NOW) is not None
    assert snags.done(snag=snag, by=owner, now=NOW + timedelta(days=1)) is None
    snag.refresh_from_db()
    assert snag.done_at == NOW
    assert snags.by_system(car) == []
    assert snags.lately_done(car) == [snag]


def test_putting_right_can_be_taken_back(car: Car, owner: Person) -> None:
    snag = write(car, owner)
    event = snags.done(snag=snag, by=owner, now=NOW)
    assert event is not None

    undo(key=event.key, by=owner, now=NOW)

    snag.refresh_from_db()
    assert snag.done_at is None


def test_not_right_after_all_it_stands_on_the_list_again(car: Car, owner: Person) -> None:
    snag = write(car, owner)
    snags.done(snag=snag, by=owner, now=NOW)

    snags.open_again(snag=snag, by=owner, now=NOW)

    assert [lot.snags for lot in snags.by_system(car)] == [[snag]]


def test_it_can_be_changed(car: Car, owner: Person) -> None:
    snag = write(car, owner)

    snags.change(snag=snag, text="Hose touches", system=system_of(car, "Fuel"), by=owner, now=NOW)

    snag.refresh_from_db()
    assert (snag.text, snag.system.name) == ("Hose touches", "Fuel")
    assert Event.objects.get(kind="snag changed").text == "Hose touches"
