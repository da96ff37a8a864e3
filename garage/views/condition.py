"""The condition of the store, for its owner: what is known, and the few things to do about it."""

import shutil
from pathlib import Path

from django.conf import settings
from django.db import connection
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from garage.backup import automatic, keeping
from garage.backup.contents import BackupRefused
from garage.health import clock, trouble
from garage.health import condition as conditions
from garage.http import go, page
from garage.models import Photo, Role
from garage.people import needs
from garage.photos import folders
from garage.photos.limits import NoRoomForPhotos


@require_safe
@needs(Role.OWNER)
def condition(request: HttpRequest) -> HttpResponse:
    return _page(request)


@require_POST
@needs(Role.OWNER)
def back_up(request: HttpRequest) -> HttpResponse:
    """Makes a backup while the owner waits: it is done when this page says so."""
    if connection.vendor != "sqlite":
        raise Http404
    data = settings.SPLITPIN_DATA
    live = Path(settings.DATABASES["default"]["NAME"])
    try:
        path, manifest = automatic.back_up(data=data, live=live, now=timezone.now())
    except BackupRefused as refused:
        return _page(request, refused=f"No backup was made: {refused}", code=409)
    photos = manifest.count("photos/originals/")
    return go(
        request,
        "condition",
        f"{path.name} has the records and {photos:,} photos, read back and found whole.",
    )


@require_POST
@needs(Role.OWNER)
def copied(request: HttpRequest) -> HttpResponse:
    conditions.copied(settings.SPLITPIN_DATA, now=timezone.now())
    return go(request, "condition", "Noted: a copy lies on another disk since today.")


@require_POST
@needs(Role.OWNER)
def clock_is_right(request: HttpRequest) -> HttpResponse:
    clock.trust(settings.SPLITPIN_DATA, timezone.now())
    return go(request, "condition", "Noted: the clock is right as it is now.")


def _page(request: HttpRequest, *, refused: str = "", code: int = 200) -> HttpResponse:
    data, now = settings.SPLITPIN_DATA, timezone.now()
    known = conditions.read(data)
    context = {
        "known": known,
        "trouble": trouble.noted(),
        "clock_was": clock.was_later(data, now),
        "now": now,
        "data_folder": data,
        "newest": keeping.newest_in(keeping.folder_of(data)),
        "backups_here": connection.vendor == "sqlite",
        "copy_is_old": known.copy_is_old(now),
        "photos": Photo.objects.count(),
        "free_gb": shutil.disk_usage(data).free / 1e9,
        "has_room": _has_room(),
        "refused": refused,
    }
    return page(request, "garage/condition.html", context, code=code)


def _has_room() -> bool:
    try:
        folders.refuse_when_full(0)
    except NoRoomForPhotos:
        return False
    return True
