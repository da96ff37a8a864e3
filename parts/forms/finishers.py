from typing import Any

from django import forms

from garage.forms import GarageForm, GarageModelForm
from parts.forms.dropoffs import number, text
from parts.models import Finisher, Process, Service


class FinisherForm(GarageModelForm):
    class Meta:
        model = Finisher
        fields = ["name", "address", "phone", "email", "lead_days", "notes"]
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "notes": forms.Textarea(attrs={"rows": 3}),
            "phone": forms.TextInput(attrs={"inputmode": "tel"}),
            "lead_days": forms.NumberInput(attrs={"inputmode": "numeric", "size": 4, "max": 999}),
        }
        error_messages = {
            "name": {
                "required": "Give the finisher a name",
                "unique": "There is a finisher of this name already",
            }
        }


class ServiceForm(GarageForm):
    process = forms.ChoiceField(
        label="Work", choices=[("", "Nothing"), *Process.choices], required=False
    )
    peak_c = number("Metal, at most °C", 1_500)
    peak_minutes = number("Minutes at it", 1_000)
    note = text("Note", 200)


class BaseServiceForms(forms.BaseFormSet):
    def clean(self) -> None:
        works = [
            form.cleaned_data.get("process") for form in self.forms if hasattr(form, "cleaned_data")
        ]
        named = [work for work in works if work]
        for work in named:
            if named.count(work) > 1:
                raise forms.ValidationError(f"{Process(work).label} is there twice. Leave one.")


ServiceRows = forms.formset_factory(ServiceForm, formset=BaseServiceForms, extra=3, max_num=20)


class ServiceForms(ServiceRows):  # type: ignore[misc, valid-type]
    """What a finisher does, and three blank rows; a row of "Nothing" is dropped."""

    NAMES = ("process", "peak_c", "peak_minutes", "note")

    @classmethod
    def of(cls, finisher: Finisher | None, data: Any = None) -> "ServiceForms":
        services = finisher.services.all() if finisher else []
        rows = [{name: getattr(service, name) for name in cls.NAMES} for service in services]
        return cls(data, initial=rows, prefix="services")

    def save_for(self, finisher: Finisher) -> None:
        """Puts these services in place of the finisher's."""
        finisher.services.all().delete()
        Service.objects.bulk_create(
            Service(finisher=finisher, **{name: form.cleaned_data[name] for name in self.NAMES})
            for form in self.forms
            if form.cleaned_data.get("process")
        )
