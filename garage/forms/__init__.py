"""The one way a form field looks and reads: label, help, error, control."""

from datetime import date
from decimal import Decimal
from typing import Any, cast
from uuid import UUID, uuid4

from django import forms
from django.forms.renderers import TemplatesSetting
from django.http import QueryDict

from garage import units


class Renderer(TemplatesSetting):
    field_template_name = "includes/field.html"
    form_template_name = "includes/form.html"


class GarageForm(forms.Form):
    """A form that knows who fills it in: their decimal mark and unit.

    ``use_required_attribute`` is off because the browser's own bubble would hide our sentence.
    """

    use_required_attribute = False
    error_css_class = "is-wrong"

    def __init__(self, *args: Any, person: Any = None, **kwargs: Any) -> None:
        kwargs.setdefault("label_suffix", "")
        super().__init__(*args, **kwargs)
        self.person = person
        for field in self.fields.values():
            if isinstance(field, Measured):
                field.person = person
            if isinstance(field.widget, forms.CheckboxInput):
                field.widget.attrs.setdefault("class", "tick")

    @property
    def problems(self) -> list[tuple[str, str]]:
        """Each error with the id of its control, in the form's order, for the summary on top."""
        found = [("", str(message)) for message in self.non_field_errors()]
        for name, messages in self.errors.items():
            if name in self.fields:
                found += [
                    (self[name].id_for_label or self[name].auto_id, str(text)) for text in messages
                ]
        return found

    def renew_key(self, said: str) -> None:
        """Says on the form what was saved under its key, and gives it a fresh one."""
        self.add_error(None, said)
        self.put("key", str(uuid4()))

    def put(self, name: str, value: str) -> None:
        """Sets one field of a form that was posted, to be shown again with all that was typed."""
        data = cast(QueryDict, self.data).copy()
        data[name] = value
        self.data = data


class GarageModelForm(GarageForm, forms.ModelForm):
    """The same for a form that edits one row."""


class KeyField(forms.UUIDField):
    """The form's own key: made when the form is shown, so that a form sent twice saves once."""

    widget = forms.HiddenInput

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(initial=uuid4, required=True, **kwargs)
        self.error_messages["required"] = "Reload the page and save once more."
        self.error_messages["invalid"] = self.error_messages["required"]


class Measured(forms.CharField):
    """A field whose text is read by ``garage.units``; what was typed stays in the box."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 24)
        super().__init__(**kwargs)
        self.person: Any = None
        self.widget.attrs.setdefault("autocomplete", "off")

    @property
    def mark(self) -> units.Mark:
        return self.person.decimal_mark if self.person else "."

    def read(self, text: str) -> Any:
        """The figure in ``text``; each kind of figure below says how it is read."""
        raise NotImplementedError

    def clean(self, value: Any) -> Any:
        text = super().clean(value)
        if not text:
            return None
        try:
            return self.read(text)
        except units.AmbiguousFigure as either:
            first, second = either.offers
            raise forms.ValidationError(
                f"Is {text} {first} or {second}? Write it with its unit.",
                code="ambiguous",
                params={"readings": (first, second)},
            ) from None
        except units.BadFigure as bad:
            raise forms.ValidationError(bad.message) from None


class LengthField(Measured):
    """A length: cleans to ``units.Length`` (millimetres and the text typed), or None."""

    def read(self, text: str) -> units.Length:
        unit = self.person.units if self.person else "mm"
        return units.parse_length(text, default_unit=unit, decimal_mark=self.mark)


class TorqueField(Measured):
    """A torque: cleans to newton metres, or None."""

    def read(self, text: str) -> float:
        return units.parse_torque(text, decimal_mark=self.mark)


class MinutesField(Measured):
    """Time spent: cleans to whole minutes, or None."""

    def read(self, text: str) -> int:
        return units.parse_minutes(text, decimal_mark=self.mark)


class MoneyField(Measured):
    """An amount in the garage's currency: cleans to a Decimal of two places, or None."""

    def read(self, text: str) -> Decimal:
        amount = units.parse_money(text, decimal_mark=self.mark)
        if not 0 <= amount < 10_000_000:
            raise units.BadFigure("An amount is between 0 and 9,999,999.")
        return amount

    def prepare_value(self, value: Any) -> Any:
        return f"{value}".replace(".", self.mark) if isinstance(value, Decimal) else value


class DayField(forms.DateField):
    """A calendar day, by the browser's own date control.

    Where a browser has none, 5/11 would be a day in May to some and in November to others: only
    the year first is read.
    """

    widget = forms.DateInput(attrs={"type": "date"}, format="%Y-%m-%d")
    default_error_messages = {"invalid": "Write the day as year-month-day: 2026-11-25."}

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(input_formats=["%Y-%m-%d"], **kwargs)

    def clean(self, value: Any) -> date | None:
        day = super().clean(value)
        if day and not 1900 <= day.year <= 2200:
            raise forms.ValidationError("Give a day between 1900 and 2200.")
        return day


def key_of(request: Any) -> UUID | None:
    """The form key in a post, when it is one."""
    try:
        return UUID(request.POST.get("key", ""))
    except ValueError:
        return None
