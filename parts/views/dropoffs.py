"""What is out, and one drop-off with its lines."""

from itertools import groupby
from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.http import go, page
from garage.photo_fields import PhotosTaken, use
from parts import checking
from parts import dropoff as verbs
from parts.forms.dropoffs import LotForm, StartForm, TagForm, TermsForm
from parts.models import DropOff, Finisher, Line, Piece
from parts.models.finisher import Process, as_words
from parts.views.asking import ask_url, to_be_asked

TEMPLATE = "parts/dropoff.html"


@require_safe
def out(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    today = timezone.localdate()
    every = DropOff.objects.of(car).with_finisher().with_counts()
    away = list(every.out().due_first())
    building = list(every.being_built())
    context = {
        "today": today,
        "building": building,
        "late": [one for one in away if one.due_on and one.due_on < today and not one.collected_at],
        "away": [
            one for one in away if not (one.due_on and one.due_on < today) and not one.collected_at
        ],
        "collected": [one for one in away if one.collected_at],
        "over": list(every.over()[:30]),
        "groups": _waiting_groups(car, building),
        "nothing_out": not away and not building,
    }
    return page(request, "parts/out.html", context)


def _waiting_groups(car: Any, building: list[DropOff]) -> list[dict[str, Any]]:
    """Pieces waiting to go out by the work they want, each with the finishers that offer it."""
    finishers = list(Finisher.objects.in_use().with_services())
    pieces = (
        Piece.objects.of(car)
        .waiting_to_go_out()
        .for_rows()
        .order_by("next_step__work", "part__name")
    )
    groups = []
    for work, alike in groupby(pieces, key=lambda piece: piece.next_step.work):
        processes = [Process(code) for code in work.split(",") if code]
        able = [one for one in finishers if set(processes) <= set(one.offers)]
        groups.append(
            {
                "key": uuid4(),
                "work": as_words(processes) or "Work not said yet",
                "pieces": list(alike),
                "finishers": able,
                "building": [one for one in building if one.finisher in able],
            }
        )
    return groups


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    if request.method != "POST":
        form = StartForm(person=request.user, initial={"finisher": request.GET.get("finisher")})
        return page(request, "parts/dropoff_new.html", {"form": form})
    form = StartForm(request.POST, person=request.user)
    pieces = Piece.objects.of(car).numbered(request.POST.getlist("pieces"))
    context = {"form": form, "pieces": pieces}
    if form.is_valid():
        finisher = form.cleaned_data["finisher"]
        waiting, ready = to_be_asked(request, pieces, finisher)
        try:
            dropoff = verbs.start(
                key=form.cleaned_data["key"],
                car=car,
                finisher=finisher,
                pieces=ready,
                by=request.user,
                now=timezone.now(),
            )
            if waiting:
                return go(request, ask_url(dropoff, waiting))
            return go(request, dropoff, f"{dropoff} is started.")
        except verbs.REFUSALS as refused:
            form.add_error(None, str(refused))
    return page(request, "parts/dropoff_new.html", context, code=422)


@require_http_methods(["GET", "HEAD", "POST"])
def dropoff(request: HttpRequest, number: int) -> HttpResponse:
    """The drop-off; a post changes what holds for the whole sheet."""
    one = dropoff_of(number)
    if request.method != "POST":
        return dropoff_page(request, one)
    form = TermsForm.of(one, request.user, request.POST)
    if form.is_valid():
        try:
            verbs.change_terms(
                dropoff=one, changes=form.changes(), by=request.user, now=timezone.now()
            )
            return go(request, one, "The terms are written down.")
        except verbs.REFUSALS as refused:
            form.add_error(None, str(refused))
            form.look_again(one)
    return dropoff_page(request, one, terms=form, form=form, code=422)


def dropoff_of(number: int) -> DropOff:
    return get_object_or_404(
        DropOff.objects.with_finisher()
        .select_related("car", "laid_out")
        .prefetch_related("finisher__services"),
        number=number,
    )


def dropoff_page(
    request: HttpRequest, one: DropOff, *, code: int = 200, **more: Any
) -> HttpResponse:
    """The page of a drop-off; ``more`` carries a form that was refused."""
    lines = list(one.lines.for_sheet())
    checked = _checked(one, lines)
    context: dict[str, Any] = {
        "dropoff": one,
        "lines": lines,
        "checked": checked,
        "held": sum(each.is_held for each in checked.values()),
        "sent": sum(line.count for line in lines),
        "still_out": sum(line.still_out for line in lines),
        "services": list(one.finisher.services.all()),
        "today": timezone.localdate(),
        "again_key": uuid4(),
    }
    if one.is_being_built:
        context |= _to_build_with(request, one)
    return page(request, TEMPLATE, {**context, **more}, code=code)


def _checked(one: DropOff, lines: list[Line]) -> dict[int, checking.Checked]:
    """{line's pk: what was found}, while the sheet can still change."""
    if not one.is_being_built:
        return {}
    found = checking.check_lines(one, lines, now=timezone.now())
    return {each.line.pk: each for each in found}


def _to_build_with(request: HttpRequest, one: DropOff) -> dict[str, Any]:
    offers = set(one.finisher.offers)
    waiting = list(Piece.objects.of(one.car).waiting_to_go_out().for_rows().order_by("part__name"))
    fitting = [piece for piece in waiting if set(piece.next_step.processes) <= offers]
    return {
        "fitting": fitting,
        "others": [piece for piece in waiting if piece not in fitting],
        "terms": TermsForm.of(one, request.user),
        "lot_form": LotForm(person=request.user),
        "tag_form": TagForm(person=request.user),
    }


@require_POST
def laid_out(request: HttpRequest, number: int) -> HttpResponse:
    """Puts the photo of everything laid out on the sheet."""
    one = dropoff_of(number)
    taken = PhotosTaken(request, now=timezone.now())
    problems = taken.problems or (
        [] if taken.first else ["No photo came with that. Take it again."]
    )
    if problems:
        return dropoff_page(request, one, laid_problems=problems, code=422)
    try:
        verbs.lay_out(dropoff=one, photo=taken.first, by=request.user, now=timezone.now())
        use(taken.first)
    except verbs.REFUSALS as refused:
        return dropoff_page(request, one, laid_problems=[str(refused)], code=422)
    return go(request, one, "The photo goes on the sheet.")
