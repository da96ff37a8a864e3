"""The door for photos: kept byte for byte, once a key, or refused with nothing left behind."""

import errno
import hashlib
import os
import sqlite3
from collections.abc import Callable, Iterator
from pathlib import Path
from typing import Any
from uuid import uuid4

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.db import OperationalError, connection, transaction
from django.db.backends.base.base import BaseDatabaseWrapper
from PIL import Image
from pytest_django import DjangoCaptureOnCommitCallbacks, Settings

from garage.models import Person, Photo
from garage.photos import store
from garage.photos.limits import (
    PHOTO_LIMIT_BYTES,
    KeyUsedForOtherPhoto,
    NoRoomForPhotos,
    PhotoRefused,
)
from tests.factories import NOW
from tests.garage.photos import corpus
from tests.garage.photos.uploads import accept, files_in, upload

# One sound photo that is small enough to be sent a hundred times.
SMALL = corpus.saved(corpus.picture(size=(64, 48)))


@pytest.mark.django_db
def test_a_photo_is_kept_byte_for_byte(data: Path, owner: Person) -> None:
    key = uuid4()

    photo = store.accept(upload=upload(corpus.jpeg()), key=key, by=owner, now=NOW)

    kept = Photo.objects.get(key=key)
    original = data / "photos" / kept.file
    assert original.read_bytes() == corpus.jpeg()
    assert original.stat().st_mode & 0o777 == 0o600
    assert (kept.pk, kept.added_by, kept.received_at) == (photo.pk, owner, NOW)
    assert kept.sha256 == hashlib.sha256(corpus.jpeg()).hexdigest()
    assert kept.size_bytes == len(corpus.jpeg())
    assert (kept.format, kept.width_px, kept.height_px) == ("JPEG", 640, 480)
    assert not kept.in_use


@pytest.mark.django_db
def test_a_photo_lies_under_a_name_of_ours_with_its_renditions(data: Path) -> None:
    photo = accept(corpus.heic(), name="IMG_0001.JPG")

    name = Path(photo.file).stem
    assert len(name) == 32
    assert files_in(data) == {
        f"originals/{name[:2]}/{name}.heic",
        f"shown/{name[:2]}/{name}-1600.jpg",
        f"shown/{name[:2]}/{name}-320.jpg",
    }
    assert store.original_path(photo) == data / "photos" / photo.file
    small = store.rendition_path(photo, 320)
    assert small is not None
    with Image.open(small) as picture:
        assert picture.format == "JPEG"
    assert store.rendition_path(photo, 640) is None


@pytest.mark.django_db
@pytest.mark.parametrize(
    "name",
    [
        "pulley.exe",
        "../../secret.jpg",
        "..\\..\\secret.jpg",
        "/etc/passwd",
        "pulley\u202egpj.exe",
        "pulley\0.jpg",
        "x" * 300 + ".jpg",
        "<script>.jpg",
        ".htaccess",
        "pulley",
    ],
)
def test_the_name_a_photo_is_sent_under_leads_nowhere(name: str, data: Path) -> None:
    before = {path for path in data.parent.rglob("*") if not path.is_relative_to(data)}

    photo = accept(SMALL, name=name)

    assert photo.file.endswith(".jpg")
    assert len(files_in(data)) == 3
    assert {path for path in data.parent.rglob("*") if not path.is_relative_to(data)} == before


@pytest.mark.django_db
def test_a_resend_finds_the_same_photo(data: Path) -> None:
    key = uuid4()
    first = accept(SMALL, key=key)
    before = files_in(data)

    again = accept(SMALL, key=key, name="renamed.png")

    assert again.pk == first.pk
    assert Photo.objects.count() == 1
    assert files_in(data) == before


@pytest.mark.django_db
def test_a_key_is_not_used_for_another_photo(data: Path) -> None:
    key = uuid4()
    first = accept(SMALL, key=key)
    before = files_in(data)

    with pytest.raises(KeyUsedForOtherPhoto):
        accept(corpus.jpeg(), key=key)

    assert Photo.objects.get().sha256 == first.sha256
    assert files_in(data) == before


class OvertakenUpload(SimpleUploadedFile):
    """An upload whose twin from another phone arrives while this one is being read."""

    overtaking: Callable[[], object]

    def chunks(self, chunk_size: int | None = None) -> Iterator[bytes]:
        self.overtaking()
        return super().chunks(chunk_size)


@pytest.mark.django_db
def test_a_photo_sent_twice_at_once_is_kept_once(data: Path) -> None:
    key = uuid4()
    slow = OvertakenUpload("pulley.jpg", SMALL)
    slow.overtaking = lambda: accept(SMALL, key=key)

    photo = store.accept(upload=slow, key=key, by=None, now=NOW)

    assert photo.pk == Photo.objects.get().pk
    assert photo.file in files_in(data)
    assert len(files_in(data)) == 3


@pytest.mark.django_db
def test_another_photo_overtaking_under_the_same_key_is_told(data: Path) -> None:
    key = uuid4()
    slow = OvertakenUpload("pulley.jpg", SMALL)
    slow.overtaking = lambda: accept(corpus.jpeg(), key=key)

    with pytest.raises(KeyUsedForOtherPhoto):
        store.accept(upload=slow, key=key, by=None, now=NOW)

    assert Photo.objects.get().file in files_in(data)
    assert len(files_in(data)) == 3


@pytest.mark.django_db
@pytest.mark.parametrize("photo", corpus.bad(), ids=lambda photo: photo.name)
def test_a_bad_file_is_refused_with_its_cause_and_leaves_nothing(
    photo: corpus.Bad, data: Path
) -> None:
    with pytest.raises(PhotoRefused, match=photo.says) as refusal:
        accept(photo.content)

    assert refusal.value.reason.endswith(".")
    assert files_in(data) == set()
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_photo_over_the_limit_is_refused_with_both_figures(data: Path) -> None:
    large = SMALL.ljust(PHOTO_LIMIT_BYTES + 1, b"\0")

    with pytest.raises(PhotoRefused) as refusal:
        accept(large)

    assert refusal.value.reason == "Too large: 25.1 MB, the limit is 25 MB."
    assert files_in(data) == set()


@pytest.mark.django_db
def test_a_photo_that_grows_over_the_limit_on_its_way_is_refused(data: Path) -> None:
    growing = upload(SMALL.ljust(PHOTO_LIMIT_BYTES + 1, b"\0"))
    growing.size = 1000

    with pytest.raises(PhotoRefused, match="Too large"):
        store.accept(upload=growing, key=uuid4(), by=None, now=NOW)

    assert files_in(data) == set()


@pytest.mark.django_db
def test_a_photo_of_exactly_the_limit_is_taken(data: Path) -> None:
    photo = accept(SMALL.ljust(PHOTO_LIMIT_BYTES, b"\0"))

    assert store.original_path(photo).stat().st_size == PHOTO_LIMIT_BYTES


@pytest.mark.django_db
def test_no_photo_is_taken_into_the_last_room(data: Path, settings: Settings) -> None:
    settings.SPLITPIN_MIN_FREE_BYTES = 1 << 60

    with pytest.raises(NoRoomForPhotos, match="Make room"):
        accept(SMALL)

    assert files_in(data) == set()
    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_resend_of_a_kept_photo_needs_no_room(data: Path, settings: Settings) -> None:
    key = uuid4()
    first = accept(SMALL, key=key)
    settings.SPLITPIN_MIN_FREE_BYTES = 1 << 60

    assert accept(SMALL, key=key).pk == first.pk


# The steps at which a disk can fail; what the decoder writes is its own process's.
STEPS = ("open", "write", "fsync", "rename", "mkdir")


class FailingDisk:
    """Counts the steps of this process on the disk, and fails the ``at``-th of them.

    SQLite's way (sqlite.org/testing.html, I/O error tests): the first, the second, and so on,
    once only or from then on, until nothing fails any more.
    """

    def __init__(self, *, at: int, number: int, persists: bool) -> None:
        self.at, self.number, self.persists = at, number, persists
        self.taken = 0

    def broken(self, step: str, real: Callable[..., Any]) -> Callable[..., Any]:
        def call(*arguments: Any, **named: Any) -> Any:
            reads = step == "open" and arguments[1] == os.O_RDONLY
            self.taken += not reads
            if not reads and (self.taken == self.at or (self.persists and self.taken > self.at)):
                raise OSError(self.number, os.strerror(self.number))
            return real(*arguments, **named)

        return call


def accept_on(disk: FailingDisk, monkeypatch: pytest.MonkeyPatch) -> Exception | None:
    sent, key = upload(SMALL), uuid4()
    with monkeypatch.context() as patch:
        for step in STEPS:
            patch.setattr(os, step, disk.broken(step, getattr(os, step)))
        try:
            store.accept(upload=sent, key=key, by=None, now=NOW)
        except (OSError, NoRoomForPhotos) as error:
            return error
    return None


@pytest.mark.django_db
@pytest.mark.parametrize("persists", [False, True], ids=["once", "from then on"])
@pytest.mark.parametrize("number", [errno.EIO, errno.ENOSPC, errno.EDQUOT], ids=os.strerror)
def test_a_disk_that_fails_at_any_step_leaves_neither_row_nor_file(
    number: int, persists: bool, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    failed = 0
    for at in range(1, 100):
        error = accept_on(FailingDisk(at=at, number=number, persists=persists), monkeypatch)
        if error is None:
            break
        failed += 1
        assert isinstance(error, OSError if number == errno.EIO else NoRoomForPhotos)
        assert files_in(data) == set()
        assert not Photo.objects.exists()

    # 3 files settled and renamed, 3 folders settled after it, and what was made on the way.
    assert failed >= 12
    assert Photo.objects.count() == 1
    assert len(files_in(data)) == 3


def recorded(top: Path, monkeypatch: pytest.MonkeyPatch) -> list[str]:
    """What is settled and renamed below ``top`` from now on, in its order."""
    steps: list[str] = []
    real_fsync, real_rename = os.fsync, os.rename

    def fsync(number: int) -> None:
        steps.append("fsync " + os.readlink(f"/proc/self/fd/{number}").removeprefix(f"{top}/"))
        real_fsync(number)

    def rename(source: Path, target: Path) -> None:
        steps.append(f"rename {target.relative_to(top)}")
        real_rename(source, target)

    monkeypatch.setattr(os, "fsync", fsync)
    monkeypatch.setattr(os, "rename", rename)
    return steps


@pytest.mark.django_db
def test_the_row_comes_after_the_settled_file_and_the_settled_folder(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    steps = recorded(data / "photos", monkeypatch)

    def note(execute: Callable[..., Any], sql: str, *more: Any) -> Any:
        if sql.startswith("INSERT"):
            steps.append("row")
        return execute(sql, *more)

    with connection.execute_wrapper(note):
        photo = accept(SMALL)

    name = Path(photo.file).stem
    wanted = [
        f"fsync tmp/{name}.part",
        f"rename {photo.file}",
        f"fsync originals/{name[:2]}",
        "fsync originals",
        "row",
    ]
    assert [step for step in steps if step in wanted[:3]] == wanted[:3]
    assert steps[-3:] == wanted[2:]


def commit_that_fails(*, after: bool) -> Callable[[BaseDatabaseWrapper], None]:
    """A COMMIT that reports an I/O error, after or instead of being carried out."""

    def commit(wrapper: BaseDatabaseWrapper) -> None:
        if after:
            wrapper.connection.commit()
        raise OperationalError("disk I/O error")

    return commit


@pytest.mark.django_db(transaction=True)
@pytest.mark.parametrize("after", [True, False], ids=["carried out", "not carried out"])
def test_a_commit_that_reports_an_error_leaves_the_file(
    after: bool, data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    key = uuid4()
    with monkeypatch.context() as patch:
        patch.setattr(BaseDatabaseWrapper, "_commit", commit_that_fails(after=after))
        with pytest.raises(OperationalError):
            accept(SMALL, key=key)

    # Whether there is a row or not: where there is one, it has its photo.
    assert Photo.objects.count() == (1 if after else 0)
    assert len(files_in(data)) == 3

    again = accept(SMALL, key=key)

    assert Photo.objects.get().pk == again.pk
    assert again.file in files_in(data)


@pytest.mark.django_db(transaction=True)
def test_a_database_without_room_is_no_room_for_photos(
    data: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    def full(wrapper: BaseDatabaseWrapper) -> None:
        cause = sqlite3.OperationalError("database or disk is full")
        cause.sqlite_errorcode = sqlite3.SQLITE_FULL
        raise OperationalError("database or disk is full") from cause

    monkeypatch.setattr(BaseDatabaseWrapper, "_commit", full)

    with pytest.raises(NoRoomForPhotos):
        accept(SMALL)


@pytest.mark.django_db(transaction=True)
def test_a_photo_is_not_taken_in_inside_a_transaction(data: Path) -> None:
    with pytest.raises(RuntimeError, match="durable"), transaction.atomic():
        accept(SMALL)

    assert not Photo.objects.exists()


@pytest.mark.django_db
def test_a_photo_thrown_away_goes_into_quarantine_after_the_commit(
    data: Path, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    photo = accept(SMALL)
    before, name = files_in(data), Path(photo.file).stem

    with django_capture_on_commit_callbacks(execute=True):
        store.throw_away(photo)
        assert not Photo.objects.exists()
        assert files_in(data) == before

    assert files_in(data) == {
        f"quarantine/{name}.jpg",
        f"quarantine/{name}-1600.jpg",
        f"quarantine/{name}-320.jpg",
    }
    assert (data / "photos" / "quarantine" / f"{name}.jpg").read_bytes() == SMALL


@pytest.mark.django_db
def test_a_photo_whose_file_is_lost_can_be_thrown_away(
    data: Path, django_capture_on_commit_callbacks: DjangoCaptureOnCommitCallbacks
) -> None:
    photo = accept(SMALL)
    store.original_path(photo).unlink()

    with django_capture_on_commit_callbacks(execute=True):
        store.throw_away(photo)

    assert not Photo.objects.exists()
    assert len([file for file in files_in(data) if file.startswith("quarantine/")]) == 2


@pytest.mark.django_db
def test_renditions_are_made_again_from_the_original(data: Path) -> None:
    photo = accept(SMALL)
    small, large = store.rendition_path(photo, 320), store.rendition_path(photo, 1600)
    assert small is not None and large is not None
    small.unlink()

    store.make_renditions_again(photo)

    assert small.is_file() and large.is_file()
    assert len(files_in(data)) == 3
