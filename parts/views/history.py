"""The day book, and taking the last thing back."""

from uuid import UUID

from django.contrib import messages
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from garage.http import asked_for, page
from parts import undo
from parts.models import Event

LINES = 100


@require_safe
def day_book(request: HttpRequest) -> HttpResponse:
    number = request.GET.get("page", "1")
    wanted = max(1, int(number)) if number.isascii() and number.isdigit() and len(number) < 7 else 1
    start = (wanted - 1) * LINES
    car = request.user.car
    found = list(Event.objects.of(car).for_lines()[start : start + LINES + 1]) if car else []
    context = {"events": found[:LINES], "more": wanted + 1 if len(found) > LINES else None}
    return page(request, "parts/day_book.html", context)


@require_POST
def take_back(request: HttpRequest) -> HttpResponse:
    try:
        key = UUID(request.POST.get("event", ""))
        undo.undo(key=key, by=request.user, now=timezone.now())
        messages.success(request, "Taken back.")
    except (ValueError, Event.DoesNotExist):
        raise Http404 from None
    except undo.TooLate as late:
        messages.warning(request, str(late))
    return redirect(asked_for(request) or "today")
