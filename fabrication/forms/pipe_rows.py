"""The boxes of a pipe as measured: one row a bend, and the last straight.

What a box means may depend on a choice beside it: a bend can be typed as degrees or as the gap
between two marks. Such a box is read when the choice is known.
"""

from typing import Any

from django import forms

from fabrication.forms import LONGEST_MM, AngleField, SizeField, kept
from fabrication.pipe import inputs
from garage.forms import GarageForm, Measured

LARGEST_GAP_MM = 2_000.0


class TextField(Measured):
    """A box whose reading depends on a choice beside it; cleans to the text."""

    def read(self, text: str) -> str:
        return text


def choice(label: str, choices: tuple[tuple[str, str], ...], first: str) -> forms.ChoiceField:
    return forms.ChoiceField(label=label, choices=choices, required=False, initial=first)


class Readings(GarageForm):
    """Reading of the boxes that a choice decides over."""

    def chosen(self, name: str) -> str:
        """The choice of a select, the first one where none was made."""
        first: str = self.fields[name].initial
        return str(self.cleaned_data.get(name) or first)

    def length(self, name: str) -> inputs.Length | None:
        return kept(self.cleaned_data.get(name))

    def leg(self, name: str) -> inputs.Leg | None:
        """The length of a straight with the edges it was measured from and to."""
        reading = self.length(name)
        if reading is None:
            return None
        edges = {
            edge: self.chosen(f"{name}_{edge}")
            for edge in ("near", "far")
            if f"{name}_{edge}" in self.fields
        }
        return inputs.Leg(reading, **edges)

    def read_bend(self, name: str) -> inputs.BendRead | None:
        """The bend of a box, in whichever way it was read.

        Raises
        ------
        django.forms.ValidationError
            When the text is no such reading.
        """
        text, how = self.cleaned_data.get(name), self.chosen(f"{name}_how")
        if not text:
            return None
        if how in inputs.GAPS:
            field = SizeField(most_mm=LARGEST_GAP_MM, zero=False)
            field.person = self.person
            return inputs.BendRead(how, gap=kept(field.clean(text)), arm=self.length("arm"))
        angle = AngleField()
        angle.person = self.person
        deg: float = angle.clean(text)
        most = 180 if how == inputs.INCLUDED else 360
        if not 0 < deg < most:
            what = "An angle between legs" if how == inputs.INCLUDED else "A bend"
            raise forms.ValidationError(f"{what} lies between 0 and {most} degrees.")
        return inputs.BendRead(how, deg=deg)


SHORT = {
    "centre": "centre",
    "heel": "heel",
    "throat": "throat",
    "back": "back",
    inputs.GAUGE: "bend by gauge",
    inputs.INCLUDED: "bend by the angle between",
    inputs.MARKS: "bend by two marks",
    inputs.PRODUCED: "bend by the leg run on",
    inputs.SLOPE: "twist by slope",
    inputs.HEIGHTS: "twist by height",
}
"""A reading that is not the usual one, in a word or two beside its fold."""


class RowForm(Readings):
    """One bend. A row with nothing in it does not count."""

    straight = SizeField(label="Straight", most_mm=LONGEST_MM, zero=True, required=False)
    twist = AngleField(label="Twist", required=False)
    bend = TextField(label="Bend", required=False)
    straight_near = choice("Straight from", inputs.EDGES, inputs.TANGENT)
    straight_far = choice("Straight to", inputs.EDGES, inputs.TANGENT)
    bend_how = choice("Bend read by", inputs.BEND_READINGS, inputs.TURN)
    arm = SizeField(label="Marks, from the corner", most_mm=1_000, zero=False, required=False)
    twist_how = choice("Twist read by", inputs.TWIST_READINGS, inputs.TWIST)
    side = choice("Next straight lies on", inputs.SIDES, inputs.SAME_SIDE)
    height = SizeField(label="Height over the plate", most_mm=2_000, zero=True, required=False)
    gauge_at = choice("Height taken", inputs.GAUGE_AT, inputs.TOP)
    falls = forms.BooleanField(label="It goes down, not up", required=False)
    across = SizeField(
        label="Straight across, outer end to outer end",
        most_mm=LONGEST_MM,
        zero=False,
        required=False,
    )
    again = SizeField(label="Straight once more", most_mm=LONGEST_MM, zero=False, required=False)
    again_near = choice("Once more from", inputs.EDGES, "heel")
    again_far = choice("Once more to", inputs.EDGES, "heel")
    bend_again = TextField(label="Bend once more", required=False)
    bend_again_how = choice("Once more read by", inputs.BEND_READINGS, inputs.INCLUDED)

    TYPED = ("straight", "twist", "bend", "arm", "height", "across", "again", "bend_again")
    CHOSEN = ("straight_near", "straight_far", "bend_how", "twist_how")

    @property
    def is_empty(self) -> bool:
        return not any(self[name].value() for name in self.TYPED)

    @property
    def has_reading_errors(self) -> bool:
        """Whether something beside the three boxes is wrong: the page unfolds it then."""
        return self.is_bound and any(name in self.errors for name in self.TYPED[3:])

    @property
    def told(self) -> str:
        """What was not read the usual way, in a few words."""
        near, far, *others = (str(self[name].value() or "") for name in self.CHOSEN)
        words = [f"from {SHORT[near]}"] if near in SHORT else []
        words += [f"to {SHORT[far]}"] if far in SHORT else []
        words += [SHORT[one] for one in others if one in SHORT]
        twice = self["again"].value() or self["bend_again"].value()
        return ", ".join([*words, "twice"] if twice else words)

    @property
    def bend_is_a_gap(self) -> bool:
        return self["bend_how"].value() in inputs.GAPS

    @property
    def boxes(self) -> list[forms.BoundField]:
        return [self[name] for name in ("straight", "twist", "bend")]

    def clean_twist(self) -> float | None:
        twist: float | None = self.cleaned_data["twist"]
        if twist is not None and abs(twist) > 360:
            raise forms.ValidationError("A twist is at most a full turn.")
        return twist

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.is_empty:
            return data
        wanted = {
            "straight": "Write the straight before this bend",
            "bend": "Write how far it bends",
        }
        if self.chosen("twist_how") == inputs.HEIGHTS:
            wanted |= {
                "height": "Write the height",
                "across": "Write the distance straight across",
            }
        for name, says in wanted.items():
            if name not in self.errors and data.get(name) in (None, ""):
                self.add_error(name, says)
        for name in ("bend", "bend_again"):
            try:
                data[f"{name}_read"] = self.read_bend(name) if name not in self.errors else None
            except forms.ValidationError as bad:
                self.add_error(name, bad)
        return data

    def row(self) -> inputs.ReadRow:
        data = self.cleaned_data
        leg = self.leg("straight")
        if leg is None:
            raise ValueError("a row is read only after it was checked")
        return inputs.ReadRow(
            leg=leg,
            twist=inputs.TwistRead(
                how=self.chosen("twist_how"),
                deg=data["twist"] or 0.0,
                side=self.chosen("side"),
                height=self.length("height"),
                gauge_at=self.chosen("gauge_at"),
                falls=data["falls"],
                across=self.length("across"),
            ),
            bend=data["bend_read"],
            leg_again=self.leg("again"),
            bend_again=data["bend_again_read"],
        )


class LastForm(Readings):
    """The last straight, and what checks the whole pipe."""

    last = SizeField(
        label="Last straight",
        most_mm=LONGEST_MM,
        zero=True,
        required=False,
    )
    last_near = choice("Straight from", inputs.EDGES, inputs.TANGENT)
    last_again = SizeField(
        label="Last straight once more", most_mm=LONGEST_MM, zero=False, required=False
    )
    last_again_near = choice("Once more from", inputs.EDGES, "heel")
    end_to_end = SizeField(
        label="Straight across from end to end, centre to centre",
        most_mm=LONGEST_MM,
        zero=False,
        required=False,
        help_text="A check on all the rest: what does not close is said",
    )
    from_end = forms.ChoiceField(
        label="Read from",
        choices=((inputs.END_A, "End A"), (inputs.END_B, "End B")),
        required=False,
        initial=inputs.END_A,
    )

    def __init__(self, *args: Any, is_wanted: bool = True, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.is_wanted = is_wanted

    @property
    def is_empty(self) -> bool:
        return not any(self[name].value() for name in ("last", "last_again", "end_to_end"))

    @property
    def has_reading_errors(self) -> bool:
        return self.is_bound and "last_again" in self.errors

    @property
    def told(self) -> str:
        near = str(self["last_near"].value() or "")
        words = [f"from {SHORT[near]}"] if near in SHORT else []
        return ", ".join([*words, "twice"] if self["last_again"].value() else words)

    @property
    def starts_at(self) -> str:
        return str(self["from_end"].value() or inputs.END_A).upper()

    @property
    def stops_at(self) -> str:
        return "A" if self.starts_at == "B" else "B"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.is_wanted and "last" not in self.errors and data.get("last") is None:
            self.add_error("last", f"Write the straight up to end {self.stops_at}")
        return data

    def bends(self, rows: tuple[inputs.ReadRow, ...]) -> inputs.Bends:
        last, near = self.leg("last"), self.chosen("last_near")
        again = self.leg("last_again")
        if last is None:
            raise ValueError("the last straight is read only after it was checked")
        if again is not None:
            again = inputs.Leg(again.reading, near=self.chosen("last_again_near"))
        return inputs.Bends(
            rows=rows,
            last=inputs.Leg(last.reading, near=near),
            last_again=again,
            across=self.length("end_to_end"),
            from_end=self.chosen("from_end"),
        )
