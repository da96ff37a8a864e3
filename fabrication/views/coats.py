"""Finish at home: the coats of a piece, one put on, one taken off the list."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from fabrication.curing import coats as verbs
from fabrication.curing import faces, trusted_time
from fabrication.curing.clockwork import NoTimes
from fabrication.curing.trusted_time import TimeDoubted, machine_now
from fabrication.forms.bonds import CoatForm, MixForm
from fabrication.models import Clock, Coat
from garage.http import go, page
from parts.models import Piece


@require_http_methods(["GET", "HEAD", "POST"])
def coats(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(Piece.objects.kept().select_related("part__car"), pk=pk)
    form = CoatForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        key = form.cleaned_data["key"]
        try:
            coat = verbs.plan(key=key, piece=piece, values=form.values(), by=request.user)
            return go(request, coat, f"{coat} is on the list.")
        except verbs.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _page(request, piece, form=form, code=422 if form.is_bound else 200)


@require_POST
def coat(request: HttpRequest, pk: int) -> HttpResponse:
    """A coat is on, and its clock runs; or it comes off the list."""
    one = get_object_or_404(Coat.objects.select_related("piece__part__car"), pk=pk)
    if "off" in request.POST:
        try:
            verbs.take_off_list(coat=one)
        except verbs.CoatRefused as refused:
            return _page(request, one.piece, refused=str(refused), code=422)
        return go(request, one, f"{one} is off the list.")
    form = MixForm(request.POST, person=request.user)
    if form.is_valid():
        now = timezone.now()
        try:
            clock = verbs.put_on(
                coat=one,
                key=form.cleaned_data["key"],
                temp_c=form.cleaned_data["temp_c"],
                by=request.user,
                now=now,
                machine=machine_now(now),
            )
            return go(request, clock, f"{one} is on. The clock runs.")
        except (verbs.CoatRefused, NoTimes, TimeDoubted) as refused:
            form.add_error(None, str(refused))
    return _page(request, one.piece, on_form=form, code=422)


def _page(
    request: HttpRequest,
    piece: Piece,
    *,
    form: CoatForm | None = None,
    on_form: MixForm | None = None,
    refused: str = "",
    code: int = 200,
) -> HttpResponse:
    now = timezone.now()
    listed = list(Coat.objects.of_piece(piece))
    running = Clock.objects.of_coats(piece).running().for_page().newest_first().first()
    doubt = trusted_time.doubt(now=now, machine=machine_now(now)) if running else ""
    context: dict[str, Any] = {
        "piece": piece,
        "coats": listed,
        "next_coat": next((one for one in listed if one.put_on_at is None), None),
        "face": faces.face_of(running, now=now, doubt=doubt) if running else None,
        "form": form or CoatForm(person=request.user),
        "on_form": on_form or MixForm(person=request.user),
        "refused": refused,
        "step": verbs.step_of(piece),
        "isocyanate": any(one.has_isocyanate for one in listed),
    }
    return page(request, "fabrication/coats.html", context, code=code)
