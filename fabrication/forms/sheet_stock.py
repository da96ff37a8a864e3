"""What is written down of sheet, of test strips, and of an old bracket to be replaced."""

import re
from typing import Any

from django import forms

from fabrication.bracket.sheet_choice import OldBracket
from fabrication.core.bend_allowance import k_from_strip
from fabrication.core.errors import CoreError
from fabrication.forms import AngleField, SizeField, boxed, typed_in
from fabrication.models import Coating, SheetGrade, SheetStock
from fabrication.models.tools import typed_of
from garage import units
from garage.forms import GarageForm, KeyField, MoneyField

STRIP_LENGTHS = ("blank_mm", "leg_a_mm", "leg_b_mm", "radius_mm")
GRADE_METALS = {
    "DC01": "steel",
    "DC04": "steel",
    "DX51D +Z": "steel",
    "S235": "steel",
    "S355": "steel",
    "1.4301": "stainless",
    "5251 H22": "aluminium",
    "5083 O": "aluminium",
    "6082 T6": "aluminium",
    "Cu soft": "copper",
    "Cu half hard": "copper",
    "CuZn37 half hard": "brass",
}


class SheetStockForm(GarageForm):
    key = KeyField()
    material = forms.ChoiceField(
        label="Material", choices=SheetStock.Material.choices, widget=forms.RadioSelect
    )
    grade = forms.ChoiceField(
        label="Grade",
        choices=SheetGrade.choices,
        required=False,
        help_text="Known, it tells how tight it may be bent and what it bears.",
    )
    thickness_mm = SizeField(
        label="Thickness",
        most_mm=12,
        zero=False,
        help_text="By caliper, paint scraped off.",
        error_messages={"required": "Measure the thickness"},
    )
    coating = forms.ChoiceField(label="Coating", choices=Coating.choices)
    offcuts = forms.CharField(
        label="Pieces at hand",
        max_length=400,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
        help_text="One a line, length x width: 300 x 120",
    )
    price = MoneyField(label="Price of a sheet", required=False)
    supplier = forms.CharField(label="Supplier", max_length=80, required=False)
    source = forms.CharField(
        label="Where the figures are from",
        max_length=120,
        required=False,
        help_text="A standard, the label, your own caliper.",
    )

    def clean_offcuts(self) -> list[list[float]]:
        found = []
        for line in filter(None, map(str.strip, self.cleaned_data["offcuts"].splitlines())):
            sides = re.split(r"\s*[x×*]\s*", line, flags=re.IGNORECASE)
            if len(sides) != 2:
                raise forms.ValidationError(f"Write {line} as length x width: 300 x 120.")
            try:
                found.append([self._side(side) for side in sides])
            except units.BadFigure as bad:
                raise forms.ValidationError(f"{line}: {bad.message}") from None
        return found

    def _side(self, text: str) -> float:
        mm = units.parse_length(
            text, default_unit=self.person.units, decimal_mark=self.person.decimal_mark
        ).mm
        if not 0 < mm <= 5_000:
            raise units.BadFigure("A side is more than 0 and at most 5000 mm.")
        return mm

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        grade, material = data.get("grade"), data.get("material")
        if grade and material and GRADE_METALS[grade] != material:
            self.add_error("grade", f"{grade} is a grade of another metal.")
        return data

    def values(self) -> dict[str, Any]:
        kept = ("material", "grade", "coating", "offcuts", "price", "supplier", "source")
        found = {name: self.cleaned_data[name] for name in kept} | typed_in(self, "thickness_mm")
        found["typed"]["offcuts"] = self.data.get("offcuts", "").strip()
        return found


def sheet_boxes(stock: SheetStock, *, person: Any) -> dict[str, Any]:
    """What stands in the form of a sheet that is there."""
    kept = ("key", "material", "grade", "coating", "supplier", "source")
    lines = [" x ".join(boxed(mm, "", person=person) for mm in piece) for piece in stock.offcuts]
    return {
        **{name: getattr(stock, name) for name in kept},
        "thickness_mm": boxed(stock.thickness_mm, typed_of(stock, "thickness_mm"), person=person),
        "offcuts": "\n".join(lines),
        "price": "" if stock.price is None else f"{stock.price}".replace(".", person.decimal_mark),
    }


class StripForm(GarageForm):
    key = KeyField()
    tool = forms.CharField(
        label="Bent on",
        max_length=60,
        help_text="Vice and bars, folder, press with V 12: another tool gives another figure.",
        error_messages={"required": "Say what it was bent on"},
    )
    blank_mm = SizeField(
        label="Strip before bending",
        most_mm=1_000,
        zero=False,
        error_messages={"required": "Measure the strip before it is bent"},
    )
    leg_a_mm = SizeField(
        label="One leg, over the outside",
        most_mm=1_000,
        zero=False,
        error_messages={"required": "Measure one leg, over the outside"},
    )
    leg_b_mm = SizeField(
        label="Other leg, over the outside",
        most_mm=1_000,
        zero=False,
        error_messages={"required": "Measure the other leg, over the outside"},
    )
    radius_mm = SizeField(
        label="Inside radius, measured",
        most_mm=200,
        zero=False,
        help_text="With a drill shank or a radius gauge in the bend.",
        error_messages={"required": "Measure the inside radius"},
    )
    angle_deg = AngleField(
        label="How far it was bent, degrees from flat",
        required=False,
        help_text="Empty is 90. Measure it: a degree off is a tenth of a millimetre.",
    )

    def __init__(self, *args: Any, stock: SheetStock, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.stock = stock

    def clean_angle_deg(self) -> float:
        angle: float | None = self.cleaned_data["angle_deg"]
        if angle is not None and not 10 <= angle <= 160:
            raise forms.ValidationError("Bend a test strip by 10 to 160 degrees.")
        return 90.0 if angle is None else angle

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        try:
            k_from_strip(
                thickness_mm=self.stock.thickness_mm,
                angle_deg=data["angle_deg"],
                **{name: data[name].mm for name in STRIP_LENGTHS},
            )
        except CoreError as refused:
            self.add_error(None, f"These readings cannot be: {refused.message}")
        return data

    def values(self) -> dict[str, Any]:
        kept = {name: self.cleaned_data[name] for name in ("tool", "angle_deg")}
        return kept | typed_in(self, *STRIP_LENGTHS)


class OldBracketForm(GarageForm):
    """The old bracket under the caliper; sent by GET, nothing is saved."""

    material = forms.ChoiceField(label="It is of", choices=SheetStock.Material.choices)
    thickness = SizeField(
        label="Thickness",
        most_mm=12,
        zero=False,
        error_messages={"required": "Measure how thick it is, paint and rust scraped off"},
    )
    width = SizeField(
        label="Width at the hole",
        most_mm=500,
        zero=False,
        error_messages={"required": "Measure how wide it is at the hole"},
    )
    hole = SizeField(label="Hole", most_mm=400, zero=True, required=False)
    new_width = SizeField(
        label="The new one may be as wide as",
        most_mm=500,
        zero=False,
        required=False,
        help_text="Empty: as the old one.",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        hole = data.get("hole")
        for name in ("width", "new_width"):
            if hole and data.get(name) and hole.mm >= data[name].mm:
                self.add_error(name, "The hole is as wide as this.")
        return data

    def old(self) -> OldBracket:
        data = self.cleaned_data
        width_mm = data["width"].mm
        return OldBracket(
            material=data["material"],
            thickness_mm=data["thickness"].mm,
            width_mm=width_mm,
            hole_mm=data["hole"].mm if data["hole"] else 0.0,
            new_width_mm=data["new_width"].mm if data["new_width"] else width_mm,
        )
