"""Bracket sheets: the list, one sheet, its sums while it is typed, its paper and files."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.bracket import bracket_inputs as inputs
from fabrication.bracket import brackets
from fabrication.bracket.bracket_figures import cut_figure
from fabrication.bracket.bracket_inputs import read_bracket
from fabrication.bracket.bracket_papers import bracket_pdf
from fabrication.bracket.bracket_work import work_out_bracket
from fabrication.forms.bracket_entry import BracketEntry, boxes_of, boxes_typed, reordered
from fabrication.models import BracketSheet, PipeSheet, SheetStock
from fabrication.paper.exports import dxf_of, svg_of
from fabrication.pipe.inputs import UnknownSchema
from fabrication.views.bracket_page import TEMPLATE, context_of, show, worked_of
from fabrication.views.papers import asked_paper, asked_printer, file_answer, paper_choice
from garage.http import go, page
from garage.paper import PaperNotPossible
from parts.models import Part

CANNOT = "fabrication/paper_not.html"


@require_safe
def bracket_sheets(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    context = {
        "sheets": BracketSheet.objects.of_car(car).for_rows().newest_first(),
        "binned": BracketSheet.objects.in_the_bin_of(car).newest_first(),
    }
    return page(request, "fabrication/brackets.html", context)


@require_POST
def bracket_throw_out(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(BracketSheet, pk=pk)
    brackets.throw_out(sheet=sheet, by=request.user, now=timezone.now())
    return go(request, "brackets", f"{sheet} lies in the bin for 30 days.")


@require_POST
def bracket_bring_back(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(BracketSheet, pk=pk)
    brackets.bring_back(sheet=sheet)
    return go(request, sheet, f"{sheet} is back as it was.")


@require_http_methods(["GET", "HEAD", "POST"])
def bracket_new(request: HttpRequest) -> HttpResponse:
    tag = request.GET.get("part", "")
    part = get_object_or_404(Part.objects.kept(), tag=tag.upper()) if tag else None
    if request.method == "POST":
        return _post(request, None, part)
    form = request.GET.get("form", "")
    head: dict[str, Any] = {"form": form if form in dict(inputs.FORMS) else inputs.STRIP}
    if part:
        head["title"] = part.name
    for name, rows in (("pipe", PipeSheet.objects.kept()), ("stock", SheetStock.objects.all())):
        text = request.GET.get(name, "")
        if text:
            known = text.isascii() and text.isdigit() and len(text) < 10
            head[name] = get_object_or_404(rows, pk=int(text) if known else 0).pk
    entry = BracketEntry(person=request.user, boxes={"head": head})
    return show(request, entry, None, part=part)


@require_http_methods(["GET", "HEAD", "POST"])
def bracket(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(BracketSheet.objects.for_rows(), pk=pk)
    if request.method == "POST":
        return _post(request, sheet, sheet.part)
    try:
        typed = read_bracket(sheet.inputs)
        entry = BracketEntry(person=request.user, boxes=boxes_of(sheet, person=request.user))
    except UnknownSchema as newer:
        return _cannot(request, sheet, newer)
    found = _worked(sheet, typed)
    return show(request, entry, found, bracket=typed, sheet=sheet, part=sheet.part)


@require_POST
def bracket_work_out(request: HttpRequest) -> HttpResponse:
    """The sums of a bracket as it stands in the form now; nothing is saved."""
    entry = BracketEntry(request.POST, person=request.user)
    found = worked_of(entry)
    typed = entry.typed() if found else None
    context = context_of(request, entry, found, typed) | {"live": True}
    return page(request, f"{TEMPLATE}#answers", context)


@require_safe
def bracket_papers(request: HttpRequest, pk: int) -> HttpResponse:
    """The choice of paper and printer, and the files."""
    sheet = get_object_or_404(BracketSheet.objects.for_rows(), pk=pk)
    try:
        found = _worked(sheet, read_bracket(sheet.inputs))
    except UnknownSchema as newer:
        return _cannot(request, sheet, newer)
    context = {"sheet": sheet, "found": found}
    context |= paper_choice(request, asked_paper(request), asked_printer(request))
    return page(request, "fabrication/bracket_papers.html", context)


@require_safe
def bracket_drawing(request: HttpRequest, pk: int, kind: str) -> HttpResponse:
    """The sheet with its template at true size, or the blank whole as SVG or DXF."""
    sheet = get_object_or_404(BracketSheet.objects.for_rows(), pk=pk)
    try:
        typed = read_bracket(sheet.inputs)
        found = _worked(sheet, typed)
        if kind == "pdf":
            body: bytes | str = bracket_pdf(
                sheet,
                typed,
                found,
                by=request.user,
                now=timezone.now(),
                paper_size=asked_paper(request),
                printer=asked_printer(request),
            )
        elif found.outline is None:
            return _cannot(request, sheet, Exception(found.general[0].text))
        else:
            figure = cut_figure(found)
            body = dxf_of(figure) if kind == "dxf" else svg_of(figure, title=f"Blank of {sheet}")
    except (PaperNotPossible, UnknownSchema) as impossible:
        return _cannot(request, sheet, impossible)
    return file_answer(body, kind, f"bracket {sheet} {sheet.title}")


def _worked(sheet: BracketSheet, typed: inputs.BracketInputs) -> Any:
    return work_out_bracket(typed, stock=sheet.stock, strip=sheet.strip, pipe=sheet.pipe)


def _cannot(request: HttpRequest, sheet: BracketSheet, why: Exception) -> HttpResponse:
    code = 503 if isinstance(why, PaperNotPossible) else 422
    context = {"back": sheet, "named": f"{sheet}, {sheet.title}", "says": str(why)}
    return page(request, CANNOT, context, code=code)


def _post(request: HttpRequest, sheet: BracketSheet | None, part: Part | None) -> HttpResponse:
    changed = reordered(request.POST)
    checked = BracketEntry(request.POST if changed is None else changed, person=request.user)
    if changed is not None or "look" in request.POST:
        found = worked_of(checked)
        if "look" in request.POST and found is None:
            return show(request, checked, None, sheet=sheet, part=part, code=422)
        data = request.POST if changed is None else changed
        shown = BracketEntry(person=request.user, boxes=boxes_typed(data))
        typed = checked.typed() if found else None
        return show(request, shown, found, bracket=typed, sheet=sheet, part=part)
    if not checked.is_valid():
        return show(request, checked, None, sheet=sheet, part=part, code=422)
    return _save(request, checked, sheet, part)


def _save(
    request: HttpRequest, entry: BracketEntry, sheet: BracketSheet | None, part: Part | None
) -> HttpResponse:
    values: dict[str, Any] = {
        "head": entry.head_values(),
        "bracket": entry.typed(),
        "by": request.user,
        "now": timezone.now(),
    }
    theirs = None
    try:
        if sheet is None:
            key, car = entry.head.cleaned_data["key"], request.user.car
            saved = brackets.begin_sheet(key=key, car=car, part=part, **values)
        else:
            seen = entry.head.cleaned_data["seen"]
            saved = brackets.save_sheet(sheet=sheet, seen=seen, **values)
        return go(request, saved, f"{saved}, revision {saved.version}, is saved.")
    except brackets.OtherUnderThisKey as other:
        entry.head.renew_key(str(other))
    except brackets.Stale as stale:
        entry.head.add_error(None, str(stale))
        entry.head.put("seen", str(stale.sheet.version))
        theirs = stale.sheet
    found = worked_of(BracketEntry(request.POST, person=request.user))
    return show(
        request,
        entry,
        found,
        bracket=values["bracket"],
        sheet=sheet,
        part=part,
        theirs=theirs,
        code=422,
    )
