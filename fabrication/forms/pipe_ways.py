"""The boxes of the other two ways in: corner points in the car's axes, mirror of another sheet."""

from typing import Any

from django import forms

from fabrication.core.errors import CoreError
from fabrication.core.measured_angles import axes_from_words
from fabrication.forms import LONGEST_MM, SizeField
from fabrication.forms.pipe_rows import Readings, choice
from fabrication.models import PipeSheet
from fabrication.pipe import inputs
from garage.forms import GarageForm
from garage.models import Person


class CornerForm(Readings):
    """One point in the car's axes. A row with nothing in it does not count."""

    x = SizeField(label="x", least_mm=-LONGEST_MM, most_mm=LONGEST_MM, zero=True, required=False)
    y = SizeField(label="y", least_mm=-LONGEST_MM, most_mm=LONGEST_MM, zero=True, required=False)
    z = SizeField(label="z", least_mm=-LONGEST_MM, most_mm=LONGEST_MM, zero=True, required=False)
    radius = SizeField(label="Radius", most_mm=2_000, zero=False, required=False)

    @property
    def is_empty(self) -> bool:
        return not any(self[name].value() for name in self.fields)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.is_empty:
            for name in ("x", "y", "z"):
                if name not in self.errors and data.get(name) is None:
                    self.add_error(name, f"Write {name}; 0 is a figure too")
        return data

    def corner(self) -> inputs.Corner:
        x, y, z = (inputs.Length(one.mm, one.typed) for one in map(self.cleaned_data.get, "xyz"))
        return inputs.Corner(x, y, z, self.length("radius"))


class AxesForm(Readings):
    """Where x, y and z point, as the driver sees it."""

    axis_x = choice("x points", tuple((one, one) for one in inputs.DIRECTIONS), "forward")
    axis_y = choice("y points", tuple((one, one) for one in inputs.DIRECTIONS), "left")
    axis_z = choice("z points", tuple((one, one) for one in inputs.DIRECTIONS), "up")

    @property
    def axes(self) -> tuple[str, str, str]:
        return self.chosen("axis_x"), self.chosen("axis_y"), self.chosen("axis_z")

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        x, y, z = self.axes
        try:
            axes_from_words(x=x, y=y, z=z)
        except CoreError as refused:
            self.add_error("axis_y", refused.message)
        return data


class MirrorForm(GarageForm):
    """The sheet whose partner this is."""

    mirror = forms.ModelChoiceField(
        PipeSheet.objects.none(),
        label="Mirror image of",
        empty_label="Choose a sheet",
        required=False,
        help_text="The partner on the other side of the car: every twist changes its sign",
    )

    def __init__(
        self, *args: Any, person: Person, sheet: PipeSheet | None, is_wanted: bool, **kwargs: Any
    ) -> None:
        super().__init__(*args, person=person, **kwargs)
        self.is_wanted = is_wanted
        car, but = (sheet.car, sheet.pk) if sheet else (person.car, None)
        field: Any = self.fields["mirror"]
        field.queryset = PipeSheet.objects.to_mirror(car, but=but).newest_first()
        field.label_from_instance = _named

    def clean_mirror(self) -> PipeSheet | None:
        sheet: PipeSheet | None = self.cleaned_data["mirror"]
        if self.is_wanted and sheet is None:
            raise forms.ValidationError("Choose the sheet that this pipe mirrors")
        return sheet


def _named(sheet: PipeSheet) -> str:
    return f"{sheet}, {sheet.title}" + (" (thrown out)" if sheet.thrown_out_at else "")
