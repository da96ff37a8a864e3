"""Snags, next jobs and reminders as pages: plain posts, nothing twice, nothing typed lost."""

from datetime import date
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import reminders, snags
from parts.models import Event, Reminder, Snag
from tests.factories import NOW, make_part, system_of

SNAGS, REMINDERS = "/snags/", "/reminders/"


def write(car: Car, by: Person, text: str = "Hose rubs", **fields: object) -> Snag:
    system = system_of(car, str(fields.pop("system", "Cooling")))
    return snags.write_down(key=uuid4(), system=system, text=text, by=by, now=NOW, **fields)


def remind(car: Car, by: Person, text: str = "Check the clips", **fields: object) -> Reminder:
    fields.setdefault("when", "on_day")
    return reminders.remind(key=uuid4(), car=car, text=text, by=by, now=NOW, **fields)


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(response.content.decode().split())


def filled(car: Car, **changes: str) -> dict[str, str]:
    form = {"key": str(uuid4()), "sort": "snag", "text": "Hose rubs", "part": ""}
    return form | {"system": str(system_of(car).pk)} | changes


# ---- snags


def test_no_snags_teach_what_one_is(client_of_owner: Client, car: Car) -> None:
    page = text_of(client_of_owner.get(SNAGS, {"system": system_of(car).pk}))

    assert "No snags in cooling" in page
    assert "A snag is a small thing to put right later" in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_snags_take_as_many_queries_for_three_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        part = make_part(car=car, by=owner, name=f"Hose {number}")
        write(car, owner, f"Rubs {number}", part=part)
        right = write(car, owner, f"Was loose {number}", part=part)
        snags.done(snag=right, by=owner, now=NOW)
    client_of_owner.get(SNAGS)

    with django_assert_num_queries(6):
        page = text_of(client_of_owner.get(SNAGS))

    assert page.count('<li class="snag-line"') == count
    assert page.count("snag-line is-done") == count


def test_a_snag_is_written_down_by_a_plain_post_once(
    client_of_helper: Client, car: Car, owner: Person
) -> None:
    part = make_part(car=car, by=owner)
    form = filled(car, part=part.tag.lower())

    for _ in range(2):
        assert client_of_helper.post(reverse("snag_new"), form).status_code == 302

    snag = Snag.objects.get()
    assert (snag.text, snag.part, snag.system) == ("Hose rubs", part, system_of(car))


def test_a_snag_keeps_what_was_typed_when_it_is_refused(client_of_owner: Client, car: Car) -> None:
    answer = client_of_owner.post(reverse("snag_new"), filled(car, part="K7M"))

    assert answer.status_code == 422
    assert 'value="Hose rubs"' in text_of(answer)
    assert "No part of this car has the tag K7M" in text_of(answer)


def test_a_saved_form_with_other_words_is_offered_under_a_fresh_key(
    client_of_owner: Client, car: Car
) -> None:
    form = filled(car)
    client_of_owner.post(reverse("snag_new"), form)

    answer = client_of_owner.post(reverse("snag_new"), form | {"text": "Clip missing"})

    assert answer.status_code == 422
    assert form["key"] not in text_of(answer)
    assert 'value="Clip missing"' in text_of(answer)


def test_the_address_offers_the_part_the_snag_is_on(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    part = make_part(car=car, by=owner, system=system_of(car, "Fuel"))

    page = text_of(client_of_owner.get(reverse("snag_new"), {"part": part.tag}))

    assert f'value="{part.tag}"' in page
    assert f'<option value="{part.system_id}" selected>Fuel' in page


def test_put_right_with_one_tap_and_undo(client_of_owner: Client, car: Car, owner: Person) -> None:
    snag = write(car, owner)
    where = reverse("snag", args=[snag.pk])

    for _ in range(2):
        assert client_of_owner.post(where, {"done": "1"}).status_code == 302

    snag.refresh_from_db()
    assert snag.done_at is not None
    event = Event.objects.get(kind="snag put right")
    assert str(event.key) in text_of(client_of_owner.get(SNAGS))


def test_a_snag_is_changed(client_of_owner: Client, car: Car, owner: Person) -> None:
    snag = write(car, owner)

    client_of_owner.post(
        reverse("snag", args=[snag.pk]), filled(car, text="Clip missing", sort="next")
    )

    snag.refresh_from_db()
    assert (snag.text, snag.sort) == ("Clip missing", "next")


def test_a_viewer_writes_nothing_down(client_of_viewer: Client, car: Car, owner: Person) -> None:
    snag = write(car, owner)
    where = reverse("snag", args=[snag.pk])

    assert "Hose rubs" in text_of(client_of_viewer.get(where))
    assert "Put right" not in text_of(client_of_viewer.get(SNAGS))
    assert client_of_viewer.post(where, {"done": "1"}).status_code == 403
    assert client_of_viewer.post(reverse("snag_new"), filled(car)).status_code == 403


# ---- reminders


def test_no_reminders_teach_where_they_come_from(client_of_owner: Client) -> None:
    assert "tick “Tighten at ride height”" in text_of(client_of_owner.get(REMINDERS))


@pytest.mark.parametrize("count", [1, 3])
def test_the_reminders_take_as_many_queries_for_three_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        part = make_part(car=car, by=owner, name=f"Arm {number}")
        remind(car, owner, f"Due {number}", part=part, due_on=date(2020, 1, 1))
        remind(car, owner, f"Later {number}", part=part, due_on=date(2199, 1, 1))
        seen_to = remind(car, owner, f"Done {number}", part=part)
        reminders.done(reminder=seen_to, by=owner, now=NOW)
    client_of_owner.get(REMINDERS)

    with django_assert_num_queries(5):
        page = text_of(client_of_owner.get(REMINDERS))

    assert page.count('<li class="snag-line"') == 2 * count
    assert page.count("snag-line is-done") == count


def test_a_reminder_is_written_down_once_and_needs_its_words(
    client_of_helper: Client, car: Car
) -> None:
    form = {"key": str(uuid4()), "when": "on_day", "text": "", "due_on": "2026-12-25", "part": ""}

    wordless = client_of_helper.post(reverse("reminder_new"), form)
    assert wordless.status_code == 422
    assert 'value="2026-12-25"' in text_of(wordless)
    for _ in range(2):
        assert (
            client_of_helper.post(reverse("reminder_new"), form | {"text": "Bleed"}).status_code
            == 302
        )

    reminder = Reminder.objects.get()
    assert (reminder.text, reminder.due_on) == ("Bleed", date(2026, 12, 25))


def test_seen_to_with_one_tap_and_undo(client_of_owner: Client, car: Car, owner: Person) -> None:
    reminder = remind(car, owner, due_on=timezone.localdate())
    where = reverse("reminder", args=[reminder.pk])

    for _ in range(2):
        assert client_of_owner.post(where, {"done": "1"}).status_code == 302

    reminder.refresh_from_db()
    assert reminder.done_at is not None
    event = Event.objects.get(kind="reminder done")
    assert str(event.key) in text_of(client_of_owner.get(REMINDERS))


def test_a_reminder_is_put_off(client_of_owner: Client, car: Car, owner: Person) -> None:
    reminder = remind(car, owner, "", when="ride_height", due_on=date(2026, 12, 25))
    where = reverse("reminder", args=[reminder.pk])

    client_of_owner.post(where, {"text": "", "due_on": "2027-01-31"})

    reminder.refresh_from_db()
    assert (reminder.due_on, reminder.when) == (date(2027, 1, 31), "ride_height")


def test_a_viewer_sees_to_nothing(client_of_viewer: Client, car: Car, owner: Person) -> None:
    reminder = remind(car, owner)
    where = reverse("reminder", args=[reminder.pk])

    assert "Check the clips" in text_of(client_of_viewer.get(REMINDERS))
    assert client_of_viewer.get(where).status_code == 200
    assert client_of_viewer.post(where, {"done": "1"}).status_code == 403
