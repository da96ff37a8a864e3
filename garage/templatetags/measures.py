"""How figures, days and money stand on a page: by the reader's region, formatted in one place."""

from datetime import date, datetime
from decimal import Decimal
from typing import Any

from babel.dates import format_date, format_time
from babel.numbers import format_currency, format_decimal
from django import template
from django.template import Context
from django.utils import timezone
from django.utils.html import format_html
from django.utils.safestring import SafeString

from garage import units

register = template.Library()
DEFAULT_REGION = "en_GB"


def _region(context: Context) -> str:
    user = getattr(context.get("request"), "user", None)
    return getattr(user, "region", None) or context.get("region") or DEFAULT_REGION


def _mark(context: Context) -> units.Mark:
    return "." if _region(context).startswith("en") else ","


def local_day(value: date | datetime) -> date:
    """The day as the garage's calendar has it."""
    if isinstance(value, datetime):
        return timezone.localtime(value).date() if timezone.is_aware(value) else value.date()
    return value


@register.simple_tag(takes_context=True)
def day(context: Context, value: date | datetime | None, shape: str = "medium") -> SafeString | str:
    """ "25 Nov 2026" in the reader's order, in a <time>; shape "long" spells the weekday too."""
    if value is None:
        return ""
    on = local_day(value)
    form = "EEEE d MMMM y" if shape == "long" else "EEE d MMM y" if shape == "weekday" else shape
    said = format_date(on, form, locale=_region(context))
    return format_html('<time datetime="{}">{}</time>', on.isoformat(), said)


@register.simple_tag(takes_context=True)
def moment(context: Context, value: datetime | None) -> SafeString | str:
    """The time of day when it was today, else the day."""
    if value is None:
        return ""
    here = timezone.localtime(value)
    if here.date() == timezone.localdate():
        said = format_time(here.time(), "short", locale=_region(context))
    else:
        said = format_date(here.date(), "d MMM", locale=_region(context))
    return format_html('<time datetime="{}">{}</time>', here.isoformat(timespec="minutes"), said)


@register.simple_tag(takes_context=True)
def money(context: Context, value: Decimal | None) -> str:
    """ "£46.20" in the garage's currency."""
    if value is None:
        return ""
    garage = context.get("garage")
    return format_currency(value, getattr(garage, "currency", "GBP"), locale=_region(context))


@register.simple_tag(takes_context=True)
def figure(context: Context, value: float | Decimal | None, places: int = 1) -> str:
    """A plain number with the reader's decimal mark and no trailing zeros."""
    if value is None:
        return ""
    pattern = "#,##0." + "#" * places if places else "#,##0"
    return format_decimal(value, pattern, locale=_region(context))


@register.simple_tag(takes_context=True)
def length(context: Context, mm: float | None, typed: str = "") -> str:
    """A length in the reader's unit; what was typed is shown when it was typed in that unit."""
    if mm is None:
        return ""
    user = getattr(context.get("request"), "user", None)
    unit = getattr(user, "units", "mm") or "mm"
    return units.format_length(mm, unit=unit, decimal_mark=_mark(context), typed=typed or None)


@register.simple_tag(takes_context=True)
def torque(context: Context, newton_metres: float | None) -> str:
    """ "18 N·m"."""
    if newton_metres is None:
        return ""
    return units.format_torque(newton_metres, decimal_mark=_mark(context))


@register.filter
def hours(minutes: int | None) -> str:
    """ "3 h 10" of whole minutes."""
    return units.format_minutes(minutes) if minutes else ""


STAMPS = {
    "on_car": "stamp-car",
    "off": "stamp-off",
    "at_bench": "stamp-bench",
    "at_finisher": "stamp-out",
    "back": "stamp-back",
    "ready": "stamp-ready",
    "fitted_loose": "stamp-loose",
    "fitted_tight": "stamp-fitted",
    "missing": "stamp-missing",
    "pattern": "stamp-pattern",
    "scrapped": "stamp-scrapped",
    "sold": "stamp-sold",
}
STAMP_WORDS = {
    "on_car": "On car",
    "off": "Off",
    "at_bench": "At bench",
    "at_finisher": "Out",
    "back": "Back",
    "ready": "Ready",
    "fitted_loose": "Loose",
    "fitted_tight": "Fitted",
    "missing": "Missing",
    "pattern": "Pattern",
    "scrapped": "Scrapped",
    "sold": "Sold",
}
_STAMPED = {
    status: SafeString(f'<span class="stamp {css}">{STAMP_WORDS[status]}</span>')
    for status, css in STAMPS.items()
}
_TO_BE_JUDGED = SafeString('<span class="stamp stamp-undecided">To be judged</span>')


@register.filter
def stamp(piece: Any) -> SafeString:
    """The rubber stamp that says where a piece is."""
    return _TO_BE_JUDGED if piece.is_undecided else _STAMPED[piece.status]


@register.filter
def tag(code: str) -> SafeString:
    """A swing tag with its code, read out as "Tag K7M"."""
    return format_html('<span class="tag"><span class="visually-hidden">Tag </span>{}</span>', code)


@register.filter
def tag_link(piece: Any) -> SafeString:
    """The tag of a part or piece as a link to its page."""
    return format_html(
        '<a class="tag" href="{}"><span class="visually-hidden">Tag </span>{}</a>',
        piece.get_absolute_url(),
        piece.tag,
    )


@register.simple_tag
def counted(number: int, one: str, many: str) -> str:
    """ "1 piece", "4 pieces"."""
    return f"{number} {one if number == 1 else many}"
