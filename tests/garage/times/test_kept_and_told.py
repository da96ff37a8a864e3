"""Kept in UTC, told by the garage's clock, whatever zone the server's machine is set to.

The walls' hours are worked out by hand from the rules in force (from memory): European Union, last
Sunday of March and October at 01:00 UTC; United States, second Sunday of March and first of
November at 02:00 local time; Nepal UTC+5:45 all the year; Lord Howe Island UTC+10:30, in summer
+11. Cures have clocks of their own, tested with them.
"""

import re
import warnings
from dataclasses import dataclass
from datetime import date, datetime, timedelta
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.apps import apps
from django.db import models
from django.test import Client
from django.urls import reverse
from django.utils import timezone

from garage.models import Car, Person
from garage.photos import store
from parts import dropoff, judging, reminders
from parts.models import DropOff, Event, PartPhoto, Reminder
from tests import factories
from tests.garage.matrix import build_world
from tests.garage.times.walls import ZONES, garage_in, page_at, utc
from tests.parts.batches import make_building, make_waiting

ROOMS = ("garage", "parts", "fabrication")

# ---- kept -------------------------------------------------------------------------------------


def moments_kept() -> list[tuple[type[models.Model], str]]:
    return [
        (model, field.name)
        for room in ROOMS
        for model in apps.get_app_config(room).get_models()
        for field in model._meta.get_fields()
        if isinstance(field, models.DateTimeField)
    ]


def test_every_moment_a_whole_garage_keeps_is_utc_and_was_never_naive(db: None) -> None:
    with warnings.catch_warnings():
        # Django only warns of a naive moment, and keeps it as if the server's zone were meant.
        warnings.filterwarnings("error", message=".*received a naive datetime")
        build_world()

    found = 0
    for model, name in moments_kept():
        for moment in model._base_manager.exclude(**{name: None}).values_list(name, flat=True):
            assert moment.utcoffset() == timedelta(0), f"{model.__name__}.{name}: {moment}"
            found += 1
    assert found > 100


def test_a_naive_moment_would_be_seen(owner: Person, car: Car) -> None:
    part = factories.make_part(car=car, by=owner)

    with warnings.catch_warnings(), pytest.raises(RuntimeWarning, match="naive"):
        warnings.filterwarnings("error", message=".*received a naive datetime")
        judging.throw_out(part=part, by=owner, now=datetime(2026, 11, 25, 16, 40))


def test_no_moment_is_the_databases_or_the_models_own() -> None:
    for model, name in moments_kept():
        field = model._meta.get_field(name)
        assert not (field.auto_now or field.auto_now_add), f"{model.__name__}.{name}"
        assert not field.has_default(), f"{model.__name__}.{name}"


@pytest.mark.parametrize("zone", ZONES, ids=str)
def test_a_moment_comes_back_as_it_went_in_from_any_zone(
    server: str, zone: ZoneInfo, owner: Person, car: Car
) -> None:
    part = factories.make_part(car=car, by=owner)
    for text in ("2026-10-25T00:30", "2026-10-25T01:30", "2028-02-29T12:00", "2026-03-29T01:00"):
        moment = utc(text)

        event = Event.objects.write(
            part=part, kind="doubt", text=text, by=owner, at=moment.astimezone(zone)
        )

        event.refresh_from_db()
        assert (event.at, event.at.utcoffset()) == (moment, timedelta(0))


# ---- told -------------------------------------------------------------------------------------

# Zone of the garage, moment in UTC, hour and offset on its wall.
WALLS = (
    ("Europe/London", "2026-03-29T00:59", "2026-03-29T00:59+00:00"),
    ("Europe/London", "2026-03-29T01:00", "2026-03-29T02:00+01:00"),
    ("Europe/London", "2026-10-25T00:30", "2026-10-25T01:30+01:00"),
    ("Europe/London", "2026-10-25T01:30", "2026-10-25T01:30+00:00"),
    ("America/New_York", "2026-03-08T06:59", "2026-03-08T01:59-05:00"),
    ("America/New_York", "2026-03-08T07:00", "2026-03-08T03:00-04:00"),
    ("America/New_York", "2026-11-01T05:59", "2026-11-01T01:59-04:00"),
    ("America/New_York", "2026-11-01T06:00", "2026-11-01T01:00-05:00"),
    ("Asia/Kathmandu", "2026-11-25T18:14", "2026-11-25T23:59+05:45"),
    ("Asia/Kathmandu", "2026-11-25T18:15", "2026-11-26T00:00+05:45"),
    ("Asia/Kathmandu", "2028-02-28T18:15", "2028-02-29T00:00+05:45"),
    ("Europe/London", "2028-02-29T23:59", "2028-02-29T23:59+00:00"),
    ("Australia/Lord_Howe", "2026-04-04T14:59", "2026-04-05T01:59+11:00"),
    ("Australia/Lord_Howe", "2026-04-04T15:00", "2026-04-05T01:30+10:30"),
)


def wrong_hours(person: Person, car: Car) -> list[str]:
    """Each moment that the day book tells otherwise than the garage's wall does."""
    part = factories.make_part(car=car, by=person)
    found = []
    for zone, moment, wall in WALLS:
        garage_in(zone)
        Event.objects.write(part=part, kind="doubt", text="Dated", by=person, at=utc(moment))
        page = page_at(utc(moment), reverse("day_book"), person)
        if f'<time datetime="{wall}">{wall[11:16]}</time>' not in page:
            found.append(f"{zone} {moment}: not {wall}")
        Event.objects.filter(text="Dated").delete()
    return found


def test_the_day_book_tells_the_hour_on_the_garages_wall(
    server: str, owner: Person, car: Car
) -> None:
    assert wrong_hours(owner, car) == []


@dataclass(frozen=True)
class Midnight:
    """A day of the garage ends."""

    zone: str
    moment: str
    """The first of the next day, in UTC."""
    day: date
    """The day that ended."""


MIDNIGHTS = (
    Midnight("Asia/Kathmandu", "2026-11-25T18:15", date(2026, 11, 25)),
    Midnight("Asia/Kathmandu", "2028-02-29T18:15", date(2028, 2, 29)),
    Midnight("Europe/London", "2026-03-29T23:00", date(2026, 3, 29)),
    Midnight("Europe/London", "2026-10-26T00:00", date(2026, 10, 25)),
    Midnight("Europe/London", "2028-03-01T00:00", date(2028, 2, 29)),
    Midnight("America/New_York", "2026-11-02T05:00", date(2026, 11, 1)),
    Midnight("America/New_York", "2026-03-09T04:00", date(2026, 3, 8)),
)


def out_until(due_on: date, *, car: Car, by: Person) -> DropOff:
    batch = make_building(car=car, by=by, pieces=[make_waiting(car=car, by=by)])
    DropOff.objects.filter(pk=batch.pk).update(
        state=DropOff.State.OUT,
        handed_over_at=factories.NOW,
        hand_over_on=due_on - timedelta(days=14),
        due_on=due_on,
    )
    return DropOff.objects.get(pk=batch.pk)


def needs_on(page: str) -> str:
    """What asks for somebody on the page of today."""
    found = re.search(r'<ol class="needs">.*?</ol>', page, re.DOTALL)
    return found[0] if found else ""


def wrong_days(person: Person, car: Car) -> list[str]:
    """Each midnight at which a due day or a reminder turns at another moment than the wall's."""
    batch = out_until(date(2026, 1, 1), car=car, by=person)
    reminder = reminders.remind(
        key=uuid4(), car=car, when=Reminder.When.ON_DAY, text="Bleed it", by=person,
        now=factories.NOW,
    )  # fmt: skip
    found = []
    for midnight in MIDNIGHTS:
        garage_in(midnight.zone)
        DropOff.objects.update(due_on=midnight.day)
        Reminder.objects.filter(pk=reminder.pk).update(due_on=midnight.day + timedelta(days=1))
        for url in ("/", batch.get_absolute_url()):
            before = page_at(utc(midnight.moment) - timedelta(seconds=1), url, person)
            after = page_at(utc(midnight.moment), url, person)
            if "day late" in before or "1 day late" not in after:
                found.append(f"{midnight}: late on {url}")
            if url == "/" and ("Bleed it" in needs_on(before) or "Bleed it" not in needs_on(after)):
                found.append(f"{midnight}: reminder")
    return found


def test_a_due_day_and_a_reminder_turn_at_the_garages_midnight(
    server: str, owner: Person, car: Car
) -> None:
    assert wrong_days(owner, car) == []


@pytest.mark.parametrize(
    ("zone", "moment", "today"),
    [
        ("Asia/Kathmandu", "2026-11-25T18:15", "2026-11-26"),
        ("America/New_York", "2026-11-26T04:59", "2026-11-25"),
        ("Europe/London", "2026-07-01T23:00", "2026-07-02"),
    ],
)
def test_a_form_offers_the_day_it_is_in_the_garage(
    server: str, owner: Person, car: Car, zone: str, moment: str, today: str
) -> None:
    batch = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])
    garage_in(zone)

    page = page_at(utc(moment), reverse("dropoff_hand_over", args=[batch.number]), owner)

    box = re.search(r'<input type="date" name="hand_over_on" value="([^"]*)"', page)
    assert box and box[1] == today


def test_the_days_a_finisher_took_are_days_of_the_garage(
    server: str, owner: Person, car: Car
) -> None:
    batch = out_until(date(2026, 11, 25), car=car, by=owner)
    # Fetched a quarter of an hour after midnight on the 26th in Nepal; still the 25th in UTC.
    DropOff.objects.filter(pk=batch.pk).update(
        state=DropOff.State.CLOSED, hand_over_on=date(2026, 11, 25),
        collected_at=utc("2026-11-25T18:30"), closed_at=utc("2026-11-25T18:30"),
    )  # fmt: skip

    with timezone.override(ZoneInfo("Asia/Kathmandu")):
        assert dropoff.really_takes_days(batch.finisher) == 1
    with timezone.override(ZoneInfo("Europe/London")):
        assert dropoff.really_takes_days(batch.finisher) == 0


@pytest.mark.parametrize(
    ("handed_over", "due"),
    [(date(2028, 2, 28), date(2028, 2, 29)), (date(2027, 2, 28), date(2027, 3, 1))],
)
def test_a_leap_day_is_a_day(owner: Person, car: Car, handed_over: date, due: date) -> None:
    finisher = factories.make_finisher()
    finisher.lead_days = 1

    assert dropoff.due_day(finisher, handed_over=handed_over) == due


def test_a_photo_is_named_and_dated_by_the_garages_day(
    server: str, owner: Person, car: Car
) -> None:
    garage_in("Asia/Kathmandu")
    photo = store.accept(
        upload=factories.make_upload(), key=uuid4(), by=owner, now=utc("2026-11-25T18:15")
    )
    part = factories.make_part(car=car, by=owner, photos=[photo])
    PartPhoto.objects.update(at=photo.received_at)

    with time_machine.travel(photo.received_at, tick=False):
        client = Client()
        client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")
        answer = client.get(reverse("photo_original", args=[photo.key]))
        page = client.get(reverse("part_photo", args=[part.photos.get().pk])).content.decode()

    answer.close()
    assert 'filename="photo-2026-11-26-' in answer.headers["Content-Disposition"]
    assert "26 Nov 2026" in page and "25 Nov 2026" not in page


# ---- the checks are no blind ones -------------------------------------------------------------


def test_pages_told_by_utc_would_be_seen(
    owner: Person, car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "activate", lambda zone: None)

    assert "Asia/Kathmandu 2026-11-25T18:14: not 2026-11-25T23:59+05:45" in wrong_hours(owner, car)
    assert f"{MIDNIGHTS[0]}: late on /" in wrong_days(owner, car)


def test_days_told_by_the_servers_own_clock_would_be_seen(
    owner: Person, car: Car, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(timezone, "localdate", lambda *more: timezone.now().date())

    found = wrong_days(owner, car)

    assert f"{MIDNIGHTS[0]}: reminder" in found
    assert f"{MIDNIGHTS[2]}: late on /" in found
