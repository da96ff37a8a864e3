"""Photos of a part: adding them, looking at one, its moment and caption, throwing it out."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import go, page
from garage.photo_fields import PhotosTaken
from parts import takeoff
from parts.forms.parts import PhotoForm
from parts.models import Part, PartPhoto
from parts.pages import part_context


@require_POST
def part_photos(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    piece = part.piece_numbered(request.POST.get("piece")) or part.fitted_piece
    now = timezone.now()
    taken = PhotosTaken(request, now=now)
    form = PhotoForm(request.POST, person=request.user)
    form.is_valid()
    taken.add_errors(form)
    if not taken.photos and not form.errors:
        form.add_error(None, "Take a photo, or choose one")
    if form.errors:
        context = part_context(part=part, piece=piece, person=request.user, now=now)
        return page(
            request, "parts/part.html", context | {"photo_form": form, "taken": taken}, code=422
        )
    for photo in taken.photos:
        takeoff.add_photo(piece=piece, photo=photo, by=request.user, now=now, **form.cleaned_data)
    count = len(taken.photos)
    return go(request, piece, "The photo is kept." if count == 1 else f"{count} photos are kept.")


@require_http_methods(["GET", "HEAD", "POST"])
def part_photo(request: HttpRequest, pk: int) -> HttpResponse:
    shot = get_object_or_404(
        PartPhoto.objects.kept().select_related("photo", "part", "piece"), pk=pk
    )
    form = PhotoForm(
        request.POST or None,
        person=request.user,
        initial={"moment": shot.moment, "caption": shot.caption},
    )
    context = {"shot": shot, "form": form, "part": shot.part}
    if request.method != "POST":
        return page(request, "parts/part_photo.html", context)
    if "throw-out" in request.POST:
        takeoff.throw_out_photo(shot=shot, by=request.user, now=timezone.now())
        return go(request, shot.part, "The photo is thrown out.")
    if not form.is_valid():
        return page(request, "parts/part_photo.html", context, code=422)
    takeoff.describe_photo(shot=shot, by=request.user, now=timezone.now(), **form.cleaned_data)
    return go(request, shot.part, "The photo is described.")
