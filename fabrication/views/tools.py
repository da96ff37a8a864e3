"""Formers and tube: what there is, one more, and a former measured again."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods, require_safe

from fabrication import tools
from fabrication.forms.tools import FormerForm, StockForm, former_boxes
from fabrication.models import Former, TubeStock
from garage.http import go, page


@require_safe
def formers(request: HttpRequest) -> HttpResponse:
    return page(request, "fabrication/formers.html", {"formers": Former.objects.all()})


@require_http_methods(["GET", "HEAD", "POST"])
def former_new(request: HttpRequest) -> HttpResponse:
    form = FormerForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_former(key=form.cleaned_data["key"], values=form.values())
            return go(request, "formers", f"{made} is in the rack.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, "fabrication/former.html", form)


@require_http_methods(["GET", "HEAD", "POST"])
def former(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Former, pk=pk)
    boxes = former_boxes(one, person=request.user)
    form = FormerForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        tools.change_former(former=one, values=form.values())
        return go(request, "formers", f"{one} is changed. Its sheets reckon with the new figures.")
    return _form(request, "fabrication/former.html", form, former=one)


@require_safe
def tube_stock(request: HttpRequest) -> HttpResponse:
    return page(request, "fabrication/tube_stock.html", {"stock": TubeStock.objects.all()})


@require_http_methods(["GET", "HEAD", "POST"])
def tube_stock_new(request: HttpRequest) -> HttpResponse:
    form = StockForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_stock(key=form.cleaned_data["key"], values=form.values())
            return go(request, made, f"{made} is in the rack.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, "fabrication/tube_stock_new.html", form)


def _form(request: HttpRequest, template: str, form: Any, **more: Any) -> HttpResponse:
    code = 422 if form.is_bound and form.errors else 200
    return page(request, template, {"form": form, **more}, code=code)
