"""How long something has been so: by hours that passed, whatever the clocks were changed between.

Hours and days are counted by hand; the rules of the zones stand in ``test_kept_and_told``.
"""

import os
from datetime import UTC, datetime, timedelta
from pathlib import Path
from uuid import uuid4
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone
from hypothesis import given, settings
from hypothesis import strategies as st

from garage.backup import keeping
from garage.health import condition
from garage.models import Car, Person
from garage.photos import folders
from garage.photos.sweeper import sweep
from parts import judging, reminders
from parts.models import Piece, Reminder
from parts.undo import undo
from tests import factories
from tests.garage.times.walls import ZONES, garage_in, page_at, utc

# ---- hours that pass --------------------------------------------------------------------------

# Blasted, looked at, hours between. The first two are eight in the evening on both days.
BARE = (
    ("2026-03-28T20:00", "2026-03-29T19:00", "Bare 23 h"),
    ("2026-10-24T19:00", "2026-10-25T20:00", "Bare 25 h"),
    ("2026-10-25T00:30", "2026-10-25T01:30", "Bare 1 h"),
    ("2026-10-25T00:30", "2026-10-25T01:29", "Bare 0 h"),
    ("2028-02-28T12:00", "2028-03-01T11:59", "Bare 47 h"),
    ("2028-02-28T12:00", "2028-03-01T12:00", "Bare 2 days"),
)


def test_bare_steel_rusts_by_the_hour_and_not_by_the_wall(
    server: str, owner: Person, car: Car
) -> None:
    piece = factories.make_piece(car=car, by=owner)
    for since, now, says in BARE:
        for zone in ("Europe/London", "Asia/Kathmandu"):
            garage_in(zone)
            Piece.objects.filter(pk=piece.pk).update(bare_since=utc(since))

            page = page_at(utc(now), "/", owner)

            assert f">{says}<" in page, (zone, since, now)


def test_taking_back_brings_the_hour_back_that_the_clocks_gave_twice(
    server: str, owner: Person, car: Car
) -> None:
    since = utc("2026-10-25T01:30").astimezone(ZoneInfo("Europe/London"))
    assert since.fold == 1
    piece = factories.make_piece(car=car, by=owner)
    Piece.objects.filter(pk=piece.pk).update(bare_since=since)
    part = piece.part
    judging.throw_out(part=part, by=owner, now=since)
    part.refresh_from_db()
    assert part.thrown_out_at == utc("2026-10-25T01:30")

    judging.bring_back(part=part, by=owner, now=since)

    piece.refresh_from_db()
    assert piece.bare_since == utc("2026-10-25T01:30")


def test_a_reminder_seen_to_and_taken_back_and_seen_to_keeps_its_moment(
    server: str, owner: Person, car: Car
) -> None:
    reminder = reminders.remind(
        key=uuid4(), car=car, when=Reminder.When.ON_DAY, text="Bleed it", by=owner,
        now=factories.NOW,
    )  # fmt: skip
    at = utc("2026-10-25T01:30").astimezone(ZoneInfo("Europe/London"))
    done = reminders.done(reminder=reminder, by=owner, now=at)
    assert done is not None
    (back,) = undo(key=done.key, by=owner, now=at)

    undo(key=back.key, by=owner, now=at)

    reminder.refresh_from_db()
    assert reminder.done_at == utc("2026-10-25T01:30")


# ---- days that are waited ---------------------------------------------------------------------


@pytest.mark.parametrize("thrown_out", ["2026-03-10T12:00", "2026-10-10T12:00", "2028-02-10T12:00"])
def test_the_bin_keeps_a_record_for_thirty_times_24_hours(
    server: str, owner: Person, car: Car, thrown_out: str
) -> None:
    part = factories.make_part(car=car, by=owner)
    judging.throw_out(part=part, by=owner, now=utc(thrown_out))
    end = utc(thrown_out) + timedelta(hours=30 * 24)

    with timezone.override(ZoneInfo("Europe/London")):
        assert judging.let_go(now=end - timedelta(minutes=1)) == 0
        assert judging.let_go(now=end + timedelta(minutes=1)) == 1


@pytest.mark.django_db
@pytest.mark.parametrize("came_in", ["2026-03-28T23:50", "2026-10-25T00:10", "2028-02-28T23:59"])
def test_the_quarantine_keeps_a_file_for_thirty_days_at_the_least(
    server: str, came_in: str
) -> None:
    folders.quarantine().mkdir(parents=True)
    (folders.quarantine() / "x.jpg").write_bytes(b"photo")

    def left_at(days: float) -> bool:
        sweep(now=utc(came_in) + timedelta(days=days), grace=timedelta(hours=1))
        return bool([*folders.quarantine().rglob("x.jpg")])

    assert [left_at(days) for days in (0, 1, 29.99, 30, 31.01)] == [True] * 4 + [False]


@pytest.mark.django_db
@pytest.mark.parametrize(("minutes", "stays"), [(59, True), (61, False)])
def test_a_file_without_a_row_is_left_for_its_hour(server: str, minutes: int, stays: bool) -> None:
    now = utc("2026-10-25T01:00")
    stray = folders.originals() / "ab" / "stray.jpg"
    stray.parent.mkdir(parents=True)
    stray.write_bytes(b"photo")
    born = (now - timedelta(minutes=minutes)).timestamp()
    os.utime(stray, (born, born))

    sweep(now=now, grace=timedelta(hours=1))

    assert stray.exists() is stays


# ---- backups ----------------------------------------------------------------------------------


def backed_up(data: Path, moment: str) -> None:
    folder = keeping.folder_of(data)
    folder.mkdir(exist_ok=True)
    (folder / keeping.name_of(utc(moment))).write_bytes(b"")


@pytest.mark.parametrize(
    ("zone", "made", "now", "words"),
    [
        ("Europe/London", "2026-03-28T23:30", "2026-03-29T07:00", "Backed up yesterday 23:30"),
        ("Asia/Kathmandu", "2026-03-28T23:30", "2026-03-29T07:00", "Backed up today 05:15"),
        ("Europe/London", "2026-10-25T00:30", "2026-10-25T12:00", "Backed up today 01:30"),
        ("Europe/London", "2026-10-25T01:30", "2026-10-25T12:00", "Backed up today 01:30"),
        ("Asia/Kathmandu", "2026-11-25T18:14", "2026-11-25T18:15", "Backed up yesterday 23:59"),
        ("America/New_York", "2028-02-29T04:59", "2028-03-01T05:00", "Last backup 2 days ago"),
    ],
)
def test_the_age_of_a_backup_is_told_by_the_garages_wall(
    server: str, data: Path, zone: str, made: str, now: str, words: str
) -> None:
    backed_up(data, made)

    with timezone.override(ZoneInfo(zone)):
        assert keeping.age(data, utc(now)).words == words


@pytest.mark.parametrize("made", ["2026-03-25T12:00", "2026-10-21T12:00", "2028-02-25T12:00"])
@pytest.mark.parametrize("zone", ["Europe/London", "Asia/Kathmandu"])
def test_a_backup_is_red_after_seven_times_24_hours(
    server: str, data: Path, zone: str, made: str
) -> None:
    backed_up(data, made)
    end = utc(made) + timedelta(hours=7 * 24)
    there = ZoneInfo(zone)

    with timezone.override(there):
        ages = [keeping.age(data, end + timedelta(minutes=m)) for m in (-1, 1)]
        local = [keeping.age(data, (end + timedelta(minutes=m)).astimezone(there)) for m in (-1, 1)]

    assert [age.is_red for age in ages] == [age.is_red for age in local] == [False, True]


@given(
    moment=st.datetimes(
        datetime(1990, 1, 1), datetime(2100, 1, 1), timezones=st.sampled_from(ZONES)
    )
)
@settings(max_examples=100, deadline=None)
def test_a_backups_name_says_its_moment_to_the_second(moment: datetime) -> None:
    found = keeping.made_at(keeping.name_of(moment))

    assert found == moment.astimezone(UTC).replace(microsecond=0)


def test_two_backups_in_the_hour_that_comes_twice_stand_in_their_order() -> None:
    london = ZoneInfo("Europe/London")
    first, second = (
        keeping.name_of(datetime(2026, 10, 25, 1, 30, tzinfo=london, fold=n)) for n in (0, 1)
    )

    assert first < second


def test_what_is_noted_of_the_store_comes_back_from_any_zone(server: str, data: Path) -> None:
    for zone in ZONES:
        at = utc("2026-10-25T01:30").astimezone(zone)

        condition.copied(data, now=at)
        condition.record(data, check="originals", found=(), now=at)

        found = condition.read(data)
        assert found.copied_at == found.checked_at["originals"] == utc("2026-10-25T01:30")


# ---- the checks are no blind ones -------------------------------------------------------------


def test_hours_between_walls_would_be_seen() -> None:
    """The subtraction that Python makes of two moments of one zone: by the wall, an hour off."""
    london = ZoneInfo("Europe/London")
    by_the_wall = [
        utc(now).astimezone(london) - utc(since).astimezone(london) for since, now, _ in BARE[:2]
    ]

    assert by_the_wall == [timedelta(hours=24), timedelta(hours=24)]
    assert [says for *_, says in BARE[:2]] == ["Bare 23 h", "Bare 25 h"]
