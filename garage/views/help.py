"""Help: how the job goes through Splitpin, and the cautions that go with it."""

from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_safe

from garage.http import page


@require_safe
def help_page(request: HttpRequest) -> HttpResponse:
    return page(request, "garage/help.html", {})
