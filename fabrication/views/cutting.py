"""The cutting plan of a tube: pipes chosen, bars on hand, and which piece comes from which bar."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_safe

from fabrication.bench_figures import BenchFigures
from fabrication.core.errors import CoreError
from fabrication.drawn.previews import preview
from fabrication.forms import boxed
from fabrication.forms.papers import CuttingForm
from fabrication.models import TubeStock
from fabrication.models.tools import typed_of
from fabrication.paper import cutting
from fabrication.views.papers import CANNOT, asked_paper, file_answer, paper_choice
from garage.http import page
from garage.paper import PaperNotPossible

TEMPLATE = "fabrication/cutting.html"
ASKED = set(CuttingForm.base_fields)


@require_safe
def cutting_plans(request: HttpRequest) -> HttpResponse:
    """Which tube to plan for."""
    tubes = cutting.tubes_with_sheets()
    return page(request, "fabrication/cutting_plans.html", {"tubes": tubes})


@require_safe
def tube_cutting(request: HttpRequest, pk: int) -> HttpResponse:
    stock = get_object_or_404(TubeStock, pk=pk)
    form, found = _worked_out(request, stock)
    context: dict[str, Any] = {"form": form, "stock": stock, "cutting": found}
    context |= paper_choice(request, asked_paper(request), None)
    if found:
        says = BenchFigures.of(request.user)
        figure = cutting.figure_of(found, says)
        context["view"] = preview(figure, says="Bars with their pieces", words=False)
        context["asked"] = request.GET.urlencode()
    return page(request, TEMPLATE, context, code=422 if form.errors else 200)


@require_safe
def tube_cutting_pdf(request: HttpRequest, pk: int) -> HttpResponse:
    stock = get_object_or_404(TubeStock, pk=pk)
    form, found = _worked_out(request, stock)
    if found is None:
        choice = paper_choice(request, asked_paper(request), None)
        return page(request, TEMPLATE, {"form": form, "stock": stock, **choice}, code=422)
    try:
        pdf = cutting.cutting_pdf(
            found,
            stock=stock,
            by=request.user,
            now=timezone.now(),
            paper_size=asked_paper(request),
        )
    except PaperNotPossible as impossible:
        context = {"back": stock, "named": str(stock), "says": str(impossible)}
        return page(request, CANNOT, context, code=503)
    return file_answer(pdf, "pdf", f"cutting plan {stock}")


def _worked_out(
    request: HttpRequest, stock: TubeStock
) -> tuple[CuttingForm, cutting.Cutting | None]:
    """The form as asked, and the plan when it can be made."""
    says = BenchFigures.of(request.user)
    sheets = cutting.sheets_of(stock)
    form = CuttingForm(
        request.GET if ASKED & set(request.GET) else None,
        person=request.user,
        choices=[
            (str(sheet.pk), f"{sheet} {sheet.title}, {says.length(cut_mm)}")
            for sheet, cut_mm in sheets
        ],
        initial={
            "sheets": [str(sheet.pk) for sheet, _ in sheets],
            "bars": boxed(
                stock.bar_length_mm, typed_of(stock, "bar_length_mm"), person=request.user
            ),
            "kerf": "1",
        },
    )
    if not form.is_bound or not form.is_valid():
        return form, None
    chosen = set(form.cleaned_data["sheets"])
    pieces = [
        cutting.Wanted(str(sheet), cut_mm) for sheet, cut_mm in sheets if str(sheet.pk) in chosen
    ]
    pieces += [
        cutting.Wanted(f"piece {number}", length_mm)
        for number, length_mm in enumerate(form.lengths("more"), start=1)
    ]
    try:
        found = cutting.cut(
            pieces=pieces,
            bars_mm=form.lengths("bars"),
            offcuts_mm=form.lengths("offcuts"),
            kerf_mm=form.size_mm("kerf"),
            trim_mm=form.size_mm("trim"),
        )
    except CoreError as refused:
        form.add_error("bars", refused.message)
        return form, None
    return form, found
