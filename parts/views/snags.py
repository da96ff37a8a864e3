"""Snags and next jobs: the list by system, writing one down, putting one right."""

from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.urls import reverse
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from parts import snags as verbs
from parts.forms.refit import SnagForm
from parts.models import Part, Snag

TEMPLATE = "parts/snag.html"


@require_safe
def snags(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    chosen = request.GET.get("system", "")
    pk = int(chosen) if chosen.isascii() and chosen.isdigit() and len(chosen) < 10 else None
    system = next((one for one in car.systems.all() if one.pk == pk), None) if pk else None
    here = system.pk if system else None
    context = {
        "system": system,
        "lots": verbs.by_system(car, system=here),
        "done": verbs.lately_done(car, system=here),
    }
    return page(request, "parts/snags.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    if request.method != "POST":
        form = SnagForm(car=car, person=request.user, initial=_offered(request))
        return page(request, TEMPLATE, {"form": form})
    form = SnagForm(request.POST, car=car, person=request.user)
    if form.is_valid():
        key, said = form.cleaned_data["key"], form.row()
        try:
            verbs.write_down(key=key, by=request.user, now=timezone.now(), **said)
        except verbs.UsedAlready as used:
            form.renew_key(f"{used} Save once more to write this down as well.")
        else:
            return go(request, _list_of(said["system"].pk), "It is written down.")
    return page(request, TEMPLATE, {"form": form}, code=422)


@require_http_methods(["GET", "HEAD", "POST"])
def snag(request: HttpRequest, pk: int) -> HttpResponse:
    """One snag: put right with ``done``, back on the list with ``open``, else changed."""
    row = get_object_or_404(Snag.objects.select_related("car", "system", "part"), pk=pk)
    by, now = request.user, timezone.now()
    if request.method != "POST":
        initial = {name: getattr(row, name) for name in ("sort", "text", "system", "part")}
        form = SnagForm(car=row.car, person=by, initial=initial | {"key": row.key})
        return page(request, TEMPLATE, {"form": form, "snag": row})
    if "done" in request.POST or "open" in request.POST:
        right = "done" in request.POST
        event = (verbs.done if right else verbs.open_again)(snag=row, by=by, now=now)
        said = f"{row}: {'put right' if right else 'on the list again'}."
        return go(request, _list_of(row.system_id), said, undo=event.key if event else None)
    form = SnagForm(request.POST, car=row.car, person=by)
    if form.is_valid():
        verbs.change(snag=row, by=by, now=now, **form.row())
        return go(request, _list_of(row.system_id), "It is changed.")
    return page(request, TEMPLATE, {"form": form, "snag": row}, code=422)


def _offered(request: HttpRequest) -> dict[str, Any]:
    """What the address says the snag is about: a part by its tag, a system, snag or next job."""
    part = Part.objects.kept().of(request.user.car).tagged(request.GET.get("part", ""))
    system = part.system_id if part else request.GET.get("system", "")
    sort = request.GET.get("sort", "")
    return {
        "part": part,
        "system": system,
        "sort": sort if sort in Snag.Sort.values else Snag.Sort.SNAG,
    }


def _list_of(system: int) -> str:
    return f"{reverse('snags')}?system={system}"
