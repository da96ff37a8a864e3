"""Figures as a bench can hold them: marks to half a millimetre, angles to half a degree.

On paper the context says the unit and region; on a page they are the reader's.
"""

from typing import Any

from babel.numbers import format_decimal
from django import template
from django.template import Context

from fabrication.core.table_forms import to_nearest

register = template.Library()
MM_PER_INCH = 25.4  # exactly


def _reader(context: Context, name: str, default: str) -> str:
    if said := context.get(name):
        return str(said)
    user = getattr(context.get("request"), "user", None)
    return getattr(user, {"unit": "units"}.get(name, name), None) or default


@register.simple_tag(takes_context=True)
def unit(context: Context) -> str:
    """The reader's unit of length: mm or in."""
    return _reader(context, "unit", "mm")


@register.simple_tag(takes_context=True)
def at_bench(context: Context, mm: float | None, step_mm: float = 0.5) -> str:
    """A length without its unit: rounded by itself, thousandths of an inch for who reads inches."""
    if mm is None:
        return ""
    region = _reader(context, "region", "en_GB")
    if _reader(context, "unit", "mm") == "in":
        return format_decimal(mm / MM_PER_INCH, "#,##0.000", locale=region)
    return format_decimal(to_nearest(mm, step=step_mm), "#,##0.0", locale=region)


@register.simple_tag(takes_context=True)
def degrees(context: Context, angle_deg: float | None, step_deg: float = 0.5) -> str:
    """An angle without its sign."""
    if angle_deg is None:
        return ""
    said: Any = to_nearest(angle_deg, step=step_deg)
    return format_decimal(said, "0.0", locale=_reader(context, "region", "en_GB"))
