"""One end of a hose, wire, cable or pipe, and the port it goes to."""

from typing import Any

from django import forms

from garage.forms import GarageForm, KeyField
from parts.forms.parts import TagField
from parts.models import Connection, Part


class ConnectionForm(GarageForm):
    key = KeyField()
    carries = forms.ChoiceField(
        label="What", choices=Connection.Carries.choices, widget=forms.RadioSelect,
        error_messages={"required": "Say what it is: hose, pipe, wire, cable or rod"},
    )  # fmt: skip
    end = forms.CharField(
        label="This end",
        max_length=80,
        help_text="On this part: lower hose tail; green wire, spade.",
        error_messages={"required": "Name this end"},
    )
    port = forms.CharField(
        label="Goes to",
        max_length=80,
        help_text="Over there: radiator, bottom outlet; terminal 2.",
        error_messages={"required": "Name where it goes"},
    )
    other = TagField(label="On the part with tag", help_text="If that part has a tag: K7M.")
    note = forms.CharField(
        label="Note",
        max_length=120,
        required=False,
        help_text="Behind the column; clip every hand.",
    )

    def __init__(self, *args: Any, part: Part, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.part = part
        self.fields["other"].car = part.car

    def clean_other(self) -> Part | None:
        other = self.cleaned_data["other"]
        if other == self.part:
            raise forms.ValidationError(
                f"{self.part.tag} is this part. Give the tag of the other one."
            )
        return other

    def connection_fields(self) -> dict[str, Any]:
        data = self.cleaned_data
        fields = {name: data[name] for name in ("carries", "end", "port", "note")}
        return fields | {"other_id": data["other"].pk if data["other"] else None}
