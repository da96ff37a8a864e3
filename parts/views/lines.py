"""The lines of a drop-off while it is built."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import go, page
from garage.photo_fields import PhotosTaken, use
from parts import dropoff as verbs
from parts.forms.dropoffs import HOW, LineForm, LotForm, MaskForms, TagForm
from parts.models import Line, Piece
from parts.tags import spoken
from parts.views.asking import ask_url, to_be_asked
from parts.views.dropoffs import dropoff_of, dropoff_page


@require_POST
def add_pieces(request: HttpRequest, number: int) -> HttpResponse:
    """Puts the ticked pieces on the sheet."""
    one = dropoff_of(number)
    pieces = list(Piece.objects.of(one.car).numbered(request.POST.getlist("pieces")))
    if not pieces:
        return dropoff_page(request, one, pick_problem="Tick the pieces that go.", code=422)
    waiting, ready = to_be_asked(request, pieces, one.finisher)
    try:
        lines = verbs.add_pieces(dropoff=one, pieces=ready, by=request.user, now=timezone.now())
    except verbs.REFUSALS as refused:
        return dropoff_page(request, one, pick_problem=str(refused), code=422)
    if waiting:
        return go(request, ask_url(one, waiting))
    return go(request, one, f"{len(lines)} on the sheet now.")


@require_POST
def add_by_tag(request: HttpRequest, number: int) -> HttpResponse:
    """Puts a piece on the sheet by its tag, whatever its plan said so far."""
    one = dropoff_of(number)
    form = TagForm(request.POST, person=request.user)
    if form.is_valid():
        piece = Piece.objects.of(one.car).kept().tagged(spoken(form.cleaned_data["tag"]))
        if piece is None:
            form.add_error("tag", "No part has this tag")
        elif to_be_asked(request, [piece], one.finisher)[0]:
            return go(request, ask_url(one, [piece]))
        else:
            try:
                verbs.add_pieces(dropoff=one, pieces=[piece], by=request.user, now=timezone.now())
                return go(request, one, f"{piece} is on the sheet.")
            except verbs.REFUSALS as refused:
                form.add_error("tag", str(refused))
    return dropoff_page(request, one, tag_form=form, form=form, code=422)


@require_POST
def add_lot(request: HttpRequest, number: int) -> HttpResponse:
    one = dropoff_of(number)
    now = timezone.now()
    taken = PhotosTaken(request, now=now)
    form = LotForm(request.POST, person=request.user)
    form.is_valid()
    taken.add_errors(form)
    if not form.errors:
        try:
            lot = verbs.add_lot(
                dropoff=one,
                key=form.cleaned_data["key"],
                photo=taken.first,
                by=request.user,
                now=now,
                **form.fields_of_line(),
            )
            if lot.photo:
                use(lot.photo)
            return go(request, one, "The lot is on the sheet.")
        except verbs.REFUSALS as refused:
            form.add_error(None, str(refused))
    return dropoff_page(request, one, lot_form=form, lot_taken=taken, form=form, code=422)


@require_http_methods(["GET", "HEAD", "POST"])
def line(request: HttpRequest, pk: int) -> HttpResponse:
    """One line: what is to be done to it, and what must stay bare."""
    one = get_object_or_404(Line.objects.for_sheet().select_related("dropoff__finisher"), pk=pk)
    data = request.POST if request.method == "POST" else None
    form, masks = LineForm.of(one, request.user, data), MaskForms.of(one, data)
    context: dict[str, Any] = {
        "line": one,
        "dropoff": one.dropoff,
        "form": form,
        "masks": masks,
        "how": HOW,
    }
    if data is None:
        return page(request, "parts/dropoff_line.html", context)
    taken = PhotosTaken(request, now=timezone.now())
    valid = all([form.is_valid(), masks.is_valid()])
    taken.add_errors(form)
    if valid and not taken.problems and _saved(request, one, form, masks, taken):
        return go(request, one.dropoff, f"{one} is written down.")
    return page(request, "parts/dropoff_line.html", {**context, "taken": taken}, code=422)


def _saved(
    request: HttpRequest, one: Line, form: LineForm, masks: MaskForms, taken: PhotosTaken
) -> bool:
    """Whether the line is saved; what stopped it stands on the form."""
    changes = form.changes()
    if taken.first:
        changes["photo"] = (one.photo, taken.first)
    try:
        verbs.change_line(
            line=one, changes=changes, masks=masks.masks(), by=request.user, now=timezone.now()
        )
    except verbs.REFUSALS as refused:
        form.add_error(None, str(refused))
        form.look_again(Line.objects.get(pk=one.pk))
        return False
    if taken.first:
        use(taken.first)
    return True


@require_POST
def take_off(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Line.objects.for_sheet().select_related("dropoff"), pk=pk)
    try:
        verbs.take_line_off(line=one, by=request.user, now=timezone.now())
    except verbs.REFUSALS as refused:
        return dropoff_page(
            request, dropoff_of(one.dropoff.number), pick_problem=str(refused), code=422
        )
    return go(request, one.dropoff, f"{one} is off the sheet.")
