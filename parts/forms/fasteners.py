"""A hole, a line to write its stack quickly, and a row for each thing of it."""

from typing import Any

from django import forms

from garage import figures, units
from garage.forms import GarageForm, KeyField, LengthField, TorqueField
from parts.models import Part, PartPhoto, StackItem
from parts.stack_words import EXAMPLE, CannotRead, Written, read_stack

ROWS_BLANK = 5
ROWS_MOST = 24
HEADS = ("hexagon", "countersunk", "pan", "round", "cheese", "cap", "square", "coach")
GRADES = ("R", "S", "T", "V")
MATERIALS = ("zinc plated steel", "black steel", "stainless steel", "cadmium plated steel", "brass")
THICKEST_MM = 1_000.0


def _listed(name: str, **attrs: Any) -> forms.TextInput:
    return forms.TextInput(attrs={"list": name, "autocomplete": "off"} | attrs)


class PlainNumber(forms.FloatField):
    """A number as nobody shows it to others: where a row goes, where a pin sits."""

    def to_python(self, value: Any) -> Any:
        if isinstance(value, str) and len(value.strip()) > figures.LONGEST_TEXT:
            raise forms.ValidationError(self.error_messages["invalid"], code="invalid")
        number = super().to_python(value)
        return None if number is None else number + 0.0  # no zero with a minus


class SharePercent(PlainNumber):
    """A place on a photo in per cent; cleans to a share from 0 to 1."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(min_value=0, max_value=100, **kwargs)
        self.widget.attrs |= {"inputmode": "decimal", "step": "0.1", "size": 5}

    def prepare_value(self, value: Any) -> Any:
        return round(value * 100, 1) if isinstance(value, float) else value

    def clean(self, value: Any) -> Any:
        percent = super().clean(value)
        return None if percent is None else percent / 100


class HoleForm(GarageForm):
    key = KeyField()
    seen = forms.CharField(required=False, max_length=16, widget=forms.HiddenInput)
    number = forms.IntegerField(
        label="Hole", min_value=1, max_value=999, widget=forms.NumberInput(attrs={"size": 4})
    )
    count = forms.IntegerField(
        label="How many alike",
        min_value=1,
        max_value=999,
        initial=1,
        widget=forms.NumberInput(attrs={"size": 4}),
        help_text="Holes that take the same stack.",
    )
    where = forms.CharField(
        label="Where", max_length=80, required=False, help_text="Top left; round the flange."
    )
    quick = forms.CharField(
        label="The stack in one line",
        max_length=300,
        required=False,
        help_text=f"From the head to the nut: {EXAMPLE}.",
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "off"}),
    )
    torque = TorqueField(
        label="Torque", required=False, help_text="With its unit: 18 N m, 13 lbf ft."
    )
    torque_source = forms.CharField(
        label="Torque from",
        max_length=120,
        required=False,
        help_text="Workshop manual, section C, page 12.",
    )
    note = forms.CharField(label="Note", max_length=200, required=False)
    photo: "forms.ModelChoiceField[PartPhoto]" = forms.ModelChoiceField(
        label="Pin on photo", queryset=None, required=False, empty_label="No pin"
    )
    x = SharePercent(label="Across, %", required=False)
    y = SharePercent(label="Down, %", required=False)

    def __init__(self, *args: Any, part: Part, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["photo"].queryset = PartPhoto.objects.filter(part=part).kept()
        self.written: list[Written] = []

    def clean_quick(self) -> str:
        text = self.cleaned_data["quick"]
        if text:
            unit: units.System = self.person.units if self.person else "mm"
            mark: units.Mark = self.person.decimal_mark if self.person else "."
            try:
                self.written = read_stack(text, default_unit=unit, decimal_mark=mark)
            except CannotRead as unread:
                raise forms.ValidationError(str(unread)) from None
        return text

    def clean_torque(self) -> float | None:
        torque_nm = self.cleaned_data["torque"]
        if torque_nm is not None and torque_nm <= 0:
            raise forms.ValidationError(
                "A torque is more than nothing. Leave it empty if it is not known."
            )
        return torque_nm

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        placed = [data.get(name) is not None for name in ("photo", "x", "y")]
        if any(placed) and not all(placed) and not {"photo", "x", "y"} & set(self.errors):
            self.add_error("photo", "A pin needs its photo and both figures, across and down.")
        return data

    def hole_fields(self) -> dict[str, Any]:
        data = self.cleaned_data
        fields = {
            name: data[name]
            for name in ("number", "count", "where", "torque_source", "note", "x", "y")
        }
        return fields | {
            "photo_id": data["photo"].pk if data["photo"] else None,
            "torque_nm": data["torque"],
            "torque_typed": self["torque"].value().strip() if data["torque"] else "",
        }


class StackRow(GarageForm):
    """One thing of the stack. A row without a thing is no row."""

    order = PlainNumber(
        label="Order", required=False, widget=forms.NumberInput(attrs={"size": 3, "step": "any"})
    )
    what = forms.ChoiceField(
        label="What", choices=[("", "Nothing"), *StackItem.What.choices], required=False
    )
    thread = forms.CharField(
        label="Thread", max_length=24, required=False, widget=_listed("threads")
    )
    length = LengthField(label="Length or thickness", required=False)
    property_class = forms.CharField(
        label="Class", max_length=10, required=False, widget=_listed("classes")
    )
    head = forms.CharField(label="Head", max_length=40, required=False, widget=_listed("heads"))
    material = forms.CharField(
        label="Material and plating", max_length=60, required=False, widget=_listed("materials")
    )
    treatment = forms.ChoiceField(
        label="On refit", choices=StackItem.Treatment.choices, initial=StackItem.Treatment.CLEAN
    )

    @property
    def is_empty(self) -> bool:
        named = ("what", "thread", "length", "property_class", "head", "material")
        return not any(str(self[name].value() or "").strip() for name in named)

    @property
    def has_more(self) -> bool:
        """Whether the folded half of the row holds something, or is wrong."""
        folded = ("property_class", "head", "material")
        wrong = self.is_bound and any(self[name].errors for name in folded)
        return wrong or any(str(self[name].value() or "").strip() for name in folded)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not data.get("what") and not self.is_empty:
            self.add_error("what", "Say what it is: bolt, washer, nut.")
        length = data.get("length")
        if length is not None and not 0 < length.mm <= THICKEST_MM:
            self.add_error("length", "A length is more than nothing and at most a metre.")
        return data

    def item(self) -> StackItem:
        data = self.cleaned_data
        length = data["length"]
        named = {
            name: data[name]
            for name in ("what", "thread", "property_class", "head", "material", "treatment")
        }
        return StackItem(
            **named,
            length_mm=length.mm if length else None,
            length_typed=length.typed if length else "",
        )
