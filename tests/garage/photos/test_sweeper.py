"""The sweeper: clears debris, takes strays out of use, says what is missing, and harms nothing."""

import logging
import os
from datetime import UTC, date, datetime, timedelta
from pathlib import Path
from uuid import uuid4

import pytest
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from garage.models import Car, Photo
from garage.photos import store, sweeper
from garage.photos.sweeper import SweepReport
from tests import factories
from tests.garage.photos import corpus
from tests.garage.photos.uploads import accept, files_in, upload

HOUR, NOTHING = timedelta(hours=1), timedelta(0)
SMALL = corpus.saved(corpus.picture(size=(64, 48)))
CLEAN = SweepReport(
    temps_removed=(),
    thrown_away=(),
    pointed_at=(),
    brought_back=(),
    quarantined=(),
    removed_for_good=(),
    remade=(),
    missing=(),
    wrong_size=(),
    unreadable=(),
    left_to_remake=0,
    clock_is_behind=False,
)


@pytest.fixture
def now() -> datetime:
    """A moment after every file of the test: file times are the machine's own."""
    return datetime.now(UTC) + timedelta(minutes=1)


@pytest.fixture
def photo(data: Path, db: None, now: datetime) -> Photo:
    """A photo in use, received just now."""
    photo = store.accept(upload=upload(SMALL), key=uuid4(), by=None, now=now)
    photo.in_use = True
    photo.save(update_fields=["in_use"])
    return photo


def put(path: Path, *, content: bytes = SMALL, age: timedelta = NOTHING) -> Path:
    path.parent.mkdir(parents=True, exist_ok=True)
    path.write_bytes(content)
    written = (datetime.now(UTC) - age).timestamp()
    os.utime(path, (written, written))
    return path


def rendition(photo: Photo, size: int) -> Path:
    path = store.rendition_path(photo, size)
    assert path is not None
    return path


def test_a_store_in_order_is_left_alone(photo: Photo, data: Path, now: datetime) -> None:
    before = files_in(data)

    assert sweeper.sweep(now=now, grace=NOTHING) == CLEAN
    assert files_in(data) == before


def test_an_empty_garage_is_swept(data: Path, db: None, now: datetime) -> None:
    assert sweeper.sweep(now=now, grace=NOTHING) == CLEAN


def test_parts_of_uploads_are_removed_once_the_grace_is_over(
    photo: Photo, data: Path, now: datetime
) -> None:
    old = put(data / "photos" / "tmp" / "a.part", age=timedelta(hours=2))
    young = put(data / "photos" / "tmp" / "b.part")
    # Django's own name for a large upload, and what a kill leaves of it.
    upload_left = put(data / "tmp" / "tmp1x2y.upload.jpg", age=timedelta(hours=2))
    other = put(data / "tmp" / "sheet.pdf", age=timedelta(hours=2))

    report = sweeper.sweep(now=now, grace=HOUR)

    assert sorted(report.temps_removed) == ["a.part", "tmp1x2y.upload.jpg"]
    assert [path.exists() for path in (old, upload_left, young, other)] == [
        False,
        False,
        True,
        True,
    ]
    assert store.original_path(photo).exists()


def test_at_the_start_nothing_can_be_under_way(photo: Photo, data: Path, now: datetime) -> None:
    young = put(data / "photos" / "tmp" / "b.part")

    sweeper.sweep(now=now, grace=NOTHING)

    assert not young.exists()


def test_a_file_without_a_row_goes_into_quarantine_and_not_away(
    photo: Photo, data: Path, now: datetime
) -> None:
    stray = put(data / "photos" / "originals" / "ab" / "abcd.jpg")

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert report.quarantined == ("originals/ab/abcd.jpg",)
    assert not stray.exists()
    kept = data / "photos" / "quarantine" / now.date().isoformat() / "abcd.jpg"
    assert kept.read_bytes() == SMALL
    assert store.original_path(photo).read_bytes() == SMALL


def test_a_file_whose_row_may_still_come_is_left(photo: Photo, data: Path, now: datetime) -> None:
    young = put(data / "photos" / "originals" / "ab" / "abcd.jpg")

    report = sweeper.sweep(now=now, grace=HOUR)

    assert report.quarantined == ()
    assert young.exists()


def test_quarantine_lasts_thirty_days_from_the_day_it_began(
    photo: Photo, data: Path, now: datetime
) -> None:
    put(data / "photos" / "originals" / "ab" / "abcd.jpg", age=timedelta(days=400))
    sweeper.sweep(now=now, grace=HOUR)

    kept = sweeper.sweep(now=now + timedelta(days=30), grace=HOUR)
    gone = sweeper.sweep(now=now + timedelta(days=31), grace=HOUR)

    assert kept.removed_for_good == ()
    assert gone.removed_for_good == ("abcd.jpg",)
    assert not any(file.startswith("quarantine/") for file in files_in(data))


def test_a_photo_thrown_away_is_dated_by_the_next_sweep(
    photo: Photo,
    data: Path,
    now: datetime,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    name = Path(photo.file).stem
    with django_capture_on_commit_callbacks(execute=True):
        store.throw_away(photo)

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert report == CLEAN
    day = f"quarantine/{now.date().isoformat()}"
    assert files_in(data) == {
        f"{day}/{name}.jpg",
        f"{day}/{name}-1600.jpg",
        f"{day}/{name}-320.jpg",
    }


def test_a_folder_of_somebody_else_in_quarantine_is_not_emptied(
    photo: Photo, data: Path, now: datetime
) -> None:
    theirs = put(data / "photos" / "quarantine" / "look at this" / "abcd.jpg")
    no_day = put(data / "photos" / "quarantine" / "2026-02-31" / "abcd.jpg")

    sweeper.sweep(now=now + timedelta(days=400), grace=NOTHING)

    assert theirs.exists() and no_day.exists()


def test_a_row_without_its_file_is_an_alarm_and_stays(
    photo: Photo, now: datetime, caplog: pytest.LogCaptureFixture
) -> None:
    store.original_path(photo).unlink()

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert report.missing == (photo.file,)
    assert report.is_alarm
    assert Photo.objects.get().pk == photo.pk
    assert rendition(photo, 320).exists()
    errors = [line.getMessage() for line in caplog.records if line.levelno == logging.ERROR]
    assert errors == [f"photo missing: {photo.file}"]


def test_a_file_of_another_size_is_an_alarm_and_stays(photo: Photo, now: datetime) -> None:
    original = store.original_path(photo)
    original.write_bytes(SMALL[:-2])

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert (report.wrong_size, report.is_alarm) == ((photo.file,), True)
    assert original.read_bytes() == SMALL[:-2]


def test_a_photo_that_a_row_names_comes_back_from_quarantine(
    photo: Photo, data: Path, now: datetime
) -> None:
    # As after an older database was put back: thrown away in the folder, in use in the rows.
    store.into_quarantine(photo.file)

    report = sweeper.sweep(now=now, grace=NOTHING)
    sweeper.sweep(now=now + timedelta(days=40), grace=NOTHING)

    assert (report.brought_back, report.remade) == ((photo.file,), (photo.file,))
    assert store.original_path(photo).read_bytes() == SMALL
    assert rendition(photo, 1600).exists()


def test_missing_renditions_are_made_again(photo: Photo, data: Path, now: datetime) -> None:
    before = files_in(data)
    rendition(photo, 320).unlink()
    rendition(photo, 1600).unlink()

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert report.remade == (photo.file,)
    assert files_in(data) == before


def test_an_original_that_can_no_longer_be_read_is_an_alarm(photo: Photo, now: datetime) -> None:
    rendition(photo, 320).unlink()
    store.original_path(photo).write_bytes(b"\0" * len(SMALL))

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert (report.unreadable, report.is_alarm) == ((photo.file,), True)
    assert store.original_path(photo).exists()


def test_only_so_many_renditions_are_made_in_one_run(
    photo: Photo, data: Path, now: datetime, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sweeper, "REMADE_AT_ONCE", 1)
    second = store.accept(upload=upload(corpus.jpeg()), key=uuid4(), by=None, now=now)
    rendition(photo, 320).unlink()
    rendition(second, 320).unlink()

    first_run = sweeper.sweep(now=now, grace=NOTHING)
    second_run = sweeper.sweep(now=now, grace=NOTHING)

    assert (len(first_run.remade), first_run.left_to_remake) == (1, 1)
    assert (len(second_run.remade), second_run.left_to_remake) == (1, 0)
    assert sweeper.sweep(now=now, grace=NOTHING) == CLEAN


def test_without_room_the_renditions_wait(
    photo: Photo, data: Path, now: datetime, settings: Settings
) -> None:
    rendition(photo, 320).unlink()
    settings.SPLITPIN_MIN_FREE_BYTES = 1 << 60

    report = sweeper.sweep(now=now, grace=NOTHING)

    assert (report.remade, report.left_to_remake) == ((), 1)


def test_a_photo_whose_form_was_never_saved_goes_after_thirty_days(
    data: Path,
    db: None,
    now: datetime,
    django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks,
) -> None:
    day = timedelta(days=1)
    old, young = (
        store.accept(upload=upload(SMALL), key=uuid4(), by=None, now=now - age)
        for age in (31 * day, 29 * day)
    )

    with django_capture_on_commit_callbacks(execute=True):
        report = sweeper.sweep(now=now, grace=HOUR)

    assert report.thrown_away == (old.file,)
    assert Photo.objects.get().pk == young.pk
    quarantined = [Path(file).name for file in files_in(data) if file.startswith("quarantine/")]
    assert Path(old.file).name in quarantined


def test_an_old_photo_in_use_stays(photo: Photo, now: datetime) -> None:
    report = sweeper.sweep(now=now + timedelta(days=4000), grace=NOTHING)

    assert report.thrown_away == ()
    assert Photo.objects.get().pk == photo.pk


def test_a_photo_that_a_car_shows_is_not_thrown_away_whatever_its_mark(
    data: Path, car: Car, now: datetime
) -> None:
    car.picture = accept(SMALL)
    car.save(update_fields=["picture"])

    report = sweeper.sweep(now=factories.NOW + timedelta(days=31), grace=HOUR)

    assert (report.pointed_at, report.thrown_away) == ((car.picture.file,), ())
    assert Photo.objects.get().pk == car.picture.pk


def test_a_clock_that_has_lost_its_battery_starts_and_ends_no_quarantine(
    photo: Photo, data: Path
) -> None:
    stray = put(data / "photos" / "originals" / "ab" / "abcd.jpg", age=timedelta(days=30_000))
    waiting = put(data / "photos" / "quarantine" / "efgh.jpg")

    report = sweeper.sweep(now=datetime(1970, 1, 2, tzinfo=UTC), grace=NOTHING)

    assert report.clock_is_behind
    assert (report.quarantined, report.removed_for_good) == ((), ())
    assert stray.exists() and waiting.exists()


def test_a_quarantine_of_tomorrow_says_that_the_clock_is_behind(
    data: Path, db: None, now: datetime
) -> None:
    put(data / "photos" / "quarantine" / date(2990, 1, 1).isoformat() / "abcd.jpg")

    assert sweeper.sweep(now=now, grace=NOTHING).clock_is_behind


def test_a_second_sweep_finds_nothing_to_do(photo: Photo, data: Path, now: datetime) -> None:
    put(data / "photos" / "originals" / "ab" / "abcd.jpg")
    put(data / "photos" / "shown" / "ab" / "abcd-320.jpg")
    put(data / "photos" / "tmp" / "a.part")
    rendition(photo, 320).unlink()

    first = sweeper.sweep(now=now, grace=NOTHING)
    after_first = files_in(data)
    second = sweeper.sweep(now=now, grace=NOTHING)

    assert first.counts() == CLEAN.counts() | {"temps_removed": 1, "quarantined": 2, "remade": 1}
    assert second == CLEAN
    assert files_in(data) == after_first
