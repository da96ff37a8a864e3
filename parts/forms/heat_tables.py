"""The tables of what stands how much heat: adhesives, solders and brazes, things left on."""

from typing import Any

from django import forms
from django.db import models

from garage.forms import GarageForm, KeyField
from parts.forms.heat import FigureField, TemperatureField
from parts.models import Adhesive, Alloy, Limit


class RowForm(GarageForm):
    """One row of a table: a name, figures, and where they come from."""

    MODEL: type[models.Model]
    key = KeyField()
    name = forms.CharField(
        label="Name", max_length=80, error_messages={"required": "Give it a name"}
    )
    source = forms.CharField(
        label="Where the figures come from",
        max_length=300,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="The product sheet and its date, a table, or who said so.",
        error_messages={"required": "Say where the figures come from"},
    )
    is_ours = forms.BooleanField(label="Our figure, from no sheet or table", required=False)

    def __init__(self, *args: Any, row: Any = None, **kwargs: Any) -> None:
        if row is not None:
            names = [name for name in self.base_fields if name != "key"]
            kwargs["initial"] = {name: getattr(row, name) for name in names}
        super().__init__(*args, **kwargs)
        self.row = row

    def clean_name(self) -> str:
        name: str = self.cleaned_data["name"].strip()
        rows = self.MODEL._default_manager.filter(name__iexact=name)
        if (
            rows.exclude(pk=self.row.pk if self.row else None)
            .exclude(key=self.data.get("key") or None)
            .exists()
        ):
            raise forms.ValidationError("There is one of this name already")
        return name

    def figures(self) -> dict[str, Any]:
        return {name: value for name, value in self.cleaned_data.items() if name != "key"}


class LimitForm(RowForm):
    MODEL = Limit
    sort = forms.ChoiceField(label="Sort", choices=Limit.Sort.choices)
    limit_c = TemperatureField(
        label="Stands", error_messages={"required": "Write what heat it stands"}
    )
    field_order = ("key", "name", "sort", "limit_c", "source", "is_ours")


class AlloyForm(RowForm):
    MODEL = Alloy
    family = forms.ChoiceField(label="Sort", choices=Alloy.Family.choices)
    solidus_c = TemperatureField(
        label="Begins to melt", error_messages={"required": "Write where it begins to melt"}
    )
    liquidus_c = TemperatureField(label="All melted", required=False)
    field_order = ("key", "name", "family", "solidus_c", "liquidus_c", "source", "is_ours")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        first, last = data.get("solidus_c"), data.get("liquidus_c")
        if first is not None and last is not None and last < first:
            self.add_error("liquidus_c", "It cannot be all melted before it begins to")
        return data


class AdhesiveForm(RowForm):
    MODEL = Adhesive
    code = forms.ChoiceField(label="Sort", choices=Adhesive.Code.choices)
    working_minutes = FigureField(label="Working time in minutes", most=10_000, required=False)
    working_at_c = TemperatureField(label="Working time is at", required=False)
    lower_limit_c = TemperatureField(label="No cure below", required=False)
    upper_cap_c = TemperatureField(label="No faster above", required=False)
    service_max_dry_c = TemperatureField(label="Hottest in use, dry", required=False)
    service_max_wet_c = TemperatureField(label="Hottest in use, wet", required=False)
    short_peak_c = TemperatureField(
        label="Stands for a short time",
        required=False,
        help_text="A coating oven, once. Only what the product sheet says.",
    )
    short_peak_minutes = FigureField(label="Minutes at that", most=10_000, required=False)
    fit_for_heat_h = FigureField(
        label="Fit for heat after, in hours",
        most=10_000,
        required=False,
        help_text="Empty: after full cure.",
    )
    lap_shear_mpa = FigureField(label="Lap shear on steel in MPa", most=200, required=False)
    gap_max_mm = FigureField(label="Widest gap in mm", most=100, required=False)
    field_order = (
        "key",
        "name",
        "code",
        "short_peak_c",
        "short_peak_minutes",
        "fit_for_heat_h",
        "service_max_dry_c",
        "service_max_wet_c",
        "working_minutes",
        "working_at_c",
        "lower_limit_c",
        "upper_cap_c",
        "lap_shear_mpa",
        "gap_max_mm",
        "source",
        "is_ours",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("short_peak_minutes") and data.get("short_peak_c") is None:
            self.add_error("short_peak_c", "Write the temperature it stands for these minutes")
        return data


class ScheduleRow(GarageForm):
    """What a sheet prints about one temperature."""

    temp_c = TemperatureField(label="At", required=False)
    handling_h = FigureField(label="Handling, hours", most=10_000, required=False)
    full_h = FigureField(label="Full cure, hours", most=10_000, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        hours = data.get("handling_h"), data.get("full_h")
        if any(hours) and data.get("temp_c") is None and "temp_c" not in self.errors:
            self.add_error("temp_c", "Write the temperature of these times")
        if all(hours) and hours[1] < hours[0]:
            self.add_error("full_h", "Full cure cannot come before handling")
        return data


class ScheduleForms(forms.formset_factory(ScheduleRow, extra=2, max_num=10)):  # type: ignore[misc]
    """The curing times of one adhesive, one row a temperature; a row without one is dropped."""

    @classmethod
    def of(cls, row: Adhesive | None, person: Any, data: Any = None) -> "ScheduleForms":
        initial = [
            {name: None if value is None else float(value) for name, value in line.items()}
            for line in (row.schedule if row else [])
        ]
        return cls(data, initial=initial, prefix="times", form_kwargs={"person": person})

    def clean(self) -> None:
        temps = [form.cleaned_data.get("temp_c") for form in self.forms if form.is_valid()]
        known = [temp for temp in temps if temp is not None]
        if len(set(known)) < len(known):
            raise forms.ValidationError("Two rows have the same temperature.")

    def schedule(self) -> list[dict[str, float | None]]:
        """The rows as they are kept, the coldest first."""
        rows = [
            {name: form.cleaned_data.get(name) for name in ("temp_c", "handling_h", "full_h")}
            for form in self.forms
            if form.cleaned_data.get("temp_c") is not None
        ]
        return sorted(rows, key=lambda row: row["temp_c"])
