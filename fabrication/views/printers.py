"""Printers: measured by two bars, so that what they print is true."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.forms.papers import PrinterForm, printer_boxes
from fabrication.models import Printer
from fabrication.paper import printers as verbs
from fabrication.paper.papers import check_pdf
from fabrication.views.papers import CANNOT, asked_paper, asked_printer, file_answer, paper_choice
from garage.http import go, page
from garage.paper import PaperNotPossible

TEMPLATE = "fabrication/printers.html"


@require_http_methods(["GET", "HEAD", "POST"])
def printers(request: HttpRequest) -> HttpResponse:
    form = PrinterForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = verbs.add_printer(
                key=form.cleaned_data["key"],
                **form.values(),
                by=request.user,
                now=timezone.now(),
            )
            return go(request, "printers", f"{made} is measured.")
        except verbs.OtherPrinterUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, form)


@require_http_methods(["GET", "HEAD", "POST"])
def printer(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Printer, pk=pk)
    boxes = printer_boxes(one, person=request.user)
    form = PrinterForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        verbs.measure(printer=one, **form.values(), by=request.user, now=timezone.now())
        return go(request, "printers", f"{one} is measured again.")
    return _form(request, form, one=one)


@require_POST
def printer_usual(request: HttpRequest, pk: int) -> HttpResponse:
    """Makes a printer the usual one of this person, or no longer that."""
    one = get_object_or_404(Printer, pk=pk)
    if "not" in request.POST:
        verbs.choose(printer=None, by=request.user)
        return go(request, "printers", "You have no usual printer now.")
    verbs.choose(printer=one, by=request.user)
    return go(request, "printers", f"{one} is your usual printer.")


@require_safe
def printer_check(request: HttpRequest) -> HttpResponse:
    """The test page: two bars, corrected only for a printer that is named."""
    try:
        pdf = check_pdf(
            by=request.user,
            now=timezone.now(),
            paper_size=asked_paper(request),
            printer=asked_printer(request),
        )
    except PaperNotPossible as impossible:
        context = {"back": "/printers/", "named": "Printers", "says": str(impossible)}
        return page(request, CANNOT, context, code=503)
    return file_answer(pdf, "pdf", "printer test page")


def _form(request: HttpRequest, form: PrinterForm, one: Printer | None = None) -> HttpResponse:
    code = 422 if form.is_bound and form.errors else 200
    choice = paper_choice(request, asked_paper(request), None)
    return page(request, TEMPLATE, {"form": form, "one": one, **choice}, code=code)
