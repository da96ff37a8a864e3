"""Drawings of a pipe at true size: the page that offers them, and the files."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.utils.text import slugify
from django.views.decorators.http import require_safe

from fabrication.bench_figures import BenchFigures
from fabrication.drawn.previews import preview, readable
from fabrication.models import PipeSheet, Printer
from fabrication.paper import papers
from fabrication.paper.exports import dxf_of, svg_of
from fabrication.paper.papers import BENDS, PLAN, STRIP, NothingToDraw, Pipe
from fabrication.pipe.inputs import UnknownSchema
from garage.http import page
from garage.models import Garage
from garage.paper import PAPERS, PaperNotPossible

CANNOT = "fabrication/paper_not.html"
KINDS = {"pdf": "application/pdf", "svg": "image/svg+xml", "dxf": "image/vnd.dxf"}


@require_safe
def pipe_papers(request: HttpRequest, pk: int) -> HttpResponse:
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    try:
        pipe = Pipe.of(sheet)
    except (NothingToDraw, UnknownSchema) as nothing:
        return _cannot(request, sheet, nothing)
    size, printer = asked_paper(request), asked_printer(request)
    context = {
        "sheet": sheet,
        "offers": [_offer(request, pipe, drawing, size) for drawing in (BENDS, STRIP, PLAN)],
        **paper_choice(request, size, printer),
    }
    return page(request, "fabrication/papers.html", context)


@require_safe
def pipe_drawing(request: HttpRequest, pk: int, drawing: str, kind: str) -> HttpResponse:
    """A drawing as PDF at true size, or whole as SVG or DXF."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    title = papers.TITLES[drawing]
    says = BenchFigures.of(request.user)
    try:
        if kind == "pdf":
            body: bytes | str = papers.pipe_pdf(
                sheet,
                drawing,
                by=request.user,
                now=timezone.now(),
                paper_size=asked_paper(request),
                printer=asked_printer(request),
            )
        else:
            figure = papers.figure_of(Pipe.of(sheet), drawing, says=says)
            body = dxf_of(figure) if kind == "dxf" else svg_of(figure, title=f"{title}: {sheet}")
    except (PaperNotPossible, NothingToDraw, UnknownSchema) as impossible:
        return _cannot(request, sheet, impossible)
    return file_answer(body, kind, f"{title} {sheet} {sheet.title}")


@require_safe
def pipe_table(request: HttpRequest, pk: int) -> HttpResponse:
    """Bends and marks as CSV."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    try:
        body = papers.table_csv(Pipe.of(sheet))
    except (NothingToDraw, UnknownSchema) as nothing:
        return _cannot(request, sheet, nothing)
    name = slugify(f"bends {sheet} {sheet.title}")[:80]
    return HttpResponse(
        body,
        content_type="text/csv; charset=utf-8",
        headers={"Content-Disposition": f'attachment; filename="{name}.csv"'},
    )


def _offer(request: HttpRequest, pipe: Pipe, drawing: str, size: str) -> dict[str, Any]:
    """A drawing as the page offers it: what it looks like, on how many sheets."""
    says = BenchFigures.of(request.user)
    shown: dict[str, Any] = {
        "drawing": drawing,
        "title": papers.TITLES[drawing],
        "pdf": f"pipe_{drawing}_pdf",
        "svg": f"pipe_{drawing}_svg",
        "dxf": f"pipe_{drawing}_dxf",
    }
    try:
        figure = papers.figure_of(pipe, drawing, says=says)
        leaves = papers.leaves_of(pipe, drawing, paper_size=size, says=says)
    except NothingToDraw as nothing:
        return shown | {"why_not": str(nothing)}
    says_title = papers.TITLES[drawing]
    if drawing == STRIP:
        view = readable(figure, says=says_title)
    else:
        view = preview(figure, says=says_title, words=False)
    return shown | {"view": view, "leaves": len(leaves)}


def _cannot(request: HttpRequest, sheet: PipeSheet, why: Exception) -> HttpResponse:
    code = 503 if isinstance(why, PaperNotPossible) else 422
    context = {"back": sheet, "named": f"{sheet}, {sheet.title}", "says": str(why)}
    return page(request, CANNOT, context, code=code)


# ---- what the pages of paper share ----------------------------------------------------------


def paper_choice(request: HttpRequest, size: str, printer: Printer | None) -> dict[str, Any]:
    """The printers and papers there are, those asked for, and the query that carries them on."""
    query = f"paper={size}" + (f"&printer={printer.pk}" if printer else "")
    return {
        "paper_size": size,
        "papers": [(name, name.upper() if name == "a4" else name.title()) for name in PAPERS],
        "printer": printer,
        "printers": Printer.objects.all(),
        "query": query,
        "usual": Printer.objects.usual_of(request.user),
    }


def asked_paper(request: HttpRequest) -> str:
    """The paper of ``?paper=``, else the garage's."""
    size = request.GET.get("paper", "")
    return size if size in PAPERS else Garage.here().paper


def asked_printer(request: HttpRequest) -> Printer | None:
    """The printer of ``?printer=``; a page asked without one offers the person's usual printer.

    A number that is no printer is a 404: a sheet is never printed uncorrected by mistake.
    """
    text = request.GET.get("printer")
    if text is None:
        is_page = request.resolver_match.url_name in PAGES_THAT_CHOOSE
        return Printer.objects.usual_of(request.user) if is_page else None
    if text == "":
        return None
    known = text.isascii() and text.isdigit() and len(text) < 10
    return get_object_or_404(Printer, pk=int(text) if known else 0)


PAGES_THAT_CHOOSE = {"pipe_papers", "fishmouth", "bracket_papers"}


def file_answer(body: bytes | str, kind: str, named: str) -> HttpResponse:
    """A file: a PDF to be shown, everything else to be kept."""
    how = "inline" if kind == "pdf" else "attachment"
    return HttpResponse(
        body,
        content_type=KINDS[kind],
        headers={"Content-Disposition": f'{how}; filename="{slugify(named)[:80]}.{kind}"'},
    )
