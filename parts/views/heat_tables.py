"""What stands how much heat: the tables behind the warnings, to read and to write over."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from parts import heat_tables as tables
from parts.forms.heat_tables import AdhesiveForm, AlloyForm, LimitForm, RowForm, ScheduleForms
from parts.gate.rules import RULES
from parts.models import Adhesive, Alloy, Limit

ADD: dict[type[RowForm], str] = {
    AdhesiveForm: "Add an adhesive",
    AlloyForm: "Add a solder or braze",
    LimitForm: "Add a thing",
}


@require_safe
def heat_tables(request: HttpRequest) -> HttpResponse:
    context = {
        "adhesives": Adhesive.objects.all(),
        "alloys": Alloy.objects.all(),
        "limits": Limit.objects.all(),
        "rules": RULES,
    }
    return page(request, "parts/heat_tables.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def adhesive_new(request: HttpRequest) -> HttpResponse:
    return _adhesive(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
def adhesive(request: HttpRequest, pk: int) -> HttpResponse:
    return _adhesive(request, get_object_or_404(Adhesive, pk=pk))


@require_http_methods(["GET", "HEAD", "POST"])
def alloy_new(request: HttpRequest) -> HttpResponse:
    return _row(request, AlloyForm, None)


@require_http_methods(["GET", "HEAD", "POST"])
def alloy(request: HttpRequest, pk: int) -> HttpResponse:
    return _row(request, AlloyForm, get_object_or_404(Alloy, pk=pk))


@require_http_methods(["GET", "HEAD", "POST"])
def limit_new(request: HttpRequest) -> HttpResponse:
    return _row(request, LimitForm, None)


@require_http_methods(["GET", "HEAD", "POST"])
def limit(request: HttpRequest, pk: int) -> HttpResponse:
    return _row(request, LimitForm, get_object_or_404(Limit, pk=pk))


def _adhesive(request: HttpRequest, row: Adhesive | None) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    return _row(request, AdhesiveForm, row, times=ScheduleForms.of(row, request.user, data))


def _row(
    request: HttpRequest, form_class: type[RowForm], row: Any, times: ScheduleForms | None = None
) -> HttpResponse:
    """The form of one row, saved when it is right. Who may not change sees it all the same."""
    form = form_class(request.POST or None, person=request.user, row=row)
    if request.method == "POST" and all([form.is_valid(), times is None or times.is_valid()]):
        values = form.figures() | ({"schedule": times.schedule()} if times is not None else {})
        if row is not None:
            saved = tables.change_row(row=row, values=values)
            return go(request, "heat_tables", f"{saved} is changed.")
        try:
            saved = tables.add_row(model=form.MODEL, key=form.cleaned_data["key"], values=values)
            return go(request, "heat_tables", f"{saved} is in the table.")
        except tables.OtherUnderThisKey as other:
            form.renew_key(f"{other} Save once more to add this one as well.")
    title = f"Change {row}" if row else ADD[form_class]
    context = {"form": form, "times": times, "row": row, "title": title}
    return page(request, "parts/heat_row.html", context, code=422 if form.is_bound else 200)
