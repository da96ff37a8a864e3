"""Bench mode: a pipe begun from its sheet, one step a screen, a reading after every pull."""

from typing import Any
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.drawn import showing
from fabrication.forms import angle_boxed
from fabrication.forms.bending import EndingForm, ReadingForm, TickForm
from fabrication.making import bending
from fabrication.making.bench import Bench, bench_of
from fabrication.making.bench_steps import BenchStep, What
from fabrication.making.made_piece import as_piece
from fabrication.models import Making, PipeSheet, Reading, SheetFreeze
from fabrication.pipe import duties, freezing, ways
from fabrication.pipe.inputs import UnknownSchema
from fabrication.pipe.pipes import Stale
from garage.http import asked_for, go, page, wants_fragment
from parts.splitting import SplitRefused

TEMPLATE = "fabrication/making.html"


@require_http_methods(["GET", "HEAD", "POST"])
def bend_pipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Where a pipe is begun, and the pipes that were made from the sheet before."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    form = TickForm(request.POST or None, initial={"code": "begin"})
    try:
        if request.method == "POST" and form.is_valid():
            key = form.cleaned_data["key"]
            making = bending.begin(key=key, sheet=sheet, by=request.user, now=timezone.now())
            return go(request, making)
        found = ways.of_sheet(sheet, frozen=freezing.figures_of(sheet)).found
    except bending.NotToBeBent as refused:
        form.add_error(None, str(refused))
        found = ways.of_sheet(sheet, frozen=freezing.figures_of(sheet)).found
    except UnknownSchema as newer:
        return page(request, "fabrication/pipe_newer.html", {"sheet": sheet, "says": str(newer)})
    context = {
        "sheet": sheet,
        "form": form,
        "found": found,
        "makings": Making.objects.of_sheet(sheet).for_page().newest_first(),
        "cautions": duties.cautions_of(sheet.duty),
    }
    code = 422 if form.is_bound else 200
    return page(request, "fabrication/bend_pipe.html", context, code=code)


@require_safe
def making(request: HttpRequest, pk: int) -> HttpResponse:
    """The step to do now, or the one that is looked back at."""
    return _bench_page(request, _making(pk), asked=request.GET.get("step", ""))


@require_POST
def making_step(request: HttpRequest, pk: int) -> HttpResponse:
    """A step ticked as done, or to be done after all."""
    row = _making(pk)
    form = TickForm(request.POST)
    said = ""
    if not form.is_valid():
        said = "Reload the page and press once more."
    else:
        code = form.cleaned_data["code"]
        try:
            if "again" in request.POST:
                bending.untick(making=row, code=code, now=timezone.now())
            else:
                said = _ticked(request, row, code, form.cleaned_data["key"])
        except bending.Ended as ended:
            said = str(ended)
    if wants_fragment(request):
        return _here(_bench_page(request, _making(pk), said=said), row)
    return go(request, row, said)


@require_POST
def making_reading(request: HttpRequest, pk: int) -> HttpResponse:
    """A pull written down; whatever stands against it, what was typed stays in the boxes."""
    row = _making(pk)
    form = ReadingForm(request.POST, person=request.user)
    if form.is_valid():
        try:
            bending.write_reading(making=row, by=request.user, now=timezone.now(), **form.values())
        except bending.OtherUnderThisKey as other:
            form.renew_key(str(other))
        except bending.StaleReading as stale:
            form.add_error(None, str(stale))
            form.put("seen", str(stale.newest.key) if stale.newest else "")
        except (bending.Ended, bending.NoSuchBend) as refused:
            form.add_error(None, str(refused))
        else:
            if wants_fragment(request):
                return _here(_bench_page(request, _making(pk)), row)
            return go(request, row)
    bend = form.data.get("bend", "")
    return _bench_page(request, _making(pk), asked=f"pull-{bend}", form=form, code=422)


@require_POST
def reading_out(request: HttpRequest, pk: int) -> HttpResponse:
    """The last pull of a bend taken out: a slip of the finger."""
    reading = get_object_or_404(Reading.objects.select_related("making"), pk=pk)
    said = "The pull is taken out."
    try:
        bending.take_reading_out(reading=reading, now=timezone.now())
    except (bending.Ended, bending.OutOfTurn) as refused:
        said = str(refused)
    row = _making(reading.making_id)
    if wants_fragment(request):
        return _bench_page(request, row, asked=f"pull-{reading.bend}", said=said)
    return go(request, f"{row.get_absolute_url()}?step=pull-{reading.bend}", said)


@require_http_methods(["GET", "HEAD", "POST"])
def making_end(request: HttpRequest, pk: int) -> HttpResponse:
    """The pipe made, or scrapped because of something."""
    row = _making(pk)
    if "again" in request.POST:
        return _not_ended(request, row)
    form = EndingForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            ended = bending.end(making=row, by=request.user, now=timezone.now(), **form.values())
        except bending.Ended as refused:
            form.add_error(None, str(refused))
        else:
            said = f"Written down: {ended.get_outcome_display().lower()}."
            return go(request, f"{ended.get_absolute_url()}end/", said)
    context = {"making": row, "sheet": row.sheet, "form": form, "part": row.sheet.part}
    code = 422 if form.is_bound else 200
    return page(request, "fabrication/making_end.html", context, code=code)


def _not_ended(request: HttpRequest, row: Making) -> HttpResponse:
    """Back to the bench, when it was ended by a slip of the finger."""
    try:
        bending.not_ended(making=row, by=request.user, now=timezone.now())
    except bending.NotToBeBent as refused:
        return go(request, f"{row.get_absolute_url()}end/", str(refused))
    return go(request, row, "It is at the bench again.")


@require_POST
def making_piece(request: HttpRequest, pk: int) -> HttpResponse:
    """The made pipe as a piece of its part."""
    row = get_object_or_404(Making.objects.for_page().made_for_a_part(), pk=pk)
    try:
        piece = as_piece(making=row, by=request.user, now=timezone.now())
    except SplitRefused as refused:
        return go(request, f"{row.get_absolute_url()}end/", str(refused))
    return go(request, piece, f"{piece.tag} is the new pipe. The old one is kept as pattern.")


# ---- what the sheet is held to ---------------------------------------------------------------


@require_http_methods(["GET", "HEAD", "POST"])
def pipe_figures(request: HttpRequest, pk: int) -> HttpResponse:
    """The figures a sheet is held to; on demand, the new ones instead."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    said = ""
    if request.method == "POST":
        seen = request.POST.get("seen", "")
        number = int(seen) if seen.isascii() and seen.isdigit() and len(seen) < 10 else None
        try:
            freezing.take_new_figures(sheet=sheet, seen=number, by=request.user, now=timezone.now())
        except (freezing.BeingBent, Stale) as refused:
            said = str(refused)
        else:
            return go(request, sheet, f"{sheet} is worked out with the new figures.")
    try:
        held = freezing.held_of(sheet)
    except UnknownSchema as newer:
        return page(request, "fabrication/pipe_newer.html", {"sheet": sheet, "says": str(newer)})
    rows = freezing.lines_of(held) if held else []
    context = {"sheet": sheet, "held": held, "rows": rows, "said": said}
    return page(request, "fabrication/pipe_figures.html", context, code=422 if said else 200)


@require_POST
def pipe_print(request: HttpRequest, pk: int) -> HttpResponse:
    """On to a paper of the sheet, which is held to its figures from its first print on."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    freezing.freeze(sheet=sheet, why=SheetFreeze.Why.PRINT, by=request.user, now=timezone.now())
    return go(request, asked_for(request) or reverse("pipe_sheet", args=[sheet.pk]))


# ---- the page of the bench -------------------------------------------------------------------


def _making(pk: int) -> Making:
    return get_object_or_404(Making.objects.for_page(), pk=pk)


def _here(answer: HttpResponse, row: Making) -> HttpResponse:
    """The answer, under the address of the step to do: a reload lands where one stands."""
    answer.headers["HX-Replace-Url"] = row.get_absolute_url()
    return answer


def _ticked(request: HttpRequest, row: Making, code: str, key: Any) -> str:
    """Ticks a step; says whose tick it was when somebody was quicker."""
    bench = bench_of(row)
    if bench.step(code) is None:
        return "The sheet has no such step any more."
    done = bending.tick(making=row, key=key, code=code, by=request.user, now=timezone.now())
    if done.key == key:
        return ""
    who = done.by.name if done.by else "Somebody"
    return f"{who} had done that step already. You stand at the next one."


def _bench_page(
    request: HttpRequest,
    row: Making,
    *,
    asked: str = "",
    form: ReadingForm | None = None,
    said: str = "",
    code: int = 200,
) -> HttpResponse:
    try:
        bench = bench_of(row)
    except UnknownSchema as newer:
        context = {"sheet": row.sheet, "says": str(newer)}
        return page(request, "fabrication/pipe_newer.html", context)
    step = bench.at(asked)
    context = {
        "making": row,
        "sheet": row.sheet,
        "bench": bench,
        "step": step,
        "said": said,
        "form": form,
        "tick": TickForm(auto_id="tick_%s", initial={"code": step.code if step else ""}),
        "cautions": duties.cautions_of(row.sheet.duty),
        "written": " ".join(str(reading.key) for reading in bench.readings),
        **(_step_context(request, bench, step, form) if step else {}),
    }
    return page(request, TEMPLATE, context, fragment="bench", code=code)


def _step_context(
    request: HttpRequest, bench: Bench, step: BenchStep, form: ReadingForm | None
) -> dict[str, Any]:
    before, after = bench.beside(step)
    found: dict[str, Any] = {
        "is_done": step.code in bench.done,
        "is_now": step == bench.now,
        "number": bench.steps.index(step) + 1,
        "before": before,
        "after": after,
        "done_by": bench.done.get(step.code),
    }
    mark = step.mark
    if mark is None or step.what is What.MARK:
        return found
    made = mark.order if step.what is What.PULL else mark.order - 1
    found["sketch"] = showing.on_screen(bench.found, bench.making.sheet.stock, after=made)
    if step.what is What.PULL:
        readings, pull = bench.readings_of(mark.bend), bench.pull(mark)
        last = readings[-1] if readings else None
        found |= {"readings": readings, "last": last, "pull": pull, "form": form}
        if form is None:
            boxed = pull.pull_deg
            found["form"] = ReadingForm(
                person=request.user,
                initial={
                    "key": uuid4(),
                    "bend": mark.bend,
                    "seen": last.key if last else "",
                    "pulled_to": angle_boxed(boxed, person=request.user) if boxed else "",
                },
            )
    return found
