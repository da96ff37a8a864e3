"""The calendar of the clocks: read back with a calendar library, private, and never a promise."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
import time_machine
from django.test import Client
from icalendar import Calendar
from pytest_django import Settings

from fabrication.curing import feed, trusted_time
from fabrication.models import CalendarFeed, Clock
from garage.models import Car, Garage, Person
from tests.fabrication.bond_rows import make_adhesive, make_bond, mix, read
from tests.factories import NOW

HOUR = timedelta(hours=1)


@pytest.fixture(autouse=True)
def a_computer_that_has_seen_no_time_yet(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.SPLITPIN_DATA = tmp_path
    monkeypatch.setattr(trusted_time, "BOOT_ID", tmp_path / "no-boot-id")


@pytest.fixture
def clock(car: Car, owner: Person) -> Clock:
    return mix(make_bond(car=car, by=owner), by=owner)


@pytest.fixture
def address(owner: Person) -> str:
    return feed.path_of(feed.renew(person=owner, now=NOW))


def fetched(address: str, at: datetime) -> Calendar:
    """As a calendar program fetches it: without a cookie."""
    with time_machine.travel(at, tick=False):
        answer = Client().get(address)
    assert answer.status_code == 200
    return Calendar.from_ical(answer.content)


def test_each_end_ahead_is_an_entry_with_an_alarm_at_that_moment(
    clock: Clock, address: str
) -> None:
    calendar = fetched(address, NOW + HOUR)

    entries = calendar.walk("VEVENT")
    assert [entry.decoded("dtstart") for entry in entries] == [NOW + 4 * HOUR, NOW + 24 * HOUR]
    assert [str(entry["summary"]) for entry in entries] == [
        f"Handle? {clock.words}",
        f"Load? {clock.words}",
    ]
    for entry in entries:
        (alarm,) = entry.walk("VALARM")
        assert (str(alarm["action"]), alarm.decoded("trigger")) == ("DISPLAY", timedelta(0))
        assert "Read the part before you believe it" in str(entry["description"])


def test_what_rfc_5545_asks_of_a_calendar_is_there(clock: Clock, address: str) -> None:
    with time_machine.travel(NOW + HOUR, tick=False):
        answer = Client().get(address)
    lines = answer.content.decode().split("\r\n")

    # RFC 5545: 3.1 lines of at most 75 octets end in CR LF; 3.6 PRODID and VERSION once; 3.8.7.2
    # DTSTAMP in UTC; 3.8.4.7 a UID of its own in each entry.
    assert answer.headers["Content-Type"] == "text/calendar; charset=utf-8"
    assert lines[0] == "BEGIN:VCALENDAR"
    assert lines[-2:] == ["END:VCALENDAR", ""]
    assert all(len(line.encode()) <= 75 for line in lines)
    assert sum(line.startswith("PRODID:") for line in lines) == 1
    assert "VERSION:2.0" in lines
    assert "DTSTAMP:20261125T174000Z" in lines
    assert len({line for line in lines if line.startswith("UID:")}) == 2


def test_an_entry_keeps_its_uid_when_a_reading_moves_it(
    clock: Clock, address: str, owner: Person
) -> None:
    before = fetched(address, NOW + HOUR).walk("VEVENT")[1]
    read(clock, by=owner, at=NOW + 2 * HOUR, temp_c=14)

    after = fetched(address, NOW + 2 * HOUR).walk("VEVENT")[1]

    assert before["uid"] == after["uid"]
    assert after.decoded("dtstart") > before.decoded("dtstart")


@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kathmandu", "America/New_York"])
def test_the_moment_is_the_same_in_every_zone(clock: Clock, address: str, zone: str) -> None:
    Garage.objects.update_or_create(id=1, defaults={"time_zone": zone})

    entry = fetched(address, NOW + HOUR).walk("VEVENT")[0]

    assert entry.decoded("dtstart").astimezone(ZoneInfo(zone)) == NOW + 4 * HOUR
    assert entry.decoded("dtstart").utcoffset() == timedelta(0)


def test_nothing_stands_in_it_while_the_clock_is_doubted_too_cold_or_stopped(
    car: Car, owner: Person, clock: Clock, address: str
) -> None:
    cold = make_bond(car=car, by=owner, adhesive=make_adhesive("Cold"))
    doubted = fetched(address, NOW - HOUR)
    mix(cold, by=owner, temp_c=4)
    Clock.objects.filter(pk=clock.pk).update(stopped_at=NOW)

    found = fetched(address, NOW + HOUR)

    assert doubted.walk("VEVENT") == []
    assert found.walk("VEVENT") == []


def test_a_wrong_address_opens_nothing_and_says_nothing(clock: Clock, address: str) -> None:
    row = CalendarFeed.objects.get()
    token = feed.token_of(row.nonce)
    client = Client()
    wrong = [
        *(
            f"/clocks/calendar/{row.key}/{token[:at]}x{token[at + 1 :]}.ics"
            for at in range(0, 64, 7)
        ),
        f"/clocks/calendar/{row.key}/{token[:-1]}.ics",
        f"/clocks/calendar/{row.key}/{feed.token_of('')}.ics",
        f"/clocks/calendar/{uuid4()}/{token}.ics",
        f"/clocks/calendar/{uuid4()}/{feed.token_of('')}.ics",
    ]

    answers = [client.get(url) for url in wrong]

    assert {answer.status_code for answer in answers} == {404}
    assert not any(b"Bypass" in answer.content for answer in answers)


def test_renewed_or_closed_the_address_before_opens_nothing(
    client_of_owner: Client, clock: Clock, address: str
) -> None:
    client_of_owner.post("/clocks/calendar/")
    renewed = feed.path_of(CalendarFeed.objects.get())
    client = Client()

    assert renewed != address
    assert (client.get(address).status_code, client.get(renewed).status_code) == (404, 200)
    client_of_owner.post("/clocks/calendar/", {"close": "1"})
    assert client.get(renewed).status_code == 404


def test_it_closes_with_its_person(clock: Clock, address: str, owner: Person) -> None:
    owner.is_active = False
    owner.save(update_fields=["is_active"])

    assert Client().get(address).status_code == 404


def test_it_shows_one_person_s_car_and_nothing_can_be_posted_to_it(
    clock: Clock, address: str, owner: Person
) -> None:
    owner.car = None
    owner.save(update_fields=["car"])

    assert fetched(address, NOW + HOUR).walk("VEVENT") == []
    assert Client(enforce_csrf_checks=False).post(address).status_code == 405


def test_the_page_shows_the_address_and_says_that_it_is_no_only_alarm(
    client_of_owner: Client, clock: Clock, address: str
) -> None:
    with time_machine.travel(datetime(2026, 11, 25, 18, tzinfo=UTC), tick=False):
        page = client_of_owner.get("/clocks/").content.decode()

    assert address in page
    assert "never the only alarm" in page
