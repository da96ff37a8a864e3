"""What the frame of every page needs."""

from typing import Any

from django.conf import settings
from django.db import connection
from django.http import HttpRequest
from django.utils import timezone

from garage import backup
from garage.health import condition
from garage.health.warning import warning

TABS = (
    ("today", "Today"),
    ("parts", "Parts"),
    ("take_off", "Take off"),
    ("bench", "Bench"),
    ("out", "Out"),
    ("refit", "Refit"),
)
# Pages without a tab of their own stand under the tab a person would look for them.
UNDER_TAB = {
    "dropoff": "out",
    "count": "out",
    "finisher": "out",
    "bench": "bench",
    "pipe": "bench",
    "former": "bench",
    "practice": "bench",
    "bead": "bench",
    "tool": "bench",
    "tube": "bench",
    "printer": "bench",
    "fishmouth": "bench",
    "cutting": "bench",
    "bend": "bench",
    "making": "bench",
    "reading": "bench",
    "comparison": "bench",
    "compare": "bench",
    "bracket": "bench",
    "sheet": "bench",
    "test_strip": "bench",
    "bond": "bench",
    "cure": "bench",
    "coat": "bench",
    "heat": "out",
    "adhesive": "out",
    "alloy": "out",
    "limit": "out",
    "line": "out",
    "joint": "parts",
    "refit": "refit",
    "snag": "refit",
    "reminder": "refit",
    "take_off": "take_off",
    "corner": "take_off",
    "out": "out",
    "part": "parts",
    "place": "parts",
    "today": "today",
    "hole": "parts",
    "connection": "parts",
    "pin": "take_off",
    "step": "parts",
    "piece": "parts",
    "prepare": "refit",
    "trial_fit": "refit",
    "requirement": "refit",
}


def tab_of(url_name: str) -> str:
    """The tab a page stands under: by the longest known beginning of its name."""
    known = [name for name in UNDER_TAB if url_name.startswith(name)]
    return UNDER_TAB[max(known, key=len)] if known else ""


def frame(request: HttpRequest) -> dict[str, Any]:
    match = getattr(request, "resolver_match", None)
    user = getattr(request, "user", None)
    signed_in = bool(user and user.is_authenticated)
    return {
        "tabs": TABS,
        "here": tab_of(match.url_name or "") if match else "",
        "car": user.car if signed_in else None,
        "garage": getattr(request, "garage", None),
        "backup": backup_age() if signed_in else None,
        "copy_is_old": copy_is_old() if signed_in else False,
        "warning": warning(settings.SPLITPIN_DATA, timezone.now()) if signed_in else None,
    }


def copy_is_old() -> bool:
    """Whether the backups may all lie on the disk that they are there to outlive."""
    return condition.read(settings.SPLITPIN_DATA).copy_is_old(timezone.now())


def backup_age() -> backup.BackupAge | None:
    """How old the last backup is; None where PostgreSQL is backed up by its own means."""
    if connection.vendor != "sqlite":
        return None
    return backup.age(settings.SPLITPIN_DATA, timezone.now())
