"""How a drop-off's days are said."""

from datetime import date
from typing import Any

from django import template

register = template.Library()


@register.filter
def late_by(due_on: date, today: date) -> str:
    """ "5 days late", "1 day late"; empty until the day after it was due."""
    days = (today - due_on).days
    if days < 1:
        return ""
    return f"{days} day{'' if days == 1 else 's'} late"


@register.filter
def of_line(checked: dict[int, Any], line: Any) -> Any:
    """What the check found about a line, None when it was not checked."""
    return checked.get(line.pk)
