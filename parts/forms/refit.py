"""Forms of refit: fitted loose or tight, tried, prepared, waited for, written down, reminded of."""

from datetime import date
from typing import Any

from django import forms
from django.db.models import QuerySet

from garage.forms import DayField, GarageForm, KeyField, TorqueField
from garage.models import Car, System
from garage.units import format_torque, parse_torque
from parts.forms.parts import TagField
from parts.models import Hole, Piece, Preparation, Reminder, Snag
from parts.refit import asks_torque, holes_asked, is_far_off
from parts.reminders import offered_day

LATER = (Reminder.When.RIDE_HEIGHT, Reminder.When.FIRST_HEAT)


class UsedField(TorqueField):
    """The torque used; a bare figure is newton metres, as the unit beside the box says."""

    def read(self, text: str) -> float:
        newton_metres = parse_torque(text, decimal_mark=self.mark, default_unit="N m")
        if newton_metres <= 0:
            raise forms.ValidationError("A torque is more than nothing. Leave the box empty.")
        return newton_metres


class FitForm(GarageForm):
    """The piece goes on: how tight, with what torque on which hole, and what is due later."""

    LOOSE, TIGHT = "loose", "tight"

    key = KeyField()
    to = forms.ChoiceField(
        choices=[(LOOSE, "Fit loose"), (TIGHT, "Fitted tight")],
        error_messages={"required": "Press one of the two: loose, or tight."},
    )
    because = forms.CharField(
        label="No torque, because",
        max_length=200,
        required=False,
        help_text="A split pin, a clip, by the manual with the wrench: in your words.",
    )
    agreed = forms.CharField(required=False)
    ride_height = forms.BooleanField(label="Tighten at ride height", required=False)
    ride_height_on = DayField(label="Look at it from", required=False)
    first_heat = forms.BooleanField(label="Again after the first heat", required=False)
    first_heat_on = DayField(label="Look at it from", required=False)

    def __init__(self, *args: Any, piece: Piece, today: date, **kwargs: Any) -> None:
        kwargs["initial"] = {f"{when}_on": offered_day(when, today) for when in LATER}
        self.piece = piece
        self.asks = asks_torque(piece)
        self.holes = holes_asked(piece)
        super().__init__(*args, auto_id=f"id_{piece.pk}_%s", **kwargs)
        for hole in self.holes:
            self.fields[_name(hole)] = UsedField(label=f"Hole {hole.number}", required=False)
            self.fields[_name(hole)].person = self.person
        self.far_off: list[tuple[Hole, float]] = []

    @property
    def torque_rows(self) -> list[tuple[Hole, forms.BoundField, str]]:
        """Hole, box, and the torque as it was written where that was in another unit."""
        return [(hole, self[_name(hole)], _in_other_unit(hole)) for hole in self.holes]

    @property
    def later_rows(self) -> list[tuple[forms.BoundField, forms.BoundField]]:
        """The ticks that become reminders, each with its day."""
        return [(self[when], self[f"{when}_on"]) for when in LATER]

    @property
    def figures_typed(self) -> str:
        """What stands in the boxes, so that a yes to these figures is no yes to others."""
        return " / ".join(str(box.data or "").strip() for _, box, _ in self.torque_rows)

    @property
    def lacks_torque(self) -> bool:
        return any(box.errors and not box.data for _, box, _ in self.torque_rows)

    @property
    def says_far_off(self) -> list[str]:
        mark = self.person.decimal_mark if self.person else "."
        return [
            f"Hole {hole.number}: {format_torque(used_nm, decimal_mark=mark)} is more than a tenth"
            f" off the {format_torque(hole.torque_nm, decimal_mark=mark)} wanted."
            for hole, used_nm in self.far_off
        ]

    def clean(self) -> dict[str, Any]:
        super().clean()
        cleaned = self.cleaned_data
        typed = self.torques()
        if cleaned.get("to") == self.LOOSE and typed:
            self.add_error(None, "You wrote a torque. Press Fitted tight, or empty the boxes.")
        elif cleaned.get("to") == self.TIGHT and self.asks and not self.errors:
            self._ask_for_the_rest(typed)
            self._ask_again(typed)
        for when in LATER:
            if cleaned.get(when) and not cleaned.get(f"{when}_on"):
                self.add_error(f"{when}_on", "Give the day it is worth looking at.")
        return cleaned

    def torques(self) -> dict[int, float]:
        """The torque used by hole, where one was written. [N m]"""
        used = {hole.pk: self.cleaned_data.get(_name(hole)) for hole in self.holes}
        return {pk: used_nm for pk, used_nm in used.items() if used_nm is not None}

    def reminders(self) -> dict[str, date | None]:
        said = self.cleaned_data
        return {str(when): said[f"{when}_on"] for when in LATER if said[when]}

    def _ask_for_the_rest(self, typed: dict[int, float]) -> None:
        if self.cleaned_data["because"] or (self.holes and len(typed) == len(self.holes)):
            return
        for hole in self.holes:
            if hole.pk not in typed:
                self.add_error(_name(hole), f"Hole {hole.number}: the torque used, or why none")
        if not self.holes:
            self.add_error("because", "Say how it was tightened: no hole has a figure.")

    def _ask_again(self, typed: dict[int, float]) -> None:
        wanted = {hole.pk: hole for hole in self.holes if hole.torque_nm}
        self.far_off = [
            (wanted[pk], used_nm)
            for pk, used_nm in typed.items()
            if pk in wanted and is_far_off(wanted_nm=wanted[pk].torque_nm, used_nm=used_nm)
        ]
        if self.far_off and self.cleaned_data["agreed"] != self.figures_typed:
            self.add_error("agreed", "Is that the torque you used? Tick yes, or put it right.")


def _name(hole: Hole) -> str:
    return f"torque_{hole.pk}"


def _in_other_unit(hole: Hole) -> str:
    plain = hole.torque_typed.lower().replace(" ", "").replace("·", "")
    return "" if plain.endswith("nm") or plain.replace(".", "").isdigit() else hole.torque_typed


class TrialFitForm(GarageForm):
    FITS, NOT_YET = "fits", "not"

    result = forms.ChoiceField(
        choices=[(FITS, "It fits"), (NOT_YET, "It does not fit")],
        error_messages={"required": "Say whether it fits."},
    )
    because = forms.CharField(
        label="What is wrong, or what you saw",
        max_length=300,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )

    def clean(self) -> dict[str, Any]:
        super().clean()
        cleaned = self.cleaned_data
        if cleaned.get("result") == self.NOT_YET and not cleaned.get("because"):
            self.add_error("because", "Say what is wrong, so that it can be put right.")
        return cleaned


class PreparationForm(GarageForm):
    key = KeyField()
    what = forms.ChoiceField(label="Which", choices=Preparation.What.choices)
    text = forms.CharField(
        label="What is to be done",
        max_length=120,
        help_text="Chase the two M8 threads at the flange.",
        error_messages={"required": "Say what is to be done"},
    )
    count = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=999,
        initial=1,
        widget=forms.NumberInput(attrs={"inputmode": "numeric", "size": 4}),
    )


class RequirementForm(GarageForm):
    """Another part by tag or by words; several that answer are offered to choose from."""

    BEFORE, AFTER = "before", "after"

    which = forms.ChoiceField(
        label="Which way round",
        choices=[(BEFORE, "It must be on first"), (AFTER, "It goes on after this")],
        widget=forms.RadioSelect,
        initial=BEFORE,
    )
    other = forms.CharField(
        label="The other part",
        max_length=80,
        help_text="Its tag, or words of its name: K7M, or radiator bracket.",
        error_messages={"required": "Give a tag or a name"},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )


class SnagForm(GarageForm):
    key = KeyField()
    sort = forms.ChoiceField(
        label="Which", choices=Snag.Sort.choices, widget=forms.RadioSelect, initial=Snag.Sort.SNAG
    )
    text = forms.CharField(
        label="What is to be put right?",
        max_length=200,
        help_text="Heater hose touches the bracket.",
        error_messages={"required": "Say what is to be put right"},
        widget=forms.TextInput(attrs={"autocomplete": "off"}),
    )
    system: "forms.ModelChoiceField[System]" = forms.ModelChoiceField(
        label="System", queryset=None, empty_label=None
    )
    part = TagField(label="On which part", help_text="Its tag, if it sits on one: K7M.")

    def __init__(self, *args: Any, car: Car, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        systems: QuerySet[System] = car.systems.all()
        self.fields["system"].queryset = systems
        self.fields["part"].car = car

    def row(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("sort", "text", "system", "part")}


class ReminderForm(GarageForm):
    key = KeyField()
    when = forms.ChoiceField(
        label="What for",
        choices=Reminder.When.choices,
        widget=forms.RadioSelect,
        initial=Reminder.When.ON_DAY,
    )
    text = forms.CharField(
        label="What is to be looked at?",
        max_length=200,
        required=False,
        help_text="Check the top hose clips.",
    )
    due_on = DayField(label="From which day", required=False, help_text="Empty: from today on.")
    part = TagField(label="On which part", help_text="Its tag, if it is about one: K7M.")

    def __init__(self, *args: Any, car: Car, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["part"].car = car

    def clean(self) -> dict[str, Any]:
        super().clean()
        cleaned = self.cleaned_data
        if cleaned.get("when") == Reminder.When.ON_DAY and not cleaned.get("text"):
            self.add_error("text", "Say what is to be looked at.")
        return cleaned

    def row(self) -> dict[str, Any]:
        names = ("when", "text", "due_on", "part")
        return {name: self.cleaned_data[name] for name in names}


class ReminderChangeForm(ReminderForm):
    """The same for one that is written already: its part and its sort stay."""

    def __init__(self, *args: Any, reminder: Reminder, **kwargs: Any) -> None:
        super().__init__(*args, car=reminder.car, **kwargs)
        self.reminder = reminder
        for name in ("key", "when", "part"):
            del self.fields[name]

    def clean(self) -> dict[str, Any]:
        GarageForm.clean(self)
        cleaned = self.cleaned_data
        if self.reminder.when == Reminder.When.ON_DAY and not cleaned.get("text"):
            self.add_error("text", "Say what is to be looked at.")
        return cleaned
