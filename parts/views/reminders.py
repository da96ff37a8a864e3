"""Reminders: what is due, what comes later, and seeing to it with one tap."""

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404, redirect
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_safe

from garage.http import go, page
from parts import reminders as verbs
from parts.forms.refit import ReminderChangeForm, ReminderForm
from parts.models import Part, Reminder

TEMPLATE = "parts/reminder.html"


@require_safe
def reminders(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    found = verbs.by_day(car, today=timezone.localdate())
    return page(request, "parts/reminders.html", {"found": found})


@require_http_methods(["GET", "HEAD", "POST"])
def new(request: HttpRequest) -> HttpResponse:
    car = request.user.car
    if car is None:
        return redirect("cars")
    if request.method != "POST":
        part = Part.objects.kept().of(car).tagged(request.GET.get("part", ""))
        form = ReminderForm(car=car, person=request.user, initial={"part": part})
        return page(request, TEMPLATE, {"form": form})
    form = ReminderForm(request.POST, car=car, person=request.user)
    if form.is_valid():
        key, said = form.cleaned_data["key"], form.row()
        try:
            verbs.remind(key=key, car=car, by=request.user, now=timezone.now(), **said)
        except verbs.UsedAlready as used:
            form.renew_key(f"{used} Save once more to write this down as well.")
        else:
            return go(request, "reminders", "You will be reminded here and on Today.")
    return page(request, TEMPLATE, {"form": form}, code=422)


@require_http_methods(["GET", "HEAD", "POST"])
def reminder(request: HttpRequest, pk: int) -> HttpResponse:
    """One reminder: seen to with ``done``, back on the list with ``open``, else changed."""
    row = get_object_or_404(Reminder.objects.select_related("car", "part"), pk=pk)
    by, now = request.user, timezone.now()
    if request.method != "POST":
        initial = {"text": row.text, "due_on": row.due_on}
        form = ReminderChangeForm(reminder=row, person=by, initial=initial)
        return page(request, TEMPLATE, {"form": form, "reminder": row})
    if "done" in request.POST or "open" in request.POST:
        seen_to = "done" in request.POST
        event = (verbs.done if seen_to else verbs.open_again)(reminder=row, by=by, now=now)
        said = f"{row}: {'done' if seen_to else 'on the list again'}."
        return go(request, "reminders", said, undo=event.key if event else None)
    form = ReminderChangeForm(request.POST, reminder=row, person=by)
    if form.is_valid():
        verbs.change(reminder=row, by=by, now=now, **form.cleaned_data)
        return go(request, "reminders", "It is changed.")
    return page(request, TEMPLATE, {"form": form, "reminder": row}, code=422)
