from typing import Any

from django import forms

from fabrication.forms import SizeField, boxed, typed_in
from fabrication.models import Former, Temper, TubeStock
from fabrication.models.tools import typed_of
from garage.forms import GarageForm, KeyField, MoneyField

FORMER_LENGTHS = (
    "tube_od_mm",
    "stamped_radius_mm",
    "measured_radius_mm",
    "hook_mm",
    "guide_mm",
    "start_offset_mm",
)
STOCK_LENGTHS = ("od_mm", "wall_mm", "bar_length_mm")


class FormerForm(GarageForm):
    key = KeyField()
    name = forms.CharField(
        label="Name",
        max_length=40,
        help_text="As you call it at the bench: F2.",
        error_messages={"required": "Give the former a name"},
    )
    tube_od_mm = SizeField(
        label="Tube it takes, outside",
        most_mm=100,
        zero=False,
        error_messages={"required": "Write the outside diameter of the tube"},
    )
    stamped_radius_mm = SizeField(
        label="Radius stamped on it",
        most_mm=1000,
        zero=False,
        help_text="To the centre line. Some makers stamp the inside: add half the tube.",
        error_messages={"required": "Write the radius, to the centre line"},
    )
    measured_radius_mm = SizeField(
        label="Radius measured",
        most_mm=1000,
        zero=False,
        required=False,
        help_text="From a practice bend. A stamped radius is seldom what comes out.",
    )
    hook_mm = SizeField(
        label="Straight the hook needs",
        most_mm=500,
        zero=True,
        help_text="Before the bend starts. Measure it on the tool.",
        error_messages={"required": "Measure what the hook needs; 0 if nothing"},
    )
    guide_mm = SizeField(
        label="Straight the guide needs",
        most_mm=500,
        zero=True,
        help_text="Beyond the end of the bend.",
        error_messages={"required": "Measure what the guide needs; 0 if nothing"},
    )
    start_offset_mm = SizeField(
        label="Start offset",
        least_mm=-200,
        most_mm=200,
        zero=True,
        required=False,
        help_text="How far beyond the mark the bend really starts. Empty is 0.",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        od = data.get("tube_od_mm")
        for name in ("stamped_radius_mm", "measured_radius_mm"):
            radius = data.get(name)
            if od and radius and radius.mm <= od.mm / 2:
                self.add_error(name, "A radius of half the tube or less turns it inside out.")
        return data

    def values(self) -> dict[str, Any]:
        found = typed_in(self, *FORMER_LENGTHS)
        found["start_offset_mm"] = found["start_offset_mm"] or 0.0
        return {"name": self.cleaned_data["name"], **found}


def former_boxes(former: Former, *, person: Any) -> dict[str, Any]:
    """What stands in the form of a former that is there."""
    lengths = {
        name: boxed(getattr(former, name), typed_of(former, name), person=person)
        for name in FORMER_LENGTHS
    }
    return {"key": former.key, "name": former.name, **lengths}


class StockForm(GarageForm):
    key = KeyField()
    material = forms.ChoiceField(
        label="Material", choices=TubeStock.Material.choices, widget=forms.RadioSelect
    )
    temper = forms.ChoiceField(
        label="Temper",
        choices=Temper.choices,
        required=False,
        help_text="Known, it tells how tight the tube may be bent.",
    )
    od_mm = SizeField(
        label="Outside diameter",
        most_mm=100,
        zero=False,
        error_messages={"required": "Measure the outside diameter"},
    )
    wall_mm = SizeField(
        label="Wall", most_mm=20, zero=False, error_messages={"required": "Measure the wall"}
    )
    bar_length_mm = SizeField(label="Length of a bar", most_mm=20_000, zero=False, required=False)
    price = MoneyField(label="Price of a bar", required=False)
    supplier = forms.CharField(label="Supplier", max_length=80, required=False)
    source = forms.CharField(
        label="Where the figures are from",
        max_length=120,
        required=False,
        help_text="A standard, the label, your own calliper.",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        od, wall = data.get("od_mm"), data.get("wall_mm")
        if od and wall and wall.mm >= od.mm / 2:
            self.add_error("wall_mm", "This wall leaves no bore in the tube.")
        return data

    def values(self) -> dict[str, Any]:
        kept = ("material", "temper", "price", "supplier", "source")
        return {name: self.cleaned_data[name] for name in kept} | typed_in(self, *STOCK_LENGTHS)
