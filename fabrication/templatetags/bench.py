"""Figures as a bench can hold them: marks to half a millimetre, angles to half a degree.

On paper the context says the unit and region; on a page they are the reader's.
"""

import re
from typing import Any

from babel.numbers import format_decimal
from django import template
from django.template import Context

from fabrication.core.table_forms import to_nearest
from fabrication.kit.handle import RIM_STEP_MM, Reading

register = template.Library()
MM_PER_INCH = 25.4  # exactly
# A length or another decimal figure in a sentence of ours, which speaks millimetres and points.
_FIGURE = re.compile(r"(?<![\w.])(\d+(?:\.\d+)?) mm\b|(?<![\w.])(\d+\.\d+)(?![\w.])")


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


@register.simple_tag(takes_context=True)
def on_handle(context: Context, reading: Reading | None) -> str:
    """A pull as the handle's scale shows it: "45 mark + 6 mm" round the rim."""
    if reading is None:
        return ""
    region = _reader(context, "region", "en_GB")
    mark = f"{format_decimal(reading.mark_deg, '0.#', locale=region)} mark"
    if not to_nearest(reading.beyond_mm, step=RIM_STEP_MM):
        return mark
    sign, beyond_mm = "+" if reading.beyond_mm > 0 else "\N{MINUS SIGN}", abs(reading.beyond_mm)
    said = at_bench(context, beyond_mm, RIM_STEP_MM)
    return f"{mark} {sign} {said} {_reader(context, 'unit', 'mm')}"


@register.simple_tag(takes_context=True)
def sentence(context: Context, text: str) -> str:
    """A sentence of ours in the reader's unit and decimal mark.

    The arithmetic speaks in millimetres with a decimal point; what stands in inches on the page
    beside it must not be said in millimetres.
    """
    region, reads = _reader(context, "region", "en_GB"), _reader(context, "unit", "mm")

    def said(found: re.Match[str]) -> str:
        mm, plain = found.groups()
        if mm is None or reads == "mm":
            figure = mm or plain
            places = len(figure.partition(".")[2])
            number = format_decimal(float(figure), f"0.{'0' * places}", locale=region)
            return number if mm is None else f"{number} mm"
        return f"{format_decimal(float(mm) / MM_PER_INCH, '0.###', locale=region)} in"

    return _FIGURE.sub(said, text)
