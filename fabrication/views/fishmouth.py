"""Cutting the end of a tube to sit on another."""

from django.http import HttpRequest, HttpResponse, QueryDict
from django.utils import timezone
from django.views.decorators.http import require_safe

from fabrication.bench_figures import BenchFigures
from fabrication.core.errors import CoreError
from fabrication.drawn.previews import readable
from fabrication.forms.papers import FishmouthForm
from fabrication.paper import fishmouth_paper
from fabrication.paper.exports import dxf_of, svg_of
from fabrication.views.papers import CANNOT, asked_paper, asked_printer, file_answer, paper_choice
from garage.http import page
from garage.paper import PaperNotPossible

TEMPLATE = "fabrication/fishmouth.html"
ASKED = set(FishmouthForm.base_fields)


@require_safe
def fishmouth(request: HttpRequest) -> HttpResponse:
    form = _form(request)
    context = {"form": form, **paper_choice(request, asked_paper(request), asked_printer(request))}
    if form.is_bound and form.is_valid():
        asked = form.fishmouth()
        said = fishmouth_paper.words_of(asked, BenchFigures.of(request.user))
        figure = fishmouth_paper.figure_of(asked)
        context |= {"said": said, "view": readable(figure, says=said), "box": figure.bounds}
        kept = _carried(request)
        context |= {"asked": kept.urlencode(), "kept": list(kept.lists())}
    return page(request, TEMPLATE, context, code=422 if form.errors else 200)


@require_safe
def fishmouth_file(request: HttpRequest, kind: str) -> HttpResponse:
    form = _form(request)
    if not form.is_valid():
        return page(
            request, TEMPLATE, {"form": form, **paper_choice(request, "a4", None)}, code=422
        )
    asked = form.fishmouth()
    said = fishmouth_paper.words_of(asked, BenchFigures.of(request.user))
    try:
        if kind == "pdf":
            body: bytes | str = fishmouth_paper.fishmouth_pdf(
                asked,
                by=request.user,
                now=timezone.now(),
                paper_size=asked_paper(request),
                printer=asked_printer(request),
            )
        else:
            figure = fishmouth_paper.figure_of(asked)
            body = dxf_of(figure) if kind == "dxf" else svg_of(figure, title=said)
    except (PaperNotPossible, CoreError) as impossible:
        code = 503 if isinstance(impossible, PaperNotPossible) else 422
        context = {"back": "/fishmouth/", "named": "Fishmouth template", "says": str(impossible)}
        return page(request, CANNOT, context, code=code)
    return file_answer(body, kind, f"fishmouth {said}")


def _form(request: HttpRequest) -> FishmouthForm:
    asked = request.GET if ASKED & set(request.GET) else None
    return FishmouthForm(asked, person=request.user)


def _carried(request: HttpRequest) -> QueryDict:
    """The address's own query, without paper and printer."""
    kept = request.GET.copy()
    for name in ("paper", "printer"):
        kept.pop(name, None)
    return kept
