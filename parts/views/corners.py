"""Corners of the car: a photo, its pins, and what comes off next."""

from datetime import datetime
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage.http import go, page
from garage.models import Car
from garage.photo_fields import PhotosTaken
from parts import corners as pinning
from parts.forms.corners import As, CornerForm, PinForm
from parts.models import Corner, Pin
from parts.pin_stages import corner_stage
from parts.takeoff import FormUsedAlready


@require_safe
def corners(request: HttpRequest) -> HttpResponse:
    if request.user.car is None:
        return redirect("cars")
    found = list(pinning.corners_of(request.user.car))
    next_off = [(corner, pinning.next_to_come_off(corner.pins.all())) for corner in found]
    return page(request, "parts/corners.html", {"corners": next_off})


@require_http_methods(["GET", "HEAD", "POST"])
def corner_new(request: HttpRequest) -> HttpResponse:
    car: Car | None = request.user.car
    if car is None:
        return redirect("cars")
    if request.method != "POST":
        return page(request, "parts/corner_new.html", {"form": CornerForm(person=request.user)})
    now = timezone.now()
    form = CornerForm(request.POST, person=request.user)
    form.is_valid()
    again = pinning.corner_of(form.cleaned_data.get("key"))
    taken = PhotosTaken(request, now=now)
    taken.add_errors(form)
    if not taken.photos and not taken.problems and again is None:
        form.add_error(None, "Take a photo of the corner, or choose one.")
    if form.errors:
        return page(request, "parts/corner_new.html", {"form": form, "taken": taken}, code=422)
    try:
        made = pinning.add_corner(
            key=form.cleaned_data["key"],
            car=car,
            name=form.cleaned_data["name"],
            photos=taken.photos,
            by=request.user,
            now=now,
        )
    except pinning.SavedAlready as used:
        form.renew_key(str(used))
        return page(request, "parts/corner_new.html", {"form": form, "taken": taken}, code=422)
    return go(
        request, made[0] if len(made) == 1 else "corners", f"{made[0]} is kept. Set its pins."
    )


@require_http_methods(["GET", "HEAD", "POST"])
def corner(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(pinning.corners_with_pins(), pk=pk)
    if request.method != "POST":
        return _corner(request, found)
    form = CornerForm(request.POST, person=request.user)
    if not form.is_valid():
        return _corner(request, found, code=422, name_form=form)
    pinning.rename_corner(corner=found, name=form.cleaned_data["name"])
    return go(request, found, "It has its new name.")


@require_POST
def pin_new(request: HttpRequest, pk: int) -> HttpResponse:
    found = get_object_or_404(pinning.corners_with_pins(), pk=pk)
    form = PinForm(request.POST, car=found.car, person=request.user)
    if not form.is_valid():
        return _corner(request, found, code=422, form=form)
    data = form.cleaned_data
    try:
        pin = pinning.add_pin(
            corner=found,
            key=data["key"],
            x=data["x"],
            y=data["y"],
            note=data["name"],
            by=request.user,
            now=timezone.now(),
            **form.wanted(),
        )
    except pinning.SavedAlready as used:
        form.renew_key(str(used))
        return _corner(request, found, code=422, form=form)
    if data["system"]:
        request.session["last_take_off"] = request.session.get("last_take_off", {}) | {
            "system": data["system"].pk
        }
    return go(
        request,
        found,
        f"Pin {pin.number} is {pin.part}." if pin.part else f"Pin {pin.number} is set.",
    )


@require_http_methods(["GET", "HEAD", "POST"])
def pin(request: HttpRequest, pk: int) -> HttpResponse:
    """One pin: what it shows, where it sits, which part it is."""
    found = get_object_or_404(Pin.objects.select_related("corner__car", "part"), pk=pk)
    now = timezone.now()
    if "take_out" in request.POST:
        pinning.take_out_pin(pin=found, by=request.user, now=now)
        return go(request, found.corner, f"Pin {found.number} is taken out.")
    if request.method == "POST":
        return _name_pin(request, found, now)
    shown = _shown(request, found)
    return _pin(request, found, PinForm(car=found.corner.car, person=request.user, initial=shown))


def _name_pin(request: HttpRequest, found: Pin, now: datetime) -> HttpResponse:
    form = PinForm(request.POST, car=found.corner.car, person=request.user)
    if not form.is_valid():
        return _pin(request, found, form, code=422)
    data = form.cleaned_data
    try:
        pinning.name_pin(
            pin=found,
            key=data["key"],
            x=data["x"],
            y=data["y"],
            note=data["name"],
            by=request.user,
            now=now,
            **form.wanted(),
        )
    except FormUsedAlready as used:
        form.renew_key(str(used))
        return _pin(request, found, form, code=422)
    said = f"is {found.part}" if found.part else "is changed"
    return go(request, found.corner, f"Pin {found.number} {said}.")


def _shown(request: HttpRequest, found: Pin) -> dict[str, Any]:
    stands_for = As.TAGGED if found.part else As.LISTED
    shown = {
        "x": found.x,
        "y": found.y,
        "name": found.note,
        "tag": found.part,
        "stands_for": stands_for,
    }
    return shown | _last_system(request)


def _last_system(request: HttpRequest) -> dict[str, Any]:
    return {"system": request.session.get("last_take_off", {}).get("system")}


def _pin(request: HttpRequest, found: Pin, form: PinForm, code: int = 200) -> HttpResponse:
    corner = get_object_or_404(pinning.corners_with_pins(), pk=found.corner_id)
    context = {"pin": found, "corner": corner, "stage": corner_stage(corner), "form": form}
    return page(request, "parts/pin.html", context, code=code)


def _corner(
    request: HttpRequest,
    found: Corner,
    *,
    code: int = 200,
    form: PinForm | None = None,
    name_form: CornerForm | None = None,
) -> HttpResponse:
    context = {
        "corner": found,
        "stage": corner_stage(found),
        "pins": found.pins.all(),
        "next_off": pinning.next_to_come_off(found.pins.all()),
        "form": form or PinForm(car=found.car, person=request.user, initial=_last_system(request)),
        "name_form": name_form
        or CornerForm(person=request.user, initial={"name": found.name}, auto_id="corner_%s"),
    }
    return page(request, "parts/corner.html", context, code=code)
