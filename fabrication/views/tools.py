"""The tools of the bench: what there is, one more, one changed, and what each was used for."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, resolve_url
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.forms.tools import (
    FormerForm,
    JobForm,
    StockForm,
    ToolForm,
    former_boxes,
    stock_boxes,
    tool_boxes,
)
from fabrication.kit import tools
from fabrication.kit.practice_page import groups_of
from fabrication.models import BeadTool, Former, Tool, TubeStock
from garage.http import go, page

FORM = "fabrication/tool_form.html"


@require_safe
def bench_tools(request: HttpRequest) -> HttpResponse:
    context = {
        "formers": Former.objects.all(),
        "bead_tools": BeadTool.objects.all(),
        "tools": Tool.objects.all(),
        "stock": TubeStock.objects.priced(),
    }
    return page(request, "fabrication/tools.html", context)


@require_safe
def formers(request: HttpRequest) -> HttpResponse:
    return page(request, "fabrication/formers.html", {"formers": Former.objects.all()})


@require_http_methods(["GET", "HEAD", "POST"])
def former_new(request: HttpRequest) -> HttpResponse:
    form = FormerForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_former(key=form.cleaned_data["key"], values=form.values())
            return go(request, made, f"{made} is in the rack.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, form, "Add a former", back="formers", save="Save former")


@require_safe
def former(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Former, pk=pk)
    context = {
        "former": one,
        "groups": groups_of(one),
        "sheets": one.pipe_sheets.for_rows().newest_first(),
    }
    return page(request, "fabrication/former.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def former_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Former, pk=pk)
    boxes = former_boxes(one, person=request.user)
    form = FormerForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        changed = tools.change_former(former=one, values=form.values())
        return go(request, changed, f"{changed} is changed. Its sheets reckon with that now.")
    return _form(request, form, f"Change {one}", back=one, save="Save former")


@require_safe
def tube_stock(request: HttpRequest) -> HttpResponse:
    return page(request, "fabrication/tube_stock.html", {"stock": TubeStock.objects.by_kind()})


@require_http_methods(["GET", "HEAD", "POST"])
def tube_stock_new(request: HttpRequest) -> HttpResponse:
    form = StockForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_stock(key=form.cleaned_data["key"], values=form.values())
            return go(request, made, f"{made} is in the rack.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, form, "Add tube", back="tube_stock", save="Save tube")


@require_http_methods(["GET", "HEAD", "POST"])
def tube_stock_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(TubeStock, pk=pk)
    boxes = stock_boxes(one, person=request.user)
    form = StockForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        changed = tools.change(row=one, values=form.values())
        return go(request, changed, f"{changed} is changed.")
    return _form(request, form, f"Change {one}", back=one, save="Save tube")


@require_http_methods(["GET", "HEAD", "POST"])
def tool_new(request: HttpRequest) -> HttpResponse:
    form = ToolForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_tool(key=form.cleaned_data["key"], values=form.values())
            return go(request, made, f"{made} is written down.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, form, "Add a tool", back="bench_tools", save="Save tool")


@require_http_methods(["GET", "HEAD", "POST"])
def tool(request: HttpRequest, pk: int) -> HttpResponse:
    """A tool, and the form for one more job that it served."""
    one = get_object_or_404(Tool, pk=pk)
    data = request.POST if request.method == "POST" else None
    form = JobForm(data, person=request.user)
    if request.method == "POST" and form.is_valid():
        tools.serve(tool=one, **form.job())
        return go(request, one, "The job is on its list.")
    context = {
        "tool": one,
        "form": form,
        "sheets": one.pipe_sheets.for_rows().newest_first(),
        "parts": one.parts.kept().with_pieces(),
    }
    code = 422 if form.is_bound and form.errors else 200
    return page(request, "fabrication/tool.html", context, code=code)


@require_http_methods(["GET", "HEAD", "POST"])
def tool_change(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Tool, pk=pk)
    boxes = tool_boxes(one, person=request.user)
    form = ToolForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        changed = tools.change(row=one, values=form.values())
        return go(request, changed, f"{changed} is changed.")
    return _form(request, form, f"Change {one}", back=one, save="Save tool")


@require_POST
def tool_job_off(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Tool, pk=pk)
    form = JobForm(request.POST, person=request.user, sheets=one.pipe_sheets.all())
    if not form.is_valid():
        return go(request, one, form.problems[0][1])
    tools.unserve(tool=one, **form.job())
    return go(request, one, "The job is off its list.")


def _form(request: HttpRequest, form: Any, title: str, *, back: Any, save: str) -> HttpResponse:
    code = 422 if form.is_bound and form.errors else 200
    context = {"form": form, "title": title, "back_url": resolve_url(back), "save": save}
    return page(request, FORM, context, code=code)
