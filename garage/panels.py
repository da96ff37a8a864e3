"""Panels: what one room shows on another room's page without the other room knowing it.

A room registers its panels in ``ready()``. A page asks for the panels of its kind and shows each
under its label, so ``parts`` shows make-up sheets without importing ``fabrication``.
"""

from collections.abc import Callable
from dataclasses import dataclass
from typing import Any


@dataclass(frozen=True, slots=True)
class Panel:
    label: str
    template: str
    query: Callable[[Any], Any]


_panels: dict[str, list[Panel]] = {}


def register(page: str, panel: Panel) -> None:
    """Adds ``panel`` to the pages of a kind ("part", "today")."""
    _panels.setdefault(page, []).append(panel)


def panels_for(page: str, subject: Any) -> list[dict[str, Any]]:
    """The panels of a page about ``subject`` that have something to show."""
    shown = []
    for panel in _panels.get(page, []):
        if found := panel.query(subject):
            shown.append({"label": panel.label, "template": panel.template, "found": found})
    return shown
