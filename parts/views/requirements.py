"""What must be on the car before a part, and what goes on after it."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods

from garage.http import go, page
from garage.models import Person
from parts import requirements as order
from parts.forms.refit import RequirementForm
from parts.models import Event, Part, Requirement

TEMPLATE = "parts/requirements.html"


@require_http_methods(["GET", "HEAD", "POST"])
def requirements(request: HttpRequest, tag: str) -> HttpResponse:
    """Both lists of a part; a post adds to one of them, or takes a line off with ``drop``."""
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    if request.method != "POST":
        return _page(request, part, RequirementForm(person=request.user))
    if "drop" in request.POST:
        return _drop(request, part)
    form = RequirementForm(request.POST, person=request.user)
    found: list[Part] = []
    if form.is_valid():
        found = order.parts_called(part, form.cleaned_data["other"])
        if len(found) == 1:
            try:
                event = _require(form, part, found[0], request.user)
            except order.RequirementRefused as refused:
                form.add_error("other", str(refused))
                return _page(request, part, form, code=422)
            said = f"{found[0]} is on the list."
            return go(request, request.path, said, undo=event.key if event else None)
        if not found:
            form.add_error("other", "No part of this car answers to that. Try its tag.")
    return _page(request, part, form, found=found, code=422)


def _require(form: RequirementForm, part: Part, other: Part, by: Person) -> Event | None:
    before = form.cleaned_data["which"] == RequirementForm.BEFORE
    first, then = (other, part) if before else (part, other)
    return order.require(first=first, then=then, by=by, now=timezone.now())


def _drop(request: HttpRequest, part: Part) -> HttpResponse:
    text = request.POST["drop"]
    pk = int(text) if text.isascii() and text.isdigit() and len(text) < 10 else 0
    row = get_object_or_404(Requirement.objects.of(part), pk=pk)
    order.drop_requirement(requirement=row, by=request.user, now=timezone.now())
    return go(request, request.path, f"{row.first.tag} before {row.then.tag} is off the list.")


def _page(
    request: HttpRequest,
    part: Part,
    form: RequirementForm,
    *,
    found: list[Part] | None = None,
    code: int = 200,
) -> HttpResponse:
    context: dict[str, Any] = {"part": part, "form": form, "found": found or []}
    context |= {"before": order.before(part), "after": order.after(part)}
    return page(request, TEMPLATE, context, code=code)
