"""Which backups stay, and what the foot of every page says of the newest."""

from datetime import UTC, datetime, timedelta
from pathlib import Path
from zoneinfo import ZoneInfo

import pytest
from django.utils import timezone
from hypothesis import given
from hypothesis import strategies as st

from garage import backup
from garage.backup import keeping

NOW = datetime(2026, 11, 25, 18, 30, tzinfo=UTC)
DAY = timedelta(days=1)
MOMENTS = st.lists(
    st.datetimes(datetime(2024, 1, 1), datetime(2027, 1, 1), timezones=st.just(UTC)), max_size=60
)


def put(data: Path, *moments: datetime) -> None:
    (data / "backups").mkdir(exist_ok=True)
    for moment in moments:
        (data / "backups" / keeping.name_of(moment)).write_bytes(b"")


def test_of_two_years_of_nightly_backups_seven_days_four_weeks_and_twelve_months_stay() -> None:
    nightly = [datetime(2026, 11, 25, 2, tzinfo=UTC) - n * DAY for n in range(730)]

    stay = sorted(keeping.kept(nightly), reverse=True)

    # By the calendar: 25 Nov 2026 is a Wednesday. Days 25 to 19; Sundays 22, 15 and 8 (22 is
    # a day already); the last days of the eleven months before.
    assert [moment.date().isoformat() for moment in stay] == [
        *(f"2026-11-{day}" for day in (25, 24, 23, 22, 21, 20, 19, 15, "08")),
        *("2026-10-31", "2026-09-30", "2026-08-31", "2026-07-31", "2026-06-30", "2026-05-31"),
        *("2026-04-30", "2026-03-31", "2026-02-28", "2026-01-31", "2025-12-31"),
    ]


def test_of_several_backups_in_a_day_the_last_stays() -> None:
    hourly = [NOW - timedelta(hours=n) for n in range(10)]

    assert keeping.kept(hourly) == {NOW}


@given(MOMENTS)
def test_the_newest_always_stays_and_never_more_than_23(moments: list[datetime]) -> None:
    stay = keeping.kept(moments)

    assert stay <= set(moments)
    assert len(stay) <= 23
    assert not moments or max(moments) in stay


@given(MOMENTS)
def test_thinning_out_again_takes_no_more(moments: list[datetime]) -> None:
    stay = keeping.kept(moments)

    assert keeping.kept(stay) == stay


def test_only_backups_are_thinned_out(tmp_path: Path) -> None:
    put(tmp_path, NOW, NOW - timedelta(hours=1))
    for other in ("mine.zip", "splitpin-20261399-000000.zip", "splitpin-20261125-183000.zip.old"):
        (tmp_path / "backups" / other).write_bytes(b"")

    removed = keeping.thin_out(tmp_path / "backups")

    assert [path.name for path in removed] == ["splitpin-20261125-173000.zip"]
    assert len(list((tmp_path / "backups").iterdir())) == 4


@pytest.mark.parametrize(
    ("ago", "words", "is_red"),
    [
        (timedelta(hours=11, minutes=28), "Backed up today 08:02", False),
        (timedelta(hours=30), "Backed up yesterday 13:30", False),
        (7 * DAY, "Last backup 7 days ago", False),
        (7 * DAY + timedelta(minutes=1), "Last backup 7 days ago", True),
        (40 * DAY, "Last backup 40 days ago", True),
        (-timedelta(hours=20), "Backed up today 15:30", False),
        (-3 * DAY, "Last backup dated 28.11.2026: is the clock right?", True),
    ],
)
def test_the_age_of_the_newest_backup_is_told_by_the_garages_clock(
    tmp_path: Path, ago: timedelta, words: str, is_red: bool
) -> None:
    put(tmp_path, NOW - 300 * DAY, NOW - ago)

    with timezone.override(ZoneInfo("Europe/Berlin")):
        age = backup.age(tmp_path, NOW)

    assert age == backup.BackupAge(NOW - ago, words, is_red)


def test_without_a_backup_that_is_said_in_red(tmp_path: Path) -> None:
    assert backup.age(tmp_path, NOW) == backup.BackupAge(None, "No backup yet", is_red=True)


@pytest.mark.parametrize(
    ("ago", "due"), [(timedelta(hours=23), False), (DAY, True), (-timedelta(days=3), True)]
)
def test_a_backup_is_due_when_none_is_younger_than_a_day(
    tmp_path: Path, ago: timedelta, due: bool
) -> None:
    put(tmp_path, NOW - ago)

    assert keeping.is_due(tmp_path, NOW, after=DAY) is due
