"""What holds for the garage, and what holds for one person."""

from zoneinfo import available_timezones

from django.conf import settings as site
from django.core.exceptions import PermissionDenied
from django.http import HttpRequest, HttpResponse
from django.views.decorators.http import require_http_methods, require_POST

from garage.forms.account import GarageSettingsForm, MySettingsForm
from garage.http import go, page
from garage.models import Garage, Role
from garage.people import needs


@require_http_methods(["GET", "HEAD", "POST"])
def settings(request: HttpRequest) -> HttpResponse:
    garage = Garage.here()
    may_change = request.user.is_owner
    posted = request.POST or None
    form = GarageSettingsForm(posted, instance=garage, person=request.user) if may_change else None
    if request.method == "POST" and not may_change:
        raise PermissionDenied
    if form and form.is_bound and form.is_valid():
        form.save()
        return go(request, "settings", "The garage is changed.")
    return _page(request, form=form, mine=MySettingsForm(instance=request.user))


@require_POST
@needs(Role.VIEWER)
def mine(request: HttpRequest) -> HttpResponse:
    """A person's own name, unit and region; everybody may choose theirs."""
    form = MySettingsForm(request.POST, instance=request.user, person=request.user)
    if form.is_valid():
        form.save()
        return go(request, "settings", "Your settings are changed.")
    request.user.refresh_from_db()
    garage_form = GarageSettingsForm(instance=Garage.here()) if request.user.is_owner else None
    return _page(request, form=garage_form, mine=form)


def _page(
    request: HttpRequest, *, form: GarageSettingsForm | None, mine: MySettingsForm
) -> HttpResponse:
    wrong = bool((form and form.errors) or mine.errors)
    context = {
        "form": form,
        "mine": mine,
        "zones": sorted(available_timezones()),
        "data_folder": site.SPLITPIN_DATA if request.user.is_owner else "",
        "version": site.VERSION,
        "https": site.HTTPS,
    }
    return page(request, "garage/settings.html", context, code=422 if wrong else 200)
