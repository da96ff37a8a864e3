"""Coming in: the first owner by the console's code, sign-in, sign-out, a new pass-phrase."""

from typing import Any

from django.contrib.auth import authenticate, login, logout, update_session_auth_hash
from django.contrib.auth.decorators import login_not_required
from django.contrib.auth.forms import PasswordChangeForm
from django.http import Http404, HttpRequest, HttpResponse
from django.shortcuts import redirect
from django.utils import timezone
from django.views.decorators.cache import never_cache
from django.views.decorators.debug import sensitive_post_parameters
from django.views.decorators.http import require_http_methods, require_POST

from garage import people
from garage.forms.account import PassPhraseForm, SetupForm, SignInForm
from garage.http import asked_for, go, page
from garage.models import Person, Role
from garage.views import errors

BACKEND = "django.contrib.auth.backends.ModelBackend"


@sensitive_post_parameters()
@never_cache
@login_not_required  # nobody can sign in yet; afterwards it is 404
@require_http_methods(["GET", "HEAD", "POST"])
@people.needs(Role.VIEWER)
def setup(request: HttpRequest) -> HttpResponse:
    if Person.objects.exists():
        raise Http404
    form = SetupForm(request.POST or None)
    if request.method != "POST" or not form.is_valid():
        return page(
            request, "garage/setup.html", {"form": form}, code=422 if form.is_bound else 200
        )
    try:
        owner = people.make_first_owner(now=timezone.now(), **form.owner())
    except people.CodeRefused as refused:
        form.add_error("code", str(refused))
        return page(request, "garage/setup.html", {"form": form}, code=422)
    form.save_garage()
    _let_in(request, owner, own_phone=False)
    return redirect("cars")


@sensitive_post_parameters()
@never_cache
@login_not_required  # the door itself
@require_http_methods(["GET", "HEAD", "POST"])
@people.needs(Role.VIEWER)  # somebody signed in may sign in as somebody else
def sign_in(request: HttpRequest) -> HttpResponse:
    if not Person.objects.exists():
        return redirect("setup")
    form = SignInForm(request.POST or None)
    context = {"form": form, "next": asked_for(request)}
    if request.method != "POST":
        return page(request, "garage/sign_in.html", context)
    if people.address_is_spent(address=people.address_of(request), now=timezone.now()):
        return errors.too_many_tries(request)
    if form.is_valid():
        person = authenticate(
            request, username=form.cleaned_data["username"], password=form.cleaned_data["password"]
        )
        if person is not None:
            _let_in(request, person, own_phone=form.cleaned_data["own_phone"])
            return redirect(asked_for(request) or "today")
        if getattr(request, "axes_locked_out", False):
            return errors.too_many_tries(request)
        form.add_error(None, "The name or the pass-phrase is not right")
    return page(request, "garage/sign_in.html", context, code=422)


def _let_in(request: HttpRequest, person: Any, *, own_phone: bool) -> None:
    login(request, person, backend=BACKEND)
    days = people.days_signed_in(own_phone=own_phone)
    request.session["days"] = days
    request.session["renewed"] = timezone.now().isoformat()
    request.session["device"] = request.headers.get("User-Agent", "")[:200]
    request.session.set_expiry(days * 86_400)


@require_POST
@people.needs(Role.VIEWER)
def sign_out(request: HttpRequest) -> HttpResponse:
    logout(request)
    response = redirect("sign_in")
    response.headers["Clear-Site-Data"] = '"cache"'
    return response


@sensitive_post_parameters()
@require_http_methods(["GET", "HEAD", "POST"])
@people.needs(Role.VIEWER)
def pass_phrase(request: HttpRequest) -> HttpResponse:
    """A new pass-phrase, given the present one; every other session of this person ends."""
    form: PasswordChangeForm = PassPhraseForm(request.user, request.POST or None)
    if request.method != "POST" or not form.is_valid():
        code = 422 if form.is_bound else 200
        return page(request, "garage/pass_phrase.html", {"form": form}, code=code)
    update_session_auth_hash(request, form.save())
    return go(request, "settings", "The pass-phrase is changed.")
