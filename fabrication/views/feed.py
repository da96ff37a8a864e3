"""The calendar of the clocks, by its private address, and that address made and closed."""

from uuid import UUID

from django.contrib.auth.decorators import login_not_required
from django.http import Http404, HttpRequest, HttpResponse
from django.utils import timezone
from django.views.decorators.http import require_POST, require_safe

from fabrication.curing import faces, feed
from fabrication.curing.trusted_time import machine_now
from garage.http import go
from garage.models import Role
from garage.people import needs


@login_not_required
@require_safe
@needs(Role.VIEWER)
def cure_feed(request: HttpRequest, key: UUID, token: str) -> HttpResponse:
    """A calendar program cannot sign in: the address itself is what lets it in, to these only."""
    person = feed.opened_by(key=key, token=token)
    if person is None:
        raise Http404
    now = timezone.now()
    found = faces.running(person.car, now=now, machine=machine_now(now)) if person.car else []
    return HttpResponse(
        feed.calendar_of(found, now=now),
        content_type="text/calendar; charset=utf-8",
        headers={
            "Content-Disposition": 'inline; filename="splitpin.ics"',
            "X-Robots-Tag": "noindex",
            "Referrer-Policy": "no-referrer",
        },
    )


@require_POST
def cure_feed_renew(request: HttpRequest) -> HttpResponse:
    if "close" in request.POST:
        feed.revoke(person=request.user)
        return go(request, "cures", "The calendar address is closed.")
    feed.renew(person=request.user, now=timezone.now())
    return go(request, "cures", "A new calendar address is made. The one before opens nothing.")
