"""The newest backup, to save on another disk; for the owner, who gives the pass-phrase again."""

from pathlib import Path

from django.conf import settings
from django.contrib.auth import authenticate
from django.http import FileResponse, HttpRequest, HttpResponseBase
from django.utils import timezone
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods

from garage import people
from garage.backup import keeping
from garage.forms.account import PassPhraseAgainForm
from garage.health import condition as conditions
from garage.http import page
from garage.models import Role
from garage.views import errors


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
@people.needs(Role.OWNER)
def download(request: HttpRequest) -> HttpResponseBase:
    """The archive holds everybody's names and the places of all photos, so a phone that was
    left lying about is not enough; wrong tries count as those of the sign-in."""
    newest = keeping.newest_in(keeping.folder_of(settings.SPLITPIN_DATA))
    form = PassPhraseAgainForm(request.POST or None)
    if request.method == "POST" and newest and form.is_valid():
        if people.address_is_spent(address=people.address_of(request), now=timezone.now()):
            return errors.too_many_tries(request)
        typed = form.cleaned_data["password"]
        if authenticate(request, username=request.user.username, password=typed) == request.user:
            conditions.copied(settings.SPLITPIN_DATA, now=timezone.now())
            return _archive(newest)
        if getattr(request, "axes_locked_out", False):
            return errors.too_many_tries(request)
        form.add_error("password", "That is not your pass-phrase")
    context = {"form": form, "newest": newest}
    code = 422 if request.method == "POST" else 200
    return page(request, "garage/backup.html", context, code=code)


def _archive(newest: Path) -> HttpResponseBase:
    response = FileResponse(
        newest.open("rb"),
        as_attachment=True,
        filename=newest.name,
        content_type="application/zip",
    )
    # Photos do not shrink, and a browser shows how far it is only while the length is told.
    response.headers["Content-Encoding"] = "identity"
    return response
