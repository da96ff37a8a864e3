"""Uploads as the site gets them, and what lies in the data folder."""

import io
from pathlib import Path
from uuid import UUID, uuid4

from django.core.files.uploadedfile import UploadedFile
from django.test import RequestFactory

from garage.models import Photo
from garage.photos import store
from tests.factories import NOW


def upload(content: bytes, name: str = "pulley.jpg") -> UploadedFile:
    """``content`` after Django's own parser of forms, with the sender's ``name`` on it."""
    file = io.BytesIO(content)
    file.name = name
    sent = RequestFactory().post("/", {"photo": file}).FILES["photo"]
    assert isinstance(sent, UploadedFile)
    return sent


def accept(content: bytes, *, key: UUID | None = None, name: str = "pulley.jpg") -> Photo:
    sent = upload(content, name)
    return store.accept(upload=sent, key=key or uuid4(), by=None, now=NOW)


def files_in(data: Path) -> set[str]:
    """Every file of the photo store, by its name below the photo folder."""
    top = data / "photos"
    return {path.relative_to(top).as_posix() for path in top.rglob("*") if path.is_file()}
