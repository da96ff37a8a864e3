"""Moments, zones, and pages as they stand at a moment in a garage somewhere."""

from datetime import UTC, datetime
from html import unescape
from zoneinfo import ZoneInfo

import time_machine
from django.test import Client

from garage.models import Garage, Person

# Django sets a process to UTC when it starts; a library, or a hand, may set it back.
SERVERS = ("Asia/Kathmandu", "America/New_York", "Pacific/Kiritimati")
ZONES = [ZoneInfo(name) for name in (*SERVERS, "UTC", "Europe/London", "Australia/Lord_Howe")]


def utc(text: str) -> datetime:
    return datetime.fromisoformat(text).replace(tzinfo=UTC)


def garage_in(zone: str) -> None:
    garage = Garage.here()
    garage.time_zone = zone
    garage.save(update_fields=["time_zone"])


def page_at(moment: datetime, url: str, person: Person) -> str:
    """A page as it stands at a moment, for somebody who signs in then."""
    with time_machine.travel(moment, tick=False):
        client = Client()
        client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
        answer = client.get(url)
        assert answer.status_code == 200
        return unescape(answer.content.decode())
