"""Who may come in: roles, the first owner's code, sign-in limits."""

import contextlib
import hashlib
import ipaddress
import secrets
from collections.abc import Callable
from datetime import datetime, timedelta
from typing import Any

from axes.models import AccessAttempt
from django.conf import settings
from django.contrib.sessions.models import Session
from django.db import models, transaction
from django.http import HttpRequest, HttpResponse

from garage.models import Person, Role, SetupCode
from garage.views import errors

CODE_LASTS = timedelta(minutes=30)
TRIES_COUNT_FOR = timedelta(minutes=15)


class CodeRefused(Exception):
    """The setup code is wrong, too old, tried too often, or the first owner is here already."""


def needs(role: Role) -> Callable[[Callable[..., HttpResponse]], Callable[..., HttpResponse]]:
    """Marks a view as open to ``role`` and above, for every method."""

    def mark(view: Callable[..., HttpResponse]) -> Callable[..., HttpResponse]:
        view.role_needed = role  # type: ignore[attr-defined]
        return view

    return mark


def new_setup_code(*, now: datetime) -> str:
    """A fresh one-time code for the first owner: 128 bit, 30 minutes, in groups to read aloud."""
    code = secrets.token_hex(16)
    SetupCode.objects.update_or_create(
        id=1,
        defaults={"digest": _digest(code), "expires_at": now + CODE_LASTS, "tries_left": 5},
    )
    return "-".join(code[start : start + 8] for start in range(0, 32, 8))


def make_first_owner(
    *, code: str, username: str, name: str, password: str, now: datetime
) -> Person:
    """The first owner. Works once.

    Raises
    ------
    CodeRefused
        With the reason in words. A wrong try is counted even though nothing else is kept.
    """
    with transaction.atomic():
        row = SetupCode.objects.select_for_update().first()
        if Person.objects.exists():
            raise CodeRefused("This garage has its first owner. Sign in, or ask the owner.")
        problem = _try_code(row, code, now)
        if not problem:
            row.delete()
            return Person.objects.add(
                username=username, name=name, password=password, role=Role.OWNER
            )
    raise CodeRefused(problem)


def _try_code(row: SetupCode | None, code: str, now: datetime) -> str:
    if row is None or row.tries_left == 0 or row.expires_at < now:
        return "This code is used up or too old. Start Splitpin again for a new one."
    if secrets.compare_digest(row.digest, _digest(code)):
        return ""
    row.tries_left -= 1
    row.save(update_fields=["tries_left"])
    return f"That is not the code on the console. {row.tries_left} tries left."


def _digest(code: str) -> str:
    plain = "".join(char for char in code.lower() if char in "0123456789abcdef")
    return hashlib.sha256(plain.encode()).hexdigest()


def address_of(request: HttpRequest) -> str | None:
    """The address a request comes from, None for one that came through no network.

    Anybody can write X-Forwarded-For, so only the entries count that our own proxies
    (``SPLITPIN_PROXIES`` of them) have added: each adds one on the right, and the outermost
    proxy's entry is the client. A request with fewer entries did not come through all of them.
    """
    chain = request.META.get("HTTP_X_FORWARDED_FOR", "").split(",")
    if 0 < settings.PROXIES <= len(chain):
        with contextlib.suppress(ValueError):
            return str(ipaddress.ip_address(chain[-settings.PROXIES].strip()))
    return request.META.get("REMOTE_ADDR") or None


def address_is_spent(*, address: str | None, now: datetime) -> bool:
    """Whether one address has failed too often under any names in the last quarter of an hour.

    The per-name limit alone would let one phone try forty names four times each.
    """
    failures = AccessAttempt.objects.filter(
        ip_address=address, attempt_time__gte=now - TRIES_COUNT_FOR
    ).aggregate(total=models.Sum("failures_since_start"))["total"]
    return (failures or 0) >= settings.ADDRESS_FAILURE_LIMIT


class LastOwner(Exception):
    """A garage keeps at least one owner who can sign in."""


def change_role(*, person: Person, role: str, is_active: bool, now: datetime) -> None:
    """Sets what a person may do and whether they may come in; their sessions end when not.

    Raises
    ------
    LastOwner
        When nobody would be left to own the garage.
    """
    with transaction.atomic():
        owners = Person.objects.select_for_update(of=("self",)).filter(
            role=Role.OWNER, is_active=True
        )
        others = [owner for owner in owners if owner.pk != person.pk]
        if not others and not (role == Role.OWNER and is_active):
            person.refresh_from_db()
            raise LastOwner("Somebody must own the garage. Make another owner first.")
        person.role, person.is_active = role, is_active
        person.save(update_fields=["role", "is_active"])
        if not is_active:
            # Or a lost phone would be signed in again on the day its owner is let back in.
            end_sessions(person=person, now=now)


def end_sessions(*, person: Person, now: datetime, keep: str = "") -> int:
    """How many sessions of ``person`` were ended; the one of key ``keep`` stays."""
    ended = 0
    for session in Session.objects.filter(expire_date__gte=now):
        same_person = session.get_decoded().get("_auth_user_id") == str(person.pk)
        if same_person and session.session_key != keep:
            session.delete()
            ended += 1
    return ended


def days_signed_in(*, own_phone: bool) -> int:
    """How long a sign-in lasts without use: longer on a phone its owner marked as their own."""
    return settings.DAYS_SIGNED_IN_OWN_PHONE if own_phone else settings.DAYS_SIGNED_IN


def locked_out(request: HttpRequest, *args: Any, **kwargs: Any) -> HttpResponse:
    """The answer to too many tries; also what django-axes calls."""
    return errors.too_many_tries(request)
