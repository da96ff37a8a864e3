"""Make-up sheets of pipes: the list, one sheet, its sums while it is typed, and its paper."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication import duties, pipes, sheets, showing
from fabrication.compute import work_out
from fabrication.forms.pipes import PipeEntry, boxes_of, boxes_typed, reordered
from fabrication.inputs import UnknownSchema, read
from fabrication.models import Former, PipeSheet, TubeStock
from fabrication.worked import WorkedOut
from garage.http import go, page
from garage.paper import PAPERS, PaperNotPossible
from parts.models import Part

TEMPLATE = "fabrication/pipe.html"


@require_safe
def pipe_sheets(request: HttpRequest) -> HttpResponse:
    found = PipeSheet.objects.of_car(request.user.car).for_rows().newest_first()
    return page(request, "fabrication/pipes.html", {"sheets": found})


@require_http_methods(["GET", "HEAD", "POST"])
def pipe_new(request: HttpRequest) -> HttpResponse:
    tag = request.GET.get("part", "")
    part = get_object_or_404(Part.objects.kept(), tag=tag.upper()) if tag else None
    if request.method == "POST":
        return _post(request, None, part)
    boxes = {"head": {"title": part.name}} if part else {}
    entry = PipeEntry(person=request.user, boxes=boxes)
    return _page(request, entry, None, part=part)


@require_http_methods(["GET", "HEAD", "POST"])
def pipe(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    if request.method == "POST":
        return _post(request, sheet, sheet.part)
    try:
        found = work_out(read(sheet.inputs), former=sheet.former, stock=sheet.stock)
        entry = PipeEntry(person=request.user, boxes=boxes_of(sheet, person=request.user))
    except UnknownSchema as newer:
        return page(request, "fabrication/pipe_newer.html", {"sheet": sheet, "says": str(newer)})
    return _page(request, entry, found, sheet=sheet, part=sheet.part, stock=sheet.stock)


@require_POST
def pipe_work_out(request: HttpRequest) -> HttpResponse:
    """The sums of a pipe as it stands in the form now; nothing is saved."""
    entry = PipeEntry(request.POST, person=request.user)
    context = _context(entry, _worked_out(entry), stock=_stock(entry))
    return page(request, f"{TEMPLATE}#answers", context | {"live": True})


@require_safe
def pipe_sheet(request: HttpRequest, pk: int) -> HttpResponse:
    """The make-up sheet as a PDF."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    size = request.GET.get("paper", "")
    try:
        pdf = sheets.make_up_sheet(
            sheet,
            by=request.user,
            now=timezone.now(),
            paper_size=size if size in PAPERS else "",
        )
    except (PaperNotPossible, UnknownSchema) as impossible:
        context = {"sheet": sheet, "says": str(impossible)}
        return page(request, "fabrication/pipe_newer.html", context, code=503)
    name = f"make-up-{sheet}-{slugify(sheet.title)[:60] or 'pipe'}.pdf"
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


def _post(request: HttpRequest, sheet: PipeSheet | None, part: Part | None) -> HttpResponse:
    changed = reordered(request.POST)
    if changed is not None or "look" in request.POST:
        data = request.POST if changed is None else changed
        found = _worked_out(PipeEntry(data, person=request.user))
        shown = PipeEntry(person=request.user, boxes=boxes_typed(data))
        checked = PipeEntry(data, person=request.user)
        if "look" in request.POST and not checked.is_valid():
            return _page(request, checked, None, sheet=sheet, part=part, code=422)
        return _page(request, shown, found, sheet=sheet, part=part, stock=_stock(checked))
    entry = PipeEntry(request.POST, person=request.user)
    if not entry.is_valid():
        return _page(request, entry, None, sheet=sheet, part=part, code=422)
    return _save(request, entry, sheet, part)


def _save(
    request: HttpRequest, entry: PipeEntry, sheet: PipeSheet | None, part: Part | None
) -> HttpResponse:
    values: dict[str, Any] = {
        "head": entry.head_values(),
        "pipe": entry.inputs(),
        "by": request.user,
        "now": timezone.now(),
    }
    theirs = None
    try:
        if sheet is None:
            key, car = entry.head.cleaned_data["key"], request.user.car
            saved = pipes.begin_sheet(key=key, car=car, part=part, **values)
        else:
            seen = entry.head.cleaned_data["seen"]
            saved = pipes.save_sheet(sheet=sheet, seen=seen, **values)
        return go(request, saved, f"{saved}, revision {saved.version}, is saved.")
    except pipes.OtherUnderThisKey as other:
        entry.head.renew_key(str(other))
    except pipes.Stale as stale:
        entry.head.add_error(None, str(stale))
        entry.head.put("seen", str(stale.sheet.version))
        theirs = {"sheet": stale.sheet, "pipe": read(stale.sheet.inputs)}
    found = _worked_out(entry)
    return _page(
        request, entry, found, sheet=sheet, part=part, stock=_stock(entry), theirs=theirs, code=422
    )


def _worked_out(entry: PipeEntry) -> WorkedOut | None:
    """All that follows from an entry, when all of it can be read."""
    if not entry.is_valid():
        return None
    head = entry.head.cleaned_data
    return work_out(entry.inputs(), former=head["former"], stock=head["stock"])


def _stock(entry: PipeEntry) -> TubeStock | None:
    return entry.head.cleaned_data.get("stock") if entry.is_valid() else None


def _context(
    entry: PipeEntry, found: WorkedOut | None, *, stock: TubeStock | None, after: int | None = None
) -> dict[str, Any]:
    drawing = None
    if found is not None and stock is not None:
        drawing = showing.drawing_of(found, stock, after=after, size_mm=showing.SCREEN_MM)
    return {
        "entry": entry,
        "found": found,
        "drawing": drawing,
        "stock": stock,
        "rows": [(number, row, _said(found, entry, number)) for number, row in entry.numbered],
        "last_number": len(entry.rows) + 1,
        "last_said": _said(found, entry, len(entry.rows) + 1),
        "cautions": duties.cautions_of(str(entry.head["duty"].value() or "")),
    }


def _said(found: WorkedOut | None, entry: PipeEntry, number: int) -> list[Any]:
    """What is said at a row of the page."""
    if found is None:
        return []
    return [one for one in found.said if one.row and entry.page_row(one.row) == number]


def _page(
    request: HttpRequest,
    entry: PipeEntry,
    found: WorkedOut | None,
    *,
    sheet: PipeSheet | None = None,
    part: Part | None = None,
    stock: TubeStock | None = None,
    theirs: dict[str, Any] | None = None,
    code: int = 200,
) -> HttpResponse:
    # Half-bent views are of the sheet as saved: a link to one would lose what is being typed.
    as_saved = sheet is not None and request.method != "POST"
    after = showing.stage_asked(request.GET) if as_saved else None
    context = _context(entry, found, stock=stock, after=after) | {
        "sheet": sheet,
        "part": part,
        "theirs": theirs,
        "stages": showing.stages(found, after) if found and as_saved else [],
        "no_former": not Former.objects.exists(),
        "here_url": request.get_full_path() if sheet is None else sheet.get_absolute_url(),
    }
    return page(request, TEMPLATE, context, code=code)
