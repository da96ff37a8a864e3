"""The cars of the garage, and the systems of each."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from garage import cars as verbs
from garage.forms.cars import CarForm, SystemFormSet, system_rows
from garage.http import go, page
from garage.models import Car, Role
from garage.people import needs
from garage.photo_fields import PhotosTaken, use


@require_safe
def cars(request: HttpRequest) -> HttpResponse:
    found = Car.objects.in_the_garage().with_picture()
    bin_of_cars = Car.objects.thrown_out() if request.user.is_owner else []
    return page(request, "garage/cars.html", {"found": found, "thrown_out": bin_of_cars})


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.OWNER)
def new(request: HttpRequest) -> HttpResponse:
    return _edit(request, Car(), "garage/car_new.html")


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.OWNER)
def car(request: HttpRequest, pk: int) -> HttpResponse:
    return _edit(request, get_object_or_404(Car, pk=pk), "garage/car.html")


def _edit(request: HttpRequest, car: Car, template: str) -> HttpResponse:
    now = timezone.now()
    is_new = car.pk is None
    posted = request.POST if request.method == "POST" else None
    form = CarForm(posted, instance=car, person=request.user)
    context = {"form": form, "subject": car, "photos_word": "Picture of the car"}
    if request.method != "POST":
        return page(request, template, context)
    taken = PhotosTaken(request, now=now)
    form.is_valid()
    taken.add_errors(form)
    if form.errors:
        return page(request, template, context | {"taken": taken}, code=422)
    if taken.first:
        car.picture = use(taken.first)
    if is_new:
        verbs.add_car(car=form.save(commit=False), by=request.user, now=now)
        return go(request, "today", f"{car} stands in the garage.")
    form.save()
    return go(request, "cars", f"{car} is changed.")


@require_POST
@needs(Role.VIEWER)
def choose(request: HttpRequest, pk: int) -> HttpResponse:
    car = get_object_or_404(Car.objects.in_the_garage(), pk=pk)
    verbs.choose(car=car, by=request.user)
    return go(request, "today")


@require_http_methods(["GET", "HEAD", "POST"])
@needs(Role.OWNER)
def systems(request: HttpRequest, pk: int) -> HttpResponse:
    car = get_object_or_404(Car, pk=pk)
    formset = SystemFormSet(request.POST or None, initial=system_rows(car))
    context = {"subject": car, "formset": formset, "said": ""}
    if request.method != "POST":
        return page(request, "garage/car_systems.html", context)
    if formset.is_valid():
        try:
            verbs.divide(car=car, rows=formset.cleaned_data)
            return go(request, "cars", f"The systems of {car} are saved.")
        except verbs.SystemsRefused as refused:
            context["said"] = str(refused)
    return page(request, "garage/car_systems.html", context, code=422)


@require_POST
@needs(Role.OWNER)
def throw_out(request: HttpRequest, pk: int) -> HttpResponse:
    """Throws a car out, or brings it back; nothing of it is wiped."""
    car = get_object_or_404(Car, pk=pk)
    if "bring-back" in request.POST:
        verbs.bring_back(car=car)
        return go(request, "cars", f"{car} is back.")
    verbs.throw_out(car=car, now=timezone.now())
    return go(request, "cars", f"{car} is thrown out and can be brought back.")
