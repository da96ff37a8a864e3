"""Make-up sheets of pipes: the list, one sheet, its sums while it is typed, its paper, the bin."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.drawn import showing
from fabrication.forms.pipe_boxes import Boxes, boxes_of, boxes_of_typed, data_of
from fabrication.forms.pipes import PipeEntry
from fabrication.models import PipeRevision, PipeSheet
from fabrication.paper import sheets
from fabrication.pipe import freezing, inputs, pipes, ways
from fabrication.views.pipe_entry import (
    TEMPLATE,
    Shown,
    answer_to_button,
    context_of,
    from_here,
    show,
    worked_of,
)
from garage.http import go, page
from garage.models import Person
from garage.paper import PAPERS, PaperNotPossible
from parts.models import Part


@require_safe
def pipe_sheets(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    found = PipeSheet.objects.of_car(car).for_rows().newest_first()
    binned = PipeSheet.objects.in_the_bin_of(car).for_rows().newest_first()
    return page(request, "fabrication/pipes.html", {"sheets": found, "binned": binned})


@require_http_methods(["GET", "HEAD", "POST"])
def pipe_new(request: HttpRequest) -> HttpResponse:
    tag = request.GET.get("part", "")
    part = get_object_or_404(Part.objects.kept(), tag=tag.upper()) if tag else None
    about = Shown(part=part)
    if request.method == "POST":
        return _post(request, about)
    boxes: Boxes = {"head": {"title": part.name}} if part else {}
    if (number := request.GET.get("mirror", "")).isdecimal() and len(number) < 10:
        partner = get_object_or_404(PipeSheet.objects.kept(), pk=number)
        boxes = _boxes_of_partner(partner, boxes, person=request.user)
    entry = PipeEntry(person=request.user, boxes=boxes)
    if "mirror" not in boxes:
        return show(request, entry, None, about)
    checked = PipeEntry(data_of(boxes), person=request.user)
    return show(request, entry, worked_of(checked), about)


@require_http_methods(["GET", "HEAD", "POST"])
def pipe(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    about = Shown(sheet=sheet, part=sheet.part, revision=_revision_asked(request))
    try:
        boxes = boxes_of(sheet, person=request.user, revision=_revision(about))
    except inputs.UnknownSchema as newer:
        return page(request, "fabrication/pipe_newer.html", {"sheet": sheet, "says": str(newer)})
    if request.method == "POST":
        return _post(request, about)
    boxes["tab"] = request.GET.get("tab", boxes["way"])
    entry = PipeEntry(person=request.user, boxes=boxes, sheet=sheet)
    if about.revision is None:
        return show(request, entry, ways.of_sheet(sheet, frozen=freezing.figures_of(sheet)), about)
    checked = PipeEntry(data_of(boxes), person=request.user, sheet=sheet)
    return show(request, entry, worked_of(checked), about)


@require_POST
def pipe_work_out(request: HttpRequest) -> HttpResponse:
    """The sums of a pipe as it stands in the form now; nothing is saved.

    The order of bending comes second, asked for by what is sent first. With ``?after=`` the pipe
    as it is after so many bends is sent instead.
    """
    entry = PipeEntry(request.POST, person=request.user)
    in_order, after = "order" in request.GET, showing.stage_asked(request.GET)
    fragment = "answers" if after is None else "stage"
    if in_order:
        fragment = "in-order"
    worked = worked_of(entry, order=fragment != "answers")
    context = context_of(entry, worked, after=after, drawn=not in_order)
    if worked and entry.is_of_sheet:
        context["stages"] = showing.stages(worked.found, after)
    return page(request, f"{TEMPLATE}#{fragment}", context | {"live": True, "may_type": True})


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
    except (PaperNotPossible, inputs.UnknownSchema) as impossible:
        context = {"sheet": sheet, "says": str(impossible)}
        return page(request, "fabrication/pipe_newer.html", context, code=503)
    name = f"make-up-{sheet}-{slugify(sheet.title)[:60] or 'pipe'}.pdf"
    return HttpResponse(
        pdf,
        content_type="application/pdf",
        headers={"Content-Disposition": f'inline; filename="{name}"'},
    )


@require_POST
def pipe_throw_out(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(PipeSheet.objects.kept(), pk=pk)
    pipes.throw_out(sheet=sheet, by=request.user, now=timezone.now())
    return go(request, "pipes", f"{sheet} lies in the bin for 30 days; it is listed at the foot.")


@require_POST
def pipe_bring_back(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(PipeSheet.objects.thrown_out(), pk=pk)
    pipes.bring_back(sheet=sheet)
    return go(request, sheet, f"{sheet} is back.")


def _post(request: HttpRequest, about: Shown) -> HttpResponse:
    if (answer := answer_to_button(request, about)) is not None:
        return answer
    if "here" in request.POST or "kept" in request.POST:
        return _work_from_here(request, about)
    entry = PipeEntry(request.POST, person=request.user, sheet=about.sheet)
    if not entry.is_valid():
        return show(request, entry, worked_of(entry), about, code=422)
    return _save(request, entry, entry.typed(), about)


def _work_from_here(request: HttpRequest, about: Shown) -> HttpResponse:
    """Another way counts from now on: saved with what it took over, where there is a sheet."""
    asked = from_here(request, about.sheet)
    if asked.is_wrong:
        return show(request, asked.entry, None, about, code=422)
    if asked.typed is not None and about.sheet is not None:
        return _save(request, asked.entry, asked.typed, about)
    checked = PipeEntry(data_of(asked.boxes), person=request.user, sheet=about.sheet)
    entry = PipeEntry(person=request.user, boxes=asked.boxes, sheet=about.sheet)
    return show(request, entry, worked_of(checked), about)


def _save(
    request: HttpRequest, entry: PipeEntry, typed: inputs.Typed, about: Shown
) -> HttpResponse:
    values: dict[str, Any] = {
        "head": entry.head_values(),
        "pipe": typed,
        "by": request.user,
        "now": timezone.now(),
    }
    head = entry.head
    theirs = None
    try:
        if about.sheet is None:
            key, car = head.cleaned_data["key"], request.user.car
            saved = pipes.begin_sheet(key=key, car=car, part=about.part, **values)
        else:
            seen = head.cleaned_data["seen"]
            saved = pipes.save_sheet(sheet=about.sheet, seen=seen, **values)
        return go(request, saved, f"{saved}, revision {saved.version}, is saved.")
    except pipes.OtherUnderThisKey as other:
        head.renew_key(str(other))
    except pipes.InTheBin as thrown_out:
        head.add_error(None, str(thrown_out))
    except pipes.Stale as stale:
        head.add_error(None, str(stale))
        head.put("seen", str(stale.sheet.version))
        theirs = theirs_of(stale.sheet, person=request.user)
    worked = worked_of(PipeEntry(entry.data, person=request.user, sheet=about.sheet))
    shown = Shown(sheet=about.sheet, part=about.part, theirs=theirs)
    return show(request, entry, worked, shown, code=422)


def theirs_of(sheet: PipeSheet, *, person: Person) -> dict[str, Any]:
    """What somebody saved meanwhile, to stand beside what was typed."""
    typed = inputs.read(sheet.inputs)
    return {"sheet": sheet, "typed": typed, "way": dict(inputs.WAYS)[typed.way].lower()}


def _boxes_of_partner(partner: PipeSheet, boxes: Boxes, *, person: Person) -> Boxes:
    """The boxes of a new sheet that is the mirror image of another: its head and ends too."""
    typed = inputs.read(partner.inputs)
    told = inputs.Typed(
        way=inputs.MIRROR,
        mirror=inputs.Mirror(partner.pk),
        end_a=typed.end_a,
        end_b=typed.end_b,
    )
    head = {
        "title": f"{partner.title}, other side"[:80],
        "duty": partner.duty,
        "former": partner.former_id,
        "stock": partner.stock_id,
        "bead_tool": partner.bead_tool_id or "",
    }
    return {"head": head | boxes.get("head", {}), **boxes_of_typed(told, person=person)}


def _revision_asked(request: HttpRequest) -> int | None:
    text = request.GET.get("revision", "")
    return int(text) if text.isascii() and text.isdigit() and len(text) < 6 else None


def _revision(about: Shown) -> PipeRevision | None:
    """The earlier revision whose words are to stand in the boxes."""
    if about.revision is None or about.sheet is None:
        return None
    return get_object_or_404(about.sheet.revisions.all(), version=about.revision)
