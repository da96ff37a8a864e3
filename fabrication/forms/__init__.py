"""Boxes of this room: angles, and lengths shown again as they were typed."""

from typing import Any

from django import forms

from fabrication.pipe import inputs
from garage import units
from garage.forms import LengthField, Measured
from garage.models import Person

LONGEST_MM = 20_000.0


class AngleField(Measured):
    """An angle in degrees: cleans to a float, or None."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs.setdefault("inputmode", "text")

    def read(self, text: str) -> float:
        return units.parse_number(text.strip().removesuffix("°"), decimal_mark=self.mark)


class SizeField(LengthField):
    """A length between two limits in millimetres, the limits included where ``least`` is 0."""

    def __init__(self, *, least_mm: float = 0.0, most_mm: float, zero: bool, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least_mm, self.most_mm, self.zero = least_mm, most_mm, zero

    def read(self, text: str) -> units.Length:
        found = super().read(text)
        too_small = found.mm < self.least_mm or (found.mm == 0 and not self.zero)
        if too_small or found.mm > self.most_mm:
            least = self.shown(self.least_mm) if self.zero or self.least_mm else "more than 0"
            most, unit = self.shown(self.most_mm), self.unit
            raise units.BadFigure(f"Write a length of {least} to {most} {unit}.")
        return found

    @property
    def unit(self) -> units.System:
        return self.person.units if self.person else "mm"

    def shown(self, mm: float) -> str:
        """A limit in the unit of whoever types."""
        if self.unit == "mm":
            return f"{mm:g}"
        said = units.format_length(mm, unit=self.unit, decimal_mark=self.mark)
        return said.removesuffix(f" {self.unit}")


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


def kept(length: units.Length | None) -> inputs.Length | None:
    """A length as a document keeps it."""
    return inputs.Length(length.mm, length.typed) if length else None


def rounded(mm: float, *, person: Person) -> inputs.Length:
    """A length that was worked out, as this person would have typed it: to 0.01 mm or 0.001 in."""
    mark, unit = person.decimal_mark, person.units
    typed = units.format_length(mm, unit=unit, decimal_mark=mark).removesuffix(f" {unit}")
    return inputs.Length(units.parse_length(typed, default_unit=unit, decimal_mark=mark).mm, typed)


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
