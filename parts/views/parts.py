"""The list of parts, one part, and what is done on its page."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.http import go, page
from garage.panels import panels_for
from parts import edits, judging, splitting, takeoff
from parts.filters import PAGE, PartFilter, facets
from parts.forms.parts import (
    AnswerForm,
    JoinForm,
    MoveForm,
    PartForm,
    PieceForm,
    QuestionForm,
)
from parts.forms.takeoff import place_of
from parts.models import Draft, Part, Piece, Place, Purpose
from parts.pages import part_context
from parts.places import PlaceRefused
from parts.statuses import Move, MoveNotAllowed


@require_safe
def parts(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    wanted = PartFilter.read(request.GET)
    # A tag opens its part, but only on the button: a list found while typing stays a list when
    # the browser asks for it again on the way back.
    if "go" in request.GET and (part := Part.objects.kept().of(car).tagged(wanted.q)):
        return redirect(part)
    pieces, has_more = wanted.rows(car)
    if not pieces and wanted.page > 1:
        return redirect(reverse("parts") + wanted.url())
    first = (wanted.page - 1) * PAGE + 1
    context = {
        "filter": wanted,
        "pieces": pieces,
        "has_more": has_more,
        "more_url": wanted.url(page=wanted.page + 1),
        "earlier_url": wanted.url(page=max(1, wanted.page - 1)),
        "first": first,
        "last": first + len(pieces) - 1,
        "slips": wanted.slips(car),
        "facets": facets(wanted, car, counted=False),
        # Ticks beside the rows, to put many away at once.
        "several": "several" in request.GET and request.user.works_here,
        "here_url": wanted.url(page=wanted.page),
        "places": Place.objects.all(),
    }
    return page(request, "parts/parts.html", context, fragment="found")


@require_safe
def counts(request: HttpRequest) -> HttpResponse:
    """The filter list with its counts, fetched after the page because counting takes longer."""
    car = request.user.car
    if car is None:
        return HttpResponse()
    wanted = PartFilter.read(request.GET)
    context = {
        "facets": facets(wanted, car, counted=True),
        "shown": wanted.apply(car).count(),
        "total": wanted.without_filters(car).count(),
    }
    return page(request, "parts/parts.html#counted", context)


@require_safe
def part(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag.upper())
    piece = part.piece_of(request.GET.get("piece"))
    if piece is None:
        return redirect(part)
    context = part_context(part=part, piece=piece, person=request.user, now=timezone.now())
    context["panels"] = panels_for("part", part)
    return page(request, "parts/part.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def change(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    piece = part.piece_of(request.GET.get("piece")) or part.fitted_piece
    form = PartForm(request.POST or None, piece=piece, person=request.user)
    context = {"form": form, "part": part, "piece": piece}
    if request.method != "POST":
        return page(request, "parts/part_change.html", context)
    if not form.is_valid():
        return page(request, "parts/part_change.html", context, code=422)
    try:
        others = edits.save(
            piece=piece,
            changes=form.changes(),
            base_version=form.cleaned_data["version"],
            by=request.user,
            now=timezone.now(),
        )
    except edits.Clash as clash:
        return redirect("part_clash", tag, clash.draft.pk)
    said = f"{part.tag} is changed."
    return go(
        request, piece, f"{said} Somebody else's changes are kept as well." if others else said
    )


@require_http_methods(["GET", "HEAD", "POST"])
def clash(request: HttpRequest, tag: str, pk: int) -> HttpResponse:
    """Both texts of a change that met another one; the person takes one, or both."""
    draft = get_object_or_404(Draft.objects.select_related("part"), pk=pk, part__tag=tag)
    lines = edits.sides(draft)
    if request.method != "POST":
        return page(
            request,
            "parts/part_clash.html",
            {"draft": draft, "part": draft.part, "lines": lines},
            code=409,
        )
    choices = {line.name: request.POST.get(line.name, "theirs") for line in lines}
    edits.settle(draft=draft, choices=choices, by=request.user, now=timezone.now())
    return go(request, draft.piece, f"{draft.piece.tag} is settled.")


@require_http_methods(["GET", "HEAD", "POST"])
def add_piece(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    form = PieceForm(request.POST or None, person=request.user, initial={"purpose": Purpose.TO_FIT})
    context = {"form": form, "part": part, "places": Place.objects.all()}
    if request.method != "POST" or not form.is_valid():
        return page(request, "parts/piece_add.html", context, code=422 if form.is_bound else 200)
    try:
        data = form.cleaned_data | {"place": place_of(form.cleaned_data["place"])}
        piece = takeoff.add_piece(part=part, by=request.user, now=timezone.now(), **data)
    except takeoff.FormUsedAlready as used:
        form.renew_key(f"{used} Save once more to add another piece.")
    except splitting.SplitRefused as refused:
        form.add_error(None, str(refused))
    except PlaceRefused as refused:
        form.add_error("place", str(refused))
    else:
        return go(request, piece, f"{piece.tag} is added.")
    return page(request, "parts/piece_add.html", context, code=422)


@require_POST
def questions(request: HttpRequest, tag: str) -> HttpResponse:
    """A new doubt, or the answer to one."""
    part = get_object_or_404(Part.objects.kept(), tag=tag)
    if "question_pk" in request.POST:
        return _answer(request, part)
    form = QuestionForm(request.POST, person=request.user)
    if form.is_valid():
        try:
            judging.doubt(part=part, by=request.user, now=timezone.now(), **form.cleaned_data)
            return go(request, part, "The doubt is written down.")
        except judging.DoubtedAlready as used:
            form.renew_key(f"{used} Save once more to write this down as well.")
    return _part_again(request, part.pieces.to_fit().get(), question_form=form)


def _answer(request: HttpRequest, part: Part) -> HttpResponse:
    form = AnswerForm(request.POST, part=part, person=request.user)
    if not form.is_valid():
        return _part_again(request, part.pieces.to_fit().get(), answer_form=form)
    judging.answer(
        question=form.cleaned_data["question_pk"],
        text=form.cleaned_data["answer"],
        settled=form.cleaned_data["settled"],
        by=request.user,
        now=timezone.now(),
    )
    return go(request, part, "The answer is written down.")


@require_POST
def throw_out(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept(), tag=tag)
    try:
        judging.throw_out(part=part, by=request.user, now=timezone.now())
    except judging.ThrowOutRefused as refused:
        return go(request, part, str(refused))
    return go(request, "parts_thrown_out", f"{part} lies in the bin for 30 days.")


@require_POST
def bring_back(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.thrown_out(), tag=tag)
    judging.bring_back(part=part, by=request.user, now=timezone.now())
    return go(request, part, f"{part} is back.")


@require_safe
def thrown_out(request: HttpRequest) -> HttpResponse:
    found = Part.objects.thrown_out().of(request.user.car).with_pieces() if request.user.car else []
    return page(request, "parts/thrown_out.html", {"found": found})


@require_POST
def move(request: HttpRequest, pk: int) -> HttpResponse:
    piece = get_object_or_404(Piece.objects.kept().select_related("part"), pk=pk)
    form = MoveForm(request.POST, person=request.user)
    if not form.is_valid():
        return _part_again(request, piece, move_form=form)
    made = Move(form.cleaned_data["move"])
    try:
        place = place_of(form.cleaned_data["place"])
        event = piece.move(
            made,
            by=request.user,
            now=timezone.now(),
            note=form.cleaned_data["note"],
            **({"place": place} if place else {}),
        )
    except (MoveNotAllowed, PlaceRefused) as refused:
        form.add_error(None, str(refused))
        return _part_again(request, piece, move_form=form)
    return go(request, piece, f"{piece.tag}: {made}.", undo=event.key)


@require_POST
def join(request: HttpRequest, pk: int) -> HttpResponse:
    """Joins a piece into another, or takes it off again."""
    piece = get_object_or_404(Piece.objects.kept().select_related("part__car"), pk=pk)
    now = timezone.now()
    if "apart" in request.POST:
        judging.take_apart(piece=piece, by=request.user, now=now)
        return go(request, piece, f"{piece.tag} is on its own again.")
    form = JoinForm(request.POST, person=request.user)
    form.fields["into"].car = piece.part.car
    if form.is_valid():
        try:
            judging.join(
                piece=piece,
                into=form.cleaned_data["into"],
                how=form.cleaned_data["joined_how"],
                by=request.user,
                now=now,
            )
            return go(request, piece, f"{piece.tag} travels with {form.cleaned_data['into'].tag}.")
        except judging.JoinRefused as refused:
            form.add_error("into", str(refused))
    return _part_again(request, piece, join_form=form)


def _part_again(request: HttpRequest, piece: Piece, **forms: Any) -> HttpResponse:
    """The part's page with the form that was wrong and what was typed into it."""
    part = get_object_or_404(Part.objects.kept().with_pieces(), pk=piece.part_id)
    context = part_context(part=part, piece=piece, person=request.user, now=timezone.now()) | forms
    return page(request, "parts/part.html", context, code=422)
