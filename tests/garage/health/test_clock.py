"""A clock that goes backwards is noticed, whatever was done meanwhile, and said."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.test import Client
from django.utils import timezone
from pytest_django import Settings

from garage.health import clock

NOW = datetime(2026, 11, 25, 16, 40, tzinfo=UTC)


def test_a_clock_that_moves_on_is_trusted(tmp_path: Path) -> None:
    for minutes in (0, 1, 30, 60 * 24 * 400):
        clock.seen(tmp_path, NOW + timedelta(minutes=minutes))

        assert clock.was_later(tmp_path, NOW + timedelta(minutes=minutes)) is None


def test_a_garage_that_was_never_opened_has_no_time_to_compare(tmp_path: Path) -> None:
    assert clock.was_later(tmp_path, NOW) is None


@pytest.mark.parametrize(
    "back",
    [
        timedelta(minutes=2),
        timedelta(hours=1),
        timedelta(days=1),
        NOW - datetime(1970, 1, 1, 0, 0, 5, tzinfo=UTC),  # a dead battery on the board
    ],
)
def test_a_clock_that_went_back_is_noticed_and_stays_noticed(
    tmp_path: Path, back: timedelta
) -> None:
    clock.seen(tmp_path, NOW)

    for minutes in (0, 0.5, 1):
        here = NOW - back + timedelta(minutes=minutes / 4)
        clock.seen(tmp_path, here)

        assert clock.was_later(tmp_path, here) == NOW


def test_a_second_back_is_how_a_clock_is_set_by_the_network(tmp_path: Path) -> None:
    clock.seen(tmp_path, NOW)

    assert clock.was_later(tmp_path, NOW - timedelta(seconds=2)) is None


def test_it_is_trusted_again_once_it_is_past_where_it_was(tmp_path: Path) -> None:
    clock.seen(tmp_path, NOW)
    clock.seen(tmp_path, NOW - timedelta(days=1))

    assert clock.was_later(tmp_path, NOW + timedelta(minutes=1)) is None


def test_every_page_says_it_and_the_owner_can_say_that_it_is_right_now(
    client_of_owner: Client, settings: Settings, tmp_path: Path
) -> None:
    settings.SPLITPIN_DATA = tmp_path
    clock.trust(tmp_path, timezone.now() + timedelta(days=300))  # it had been wrong, far ahead

    before = client_of_owner.get("/help/").content.decode()
    client_of_owner.post("/settings/condition/clock/")
    after = client_of_owner.get("/help/").content.decode()

    assert "The clock went backwards" in before
    assert "The clock went backwards" not in after
