"""Bead tools and their test pieces."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, resolve_url
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.forms.beads import BeadTestForm, BeadToolForm, bead_tool_boxes
from fabrication.kit import beads, tools
from fabrication.models import BeadTest, BeadTool
from garage.http import go, page

FORM = "fabrication/tool_form.html"


@require_http_methods(["GET", "HEAD", "POST"])
def bead_tool_new(request: HttpRequest) -> HttpResponse:
    form = BeadToolForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        try:
            made = tools.add_bead_tool(key=form.cleaned_data["key"], values=form.values())
            return go(request, made, f"{made} is written down.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    return _form(request, form, None)


@require_safe
def bead_tool(request: HttpRequest, pk: int) -> HttpResponse:
    tool = get_object_or_404(BeadTool.objects.with_tests(), pk=pk)
    context = {
        "tool": tool,
        "learnt": beads.learnt_by_tube(tool),
        "out": tool.tests.taken_out().in_turn(),
        "sheets": beads.sheets_for(tool),
    }
    return page(request, "fabrication/bead_tool.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def bead_tool_change(request: HttpRequest, pk: int) -> HttpResponse:
    tool = get_object_or_404(BeadTool, pk=pk)
    boxes = bead_tool_boxes(tool, person=request.user)
    form = BeadToolForm(request.POST or None, person=request.user, initial=boxes)
    if request.method == "POST" and form.is_valid():
        changed = tools.change(row=tool, values=form.values())
        return go(request, changed, f"{changed} is changed. Its sheets reckon with that now.")
    return _form(request, form, tool)


@require_http_methods(["GET", "HEAD", "POST"])
def bead_test_new(request: HttpRequest, pk: int) -> HttpResponse:
    tool = get_object_or_404(BeadTool, pk=pk)
    form = BeadTestForm(request.POST or None, person=request.user, tool=tool)
    if request.method == "POST" and form.is_valid():
        try:
            tools.add_bead_test(
                key=form.cleaned_data["key"],
                tool=tool,
                values=form.values(),
                by=request.user,
                now=timezone.now(),
            )
            return go(request, tool, "The test piece counts.")
        except tools.OtherUnderThisKey as other:
            form.renew_key(str(other))
    context = {
        "form": form,
        "title": "Write down a test piece",
        "back_url": tool.get_absolute_url(),
        "save": "Save test piece",
    }
    return page(request, FORM, context, code=422 if form.is_bound and form.errors else 200)


@require_POST
def bead_test_out(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(BeadTest.objects.for_rows(), pk=pk)
    tools.take_out(row=one, now=timezone.now())
    return go(request, one.tool, "The test piece no longer counts. It can be brought back.")


@require_POST
def bead_test_back(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(BeadTest.objects.for_rows(), pk=pk)
    tools.bring_back(row=one)
    return go(request, one.tool, "The test piece counts again.")


def _form(request: HttpRequest, form: BeadToolForm, tool: BeadTool | None) -> HttpResponse:
    context = {
        "form": form,
        "title": f"Change {tool}" if tool else "Add a bead tool",
        "back_url": resolve_url(tool or "bench_tools"),
        "save": "Save bead tool",
    }
    return page(request, FORM, context, code=422 if form.is_bound and form.errors else 200)
