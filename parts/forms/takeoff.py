from typing import Any

from django import forms

from garage.forms import GarageForm, KeyField
from garage.models import Car
from parts import places
from parts.models import Condition, Material, Part, Place


class PlaceField(forms.CharField):
    """A place by its path ("Shelf A / Box 3"); one that is new is made when the form is right."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("label", "Put away in")
        kwargs.setdefault("required", False)
        kwargs.setdefault("help_text", "Shelf, box or bag: Shelf A / Box 3. A new one is made.")
        super().__init__(max_length=200, **kwargs)
        self.widget.attrs |= {"list": "places", "autocomplete": "off"}


def place_of(text: str) -> Place | None:
    return places.find_or_make(text) if text else None


class TakeOffForm(GarageForm):
    key = KeyField()
    name = forms.CharField(
        label="What is it?",
        max_length=80,
        help_text="Plain words: wiper motor, front bracket.",
        error_messages={"required": "Give the part a name"},
        widget=forms.TextInput(attrs={"autocomplete": "off", "enterkeyhint": "done"}),
    )
    system: forms.ModelChoiceField = forms.ModelChoiceField(
        label="System",
        queryset=None,
        empty_label=None,
        error_messages={"required": "Choose the system"},
    )
    position = forms.CharField(
        label="Where it sat",
        max_length=120,
        required=False,
        help_text="Bulkhead, above the pedals.",
    )
    side = forms.ChoiceField(
        label="Side", choices=Part.Side.choices, required=False, widget=forms.RadioSelect
    )
    place = PlaceField()
    still_on_car = forms.BooleanField(
        label="It is still on the car",
        required=False,
        help_text="List it now, take it off later.",
    )
    quantity = forms.IntegerField(
        label="How many alike",
        min_value=1,
        max_value=999,
        initial=1,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "size": 4}),
    )
    condition = forms.ChoiceField(
        label="Condition",
        choices=[("", "Not said"), *Condition.choices],
        required=False,
        widget=forms.RadioSelect,
    )
    material = forms.ChoiceField(
        label="Material", choices=[("", "Not said"), *Material.choices], required=False
    )
    makers_number = forms.CharField(
        label="Maker's number",
        max_length=60,
        required=False,
        widget=forms.TextInput(attrs={"autocomplete": "off", "autocapitalize": "characters"}),
    )
    notes = forms.CharField(
        label="Notes", max_length=10_000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    def __init__(self, *args: Any, car: Car, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["system"].queryset = car.systems.all()

    @property
    def folds(self) -> list[tuple[str, str, list[Any]]]:
        """The optional rest of the form, folded: title, the value it now has, its fields."""
        where = self["system"].value()
        system = next(
            (s.name for s in self.fields["system"].queryset if str(s.pk) == str(where)), ""
        )
        return [
            (
                "System and place on the car",
                system or "not said",
                [self["system"], self["position"], self["side"]],
            ),
            ("Put away", self["place"].value() or "not yet", [self["place"], self["still_on_car"]]),
            (
                "Condition",
                self["condition"].value() or "not said",
                [self["condition"], self["quantity"]],
            ),
            (
                "Numbers, material, notes",
                "",
                [self["makers_number"], self["material"], self["notes"]],
            ),
        ]

    def part_fields(self) -> dict[str, Any]:
        return {
            name: self.cleaned_data[name] for name in ("position", "side", "makers_number", "notes")
        }

    def piece_fields(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("condition", "material")}
