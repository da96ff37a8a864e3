"""What happens to every request, in the order of ``settings.MIDDLEWARE``."""

from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any
from zoneinfo import ZoneInfo

from django.conf import settings
from django.contrib.auth.middleware import LoginRequiredMiddleware
from django.core.exceptions import PermissionDenied, SuspiciousOperation
from django.http import HttpRequest, HttpResponse, HttpResponseBase
from django.shortcuts import resolve_url
from django.utils import timezone
from django.utils.http import urlencode

from garage.health import clock, trouble
from garage.http import hx_redirect
from garage.models import Garage, Role
from garage.views import errors

Handler = Callable[[HttpRequest], HttpResponseBase]
DEVICES = (
    "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()"
)
SAFE_METHODS = ("GET", "HEAD", "OPTIONS")


def refuse_large_bodies(get_response: Handler) -> Handler:
    """Refuses a form larger than the limit before a byte of it is read.

    Django's own limits do not count file bytes, so without this one photo could fill the disk.
    """

    def middleware(request: HttpRequest) -> HttpResponseBase:
        length = request.META.get("CONTENT_LENGTH") or "0"
        if not (length.isascii() and length.isdigit()) or int(length) > settings.BODY_LIMIT_BYTES:
            return errors.too_large(request)
        return get_response(request)

    return middleware


def private_pages(get_response: Handler) -> Handler:
    """Keeps pages out of shared and browser caches and asks for no device it does not need.

    The three headers of Django's security middleware are set here too: what it refuses itself
    (a wrong host under https) goes out without them.
    """

    def middleware(request: HttpRequest) -> HttpResponseBase:
        response = get_response(request)
        response.headers.setdefault("Cache-Control", "no-store")
        response.headers["Permissions-Policy"] = DEVICES
        response.headers["Cross-Origin-Resource-Policy"] = "same-origin"
        response.headers.setdefault("X-Content-Type-Options", "nosniff")
        response.headers.setdefault("Referrer-Policy", settings.SECURE_REFERRER_POLICY)
        response.headers.setdefault(
            "Cross-Origin-Opener-Policy", settings.SECURE_CROSS_ORIGIN_OPENER_POLICY
        )
        return response

    return middleware


def write_nothing_in_trouble(get_response: Handler) -> Handler:
    """Looking stays possible after the disk has failed; saving does not, so that no page says
    "saved" of what may be gone tomorrow."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        found = trouble.noted()
        if found is not None and request.method not in SAFE_METHODS:
            return errors.nothing_is_saved(found)
        return get_response(request)

    return middleware


def renew_session(get_response: Handler) -> Handler:
    """Lets a session slide, writing it once a day instead of on every page."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        days = request.session.get("days")
        if days and request.user.is_authenticated and trouble.noted() is None:
            renewed = datetime.fromisoformat(request.session["renewed"])
            if timezone.now() - renewed > timedelta(days=1):
                request.session["renewed"] = timezone.now().isoformat()
                request.session.set_expiry(days * 86_400)
        return get_response(request)

    return middleware


class SignInFirst(LoginRequiredMiddleware):
    """Every page asks for sign-in unless its view is marked ``login_not_required``."""

    def handle_no_permission(
        self, request: HttpRequest, view_func: Callable[..., HttpResponseBase]
    ) -> Any:
        if request.htmx:
            # A redirect would be followed silently and the sign-in page swapped into a list.
            back_to = urlencode({"next": request.htmx.current_url_abs_path or "/"})
            return hx_redirect(f"{resolve_url(settings.LOGIN_URL)}?{back_to}")
        return super().handle_no_permission(request, view_func)


class RoleAllows:
    """Viewers look, helpers change, owners do the rest. ``garage.people.needs`` asks for more."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: tuple, kwargs: dict
    ) -> None:
        if not request.user.is_authenticated:
            return
        default = Role.VIEWER if request.method in SAFE_METHODS else Role.HELPER
        if not request.user.may(getattr(view, "role_needed", default)):
            raise PermissionDenied


class PlainText:
    """Refuses a NUL in what is asked or sent: no keyboard makes one, and PostgreSQL keeps none."""

    def __init__(self, get_response: Handler) -> None:
        self.get_response = get_response

    def __call__(self, request: HttpRequest) -> HttpResponseBase:
        return self.get_response(request)

    def process_view(
        self, request: HttpRequest, view: Callable[..., HttpResponse], args: tuple, kwargs: dict
    ) -> None:
        sent = (*request.GET.lists(), *request.POST.lists(), ("path", [request.path]))
        if any("\0" in text for _, texts in sent for text in texts):
            raise SuspiciousOperation("a NUL in what was sent")


def local_time(get_response: Handler) -> Handler:
    """Shows times as the garage's clock shows them."""

    def middleware(request: HttpRequest) -> HttpResponseBase:
        if request.user.is_authenticated:
            request.garage = Garage.here()
            if trouble.noted() is None:
                clock.seen(settings.SPLITPIN_DATA, timezone.now())
            timezone.activate(ZoneInfo(request.garage.time_zone))
        try:
            return get_response(request)
        finally:
            timezone.deactivate()

    return middleware
