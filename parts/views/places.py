"""Shelves, boxes and bags: what is where, and moving many at once."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import asked_for, go, page
from parts import places as verbs
from parts.forms.places import NewPlaceForm, PutAwayForm, RenamePlaceForm
from parts.forms.takeoff import place_of
from parts.models import Piece, Place


@require_http_methods(["GET", "HEAD", "POST"])
def places(request: HttpRequest) -> HttpResponse:
    form = NewPlaceForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            return go(request, verbs.find_or_make(form.cleaned_data["path"]), "The place is there.")
        except verbs.PlaceRefused as refused:
            form.add_error("path", str(refused))
    context = {"form": form, "found": Place.objects.all().with_totals()}
    return page(request, "parts/places.html", context, code=422 if form.errors else 200)


@require_http_methods(["GET", "HEAD", "POST"])
def place(request: HttpRequest, pk: int) -> HttpResponse:
    place = get_object_or_404(Place.objects.select_related("within"), pk=pk)
    form = RenamePlaceForm(
        request.POST or None,
        person=request.user,
        initial={"name": place.name, "within": str(place.within or "")},
    )
    if request.method == "POST" and form.is_valid():
        try:
            within = place_of(form.cleaned_data["within"])
            renamed = verbs.rename(place=place, name=form.cleaned_data["name"], within=within)
            return go(request, renamed, f"It is {renamed} now.")
        except verbs.PlaceRefused as refused:
            form.add_error("name", str(refused))
    pieces = Piece.objects.kept().in_place(place).for_rows().newest_first()
    context = {
        "place": place,
        "form": form,
        "holds": place.holds.all(),
        "pieces": pieces,
        "places": Place.objects.all(),
    }
    return page(request, "parts/place.html", context, code=422 if form.errors else 200)


@require_POST
def put(request: HttpRequest) -> HttpResponse:
    """Puts the ticked pieces in one place; one undo takes all of them back."""
    pieces = list(Piece.objects.kept().numbered(request.POST.getlist("piece")))
    back = asked_for(request) or "places"
    form = PutAwayForm(request.POST, person=request.user)
    if not pieces:
        return go(request, back, "Tick the parts to move first.")
    if not form.is_valid():
        return go(request, back, form.problems[0][1])
    try:
        place = place_of(form.cleaned_data["place"])
        batch = verbs.put(pieces=pieces, place=place, by=request.user, now=timezone.now())
    except verbs.PlaceRefused as refused:
        return go(request, back, str(refused))
    what = pieces[0].tag if len(pieces) == 1 else f"{len(pieces)} parts"
    return go(request, back, f"{what} in {place or 'no place'}.", undo=batch)
