"""Photos on a form: new ones as files, those kept already by their keys. An error loses neither."""

from datetime import datetime
from typing import Any
from uuid import UUID, uuid4

from django import forms
from django.http import HttpRequest

from garage.models import Photo
from garage.photos import store


class PhotosTaken:
    """The photos that came with one post, every good one stored at once.

    ``photos`` are in the store whether or not the rest of the form is right, so a form shown again
    names them by key; ``problems`` say in words why a photo was refused.
    """

    def __init__(self, request: HttpRequest, *, now: datetime) -> None:
        self.photos: list[Photo] = _kept(request.POST.getlist("photos"), request.user)
        self.problems: list[str] = []
        for upload in request.FILES.getlist("photo_files"):
            try:
                self.photos.append(
                    store.accept(upload=upload, key=uuid4(), by=request.user, now=now)
                )
            except (store.PhotoRefused, store.NoRoomForPhotos) as refused:
                self.problems.append(f"{upload.name}: {refused}")

    @property
    def first(self) -> Photo | None:
        return self.photos[0] if self.photos else None

    def add_errors(self, form: forms.Form) -> None:
        """Puts what was wrong with the photos on top of ``form``."""
        for problem in self.problems:
            form.add_error(None, problem)


def _kept(texts: list[str], by: Any) -> list[Photo]:
    """Photos this person sent for a form and that belong to nothing yet, in the form's order."""
    keys = []
    for text in texts[:30]:
        try:
            keys.append(UUID(text))
        except ValueError:
            continue
    found = Photo.objects.waiting_on_a_form().filter(key__in=keys, added_by=by)
    return sorted(found, key=lambda photo: keys.index(photo.key))


def use(photo: Photo) -> Photo:
    """The photo, now belonging to something, so that the sweeper leaves it alone."""
    photo.in_use = True
    photo.save(update_fields=["in_use"])
    return photo
