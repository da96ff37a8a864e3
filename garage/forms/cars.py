from typing import Any

from django import forms

from garage.forms import DayField, GarageForm, GarageModelForm
from garage.models import Car, System


class CarForm(GarageModelForm):
    started_on = DayField(label="Work began", required=False)

    class Meta:
        model = Car
        fields = (
            "marque",
            "model",
            "year",
            "chassis_number",
            "engine_number",
            "colour",
            "started_on",
            "notes",
        )
        widgets = {
            "year": forms.NumberInput(attrs={"inputmode": "numeric", "size": 6}),
            "notes": forms.Textarea(attrs={"rows": 3}),
        }
        error_messages = {"marque": {"required": "Give the marque"}}

    def clean_year(self) -> int | None:
        year = self.cleaned_data["year"]
        if year is not None and not 1885 <= year <= 2100:
            raise forms.ValidationError("Give a year between 1885 and 2100")
        return year


class SystemForm(GarageForm):
    """One line of the list of systems; an empty name on a new line is no line."""

    pk = forms.IntegerField(widget=forms.HiddenInput, required=False)
    position = forms.IntegerField(
        label="Order",
        min_value=0,
        max_value=999,
        required=False,
        widget=forms.NumberInput(attrs={"size": 3, "inputmode": "numeric"}),
    )
    name = forms.CharField(label="Name", max_length=40, required=False)
    asks_torque = forms.BooleanField(label="Ask the torque used", required=False)


SystemFormSet = forms.formset_factory(SystemForm, extra=3, max_num=60)


def system_rows(car: Car) -> list[dict[str, Any]]:
    return list(System.objects.filter(car=car).values("pk", "position", "name", "asks_torque"))
