"""What the checks found is kept, said on the pages, and read a quarter a week."""

from datetime import UTC, datetime, timedelta
from pathlib import Path

import pytest
from django.db import connection
from django.test import Client
from pytest_django import Settings

from garage.backup.scrub import Finding
from garage.health import condition
from garage.health.warning import warning
from garage.management import checking
from garage.models import Photo
from garage.photos import store
from tests import factories

NOW = datetime(2026, 11, 25, 16, 40, tzinfo=UTC)
GONE = Finding("missing", "photos/originals/3f/3fa9.jpg", "is gone.", "Take it from a backup.")


def test_what_was_found_is_read_back_as_it_was(tmp_path: Path) -> None:
    kept = condition.record(tmp_path, check="names", found=[GONE], now=NOW)

    assert condition.read(tmp_path) == kept
    assert kept.found == [GONE]
    assert kept.last_check == NOW


def test_a_check_takes_the_place_of_the_same_one_before(tmp_path: Path) -> None:
    condition.record(tmp_path, check="names", found=[GONE], now=NOW)
    condition.record(tmp_path, check="quarter 1 of 4", found=[GONE], now=NOW)

    condition.record(tmp_path, check="names", found=[], now=NOW)

    assert condition.read(tmp_path).found == [GONE]
    assert condition.record(tmp_path, check="quarter 1 of 4", found=[], now=NOW).found == []


@pytest.mark.parametrize("text", ["", "{", "[]", '{"findings": {}}', '{"findings": 3}'])
def test_a_file_that_cannot_be_read_counts_as_no_check_yet(tmp_path: Path, text: str) -> None:
    (tmp_path / condition.NAME).write_text(text)

    assert condition.read(tmp_path) == condition.Condition()


def test_each_quarter_has_its_turn_a_week_after_the_one_before(tmp_path: Path) -> None:
    turns = []
    for day in range(60):
        now = NOW + timedelta(days=day)
        number = condition.read(tmp_path).quarter_due(now)
        if number is not None:
            condition.record(tmp_path, check=condition.quarter(number), found=[], now=now)
            turns.append((day, number))

    assert [day for day, _ in turns] == [0, 7, 14, 21, 28, 35, 42, 49, 56]
    assert [number for _, number in turns] == [0, 1, 2, 3, 0, 1, 2, 3, 0]


def test_a_copy_on_another_disk_is_asked_for_after_30_days(tmp_path: Path) -> None:
    never = condition.read(tmp_path)
    kept = condition.copied(tmp_path, now=NOW)

    assert never.copy_is_old(NOW)
    assert not kept.copy_is_old(NOW + timedelta(days=30))
    assert kept.copy_is_old(NOW + timedelta(days=31))


def test_a_lost_photo_stands_over_every_page(tmp_path: Path) -> None:
    condition.record(tmp_path, check="names", found=[GONE], now=NOW)

    notice = warning(tmp_path, NOW)

    assert notice is not None
    assert notice.says == "photos/originals/3f/3fa9.jpg is gone. Take it from a backup."


def test_a_stray_file_is_no_warning(tmp_path: Path) -> None:
    stray = Finding("extra", "photos/originals/readme.txt", "is nothing kept here.", "Move it.")
    condition.record(tmp_path, check="names", found=[stray], now=NOW)

    assert warning(tmp_path, NOW) is None


@pytest.fixture
def photos(transactional_db: None, settings: Settings, tmp_path: Path) -> list[Photo]:
    """Twelve photos, kept as they are when they are sent."""
    settings.SPLITPIN_DATA = tmp_path
    by = factories.make_person()
    return [factories.make_photo(by=by, colour=f"#4455{n:02x}") for n in range(12)]


def test_a_flipped_bit_is_found_within_four_weeks_and_changes_nothing(
    photos: list[Photo], tmp_path: Path
) -> None:
    hurt = store.original_path(photos[5])
    content = bytearray(hurt.read_bytes())
    content[len(content) // 2] ^= 1
    hurt.write_bytes(content)

    found = []
    for week in range(condition.QUARTERS):
        now = NOW + timedelta(weeks=week)
        found += checking.check_a_quarter_if_due(data=tmp_path, now=now) or []

    assert [(one.kind, one.file) for one in found] == [("damaged", f"photos/{photos[5].file}")]
    assert hurt.read_bytes() == bytes(content)
    assert checking.check_a_quarter_if_due(data=tmp_path, now=now) is None


def test_the_owner_backs_up_at_once_and_notes_the_copy(
    client_of_owner: Client, settings: Settings, tmp_path: Path, transactional_db: None
) -> None:
    settings.SPLITPIN_DATA = tmp_path
    on_sqlite = connection.vendor == "sqlite"

    answer = client_of_owner.post("/settings/condition/back-up/")
    client_of_owner.post("/settings/condition/copied/")
    page = client_of_owner.get("/settings/condition/").content.decode()

    assert answer.status_code == (302 if on_sqlite else 404)
    assert len(list(tmp_path.glob("backups/splitpin-*.zip"))) == (1 if on_sqlite else 0)
    assert ("read back and found whole" in page) == on_sqlite
    assert not condition.read(tmp_path).copy_is_old(datetime.now(UTC))
