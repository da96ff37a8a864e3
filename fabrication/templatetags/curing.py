"""Warmth and hours as a reader has them."""

from datetime import datetime
from typing import Any

from babel.dates import format_datetime
from babel.numbers import format_decimal
from django import template
from django.template import Context
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

register = template.Library()
NO_BREAK = "\N{NO-BREAK SPACE}"


def _region(context: Context) -> str:
    user = getattr(context.get("request"), "user", None)
    return getattr(user, "region", None) or context.get("region") or "en_GB"


@register.simple_tag(takes_context=True)
def warmth(context: Context, temp_c: float | None) -> str:
    """ "14.5 °C"; who reads Fahrenheit sees both, for data sheets are in °C. A figure and its unit
    stay on one line.
    """
    if temp_c is None:
        return ""
    region = _region(context)
    celsius = f"{format_decimal(round(temp_c, 1), '0.#', locale=region)}{NO_BREAK}°C"
    if region != "en_US":
        return celsius
    fahrenheit = format_decimal(round(temp_c * 9 / 5 + 32), "0", locale=region)
    return f"{fahrenheit}{NO_BREAK}°F ({celsius})"


@register.simple_tag(takes_context=True)
def when(context: Context, at: datetime | None) -> SafeString | str:
    """ "22:25" today, "Fri 09:10" within a week, else with the date; in the garage's time."""
    if at is None:
        return ""
    here, today = timezone.localtime(at), timezone.localdate()
    days = (here.date() - today).days
    shape = "HH:mm" if days == 0 else "EEE HH:mm" if -6 <= days <= 6 else "d MMM HH:mm"
    said = format_datetime(here.replace(tzinfo=None), shape, locale=_region(context))
    return format_html('<time datetime="{}">{}</time>', here.isoformat(timespec="seconds"), said)


@register.filter
def span(hours: float | None) -> str:
    """Hours as "14 h 6 min", "3 d 4 h" or "45 min", rounded up: never told too short."""
    if hours is None or hours == float("inf"):
        return "no end"
    minutes = -int(-round(hours * 60, 3) // 1)
    if minutes < 60:
        return f"{minutes} min"
    if minutes < 48 * 60:
        return f"{minutes // 60} h" + (f" {minutes % 60} min" if minutes % 60 else "")
    full = -(-minutes // 60)
    return f"{full // 24} d" + (f" {full % 24} h" if full % 24 else "")


@register.filter
def percent(share: Any) -> int:
    """A share as whole per cent, never 100 before it is whole."""
    return min(100, int(float(share) * 100 + 1e-9))
