"""How a view answers: whole page or fragment, and what a form post leads to."""

from typing import Any

from django.contrib import messages
from django.http import HttpRequest, HttpResponse, HttpResponseRedirect
from django.shortcuts import redirect, render
from django.utils.http import url_has_allowed_host_and_scheme

from garage.models import Garage, Person


class GarageRequest(HttpRequest):
    """A request after every middleware has seen it."""

    user: Person
    garage: Garage
    htmx: Any


def wants_fragment(request: HttpRequest) -> bool:
    """Whether htmx asks for a piece of the page: not for a boosted link, not to restore history."""
    htmx = request.htmx
    return bool(htmx) and not htmx.boosted and not htmx.history_restore_request


def page(
    request: HttpRequest,
    template: str,
    context: dict[str, Any],
    *,
    fragment: str = "",
    code: int = 200,
) -> HttpResponse:
    """The page, or its ``fragment`` when htmx asks for a fragment.

    Both come from the same template and the same context, so they cannot differ.
    """
    name = f"{template}#{fragment}" if fragment and wants_fragment(request) else template
    response = render(request, name, context, status=code)
    response.headers["Vary"] = "HX-Request"
    return response


def asked_for(request: HttpRequest) -> str:
    """The page of ours that a form or link asks to go to afterwards, else nothing."""
    url = request.POST.get("next") or request.GET.get("next") or ""
    is_ours = url.startswith("/") and url_has_allowed_host_and_scheme(url, allowed_hosts=None)
    return url if is_ours else ""


def hx_redirect(url: str) -> HttpResponse:
    """An answer on which htmx leaves for ``url`` as a full page."""
    return HttpResponse(headers={"HX-Redirect": url})


def go(request: HttpRequest, to: Any, said: str = "", undo: Any = None) -> HttpResponse:
    """On to another page after a post, with a line of what was done and a way to take it back.

    ``undo`` is an event's key (or a batch's) that ``parts.undo`` understands.
    """
    if said:
        messages.success(request, said, extra_tags=f"undo:{undo}" if undo else "")
    answer = redirect(to)
    if request.htmx and not request.htmx.boosted:
        return hx_redirect(answer.url)
    return HttpResponseRedirect(answer.url)
