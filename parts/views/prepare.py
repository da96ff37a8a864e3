"""Prepare a coated piece for refit, and try a remade one on the car before it is coated."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST

from garage.http import go, page, wants_fragment
from parts import preparation as preparing
from parts import refit, refit_list
from parts.connections import connection_lines
from parts.forms.refit import PreparationForm, TrialFitForm
from parts.models import Event, Piece, Preparation
from parts.plan import StepRefused

TEMPLATE, TRIAL = "parts/prepare.html", "parts/trial_fit.html"


@require_http_methods(["GET", "HEAD", "POST"])
def prepare(request: HttpRequest, pk: int) -> HttpResponse:
    """The checklist; a post adds a line, puts the renewals on it, or closes it."""
    piece = get_object_or_404(refit_list.for_fitting(), pk=pk)
    if request.method != "POST":
        return page(request, TEMPLATE, _context(request, piece))
    by, now = request.user, timezone.now()
    form = PreparationForm(request.POST, person=by)
    try:
        if "all" in request.POST:
            event = preparing.all_prepared(piece=piece, by=by, now=now)
            return go(request, piece, f"{piece.tag} is prepared.", undo=event.key)
        if "renew" in request.POST:
            rows = preparing.list_renewals(piece=piece, by=by, now=now)
            return go(request, request.path, f"{len(rows)} sorts of fastener are on the list.")
        if form.is_valid():
            preparing.add_preparation(piece=piece, by=by, now=now, **form.cleaned_data)
            return go(request, request.path, "It is on the list.")
    except (preparing.PreparationRefused, StepRefused) as refused:
        form.add_error(None, str(refused))
    return page(request, TEMPLATE, _context(request, piece, form=form), code=422)


@require_POST
def preparation(request: HttpRequest, pk: int) -> HttpResponse:
    """Ticks a line off, or back on when the post says ``open``."""
    row = get_object_or_404(Preparation.objects.with_piece(), pk=pk)
    done = "open" not in request.POST
    try:
        event = preparing.tick_preparation(
            preparation=row, done=done, by=request.user, now=timezone.now()
        )
    except (preparing.PreparationRefused, StepRefused) as refused:
        piece = get_object_or_404(refit_list.for_fitting(), pk=row.piece_id)
        context = _context(request, piece) | {"said": str(refused)}
        return page(request, TEMPLATE, context, code=422, fragment="list")
    piece = get_object_or_404(refit_list.for_fitting(), pk=row.piece_id)
    if wants_fragment(request):
        return page(request, TEMPLATE, _context(request, piece, ticked=row), fragment="ticked")
    undo = event.key if event else None
    return go(request, reverse("prepare", args=[piece.pk]), _said(piece, row), undo=undo)


def _said(piece: Piece, row: Preparation) -> str:
    if piece.status == "ready":
        return f"That was the last. {piece} is ready to go on."
    return f"{row.text}: {'done' if row.done_at else 'to do again'}."


@require_http_methods(["GET", "HEAD", "POST"])
def trial_fit(request: HttpRequest, pk: int) -> HttpResponse:
    """What to look for, and whether it fits."""
    piece = get_object_or_404(refit_list.for_fitting(), pk=pk)
    step = refit_list.open_trial(piece)
    context: dict[str, Any] = {"piece": piece, "part": piece.part, "step": step}
    context |= {"form": TrialFitForm(), "connections": connection_lines(piece.part)}
    if request.method != "POST":
        return page(request, TRIAL, context)
    form = context["form"] = TrialFitForm(request.POST, person=request.user)
    if step is None:
        form.add_error(None, f"{piece.tag} has no trial fit to do.")
    if form.errors:
        return page(request, TRIAL, context, code=422)
    said = form.cleaned_data
    event = refit.trial_fit_done(
        step=step,
        fits=said["result"] == TrialFitForm.FITS,
        because=said["because"],
        by=request.user,
        now=timezone.now(),
    )
    return _tried(request, piece, form, event)


def _tried(
    request: HttpRequest, piece: Piece, form: TrialFitForm, event: Event | None
) -> HttpResponse:
    fits = form.cleaned_data["result"] == TrialFitForm.FITS
    said = f"{piece} fits." if fits else f"{piece}: the work before is open again."
    return go(request, piece, said, undo=event.key if event else None)


def _context(
    request: HttpRequest,
    piece: Piece,
    *,
    form: PreparationForm | None = None,
    ticked: Preparation | None = None,
) -> dict[str, Any]:
    rows = list(piece.preparations.all())
    return {
        "piece": piece,
        "part": piece.part,
        "rows": rows,
        "to_do": sum(row.done_at is None for row in rows),
        "line": ticked,
        "step": preparing.open_step(piece),
        "renewals": preparing.renewals_to_list(piece, rows),
        "form": form or PreparationForm(person=request.user),
        "can_tick": preparing.can_be_prepared(piece),
    }
