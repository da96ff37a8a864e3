"""Boxes of this room: angles, and lengths shown again as they were typed."""

from typing import Any

from django import forms

from garage import units
from garage.forms import LengthField, Measured
from garage.models import Person


class AngleField(Measured):
    """An angle in degrees: cleans to a float, or None."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("inputmode", "text")

    def read(self, text: str) -> float:
        return units.parse_number(text.replace("°", ""), decimal_mark=self.mark)


class SizeField(LengthField):
    """A length between two limits in millimetres, the limits included where ``least`` is 0."""

    def __init__(self, *, least_mm: float = 0.0, most_mm: float, zero: bool, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least_mm, self.most_mm, self.zero = least_mm, most_mm, zero

    def read(self, text: str) -> units.Length:
        found = super().read(text)
        too_small = found.mm < self.least_mm or (found.mm == 0 and not self.zero)
        if too_small or found.mm > self.most_mm:
            least = f"{self.least_mm:g}" if self.zero or self.least_mm else "more than 0"
            raise units.BadFigure(f"Write a length of {least} to {self.most_mm:g} mm.")
        return found


def boxed(mm: float | None, typed: str, *, person: Person) -> str:
    """What stands in the box of a length: as typed where this person's box reads it the same."""
    if mm is None:
        return ""
    mark, unit = person.decimal_mark, person.units
    try:
        if typed and units.parse_length(typed, default_unit=unit, decimal_mark=mark).mm == mm:
            return typed
    except units.BadLength:
        pass  # typed under another decimal mark: the computed figure is shown instead
    shown = units.format_length(mm, unit=unit, decimal_mark=mark).removesuffix(f" {unit}")
    read = units.parse_length(shown, default_unit=unit, decimal_mark=mark)
    # A figure that rounding would change is written out in millimetres.
    return shown if abs(read.mm - mm) < 1e-9 else f"{mm!r} mm".replace(".", mark)


def angle_boxed(angle_deg: float, *, person: Person) -> str:
    return f"{angle_deg:.10g}".replace(".", person.decimal_mark)


def typed_in(form: forms.Form, *names: str) -> dict[str, Any]:
    """{field: mm} of the lengths of a form that was checked, and ``typed`` with their texts."""
    found: dict[str, Any] = {"typed": {}}
    for name in names:
        length = form.cleaned_data[name]
        found[name] = length.mm if length else None
        if length:
            found["typed"][name] = length.typed
    return found
