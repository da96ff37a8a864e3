"""What is written down of formers, tube, and the other tools of the bench."""

from typing import Any

from django import forms

from fabrication.forms import AngleField, SizeField, angle_boxed, boxed, typed_in
from fabrication.models import Former, PipeSheet, Temper, Tool, TubeStock
from fabrication.models.tools import typed_of
from garage.forms import DayField, GarageForm, KeyField, MoneyField
from parts.models import Part

FORMER_LENGTHS = (
    "tube_od_mm",
    "stamped_radius_mm",
    "measured_radius_mm",
    "hook_mm",
    "guide_mm",
    "start_offset_mm",
    "scale_rim_mm",
)
STOCK_LENGTHS = ("od_mm", "wall_mm", "bar_length_mm")


BOUGHT = ("price", "supplier", "bought_on")


class BoughtForm(GarageForm):
    """What every tool has: what it cost, where, and when."""

    price = MoneyField(label="Price", required=False)
    supplier = forms.CharField(
        label="Supplier", max_length=80, required=False, help_text="Or who made it."
    )
    bought_on = DayField(label="Bought on", required=False)

    def bought(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in BOUGHT}


def bought_boxes(row: Any, *, person: Any) -> dict[str, Any]:
    return {
        "price": "" if row.price is None else f"{row.price}".replace(".", person.decimal_mark),
        "supplier": row.supplier,
        "bought_on": row.bought_on,
    }


class FormerForm(BoughtForm):
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
    scale_rim_mm = SizeField(
        label="Handle's scale, from the pivot",
        least_mm=5,
        most_mm=1000,
        zero=False,
        required=False,
        help_text="Where you read the marks. A pull is then said as 45 mark + 6 mm.",
    )
    scale_step_deg = AngleField(
        label="Degrees from mark to mark", required=False, help_text="45, if it is marked so."
    )
    scale_zero_deg = AngleField(
        label="What it reads before the pull",
        required=False,
        help_text="With the tube in and the handle just touching. Empty is 0.",
    )

    field_order = (
        "key",
        "name",
        *FORMER_LENGTHS,
        "scale_step_deg",
        "scale_zero_deg",
        *BOUGHT,
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        od = data.get("tube_od_mm")
        for name in ("stamped_radius_mm", "measured_radius_mm"):
            radius = data.get(name)
            if od and radius and radius.mm <= od.mm / 2:
                self.add_error(name, "A radius of half the tube or less turns it inside out.")
        rim, step = data.get("scale_rim_mm"), data.get("scale_step_deg")
        if rim and step is None and "scale_step_deg" not in self.errors:
            self.add_error("scale_step_deg", "Write how many degrees lie between two marks.")
        if step is not None and not rim and "scale_rim_mm" not in self.errors:
            self.add_error("scale_rim_mm", "Measure from the pivot to where you read the marks.")
        return data

    def clean_scale_step_deg(self) -> float | None:
        step: float | None = self.cleaned_data["scale_step_deg"]
        if step is not None and not 0 < step <= 180:
            raise forms.ValidationError("Marks lie between 0 and 180 degrees apart.")
        return step

    def clean_scale_zero_deg(self) -> float | None:
        zero: float | None = self.cleaned_data["scale_zero_deg"]
        if zero is not None and abs(zero) > 180:
            raise forms.ValidationError("A scale starts within half a turn of its zero.")
        return zero

    def values(self) -> dict[str, Any]:
        found = typed_in(self, *FORMER_LENGTHS)
        found["start_offset_mm"] = found["start_offset_mm"] or 0.0
        return {
            "name": self.cleaned_data["name"],
            **found,
            "scale_step_deg": self.cleaned_data["scale_step_deg"],
            "scale_zero_deg": self.cleaned_data["scale_zero_deg"] or 0.0,
            **self.bought(),
        }


def former_boxes(former: Former, *, person: Any) -> dict[str, Any]:
    """What stands in the form of a former that is there."""
    lengths = {
        name: boxed(getattr(former, name), typed_of(former, name), person=person)
        for name in FORMER_LENGTHS
    }
    step, zero = former.scale_step_deg, former.scale_zero_deg
    return {
        "key": former.key,
        "name": former.name,
        **lengths,
        "scale_step_deg": "" if step is None else angle_boxed(step, person=person),
        "scale_zero_deg": angle_boxed(zero, person=person) if zero else "",
        **bought_boxes(former, person=person),
    }


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


def stock_boxes(stock: TubeStock, *, person: Any) -> dict[str, Any]:
    """What stands in the form of a tube that is there."""
    lengths = {
        name: boxed(getattr(stock, name), typed_of(stock, name), person=person)
        for name in STOCK_LENGTHS
    }
    price = "" if stock.price is None else f"{stock.price}".replace(".", person.decimal_mark)
    kept = {name: getattr(stock, name) for name in ("key", "material", "temper", "supplier")}
    return {**kept, "source": stock.source, "price": price, **lengths}


class ToolForm(BoughtForm):
    key = KeyField()
    name = forms.CharField(
        label="Name", max_length=60, error_messages={"required": "Give the tool a name"}
    )
    what_for = forms.CharField(label="What it is for", max_length=120, required=False)
    note = forms.CharField(
        label="Note",
        max_length=1000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 3}),
    )

    field_order = ("key", "name", "what_for", *BOUGHT, "note")

    def values(self) -> dict[str, Any]:
        kept = {name: self.cleaned_data[name] for name in ("name", "what_for", "note")}
        return kept | self.bought()


def tool_boxes(tool: Tool, *, person: Any) -> dict[str, Any]:
    """What stands in the form of a tool that is there."""
    kept = {name: getattr(tool, name) for name in ("key", "name", "what_for", "note")}
    return kept | bought_boxes(tool, person=person)


class JobForm(GarageForm):
    """A job that a tool served: a pipe sheet, or a part by its tag."""

    sheet: "forms.ModelChoiceField[PipeSheet]" = forms.ModelChoiceField(
        PipeSheet.objects.none(), label="Pipe sheet", empty_label="None", required=False
    )
    part = forms.CharField(
        label="Or a part, by its tag",
        max_length=12,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )

    def __init__(self, *args: Any, sheets: Any = None, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["sheet"]
        of_car = PipeSheet.objects.of_car(self.person.car).newest_first()
        field.queryset = of_car if sheets is None else sheets
        field.label_from_instance = lambda sheet: f"{sheet}, {sheet.title}"

    def clean_part(self) -> Part | None:
        tag = self.cleaned_data["part"].strip().upper()
        found = Part.objects.kept().tagged(tag) if tag else None
        if tag and found is None:
            raise forms.ValidationError(f"No part has the tag {tag}.")
        return found

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors and not data.get("sheet") and not data.get("part"):
            self.add_error("sheet", "Choose a pipe sheet, or write the tag of a part.")
        return data

    def job(self) -> dict[str, Any]:
        """The sheet or the part, or both, by name."""
        return {name: self.cleaned_data[name] for name in ("sheet", "part")}
