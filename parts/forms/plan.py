from typing import Any

from django import forms

from garage.forms import GarageForm, KeyField, MinutesField, MoneyField
from parts.models import Kind, Process
from parts.plan import ROUTES

WORK = [(process.value, process.label) for process in Process]


class WorkField(forms.MultipleChoiceField):
    """The work a finisher is to do; cleans to process codes in the order they are done."""

    widget = forms.CheckboxSelectMultiple

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(choices=WORK, **kwargs)

    def clean(self, value: Any) -> str:
        chosen = super().clean(value)
        return ",".join(process.value for process in IN_ORDER if process.value in chosen)

    def prepare_value(self, value: Any) -> Any:
        return value.split(",") if isinstance(value, str) else value


# Whatever is ticked, it is done in this order: strip, mend, then coat.
IN_ORDER = (
    Process.STRIP,
    Process.WELD,
    Process.MACHINE,
    Process.BLAST,
    Process.PHOSPHATE,
    Process.HOT_DIP,
    Process.PLATE,
    Process.POWDER,
    Process.PAINT,
    Process.OTHER,
)


class JudgeForm(GarageForm):
    key = KeyField()
    route = forms.ChoiceField(
        label="What is to be done?",
        choices=[(route.code, route.label) for route in ROUTES],
        widget=forms.RadioSelect,
        error_messages={"required": "Choose what is to be done"},
    )
    work = WorkField(label="If it is sent out: for what?")
    what = forms.CharField(
        label="What exactly",
        max_length=200,
        required=False,
        help_text="Drill out the snapped stud, new thread insert M8.",
    )
    why = forms.CharField(label="Why", max_length=300, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        route = next((r for r in ROUTES if r.code == data.get("route")), None)
        if route and Kind.SEND_OUT in route.steps and not data.get("work"):
            self.add_error("work", "Say what the finisher is to do")
        return data


class StepForm(GarageForm):
    key = KeyField()
    kind = forms.ChoiceField(label="Step", choices=Kind.choices, widget=forms.RadioSelect)
    work = WorkField(label="If it is sent out: for what?")
    what = forms.CharField(label="What is to be done", max_length=200, required=False)
    why = forms.CharField(label="Why", max_length=300, required=False)
    who = forms.CharField(label="Who", max_length=60, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("kind") == Kind.SEND_OUT and not data.get("work"):
            self.add_error("work", "Say what the finisher is to do")
        return data


class DoneForm(GarageForm):
    note = forms.CharField(label="What was done", max_length=300, required=False)
    who = forms.CharField(label="Who did it", max_length=60, required=False)
    minutes = MinutesField(label="Time spent", required=False, help_text="1 h 25, or 85 min.")
    cost = MoneyField(label="Cost", required=False)


class LeaveForm(GarageForm):
    because = forms.CharField(
        label="Left, because", max_length=300, error_messages={"required": "Say why it is left"}
    )
