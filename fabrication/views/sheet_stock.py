"""Sheet on the rack: the list, one more, test strips, and which one replaces an old bracket."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from fabrication.bracket import brackets
from fabrication.bracket.sheet_choice import ranked
from fabrication.forms.sheet_stock import (
    OldBracketForm,
    SheetStockForm,
    StripForm,
    sheet_boxes,
)
from fabrication.models import SheetStock
from garage.http import go, page

FORM = "fabrication/sheet_form.html"


@require_safe
def sheet_stock(request: HttpRequest) -> HttpResponse:
    found = SheetStock.objects.prefetch_related("strips")
    return page(request, "fabrication/sheet_stock.html", {"stock": found})


@require_http_methods(["GET", "HEAD", "POST"])
def sheet_stock_new(request: HttpRequest) -> HttpResponse:
    form = SheetStockForm(request.POST or None, person=request.user, initial={"material": "steel"})
    if request.method == "POST" and form.is_valid():
        try:
            row = brackets.add_sheet_stock(key=form.cleaned_data["key"], values=form.values())
            return go(request, row, f"{row} is written down.")
        except brackets.OtherUnderThisKey as other:
            form.renew_key(str(other))
    code = 422 if request.method == "POST" else 200
    return page(request, FORM, {"form": form, "title": "Add sheet"}, code=code)


@require_http_methods(["GET", "HEAD", "POST"])
def sheet_stock_change(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(SheetStock, pk=pk)
    boxes = sheet_boxes(row, person=request.user)
    form = SheetStockForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        brackets.change_sheet_stock(stock=row, values=form.values())
        return go(request, row, f"{row} is changed.")
    code = 422 if request.method == "POST" else 200
    return page(request, FORM, {"form": form, "title": f"Change {row}"}, code=code)


@require_http_methods(["GET", "HEAD", "POST"])
def strip_new(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(SheetStock, pk=pk)
    form = StripForm(request.POST or None, person=request.user, stock=row)
    if request.method == "POST" and form.is_valid():
        try:
            strip = brackets.add_strip(
                key=form.cleaned_data["key"],
                stock=row,
                values=form.values(),
                by=request.user,
                now=timezone.now(),
            )
            return go(request, row, f"{strip} is kept; choose it on a bracket sheet.")
        except brackets.OtherUnderThisKey as other:
            form.renew_key(str(other))
    code = 422 if request.method == "POST" else 200
    context = {"form": form, "title": f"Test strip of {row}", "is_strip": True}
    return page(request, FORM, context, code=code)


@require_safe
def sheet_chooser(request: HttpRequest) -> HttpResponse:
    """Own sheet against an old bracket; the figures stand in the address, nothing is saved."""
    asked = "thickness" in request.GET
    form = OldBracketForm(
        request.GET if asked else None, person=request.user, initial={"material": "steel"}
    )
    context: dict[str, Any] = {"form": form, "old": None, "choices": []}
    if asked and form.is_valid():
        old = form.old()
        choices = ranked(old, SheetStock.objects.all())
        context |= {
            "old": old,
            "choices": choices,
            "near": [one for one in choices if not one.is_far],
            "far": [one for one in choices if one.is_far],
        }
    code = 422 if asked and form.errors else 200
    return page(request, "fabrication/sheet_chooser.html", context, code=code)
