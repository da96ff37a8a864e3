"""Refit: the list of what can go on now, and the page of one piece going on."""

from dataclasses import dataclass, field
from typing import Any
from uuid import UUID, uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from garage.http import go, page, wants_fragment
from garage.models import System
from garage.photo_fields import PhotosTaken
from parts import refit as fitting
from parts import refit_list, snags
from parts.connections import connection_lines
from parts.forms.refit import FitForm, SnagForm
from parts.models import Event, Moment, Piece
from parts.statuses import MoveNotAllowed, Status
from parts.takeoff import add_photo

LIST, PIECE = "parts/refit.html", "parts/refit_piece.html"
ROWS, MOST_ROWS = 30, 600


@dataclass
class Row:
    """A line of the list: the piece, its form, and after a tick what was done."""

    piece: Piece
    form: FitForm
    event: Event | None = None
    freed: list[Piece] = field(default_factory=list)


@require_safe
def refit(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    system = _system(request, request.GET.get("system"))
    limit = min(_whole(request.GET.get("rows")) or ROWS, MOST_ROWS)
    found = refit_list.refit_list(car, system, limit=limit)
    context = {
        "system": system,
        "found": found,
        "now_rows": [_row(request, piece) for piece in found.can_go_on_now],
        "loose_rows": [_row(request, piece) for piece in found.loose],
        "more": limit + ROWS,
        "lots": snags.by_system(car, system=system and system.pk),
    }
    return page(request, LIST, context)


@require_safe
def refit_piece(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(refit_list.for_fitting(), pk=pk)
    return page(request, PIECE, _piece_context(request, _row(request, piece)))


@require_POST
def fit(request: HttpRequest, pk: int) -> HttpResponse:
    """Fits a piece loose or tight: from its line in the list, or from its page."""
    piece = get_object_or_404(refit_list.for_fitting(), pk=pk)
    now = timezone.now()
    taken = PhotosTaken(request, now=now)
    form = FitForm(request.POST, piece=piece, person=request.user, today=timezone.localdate())
    form.is_valid()
    taken.add_errors(form)
    row = Row(piece, form)
    if form.errors:
        return _fit_again(request, row, taken)
    said = form.cleaned_data
    deed = {"piece": piece, "key": said["key"], "reminders": form.reminders()}
    if said["to"] == FitForm.TIGHT:
        deed |= {"torques": form.torques(), "because": said["because"]}
    verb = fitting.fit_tight if said["to"] == FitForm.TIGHT else fitting.fit_loose
    try:
        row.event = verb(**deed, by=request.user, now=now)
    except (fitting.FitRefused, MoveNotAllowed) as refused:
        form.renew_key(str(refused))
        return _fit_again(request, row, taken)
    for photo in taken.photos:
        add_photo(piece=piece, photo=photo, moment=Moment.REFITTED, by=request.user, now=now)
    return _fitted(request, row)


@require_POST
def slacken(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(refit_list.for_fitting(), pk=pk)
    key = _key(request.POST.get("key"))
    try:
        event = fitting.slacken(piece=piece, key=key, by=request.user, now=timezone.now())
    except (fitting.FitRefused, MoveNotAllowed) as refused:
        context = _piece_context(request, _row(request, piece)) | {"said": str(refused)}
        return page(request, PIECE, context, code=422)
    url = reverse("refit_piece", args=[piece.pk])
    return go(request, url, f"{piece} is loose again.", undo=event.key)


def _fitted(request: HttpRequest, row: Row) -> HttpResponse:
    """The line as it now stands with the counts beside it, or the list again."""
    row.piece.refresh_from_db()
    said = f"{row.piece} is on, {'loose' if row.piece.state is Status.FITTED_LOOSE else 'tight'}."
    system = _system(request, request.POST.get("system"))
    url = reverse("refit") + (f"?system={system.pk}" if system else "")
    if not wants_fragment(request):
        return go(request, url, said, undo=row.event.key)
    row.freed = refit_list.freed_by(row.piece.part)
    context = {
        "row": row,
        "counts": refit_list.counts_of(row.piece.part.car, system),
        "said": said,
        "back_to": url,
        "system": system,
    }
    return page(request, LIST, context, fragment="ticked")


def _fit_again(request: HttpRequest, row: Row, taken: PhotosTaken) -> HttpResponse:
    """What was typed once more, with what is to be put right: as a line, or as the page."""
    if wants_fragment(request):
        system = _system(request, request.POST.get("system"))
        return page(request, LIST, {"row": row, "system": system}, fragment="row", code=422)
    context = _piece_context(request, row) | {"taken": taken}
    return page(request, PIECE, context, code=422)


def _piece_context(request: HttpRequest, row: Row) -> dict[str, Any]:
    piece, part = row.piece, row.piece.part
    snag_form = SnagForm(car=part.car, person=request.user, initial={"system": part.system_id})
    firsts = refit_list.must_be_on_first(part)
    used = fitting.torques_used(piece)
    return {
        "row": row,
        "piece": piece,
        "part": part,
        "form": row.form,
        "firsts": firsts,
        "held_up": [first for first in firsts if not first.is_on],
        "came_off_after": refit_list.came_off_after(piece),
        "joined": list(piece.joined.select_related("part")),
        "holes": list(part.holes.all()),
        "can_fit": piece.state in (Status.READY, Status.FITTED_LOOSE),
        "used_rows": [(hole, used[hole.pk]) for hole in part.holes.all() if hole.pk in used],
        "connections": connection_lines(part),
        "photos": refit_list.photos_in_place(part),
        "snags": list(part.snags.to_do()),
        "snag_form": snag_form,
        "slacken_key": uuid4(),
    }


def _row(request: HttpRequest, piece: Piece) -> Row:
    form = FitForm(piece=piece, person=request.user, today=timezone.localdate())
    return Row(piece, form)


def _system(request: HttpRequest, text: str | None) -> System | None:
    """The system the list is narrowed to; one that is not of this car narrows nothing."""
    pk, car = _whole(text), request.user.car
    return next((one for one in car.systems.all() if one.pk == pk), None) if pk and car else None


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None


def _key(text: str | None) -> UUID:
    try:
        return UUID(text or "")
    except ValueError:
        return uuid4()
