"""What is typed about bonds, coats and their clocks."""

from datetime import datetime
from typing import Any

from django import forms

from fabrication.curing.bond_checks import CHECKS
from fabrication.forms import AngleField, SizeField, boxed, typed_in
from fabrication.models import Bond, Coat, Duty
from garage import units
from garage.forms import GarageForm, KeyField, Measured, MinutesField
from garage.models import Person
from parts.forms.parts import TagField
from parts.models import Adhesive

COLDEST_C, HOTTEST_C = -40.0, 300.0


class TemperatureField(Measured):
    """A temperature: cleans to degrees Celsius, or None. Who reads Fahrenheit writes the unit."""

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs |= {"inputmode": "text", "size": 8}

    def read(self, text: str) -> float:
        unit = None if self.person and self.person.region == "en_US" else "C"
        temp_c = units.parse_temperature(text, decimal_mark=self.mark, default_unit=unit)
        if not COLDEST_C <= temp_c <= HOTTEST_C:
            raise units.BadFigure(f"A part is between {COLDEST_C:g} and {HOTTEST_C:g} °C here.")
        return temp_c


class WeightField(Measured):
    """A weight: cleans to grams, or None."""

    def read(self, text: str) -> float:
        grams = units.parse_weight(text, decimal_mark=self.mark, default_unit="g")
        if not 0 < grams <= 200_000:
            raise units.BadFigure("Write a weight between 1 g and 200 kg.")
        return grams


class NumberField(Measured):
    """A plain number between two limits."""

    def __init__(self, *, least: float, most: float, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least, self.most = least, most

    def read(self, text: str) -> float:
        number = units.parse_number(text, decimal_mark=self.mark)
        if not self.least <= number <= self.most:
            raise units.BadFigure(f"Write a figure from {self.least:g} to {self.most:g}.")
        return number


class WhenField(forms.DateTimeField):
    """A moment by the garage's clock. An hour that a change of the clocks gives twice, or not at
    all, is refused: nobody can say which was meant.
    """

    widget = forms.DateTimeInput(attrs={"type": "datetime-local"}, format="%Y-%m-%dT%H:%M")
    default_error_messages = {
        "invalid": "Write the time as 2026-11-25T16:40.",
        "ambiguous_timezone": "The clocks were changed then: that hour came twice or not at all. "
        "Write a time just before it.",
    }

    def __init__(self, **kwargs: Any) -> None:
        formats = ["%Y-%m-%dT%H:%M", "%Y-%m-%dT%H:%M:%S", "%Y-%m-%d %H:%M"]
        super().__init__(input_formats=formats, **kwargs)

    def clean(self, value: Any) -> datetime | None:
        try:
            return super().clean(value)
        except forms.ValidationError as wrong:
            said = self.error_messages.get(wrong.code or "")
            raise forms.ValidationError(said) if said else wrong from None


BOND_LENGTHS = ("od_mm", "width_mm", "arm_mm", "gap_mm")


class BondForm(GarageForm):
    key = KeyField()
    seen = forms.IntegerField(required=False, widget=forms.HiddenInput)
    onto = TagField(
        label="Glued onto",
        required=True,
        help_text="The tag of the other part: the pipe the bracket goes onto.",
        error_messages={"required": "Give the tag of the part it is glued onto"},
    )
    adhesive: forms.ModelChoiceField = forms.ModelChoiceField(
        label="Glue",
        queryset=None,
        empty_label="Choose",
        help_text="Yours is missing? Write its data sheet down first.",
        error_messages={"required": "Choose the glue"},
    )
    duty = forms.ChoiceField(
        label="What runs in the pipe",
        choices=[("", "Nothing, or no pipe"), *Duty.choices],
        required=False,
    )
    is_only_fixing = forms.BooleanField(label="Glue alone holds it", required=False)
    holds_safety = forms.BooleanField(
        label="It holds a part of brakes, fuel, steering or seats", required=False
    )
    found = forms.ChoiceField(
        label="How the metal is",
        choices=Bond.Found.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say how the metal is"},
    )
    checks = forms.MultipleChoiceField(
        label="Done", choices=CHECKS, required=False, widget=forms.CheckboxSelectMultiple
    )
    gap_mm = SizeField(
        label="Gap to fill",
        most_mm=20,
        zero=True,
        required=False,
        help_text="Try it with feeler gauges, dry.",
    )
    od_mm = SizeField(label="Tube, outside", most_mm=200, zero=False, required=False)
    wrap_deg = AngleField(
        label="Wraps round it by", required=False, help_text="In degrees: 180 is half round."
    )
    width_mm = SizeField(label="Width along the tube", most_mm=500, zero=False, required=False)
    load_g = WeightField(label="It carries", required=False, help_text="350 g, or 1.2 kg.")
    shake_ratio = NumberField(
        label="Shaken, times its weight",
        least=1,
        most=50,
        required=False,
        help_text="Our figure: chassis 5, wheel side or rough road 10, on the engine 8 to 15.",
    )
    arm_mm = SizeField(
        label="The load stands off by",
        most_mm=500,
        zero=True,
        required=False,
        help_text="From the glue to the middle of what it carries.",
    )
    service_c = TemperatureField(
        label="Hottest in use", required=False, help_text="A coolant pipe gets to about 105 °C."
    )
    is_overhead = forms.BooleanField(
        label="It hangs over somebody or over the road", required=False
    )
    wet = forms.ChoiceField(label="In use it is", choices=Bond.Wet.choices, initial=Bond.Wet.WET)
    trial_piece = forms.CharField(
        label="Test piece",
        max_length=200,
        required=False,
        help_text="Two offcuts of the same metal, same day, same glue.",
    )
    trial = forms.ChoiceField(label="What it did", choices=Bond.Trial.choices, required=False)
    trial_note = forms.CharField(label="What it looked like", max_length=300, required=False)
    where = forms.ChoiceField(
        label="Where it lies while it cures",
        choices=Bond.Where.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say where it lies while it cures"},
    )
    clamp_note = forms.CharField(
        label="How it is clamped",
        max_length=300,
        required=False,
        help_text="Snug, never squeezed dry: two turns of tape, a spring clamp, a jig.",
    )

    def __init__(
        self, *args: Any, bond: Bond | None = None, car: Any = None, **kwargs: Any
    ) -> None:
        super().__init__(*args, **kwargs)
        self.bond = bond
        self.fields["onto"].car = car
        kept = Adhesive.objects.filter(thrown_out_at=None)
        self.fields["adhesive"].queryset = kept

    def clean_wrap_deg(self) -> float | None:
        wrap = self.cleaned_data["wrap_deg"]
        if wrap is not None and not 0 < wrap <= 360:
            raise forms.ValidationError("Write an angle above 0 and up to 360.")
        return wrap

    def values(self) -> dict[str, Any]:
        said = self.cleaned_data
        plain = [
            "adhesive",
            "duty",
            "is_only_fixing",
            "holds_safety",
            "found",
            "checks",
            "wrap_deg",
            "load_g",
            "shake_ratio",
            "service_c",
            "wet",
            "trial_piece",
            "trial",
            "trial_note",
            "where",
            "clamp_note",
        ]
        found = {name: said[name] for name in plain} | typed_in(self, *BOND_LENGTHS)
        return found | {"onto": said["onto"].fitted_piece}


class BondNotesForm(GarageForm):
    """What may still be noted of a bond that is mixed."""

    seen = forms.IntegerField(widget=forms.HiddenInput)
    trial_piece = BondForm.base_fields["trial_piece"]
    trial = BondForm.base_fields["trial"]
    trial_note = BondForm.base_fields["trial_note"]
    where = BondForm.base_fields["where"]
    clamp_note = BondForm.base_fields["clamp_note"]

    def values(self) -> dict[str, Any]:
        return {name: said for name, said in self.cleaned_data.items() if name != "seen"}


def bond_boxes(bond: Bond, *, person: Person) -> dict[str, Any]:
    """What stands in the form of a bond that is there."""
    mark = person.decimal_mark
    plain = [
        "key",
        "adhesive",
        "duty",
        "is_only_fixing",
        "holds_safety",
        "found",
        "checks",
        "wet",
        "trial_piece",
        "trial",
        "trial_note",
        "where",
        "clamp_note",
    ]
    boxes = {name: getattr(bond, name) for name in plain}
    for name in BOND_LENGTHS:
        typed = str(bond.typed.get(name, ""))
        boxes[name] = boxed(getattr(bond, name), typed, person=person)
    for name, unit in (("wrap_deg", ""), ("load_g", " g"), ("shake_ratio", "")):
        number = getattr(bond, name)
        said = "" if number is None else units.format_number(number, decimal_mark=mark)
        boxes[name] = f"{said}{unit}" if said else ""
    if bond.service_c is not None:
        boxes["service_c"] = units.format_temperature(bond.service_c, decimal_mark=mark)
    return boxes | {"seen": bond.version, "onto": bond.onto.part}


class MixForm(GarageForm):
    key = KeyField()
    temp_c = TemperatureField(
        label="The part is at",
        help_text="On the metal, not in the room. In °C, or write 64 F.",
        error_messages={"required": "Read the temperature of the part"},
    )
    anyway = forms.CharField(label="Glue it anyway, because", max_length=200, required=False)


class ReadingForm(GarageForm):
    key = KeyField()
    temp_c = TemperatureField(
        label="The part is at",
        help_text="On the metal, not in the room. In °C, or write 64 F.",
        error_messages={"required": "Read the temperature of the part"},
    )
    lowest_before_c = TemperatureField(
        label="Lowest since the last reading",
        required=False,
        help_text="From a thermometer that keeps it. Without it, more than 2 hours count nothing.",
    )
    at = WhenField(label="When", required=False, help_text="Empty is now.")
    is_lowest = forms.BooleanField(
        label="It was the lowest of the night, at that time", required=False
    )


class CoatForm(GarageForm):
    key = KeyField()
    what = forms.ChoiceField(label="Coat", choices=Coat.What.choices)
    product = forms.CharField(
        label="Paint", max_length=80, required=False, help_text="Colour and kind, as on the tin."
    )
    has_isocyanate = forms.BooleanField(
        label="Two-part paint, with isocyanate in the hardener", required=False
    )
    at_c = TemperatureField(
        label="The tin's times are at", initial="20 C", error_messages={"required": "Say at what"}
    )
    next_h = MinutesField(
        label="Next coat after",
        help_text="As on the tin: 20 min, or 16 h.",
        error_messages={"required": "Write how long before the next coat"},
    )
    window_h = MinutesField(
        label="Next coat not later than",
        required=False,
        help_text="After that it wants sanding. Empty where the tin says nothing.",
    )
    handle_h = MinutesField(label="To be handled after", required=False)
    cold_c = TemperatureField(label="And at, colder", required=False)
    cold_next_h = MinutesField(label="Next coat then after", required=False)
    cold_handle_h = MinutesField(label="To be handled then after", required=False)
    lower_limit_c = TemperatureField(
        label="Not to be used below", required=False, help_text="Empty is 10 °C, our figure."
    )

    def clean(self) -> dict[str, Any]:
        said = super().clean() or self.cleaned_data
        next_min, window, handle = (said.get(name) for name in ("next_h", "window_h", "handle_h"))
        if next_min and window and window <= next_min:
            self.add_error("window_h", "That is before the next coat may go on.")
        if next_min and handle and handle < next_min:
            self.add_error("handle_h", "It may be handled only after the next coat might go on.")
        if (said.get("cold_c") is None) != (said.get("cold_next_h") is None):
            self.add_error("cold_c", "Write the colder temperature and its time, or neither.")
        return said

    def values(self) -> dict[str, Any]:
        said = self.cleaned_data
        rows = [(said["at_c"], said["next_h"], said["handle_h"])]
        if said["cold_c"] is not None:
            rows.append((said["cold_c"], said["cold_next_h"], said["cold_handle_h"]))
        return {
            "what": said["what"],
            "product": said["product"],
            "has_isocyanate": said["has_isocyanate"],
            "times": [
                {"temp_c": at_c, "handling_h": _hours(next_min), "full_h": _hours(handle)}
                for at_c, next_min, handle in rows
            ],
            "lower_limit_c": said["lower_limit_c"],
            "window_h": _hours(said["window_h"]),
        }


def _hours(minutes: int | None) -> float | None:
    return None if minutes is None else minutes / 60
