"""Outside shops: what they do, how hot it gets, how long they take."""

from typing import Any

from django.db import transaction
from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from parts import dropoff
from parts.forms.finishers import FinisherForm, ServiceForms
from parts.models import DropOff, Finisher


@require_safe
def finishers(request: HttpRequest) -> HttpResponse:
    rows = Finisher.objects.in_use().with_services().with_pieces_there()
    return page(request, "parts/finishers.html", {"finishers": rows})


@require_safe
def finisher(request: HttpRequest, pk: int) -> HttpResponse:
    one = get_object_or_404(Finisher.objects.with_services(), pk=pk)
    context = {
        "finisher": one,
        "really": dropoff.really_takes_days(one),
        "today": timezone.localdate(),
        "dropoffs": DropOff.objects.at(one).with_finisher().with_counts()[:50],
    }
    return page(request, "parts/finisher.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    return _form(request, None)


@require_http_methods(["GET", "HEAD", "POST"])
def change(request: HttpRequest, pk: int) -> HttpResponse:
    return _form(request, get_object_or_404(Finisher.objects.with_services(), pk=pk))


def _form(request: HttpRequest, one: Finisher | None) -> HttpResponse:
    data = request.POST if request.method == "POST" else None
    form = FinisherForm(data, instance=one, person=request.user)
    services = ServiceForms.of(one, data)
    context: dict[str, Any] = {"form": form, "services": services, "finisher": one}
    if data is None:
        return page(request, "parts/finisher_form.html", context)
    # Both are asked, so that everything wrong is said at once.
    if not all([form.is_valid(), services.is_valid()]):
        return page(request, "parts/finisher_form.html", context, code=422)
    with transaction.atomic():
        saved = form.save()
        services.save_for(saved)
    return go(request, saved, f"{saved} is written down.")
