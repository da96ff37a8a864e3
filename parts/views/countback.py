"""Counting a drop-off back in."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import go, page
from parts import countback
from parts.dropoff import REFUSALS, DropOffRefused
from parts.forms.counting import CountForm, photos_of
from parts.forms.takeoff import place_of
from parts.models import DropOff, Line, Place
from parts.places import PlaceRefused
from parts.views.dropoffs import dropoff_of, dropoff_page


@require_POST
def collect(request: HttpRequest, number: int) -> HttpResponse:
    """Everything is fetched, and waits to be counted."""
    one = dropoff_of(number)
    try:
        countback.collect(dropoff=one, by=request.user, now=timezone.now())
    except REFUSALS as refused:
        return dropoff_page(request, one, pick_problem=str(refused), code=422)
    return go(request, reverse("count", args=[number]), f"{one} is fetched. Count it now.")


@require_http_methods(["GET", "HEAD", "POST"])
def count(request: HttpRequest, number: int) -> HttpResponse:
    one = dropoff_of(number)
    lines = list(one.lines.for_sheet())
    if request.method != "POST":
        form = CountForm(lines=lines, person=request.user, initial={"invoiced": one.invoiced})
        return _page(request, one, lines, form)
    now = timezone.now()
    photos, problems = photos_of(request, lines, now=now)
    form = CountForm(request.POST, lines=lines, photos=photos, person=request.user)
    form.is_valid()
    for problem in problems:
        form.add_error(None, problem)
    if not form.errors:
        try:
            return _written_down(request, one, form, now)
        except countback.CountedAlready:
            form = form.once_more(list(one.lines.for_sheet()))
            form.add_error(
                None, "This form was saved before with other figures. Save once more to add these."
            )
        except PlaceRefused as refused:
            form.add_error("place", str(refused))
        except REFUSALS as refused:
            form.add_error(None, str(refused))
    return _page(request, one, lines, form, code=422)


def _written_down(request: HttpRequest, one: DropOff, form: CountForm, now: Any) -> HttpResponse:
    tallies = form.all_good() if "all_good" in request.POST else form.tallies()
    invoiced = form.cleaned_data["invoiced"]
    if not tallies and invoiced in (None, one.invoiced):
        raise DropOffRefused("Say of at least one line what came back.")
    countback.count(
        dropoff=one,
        tallies=tallies,
        place=place_of(form.cleaned_data["place"]),
        invoiced=invoiced,
        by=request.user,
        now=now,
    )
    left = DropOff.objects.with_counts().get(pk=one.pk)
    out = left.pieces_sent - left.pieces_counted
    if out:
        return go(request, request.path, f"{out} of {left.pieces_sent} still out.")
    return go(request, one, f"Everything is counted. {one} is closed.")


def _page(
    request: HttpRequest, one: DropOff, lines: list[Line], form: CountForm, code: int = 200
) -> HttpResponse:
    context = {
        "dropoff": one,
        "form": form,
        "counted_lines": [line for line in lines if line.counted],
        "sent": sum(line.count for line in lines),
        "still_out": sum(line.still_out for line in lines),
        "matches": countback.likely_matches(one) if not one.is_being_built else [],
        "places": Place.objects.all(),
        "today": timezone.localdate(),
    }
    return page(request, "parts/count.html", context, code=code)
