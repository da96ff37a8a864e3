from typing import Any
from zoneinfo import available_timezones

from django import forms
from django.contrib.auth.forms import PasswordChangeForm
from django.contrib.auth.password_validation import validate_password
from django.core.exceptions import ValidationError

from garage.forms import GarageForm, GarageModelForm
from garage.models import Garage, Person, Role
from garage.models.person import fold_username

CURRENCIES = (
    "GBP",
    "EUR",
    "USD",
    "AUD",
    "CAD",
    "NZD",
    "CHF",
    "SEK",
    "NOK",
    "DKK",
    "PLN",
    "CZK",
    "ZAR",
)


def password_field(label: str, *, new: bool, **kwargs: Any) -> forms.CharField:
    return forms.CharField(
        label=label,
        strip=False,
        max_length=4_096,
        widget=forms.PasswordInput(
            attrs={"autocomplete": "new-password" if new else "current-password"}
        ),
        **kwargs,
    )


class SignInForm(GarageForm):
    username = forms.CharField(
        label="Name to sign in with",
        max_length=40,
        error_messages={"required": "Write the name you sign in with"},
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = password_field(
        "Pass-phrase", new=False, error_messages={"required": "Write your pass-phrase"}
    )
    own_phone = forms.BooleanField(
        label="This is my own phone: stay signed in for 90 days", required=False
    )

    def clean_username(self) -> str:
        # One sign may fold into many; nobody's name is longer, so this cut lets nobody in.
        return fold_username(self.cleaned_data["username"])[:80]


class NewPersonForm(GarageForm):
    """A person and their pass-phrase, checked against the person's own names."""

    name = forms.CharField(label="Name", max_length=40, error_messages={"required": "Give a name"})
    username = forms.CharField(
        label="Name to sign in with",
        max_length=40,
        error_messages={"required": "Give a name to sign in with"},
        widget=forms.TextInput(attrs={"autocomplete": "username", "autocapitalize": "none"}),
    )
    password = password_field(
        "Pass-phrase",
        new=True,
        help_text="At least 12 characters. Four or five plain words are good.",
        error_messages={"required": "Give a pass-phrase"},
    )

    def clean_username(self) -> str:
        username = fold_username(self.cleaned_data["username"])
        if not 1 <= len(username) <= 40:  # one sign may fold into many
            raise ValidationError("Give a shorter name, in plain letters")
        if Person.objects.filter(username=username).exists():
            raise ValidationError("Somebody signs in with that name already")
        return username

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("password"):
            person = Person(username=data.get("username", ""), name=data.get("name", ""))
            try:
                validate_password(data["password"], person)
            except ValidationError as weak:
                self.add_error("password", weak)
        return data


class PersonWithRoleForm(NewPersonForm):
    role = forms.ChoiceField(
        label="May",
        choices=[(role.value, f"{role.label}: {role.says}") for role in Role],
        initial=Role.HELPER,
        widget=forms.RadioSelect,
    )


class SetupForm(NewPersonForm):
    field_order = ("code", "name", "username", "password", "garage_name", "time_zone")

    code = forms.CharField(
        label="Code from the console",
        max_length=60,
        help_text="It stands where Splitpin was started, and works once.",
        error_messages={"required": "Copy the code from the console"},
        widget=forms.TextInput(attrs={"autocomplete": "one-time-code", "autocapitalize": "none"}),
    )
    garage_name = forms.CharField(label="Name of the garage", max_length=80, initial="Our garage")
    time_zone = forms.CharField(
        label="Time zone",
        max_length=60,
        initial="Europe/London",
        widget=forms.TextInput(
            attrs={"list": "zones", "autocomplete": "off", "data-time-zone": ""}
        ),
    )

    def clean_time_zone(self) -> str:
        return known_zone(self.cleaned_data["time_zone"])

    def owner(self) -> dict[str, str]:
        return {key: self.cleaned_data[key] for key in ("code", "name", "username", "password")}

    def save_garage(self) -> None:
        garage = Garage.here()
        garage.name = self.cleaned_data["garage_name"]
        garage.time_zone = self.cleaned_data["time_zone"]
        garage.save(update_fields=["name", "time_zone"])


def known_zone(text: str) -> str:
    if text not in available_timezones():
        raise ValidationError("Choose a time zone of the list: Europe/London")
    return text


class GarageSettingsForm(GarageModelForm):
    class Meta:
        model = Garage
        fields = ("name", "address", "phone", "currency", "paper", "time_zone")
        widgets = {
            "address": forms.Textarea(attrs={"rows": 3}),
            "paper": forms.RadioSelect,
            "currency": forms.Select(choices=[(code, code) for code in CURRENCIES]),
            "time_zone": forms.TextInput(attrs={"list": "zones", "autocomplete": "off"}),
        }

    def clean_time_zone(self) -> str:
        return known_zone(self.cleaned_data["time_zone"])


class MySettingsForm(GarageModelForm):
    class Meta:
        model = Person
        fields = ("name", "units", "region")
        widgets = {"units": forms.RadioSelect}


class RoleForm(GarageModelForm):
    class Meta:
        model = Person
        fields = ("role", "is_active")
        widgets = {"role": forms.RadioSelect}


class PassPhraseAgainForm(GarageForm):
    """The pass-phrase of the person who is signed in, asked for once more."""

    password = password_field(
        "Your pass-phrase", new=False, error_messages={"required": "Write your pass-phrase"}
    )


class PassPhraseForm(PasswordChangeForm):
    """Django's own form, in our words and with our errors summary."""

    use_required_attribute = False

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, label_suffix="", **kwargs)
        self.fields["old_password"].label = "Present pass-phrase"
        self.fields["new_password1"].label = "New pass-phrase"
        self.fields["new_password2"].label = "New pass-phrase again"
        for field in self.fields.values():
            field.help_text = ""

    problems = GarageForm.problems
