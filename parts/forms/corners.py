"""A corner of the car, and the pins in its photo."""

from typing import Any

from django import forms
from django.db import models

from garage.forms import GarageForm, KeyField
from garage.models import Car, System
from parts.forms.fasteners import SharePercent
from parts.forms.parts import TagField


class CornerForm(GarageForm):
    key = KeyField()
    name = forms.CharField(
        label="What does it show?",
        max_length=80,
        help_text="Engine bay, left; under the dash.",
        error_messages={"required": "Say what it shows"},
    )


class As(models.TextChoices):
    """What a pin stands for."""

    LISTED = "listed", "Still on the car"
    TAGGED = "tagged", "Has a tag"
    PIN = "pin", "Only a pin"


class PinForm(GarageForm):
    key = KeyField()
    x = SharePercent(
        label="Across, %", error_messages={"required": "Say how far across, in per cent"}
    )
    y = SharePercent(label="Down, %", error_messages={"required": "Say how far down, in per cent"})
    name = forms.CharField(
        label="What is it?", max_length=80, required=False, help_text="Coil bracket; heater valve."
    )
    stands_for = forms.ChoiceField(
        label="It is", choices=As.choices, initial=As.LISTED, widget=forms.RadioSelect
    )
    system: "forms.ModelChoiceField[System]" = forms.ModelChoiceField(
        label="System", queryset=None, required=False, empty_label="Not said",
        help_text="For a part still on the car. It gets a tag.",
    )  # fmt: skip
    tag = TagField(label="Tag", help_text="For a part with a tag: K7M.")

    def __init__(self, *args: Any, car: Car, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["system"].queryset = car.systems.all()
        self.fields["tag"].car = car

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        what = data.get("stands_for")
        if what == As.TAGGED and not data.get("tag") and "tag" not in self.errors:
            self.add_error("tag", "Give the tag of the part")
        if what in (As.LISTED, As.PIN) and not data.get("name") and "name" not in self.errors:
            self.add_error("name", "Say what it is")
        if what == As.LISTED and not data.get("system") and "system" not in self.errors:
            self.add_error("system", "Choose the system")
        return data

    def wanted(self) -> dict[str, Any]:
        """The part or system the pin stands for: one of them, or neither."""
        data = self.cleaned_data
        return {
            "part": data["tag"] if data["stands_for"] == As.TAGGED else None,
            "system": data["system"] if data["stands_for"] == As.LISTED else None,
        }
