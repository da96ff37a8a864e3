"""The holes of a part: their table, and one hole with its stack."""

from dataclasses import asdict

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from parts import fasteners
from parts.forms.hole_sheet import (
    HoleSheet,
    fresh_sheet,
    offered,
    rows_of,
    sheet_as_typed,
    sheet_of,
    whole,
)
from parts.models import Hole, Part
from parts.pin_stages import hole_stages

TEMPLATE = "parts/hole.html"


@require_safe
def holes(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    shown = fasteners.holes_for(part, person=request.user)
    stages = hole_stages(part, (row.hole for row in shown), pinned_only=True)
    return page(request, "parts/holes.html", {"part": part, "holes": shown, "stages": stages})


@require_http_methods(["GET", "HEAD", "POST"])
def hole_new(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    if request.method == "POST":
        return _post(request, part, None)
    return _sheet(request, part, None, fresh_sheet(part=part, person=request.user))


@require_http_methods(["GET", "HEAD", "POST"])
def hole(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(
        Hole.objects.with_stacks().select_related("part__car"), pk=pk, part__thrown_out_at=None
    )
    if request.method == "POST":
        return _post(request, found.part, found)
    return _sheet(request, found.part, found, sheet_of(found, person=request.user))


def _post(request: HttpRequest, part: Part, found: Hole | None) -> HttpResponse:
    if "take_out" in request.POST and found is not None:
        return _take_out(request, found)
    typed = {"part": part, "person": request.user}
    if "more" in request.POST:
        return _sheet(request, part, found, sheet_as_typed(request.POST, more=1, **typed))
    if "like" in request.POST:
        other = get_object_or_404(part.holes.with_stacks(), number=whole(request.POST["like"]))
        rows = rows_of(other.stack.all(), person=request.user)
        return _sheet(request, part, found, sheet_as_typed(request.POST, add=rows, **typed))
    sheet = HoleSheet(request.POST, **typed)
    if "read" in request.POST and not sheet.form.errors.get("quick"):
        rows = [asdict(written) for written in sheet.form.written]
        read = sheet_as_typed(request.POST, add=rows, quick=False, **typed)
        return _sheet(request, part, found, read)
    return _save(request, part, found, sheet)


def _save(request: HttpRequest, part: Part, found: Hole | None, sheet: HoleSheet) -> HttpResponse:
    if not sheet.is_valid():
        return _sheet(request, part, found, sheet, code=422)
    try:
        saved = fasteners.save_hole(
            part=part,
            hole=found,
            key=sheet.form.cleaned_data["key"],
            seen=sheet.form.cleaned_data["seen"],
            fields=sheet.form.hole_fields(),
            stack=sheet.stack(),
            by=request.user,
            now=timezone.now(),
        )
    except fasteners.SavedAlready as used:
        sheet.form.renew_key(str(used))
    except fasteners.HoleRefused as refused:
        sheet.form.add_error("number", str(refused))
    except fasteners.ChangedMeanwhile as clash:
        sheet.form.add_error(None, f"{clash} Save once more to put yours in its place.")
        sheet.see(clash.hole)
    else:
        said = f"Hole {saved.number} is written down."
        if "another" in request.POST:
            return go(request, fasteners.next_address(part), said)
        return go(request, fasteners.address(part), said)
    return _sheet(request, part, found, sheet, code=422)


def _take_out(request: HttpRequest, found: Hole) -> HttpResponse:
    try:
        fasteners.take_out_hole(hole=found, by=request.user, now=timezone.now())
    except fasteners.HoleRefused as refused:
        sheet = sheet_of(found, person=request.user)
        return _sheet(request, found.part, found, sheet, code=422, refused=str(refused))
    said = f"Hole {found.number} is taken out. Its stack stands in the history."
    return go(request, fasteners.address(found.part), said)


def _sheet(
    request: HttpRequest,
    part: Part,
    found: Hole | None,
    sheet: HoleSheet,
    *,
    code: int = 200,
    refused: str = "",
) -> HttpResponse:
    others = list(part.holes.with_stacks())
    context = {
        "part": part,
        "hole": found,
        "sheet": sheet,
        "refused": refused,
        "others": [other for other in others if other != found and other.stack.all()],
        "stages": hole_stages(part, others),
        **offered(),
    }
    return page(request, TEMPLATE, context, fragment="form", code=code)
