"""The clocks as a calendar to subscribe to (RFC 5545), by a private address.

The address is all the permission there is: it is long, one person's, and can be renewed. Calendar
programs ask seldom and may drop alarms, so it is never the only alarm.
"""

import hashlib
import secrets
from datetime import datetime, timedelta
from typing import TYPE_CHECKING
from uuid import UUID, uuid4

from django.db import transaction
from django.urls import reverse
from django.utils.crypto import constant_time_compare, salted_hmac

from fabrication.curing.faces import Face, Stage
from fabrication.models import CalendarFeed
from garage.models import Person

if TYPE_CHECKING:
    from icalendar import Event

SALT = "splitpin.calendar"
BEFORE = timedelta(minutes=10)


def renew(*, person: Person, now: datetime) -> CalendarFeed:
    """The person's calendar address, new; the one before it opens nothing any more."""
    with transaction.atomic():
        revoke(person=person)
        return CalendarFeed.objects.create(
            key=uuid4(), person=person, nonce=secrets.token_hex(32), made_at=now
        )


def revoke(*, person: Person) -> None:
    """Closes the person's calendar address."""
    CalendarFeed.objects.filter(person=person).delete()


def opened_by(*, key: UUID, token: str) -> Person | None:
    """Whose calendar an address opens; None when it is wrong, closed, or the person has gone."""
    row = CalendarFeed.objects.select_related("person__car").filter(key=key).first()
    # A row that is not there is compared too: how long it takes says nothing.
    wanted = token_of(row.nonce if row else "")
    if not constant_time_compare(wanted, token) or row is None or not row.person.is_active:
        return None
    person: Person = row.person
    return person


def token_of(nonce: str) -> str:
    return salted_hmac(SALT, nonce, algorithm="sha256").hexdigest()


def path_of(row: CalendarFeed) -> str:
    return reverse("cure_feed", args=[row.key, token_of(row.nonce)])


def calendar_of(faces: list[Face], *, now: datetime) -> bytes:
    """The calendar of running clocks: one entry for each end that lies ahead or is due."""
    from icalendar import Calendar  # noqa: PLC0415  a second of start for one address

    calendar = Calendar()
    calendar.add("prodid", "-//Splitpin//Clocks//EN")
    calendar.add("version", "2.0")
    calendar.add("method", "PUBLISH")
    calendar.add("x-wr-calname", "Splitpin clocks")
    calendar.add("refresh-interval;value=duration", "PT15M")
    for face in faces:
        for entry in _entries(face, now):
            calendar.add_component(entry)
    text: bytes = calendar.to_ical()
    return text


def _entries(face: Face, now: datetime) -> list["Event"]:
    """What a clock has in the calendar. One that is not believed or stands still has nothing."""
    if face.stage in (Stage.DOUBTED, Stage.STALLED, Stage.STOPPED, Stage.DONE):
        return []
    return [
        _entry(face, word, at, now)
        for word, at, is_proven in face.marks
        if not is_proven and word != "work it until"
    ]


def _entry(face: Face, word: str, at: datetime, now: datetime) -> "Event":
    from icalendar import Alarm, Event  # noqa: PLC0415  see above

    clock = face.clock
    warm = f"{face.look.last.temp_c:g} °C" if face.look.last else "the printed temperature"
    said = (
        f"Read the part before you believe it: this is reckoned at {warm}, the last that was read."
    )
    entry = Event()
    digest = hashlib.sha256(f"{clock.key}{word}".encode()).hexdigest()[:32]
    entry.add("uid", f"{digest}@splitpin")
    entry.add("dtstamp", now)
    entry.add("dtstart", at)
    entry.add("dtend", at + BEFORE)
    entry.add("summary", f"{word.capitalize()}? {clock.words}")
    entry.add("description", said)
    entry.add("transp", "TRANSPARENT")
    alarm = Alarm()
    alarm.add("action", "DISPLAY")
    alarm.add("description", f"{word.capitalize()}? {clock.words}. {said}")
    alarm.add("trigger", timedelta(0))
    entry.add_component(alarm)
    return entry
