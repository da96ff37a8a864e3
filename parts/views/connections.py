"""What a part is joined to, from either side."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, resolve_url
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from parts import connections as joints
from parts.fasteners import SavedAlready
from parts.forms.connections import ConnectionForm
from parts.models import Connection, Part

TEMPLATE = "parts/connection.html"


@require_safe
def connections(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    context = {"part": part, "connections": joints.connection_lines(part)}
    return page(request, "parts/connections.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def connection_new(request: HttpRequest, tag: str) -> HttpResponse:
    part = get_object_or_404(Part.objects.kept().with_pieces(), tag=tag)
    form = ConnectionForm(request.POST or None, part=part, person=request.user)
    if request.method == "POST":
        return _save(request, part, None, form)
    return page(request, TEMPLATE, {"part": part, "form": form})


@require_http_methods(["GET", "HEAD", "POST"])
def connection(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(
        Connection.objects.select_related("part__car", "other"), pk=pk, part__thrown_out_at=None
    )
    if "take_out" in request.POST:
        joints.take_out_connection(connection=found, by=request.user, now=timezone.now())
        return go(
            request,
            resolve_url("connections", found.part.tag),
            "The connection is taken out. Both its ends stand in the history.",
        )
    names = ("carries", "end", "port", "other", "note", "key")
    initial = {name: getattr(found, name) for name in names}
    form = ConnectionForm(
        request.POST or None, part=found.part, person=request.user, initial=initial
    )
    if request.method == "POST":
        return _save(request, found.part, found, form)
    return page(request, TEMPLATE, {"part": found.part, "connection": found, "form": form})


def _save(
    request: HttpRequest, part: Part, found: Connection | None, form: ConnectionForm
) -> HttpResponse:
    if form.is_valid():
        try:
            saved = joints.save_connection(
                part=part,
                connection=found,
                key=form.cleaned_data["key"],
                fields=form.connection_fields(),
                by=request.user,
                now=timezone.now(),
            )
        except SavedAlready as used:
            form.renew_key(str(used))
        else:
            to = "connection_new" if "another" in request.POST else "connections"
            return go(request, resolve_url(to, part.tag), f"{saved}: written down.")
    context = {"part": part, "connection": found, "form": form}
    return page(request, TEMPLATE, context, fragment="form", code=422)
