"""A practice bend as it is written down: two angles, and the lengths that tell the radius."""

import math
from typing import Any

from django import forms

from fabrication.core.errors import CoreError
from fabrication.core.practice_bend import LARGEST_PRACTICE_DEG, LARGEST_SKEW_DEG
from fabrication.forms import AngleField, SizeField, typed_in
from fabrication.kit import practice
from fabrication.models import Former, PracticeBend, TubeStock
from garage.forms import GarageForm, KeyField

LEGS = ("piece_mm", "centre_a_mm", "centre_b_mm")
RETURN = ("width_mm", "back_mm")
CENTRE, OUTSIDE = "centre", "outside"
MEASURED_TO = ((CENTRE, "Its centre line"), (OUTSIDE, "Its outer edge"))
LONGEST_MM = 3_000.0
GAUGE_DEG = 5.0  # our figure: more than this beyond the pull is a slip of the pen


class PracticeForm(GarageForm):
    key = KeyField()
    stock: "forms.ModelChoiceField[TubeStock]" = forms.ModelChoiceField(
        TubeStock.objects.all(),
        label="Tube",
        empty_label="Choose",
        help_text="Springback belongs to this former with this tube, and to no other.",
        error_messages={"required": "Choose the tube you bent"},
    )
    pulled_deg = AngleField(
        label="Pulled to",
        help_text="Degrees from straight, with the load on.",
        error_messages={"required": "Write how far you pulled"},
    )
    came_to_deg = AngleField(
        label="Came to",
        help_text="Degrees from straight, measured after you let go.",
        error_messages={"required": "Write what was left after you let go"},
    )
    from_straight = forms.BooleanField(
        label="Pulled in one go, from straight",
        required=False,
        initial=True,
        help_text="Only such a bend says how far to pull from straight.",
    )
    mark_mm = SizeField(
        label="Mark set at the tool's zero, from the hooked end",
        most_mm=LONGEST_MM,
        zero=True,
        required=False,
    )
    piece_mm = SizeField(
        label="Length of the piece before", most_mm=LONGEST_MM, zero=False, required=False
    )
    measured_to = forms.ChoiceField(
        label="Both legs measured to",
        choices=MEASURED_TO,
        initial=CENTRE,
        widget=forms.RadioSelect,
        required=False,
        help_text="Along one leg, as far as the other leg run on straight.",
    )
    centre_a_mm = SizeField(
        label="Hooked end to the other leg", most_mm=LONGEST_MM, zero=False, required=False
    )
    centre_b_mm = SizeField(
        label="Other end to the hooked leg", most_mm=LONGEST_MM, zero=False, required=False
    )
    width_mm = SizeField(
        label="Width over both legs", most_mm=LONGEST_MM, zero=False, required=False
    )
    back_mm = SizeField(
        label="Hooked end to the back of the bend", most_mm=LONGEST_MM, zero=False, required=False
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def clean_pulled_deg(self) -> float:
        return self._angle("pulled_deg")

    def clean_came_to_deg(self) -> float:
        return self._angle("came_to_deg")

    def _angle(self, name: str) -> float:
        angle: float = self.cleaned_data[name]
        if not 0 < angle <= 270:
            raise forms.ValidationError("A practice bend lies between 0 and 270 degrees.")
        return angle

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        pulled, came_to = data["pulled_deg"], data["came_to_deg"]
        if came_to > pulled + GAUGE_DEG:
            self.add_error(
                "came_to_deg", "It came to more than it was pulled to: look at the readings again."
            )
            return data
        self._check_lengths(data)
        return data

    def _check_lengths(self, data: dict[str, Any]) -> None:
        """All lengths of a kind or none, and only those that its angle lets speak."""
        legs = [name for name in LEGS if data[name]]
        over = [name for name in RETURN if data[name]]
        if not legs and not over:
            return
        came_to = data["came_to_deg"]
        if legs and came_to > LARGEST_PRACTICE_DEG:
            self.add_error(
                legs[0],
                "Beyond 150 degrees the legs say nothing of the radius. Empty these; a full return "
                "bend is measured over its legs.",
            )
        elif over and abs(came_to - 180) > LARGEST_SKEW_DEG:
            self.add_error(over[0], "Width and back tell the radius only at 178 to 182 degrees.")
        else:
            for name in ("mark_mm", *(LEGS if legs else RETURN)):
                if data[name] is None:
                    self.add_error(name, "Measure this too, or leave all of these lengths empty.")
        if not self.errors:
            self._check_radius()

    def _check_radius(self) -> None:
        try:
            practice.lengths_of(PracticeBend(**self.values()))
        except CoreError as refused:
            self.add_error(
                "width_mm" if self.cleaned_data["width_mm"] else LEGS[1], refused.message
            )

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        kept = ("stock", "pulled_deg", "came_to_deg", "from_straight", "note")
        found = typed_in(self, "mark_mm", *LEGS, *RETURN)
        if data["measured_to"] == OUTSIDE:
            # The outer edges meet half a tube's setback beyond the centre lines.
            beyond_mm = data["stock"].od_mm / 2 * math.tan(math.radians(data["came_to_deg"] / 2))
            for name in LEGS[1:]:
                if found[name] is not None:
                    found[name] -= beyond_mm
                    found["typed"][name] = f"{found['typed'][name]} to the outer edge"
        return {name: data[name] for name in kept} | found


def first_boxes(former: Former, asked: str) -> dict[str, Any]:
    """What stands in a new form: the tube that was asked for, else the first that fits."""
    if asked.isascii() and asked.isdigit() and len(asked) < 10:
        return {"stock": int(asked)}
    od_mm = former.tube_od_mm
    return {"stock": TubeStock.objects.between(od_mm, od_mm).first()}
