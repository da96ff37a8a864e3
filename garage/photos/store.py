"""The one door for photos: in, out to be shown, and out of use."""

import contextlib
import hashlib
import uuid
from collections.abc import Iterable, Iterator
from datetime import datetime
from functools import partial
from pathlib import Path

from django.core.files.uploadedfile import UploadedFile
from django.db import DatabaseError, IntegrityError, transaction

from garage.health import trouble
from garage.models import Person, Photo
from garage.photos import durable, folders, reader
from garage.photos.limits import (
    EMPTY,
    PHOTO_LIMIT_BYTES,
    RENDITIONS_PX,
    KeyUsedForOtherPhoto,
    NoRoomForPhotos,
    PhotoRefused,
    too_large,
)

ENDINGS = {"JPEG": "jpg", "PNG": "png", "WEBP": "webp", "HEIC": "heic"}


def accept(*, upload: UploadedFile, key: uuid.UUID, by: Person | None, now: datetime) -> Photo:
    """The photo, kept byte for byte and shown in two sizes; the same row again for a resend.

    When this returns, file and row have reached the disk. Must not run inside a transaction:
    the row's own is the last step, after the file is in place.

    Raises
    ------
    PhotoRefused
        If it is no whole photo of a kind that is taken. Nothing is left behind.
    NoRoomForPhotos
        If the disk has no room to spare. Nothing is left behind.
    KeyUsedForOtherPhoto
        If the key came with other bytes before.
    """
    if known := Photo.objects.filter(key=key).first():
        return _the_same(known, _sha256(upload.chunks()))
    if (upload.size or 0) > PHOTO_LIMIT_BYTES:
        raise too_large(upload.size or 0)
    made: list[Path] = []
    with _nothing_left_of(made):
        folders.refuse_when_full(upload.size or 0)
        photo = _put_in_place(upload, made)
    photo.key, photo.added_by, photo.received_at = key, by, now
    return _record(photo, made)


@contextlib.contextmanager
def _nothing_left_of(made: list[Path]) -> Iterator[None]:
    """Removes the files of ``made`` when the block fails, and gives a full disk its own name.

    Only for files that no row can name yet.
    """
    try:
        yield
    except OSError as error:
        durable.remove(made)
        if trouble.is_full(error):
            raise NoRoomForPhotos from error
        raise
    except BaseException:
        durable.remove(made)
        raise


def _put_in_place(upload: UploadedFile, made: list[Path]) -> Photo:
    """The row to be, with all files behind it in place; each file is noted in ``made`` first."""
    name = uuid.uuid4().hex
    part = _noted(made, folders.incoming() / f"{name}.part")
    counted = _Counted(upload.chunks())
    durable.write(counted, part)
    if not counted.size_bytes:
        raise PhotoRefused(EMPTY)
    seen = _make_renditions(part, name, made)
    file = f"originals/{name[:2]}/{name}.{ENDINGS[seen.format]}"
    durable.move(part, _noted(made, folders.photos() / file))
    # Another worker may have made the folder a moment ago and not settled it yet.
    durable.settle(folders.originals())
    return Photo(
        file=file,
        sha256=counted.sha256.hexdigest(),
        size_bytes=counted.size_bytes,
        format=seen.format,
        width_px=seen.width_px,
        height_px=seen.height_px,
        taken_at=seen.taken_at,
    )


def _make_renditions(source: Path, name: str, made: list[Path]) -> reader.Seen:
    parts = {
        size: _noted(made, folders.incoming() / f"{name}-{size}.part") for size in RENDITIONS_PX
    }
    seen = reader.read(source, renditions=parts)
    for size, part in parts.items():
        durable.settle(part)
        durable.move(part, _noted(made, folders.rendition(name, size)))
    return seen


def _noted(made: list[Path], path: Path) -> Path:
    made.append(path)
    return path


class _Counted:
    """Passes chunks on, and knows their digest and how many bytes they were."""

    def __init__(self, chunks: Iterable[bytes]) -> None:
        self.chunks = chunks
        self.size_bytes = 0
        self.sha256 = hashlib.sha256()

    def __iter__(self) -> Iterator[bytes]:
        for chunk in self.chunks:
            self.size_bytes += len(chunk)
            if self.size_bytes > PHOTO_LIMIT_BYTES:
                raise too_large(self.size_bytes)
            self.sha256.update(chunk)
            yield chunk


def _record(photo: Photo, made: list[Path]) -> Photo:
    """The saved row.

    The files stay after a failure here: a COMMIT that reports an error may have happened all
    the same, and its row must not lose its photo. The sweeper knows which it was.
    """
    try:
        with transaction.atomic(durable=True):
            photo.save(force_insert=True)
    except IntegrityError:
        known = Photo.objects.filter(key=photo.key).first()
        if known is None or known.file == photo.file:
            raise
        # The same photo came twice at once and the other was quicker; no row names these files.
        durable.remove(made)
        return _the_same(known, photo.sha256)
    except DatabaseError as error:
        if trouble.is_full(error):
            raise NoRoomForPhotos from error
        raise
    return photo


def _the_same(known: Photo, sha256: str) -> Photo:
    if known.sha256 != sha256:
        raise KeyUsedForOtherPhoto
    return known


def _sha256(chunks: Iterable[bytes]) -> str:
    digest = hashlib.sha256()
    for chunk in chunks:
        digest.update(chunk)
    return digest.hexdigest()


def original_path(photo: Photo) -> Path:
    """Where the photo lies as it came. It holds place and time: for the owner only."""
    return folders.photos() / photo.file


def rendition_path(photo: Photo, size: int) -> Path | None:
    """Where the picture of ``size`` pixels lies, a JPEG without metadata; None for another size."""
    return folders.rendition(photo.file, size) if size in RENDITIONS_PX else None


def make_renditions_again(photo: Photo) -> None:
    """The renditions of a photo whose original is there.

    Raises
    ------
    PhotoRefused
        If the original can no longer be read.
    NoRoomForPhotos
        If the disk has no room to spare.
    """
    made: list[Path] = []
    with _nothing_left_of(made):
        folders.refuse_when_full(0)
        _make_renditions(original_path(photo), Path(photo.file).stem, made)


def throw_away(photo: Photo) -> None:
    """No row any more; once that is certain, its files go into quarantine for 30 days."""
    file = photo.file
    with transaction.atomic():
        photo.delete()
        # robust: the row is gone either way, and a file left in place is the sweeper's work.
        transaction.on_commit(partial(into_quarantine, file), robust=True)


def into_quarantine(file: str) -> None:
    """The original ``file`` and its renditions out of use; the sweeper dates them."""
    shown = (folders.rendition(file, size) for size in RENDITIONS_PX)
    for path in (folders.photos() / file, *shown):
        durable.move_if_there(path, folders.quarantine() / path.name)
