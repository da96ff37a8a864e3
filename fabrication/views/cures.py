"""Clocks: all of them, one of them, readings, and the computer's own clock settled."""

import math
from typing import Any

from django.conf import settings
from django.http import HttpRequest, HttpResponse, JsonResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.curing import cures, faces, feed, trusted_time
from fabrication.curing.trusted_time import TimeDoubted, machine_now
from fabrication.forms.bonds import ReadingForm, TemperatureField
from fabrication.models import CalendarFeed, Clock, TemperatureReading
from garage.health import clock as last_seen
from garage.http import go, page
from garage.units import BadFigure

TEMPLATE = "fabrication/cure.html"
AT_MOST = 20  # of the clocks that are over


@require_safe
def clocks(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    now = timezone.now()
    mine = CalendarFeed.objects.of_person(request.user).first()
    context = {
        "now_here": now,
        "faces": faces.running(car, now=now, machine=machine_now(now)),
        "doubt": trusted_time.doubt(now=now, machine=machine_now(now)),
        "over": Clock.objects.of_car(car).over().newest_first()[:AT_MOST],
        "feed": mine,
        "feed_path": feed.path_of(mine) if mine else "",
        "public_url": settings.SPLITPIN_PUBLIC_URL,
    }
    return page(request, "fabrication/cures.html", context)


@require_http_methods(["GET", "HEAD", "POST"])
def cure(request: HttpRequest, pk: int) -> HttpResponse:
    """One clock to be read across the garage; posting writes a temperature down."""
    clock = get_object_or_404(Clock.objects.for_page(), pk=pk)
    form = ReadingForm(request.POST or None, person=request.user)
    if request.method == "POST" and form.is_valid():
        now = timezone.now()
        said = form.cleaned_data
        try:
            cures.read(
                clock=clock,
                by=request.user,
                now=now,
                machine=machine_now(now),
                **said | {"at": said["at"] or now},
            )
            return go(request, clock, "The temperature is written down.")
        except (cures.ReadingRefused, TimeDoubted) as refused:
            form.add_error(None, str(refused))
        except cures.UsedAlready as used:
            form.renew_key(str(used))
    return _page(request, clock, form=form, code=422 if form.is_bound else 200)


@require_POST
def cure_strike(request: HttpRequest, pk: int) -> HttpResponse:
    reading = get_object_or_404(TemperatureReading.objects.select_related("clock"), pk=pk)
    try:
        cures.strike(reading=reading, by=request.user, now=timezone.now())
    except cures.ReadingRefused as refused:
        clock = get_object_or_404(Clock.objects.for_page(), pk=reading.clock_id)
        return _page(request, clock, refused=str(refused), code=422)
    return go(request, reading.clock, "Struck. It stays readable and counts nothing.")


@require_POST
def cure_stop(request: HttpRequest, pk: int) -> HttpResponse:
    clock = get_object_or_404(Clock, pk=pk)
    because = request.POST.get("because", "").strip()[:120] or "Not wanted any more"
    cures.stop(clock=clock, because=because, by=request.user, now=timezone.now())
    return go(request, "cures", "The clock is stopped.")


@require_POST
def cure_time(request: HttpRequest) -> HttpResponse:
    """Somebody looked at the computer's clock, and it is right."""
    now = timezone.now()
    struck = cures.settle_time(by=request.user, now=now, machine=machine_now(now))
    last_seen.trust(settings.SPLITPIN_DATA, now)
    words = {0: "", 1: " One reading was later than now, and is struck."}
    more = words.get(struck, f" {struck} readings were later than now, and are struck.")
    return go(request, "cures", f"Noted: the clock is right as it is now.{more}")


@require_safe
def cure_times(request: HttpRequest) -> HttpResponse:
    """What a page that counts asks for again: the server's time, and where each clock stands."""
    now = timezone.now()
    car = request.user.car
    found = faces.running(car, now=now, machine=machine_now(now)) if car else []
    told = {str(face.clock.pk): {"stage": face.stage, "ends": face.ends_ms} for face in found}
    # A phone that still counts one of these learns that it is over.
    for clock in Clock.objects.of_car(car).over().newest_first()[:AT_MOST] if car else ():
        told[str(clock.pk)] = {"stage": faces.Stage.STOPPED, "ends": None}
    return JsonResponse({"now": int(now.timestamp() * 1000), "clocks": told})


def _page(
    request: HttpRequest,
    clock: Clock,
    *,
    form: ReadingForm | None = None,
    refused: str = "",
    code: int = 200,
) -> HttpResponse:
    now = timezone.now()
    doubt = trusted_time.doubt(now=now, machine=machine_now(now))
    face = faces.face_of(clock, now=now, doubt=doubt)
    context: dict[str, Any] = {
        "clock": clock,
        "face": face,
        "form": form or ReadingForm(person=request.user),
        "refused": refused,
        "readings": clock.readings.all(),
        **_at_another(request, face),
    }
    return page(request, TEMPLATE, context, code=code)


def _at_another(request: HttpRequest, face: faces.Face) -> dict[str, Any]:
    """How long it would take from the last reading on at a temperature asked for (?at=15)."""
    text = request.GET.get("at", "").strip()
    if not text:
        return {}
    box = TemperatureField()
    box.person = request.user
    try:
        at_c = box.read(text[:24])
    except BadFigure as bad:
        return {"at_text": text, "at_wrong": bad.message}
    left_h = face.look.full_left_h(at_c)
    return {"at_text": text, "at_c": at_c, "at_left_h": left_h, "at_never": math.isinf(left_h)}
