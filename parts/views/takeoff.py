"""Take a part off: one screen, cold fingers, a photo and a name."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from garage.http import go, page
from garage.photo_fields import PhotosTaken
from parts import takeoff
from parts.connections import connection_lines
from parts.forms.places import PutAwayForm
from parts.forms.takeoff import TakeOffForm, place_of
from parts.models import Part, Piece, Place
from parts.places import PlaceRefused
from parts.statuses import MoveNotAllowed
from parts.tags import next_tag

TEMPLATE = "parts/take_off.html"


@require_http_methods(["GET", "HEAD", "POST"])
def take_off(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    if request.method != "POST":
        last = request.session.get("last_take_off", {})
        initial = {
            "place": last.get("place", ""),
            "system": last.get("system") or car.systems.first(),
        }
        if request.GET.get("system", "").isdigit():
            initial["system"] = request.GET["system"]
        return _form(request, TakeOffForm(car=car, person=request.user, initial=initial), None)

    now = timezone.now()
    taken = PhotosTaken(request, now=now)
    form = TakeOffForm(request.POST, car=car, person=request.user)
    form.is_valid()
    taken.add_errors(form)
    if form.errors:
        return _form(request, form, taken, code=422)
    try:
        part = takeoff.log_part(
            key=form.cleaned_data["key"],
            car=car,
            system=form.cleaned_data["system"],
            name=form.cleaned_data["name"],
            still_on_car=form.cleaned_data["still_on_car"],
            place=place_of(form.cleaned_data["place"]),
            photos=taken.photos,
            quantity=form.cleaned_data["quantity"],
            piece_fields=form.piece_fields(),
            by=request.user,
            now=now,
            **form.part_fields(),
        )
    except takeoff.FormUsedAlready as used:
        # Somebody went back to a saved form and wrote another part on it: that is a new part.
        form.renew_key(f"{used} Save once more to log this as another part.")
        return _form(request, form, taken, code=422)
    except PlaceRefused as refused:
        form.add_error("place", str(refused))
        return _form(request, form, taken, code=422)
    request.session["last_take_off"] = {
        "place": form.cleaned_data["place"],
        "system": form.cleaned_data["system"].pk,
    }
    if "another" in request.POST:
        return go(request, "take_off", f"{part} is saved.")
    return go(request, part, f"{part.tag} is its tag. Wire it on.")


def _form(
    request: HttpRequest, form: TakeOffForm, taken: PhotosTaken | None, code: int = 200
) -> HttpResponse:
    context = {"form": form, "taken": taken, "next_tag": next_tag(), "places": Place.objects.all()}
    return page(request, TEMPLATE, context, code=code)


@require_http_methods(["GET", "HEAD", "POST"])
def take_off_listed(request: HttpRequest, tag: str) -> HttpResponse:
    """Takes off a part that was listed while it was still on the car."""
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    if request.method != "POST":
        last = request.session.get("last_take_off", {})
        form = PutAwayForm(person=request.user, initial={"place": last.get("place", "")})
        return _listed_form(request, part, form, None)
    now = timezone.now()
    taken = PhotosTaken(request, now=now)
    form = PutAwayForm(request.POST, person=request.user)
    form.is_valid()
    taken.add_errors(form)
    if form.errors:
        return _listed_form(request, part, form, taken, code=422)
    piece: Piece = part.fitted_piece
    try:
        place = place_of(form.cleaned_data["place"])
        event = takeoff.take_off(piece=piece, place=place, by=request.user, now=now)
    except PlaceRefused as refused:
        form.add_error("place", str(refused))
        return _listed_form(request, part, form, taken, code=422)
    except MoveNotAllowed:
        # Somebody was quicker, or the button was pressed twice. The photos are kept all the same.
        event = None
    for photo in taken.photos:
        takeoff.add_photo(piece=piece, photo=photo, moment="off", by=request.user, now=now)
    if event is None:
        return go(request, part, f"{part} was off already.")
    request.session["last_take_off"] = {
        "place": form.cleaned_data["place"],
        "system": part.system_id,
    }
    return go(request, part, f"{part} is off.", undo=event.key)


def _listed_form(
    request: HttpRequest,
    part: Part,
    form: PutAwayForm,
    taken: PhotosTaken | None,
    code: int = 200,
) -> HttpResponse:
    context = {
        "part": part,
        "piece": part.fitted_piece,
        "form": form,
        "taken": taken,
        "places": Place.objects.all(),
        "connections": connection_lines(part),
    }
    return page(request, "parts/take_off_listed.html", context, code=code)
