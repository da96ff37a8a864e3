"""Reminders: written once, due from their day, seen to with one tap that can be taken back."""

from datetime import date, timedelta
from uuid import uuid4

import pytest

from garage.models import Car, Person
from parts import reminders
from parts.models import Event, Reminder
from parts.undo import undo
from tests.factories import NOW, make_car, make_part

TODAY = date(2026, 11, 25)
ON_DAY = Reminder.When.ON_DAY


def remind(car: Car, by: Person, text: str = "Check the clips", **fields: object) -> Reminder:
    fields.setdefault("key", uuid4())
    return reminders.remind(car=car, when=ON_DAY, text=text, by=by, now=NOW, **fields)


def test_ride_height_is_offered_for_thirty_days_on_and_first_heat_for_fourteen() -> None:
    # Our own figures; nothing outside says so.
    assert reminders.offered_day("ride_height", TODAY) == date(2026, 12, 25)
    assert reminders.offered_day("first_heat", TODAY) == date(2026, 12, 9)
    assert reminders.offered_day("on_day", TODAY) is None


def test_the_same_form_twice_reminds_once(car: Car, owner: Person) -> None:
    key = uuid4()

    assert remind(car, owner, key=key) == remind(car, owner, key=key)
    assert Event.objects.filter(kind="reminder").count() == 1


def test_a_used_form_with_other_words_is_refused(car: Car, owner: Person) -> None:
    key = uuid4()
    remind(car, owner, key=key)

    with pytest.raises(reminders.UsedAlready, match="Check the clips"):
        remind(car, owner, key=key, text="Bleed the brakes")


def test_they_are_sorted_into_due_later_and_seen_to(car: Car, owner: Person) -> None:
    today = remind(car, owner, "today", due_on=TODAY)
    past = remind(car, owner, "past", due_on=TODAY - timedelta(days=9))
    always = remind(car, owner, "always")
    later = remind(car, owner, "later", due_on=TODAY + timedelta(days=1))
    done = remind(car, owner, "done", due_on=TODAY)
    reminders.done(reminder=done, by=owner, now=NOW)
    remind(make_car(model="Wanderer"), owner, "another car", due_on=TODAY)

    found = reminders.by_day(car, today=TODAY)

    assert set(found.due) == {today, past, always}
    assert (found.later, found.done) == ([later], [done])
    assert set(found.due) == set(Reminder.objects.filter(car=car).due(TODAY))


def test_one_tap_sees_to_it_and_a_second_changes_nothing(car: Car, owner: Person) -> None:
    reminder = remind(car, owner)

    assert reminders.done(reminder=reminder, by=owner, now=NOW) is not None
    assert reminders.done(reminder=reminder, by=owner, now=NOW + timedelta(days=1)) is None
    reminder.refresh_from_db()
    assert reminder.done_at == NOW


def test_seeing_to_it_can_be_taken_back(car: Car, owner: Person) -> None:
    reminder = remind(car, owner, part=make_part(car=car, by=owner))
    event = reminders.done(reminder=reminder, by=owner, now=NOW)
    assert event is not None

    (back,) = undo(key=event.key, by=owner, now=NOW)

    reminder.refresh_from_db()
    assert reminder.done_at is None
    assert (back.part, back.car, back.undoes) == (reminder.part, car, event)


def test_it_can_be_opened_again_and_put_off(car: Car, owner: Person) -> None:
    reminder = remind(car, owner, due_on=TODAY)
    reminders.done(reminder=reminder, by=owner, now=NOW)

    reminders.open_again(reminder=reminder, by=owner, now=NOW)
    day = TODAY + timedelta(days=7)
    reminder.refresh_from_db()
    reminders.change(reminder=reminder, text="Check the hose", due_on=day, by=owner, now=NOW)

    reminder.refresh_from_db()
    assert (reminder.text, reminder.due_on, reminder.done_at) == ("Check the hose", day, None)
