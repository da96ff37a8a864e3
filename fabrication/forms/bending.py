"""Boxes of the bench and of the comparison: what a gauge and a rule said."""

from typing import Any

from django import forms
from django.http import QueryDict

from fabrication.core.errors import CoreError
from fabrication.forms import AngleField, SizeField
from fabrication.making.measured import ANGLES, CORNERS, ROWS, WILL_DO, Measured, Row
from fabrication.models import Making
from fabrication.pipe.inputs import Length
from garage.forms import GarageForm, KeyField
from garage.models import Person

LONGEST_MM = 20_000.0
WORN_PAGE = "Reload the page and write it down once more."


class GaugeField(AngleField):
    """An angle that a gauge or a scale can show."""

    def __init__(self, *, least_deg: float = 0.0, most_deg: float = 360.0, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least_deg, self.most_deg = least_deg, most_deg
        self.widget.attrs["inputmode"] = "text" if least_deg < 0 else "decimal"

    def clean(self, value: Any) -> Any:
        found = super().clean(value)
        if found is not None and not self.least_deg <= found <= self.most_deg:
            said = f"Write an angle between {self.least_deg:g} and {self.most_deg:g} degrees."
            raise forms.ValidationError(said)
        return found


class ReadingForm(GarageForm):
    """One pull: how far, and what was left of it."""

    key = KeyField()
    bend = forms.IntegerField(
        widget=forms.HiddenInput,
        min_value=1,
        max_value=99,
        error_messages=dict.fromkeys(("required", "invalid", "min_value", "max_value"), WORN_PAGE),
    )
    seen = forms.UUIDField(
        widget=forms.HiddenInput, required=False, error_messages={"invalid": WORN_PAGE}
    )
    pulled_to = GaugeField(
        label="Pulled to",
        error_messages={"required": "Write how far you pulled"},
    )
    came_to = GaugeField(
        label="Came to",
        error_messages={"required": "Let go, and write what the gauge says"},
    )

    def clean_pulled_to(self) -> float:
        pulled: float = self.cleaned_data["pulled_to"]
        if pulled == 0:
            raise forms.ValidationError("A pull is more than 0 degrees.")
        return pulled

    def values(self) -> dict[str, Any]:
        data = self.cleaned_data
        return {
            "key": data["key"],
            "bend": data["bend"],
            "seen": str(data["seen"] or ""),
            "pulled_to_deg": data["pulled_to"],
            "came_to_deg": data["came_to"],
        }


class TickForm(GarageForm):
    key = KeyField()
    code = forms.CharField(widget=forms.HiddenInput, max_length=16)


class EndingForm(GarageForm):
    """How a pipe ended; one that is scrapped says why."""

    outcome = forms.ChoiceField(
        label="How did it end?",
        choices=((Making.Outcome.MADE, "Made"), (Making.Outcome.SCRAPPED, "Scrapped")),
        widget=forms.RadioSelect,
        error_messages={"required": "Say whether it is made or scrapped"},
    )
    because = forms.CharField(
        label="Why it is scrapped",
        max_length=200,
        required=False,
        help_text="It helps the next one: over-bent, a mark missed, kinked.",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if data.get("outcome") == Making.Outcome.SCRAPPED and not data.get("because"):
            self.add_error("because", "Say why it is scrapped")
        return data

    def values(self) -> dict[str, str]:
        made = self.cleaned_data["outcome"] == Making.Outcome.MADE
        return {
            "outcome": self.cleaned_data["outcome"],
            "because": "" if made else self.cleaned_data["because"],
        }


# ---- a pipe as measured ---------------------------------------------------------------------


class CompareHead(GarageForm):
    key = KeyField()
    spare_on = forms.BooleanField(
        label="The spare ends are still on",
        required=False,
        help_text="Then the first and last straight are measured with them.",
    )
    will_do = SizeField(
        label="How near will do",
        most_mm=100,
        zero=False,
        required=False,
        help_text="A hose forgives more than a flare nut. Empty is 2 mm, our figure.",
    )


class AngleRow(GarageForm):
    bend = GaugeField(label="Bend", error_messages={"required": "Write how far it bends"})


class MadeRow(GarageForm):
    straight = SizeField(
        label="Straight",
        most_mm=LONGEST_MM,
        zero=True,
        error_messages={"required": "Write the straight before this bend"},
    )
    twist = GaugeField(label="Twist", least_deg=-360.0, required=False)
    bend = GaugeField(label="Bend", error_messages={"required": "Write how far it bends"})


class MadeLast(GarageForm):
    last = SizeField(
        label="Last straight, up to end B",
        most_mm=LONGEST_MM,
        zero=True,
        error_messages={"required": "Write the straight up to end B"},
    )


def _axis(name: str) -> SizeField:
    return SizeField(
        label=name.upper(),
        least_mm=-LONGEST_MM,
        most_mm=LONGEST_MM,
        zero=True,
        error_messages={"required": f"Write {name} of this point"},
    )


class MadeCorner(GarageForm):
    x, y, z = _axis("x"), _axis("y"), _axis("z")


class CompareEntry:
    """All boxes of one comparison, read and shown as one.

    ``made`` are the bends on the tube, counted from one; ``data`` a post to be checked.
    """

    def __init__(
        self,
        *,
        way: str,
        made: tuple[int, ...],
        person: Person,
        data: QueryDict | None = None,
        angles: dict[int, str] | None = None,
    ) -> None:
        self.way, self.made, self.person = way, made, person
        self.is_bound = data is not None
        self.head = CompareHead(data, person=person)
        kinds: dict[str, type[GarageForm]] = {
            ANGLES: AngleRow,
            ROWS: MadeRow,
            CORNERS: MadeCorner,
        }
        count = len(made) + 2 if way == CORNERS else len(made)
        read = angles or {}
        self.rows: list[GarageForm] = [
            kinds[way](
                data,
                prefix=f"m{number}",
                person=person,
                initial={"bend": read.get(made[number], "")} if way != CORNERS else {},
            )
            for number in range(count)
        ]
        self.last = MadeLast(data, person=person) if way == ROWS else None

    @property
    def forms(self) -> list[GarageForm]:
        return [self.head, *self.rows, *([self.last] if self.last else [])]

    @property
    def problems(self) -> list[tuple[str, str]]:
        return [problem for form in self.forms for problem in form.problems]

    def is_valid(self) -> bool:
        checked = [form.is_valid() for form in self.forms]
        return all(checked)

    def measured(self) -> Measured:
        """What was measured. Only after ``is_valid``."""
        rows = [row.cleaned_data for row in self.rows]
        will_do = self.head.cleaned_data["will_do"]
        return Measured(
            way=self.way,
            made=self.made,
            rows=tuple(
                Row(_length(row["straight"]), row["twist"] or 0.0, row["bend"]) for row in rows
            )
            if self.way == ROWS
            else (),
            last=_length(self.last.cleaned_data["last"]) if self.last else None,
            corners=tuple((_length(row["x"]), _length(row["y"]), _length(row["z"])) for row in rows)
            if self.way == CORNERS
            else (),
            angles_deg=tuple(row["bend"] for row in rows) if self.way == ANGLES else (),
            spare_on=self.head.cleaned_data["spare_on"],
            will_do=_length(will_do) if will_do else WILL_DO,
        )

    def refuse(self, refused: CoreError) -> None:
        """Puts a refusal at the row it is about, else on top."""
        at = refused.index
        if at is None or not self.rows or refused.kind == "bend_count":
            self.head.add_error(None, refused.message)
        elif at < len(self.rows):
            form = self.rows[at]
            name = "straight" if "straight" in form.fields else next(iter(form.fields))
            if self.way == ROWS and refused.kind != "straight_negative":
                name = "bend"
            form.add_error(name, refused.message)
        elif self.last:
            self.last.add_error("last", refused.message)
        else:
            self.head.add_error(None, refused.message)


def _length(length: Any) -> Length:
    return Length(length.mm, length.typed)
