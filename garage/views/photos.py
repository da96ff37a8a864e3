"""Photos in and out: sent while the form is still being filled in, shown as renditions only."""

from django.http import FileResponse, HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import get_object_or_404, render
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from garage.forms import key_of
from garage.models import Photo, Role
from garage.people import needs
from garage.photos import store
from garage.templatetags.measures import local_day

YEAR_SECONDS = 31_536_000


@require_POST
def add(request: HttpRequest) -> HttpResponse:
    """Takes in one photo and answers with its place in the form: a thumbnail and its key."""
    key, upload = key_of(request), request.FILES.get("photo")
    if key is None or upload is None:
        return _refusal(request, "No photo came with that. Take it again.", 422)
    try:
        photo = store.accept(upload=upload, key=key, by=request.user, now=timezone.now())
    except store.NoRoomForPhotos as full:
        return _refusal(request, str(full), 507)
    except (store.PhotoRefused, store.KeyUsedForOtherPhoto) as refused:
        return _refusal(request, str(refused), 422)
    return render(request, "includes/shot.html", {"photo": photo}, status=201)


def _refusal(request: HttpRequest, says: str, code: int) -> HttpResponse:
    return render(request, "includes/shot_refused.html", {"says": says}, status=code)


@require_safe
def show(request: HttpRequest, key: str, size: int) -> HttpResponseBase:
    """A rendition: upright, without a trace of where it was taken."""
    photo = get_object_or_404(Photo, key=key)
    path = store.rendition_path(photo, size)
    if path is None or not path.exists():
        return _no_picture()
    response = FileResponse(path.open("rb"), content_type="image/jpeg")
    # A photo never changes under its key, and the cache is this person's own.
    response.headers["Cache-Control"] = f"private, max-age={YEAR_SECONDS}, immutable"
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


@require_safe
@needs(Role.OWNER)
def original(request: HttpRequest, key: str) -> HttpResponseBase:
    """The photo byte for byte as it came, to save; it may tell where it was taken."""
    photo = get_object_or_404(Photo, key=key)
    path = store.original_path(photo)
    if not path.exists():
        return _no_picture()
    response = FileResponse(
        path.open("rb"),
        as_attachment=True,
        filename=f"photo-{local_day(photo.received_at)}-{photo.key.hex[:8]}{path.suffix}",
        content_type="application/octet-stream",
    )
    response.headers["Content-Security-Policy"] = "default-src 'none'; sandbox"
    return response


def _no_picture() -> HttpResponse:
    return HttpResponse("The photo's file is missing.", status=404, content_type="text/plain")
