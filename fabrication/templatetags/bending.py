"""The bench on other pages: what a sheet is held to, and hands of a clock."""

from typing import Any

from django import template

from fabrication.drawn.balloons import shown
from fabrication.models import Making, PipeSheet
from fabrication.pipe import freezing
from fabrication.pipe.inputs import UnknownSchema

register = template.Library()


@register.filter
def turn(clock_deg: float) -> str:
    """An angle as SVG reads it."""
    return shown(clock_deg)


@register.filter
def unsigned(value: float) -> float:
    """How much, whichever way."""
    return abs(value)


@register.inclusion_tag("fabrication/held_line.html", takes_context=True)
def held_line(context: Any, sheet: PipeSheet) -> dict[str, Any]:
    """What a sheet is held to since its first print or bend, and the pipe being bent from it."""
    try:
        held = freezing.held_of(sheet)
    except UnknownSchema:
        held = None  # the page says that a newer version wrote it
    return {
        "request": context.get("request"),
        "user": context.get("user"),
        "sheet": sheet,
        "held": held,
        "under_way": Making.objects.of_sheet(sheet).under_way().for_page().first(),
    }
