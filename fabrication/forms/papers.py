"""What is typed for paper: what a printer's bars measure, a fishmouth, pieces to cut from bars."""

import re
from dataclasses import dataclass
from typing import Any

from django import forms

from fabrication.core.errors import CoreError, OutOfRange
from fabrication.forms import AngleField, SizeField, boxed
from fabrication.models import Printer
from fabrication.models.printer import BAR_MM
from fabrication.paper import fishmouth_paper
from fabrication.paper.fishmouth_paper import Fishmouth
from fabrication.paper.printers import MOST_OFF_MM
from garage import units
from garage.forms import GarageForm, KeyField, LengthField
from garage.models import Person


class BarField(LengthField):
    """What a bar of 100 mm measures on paper: cleans to millimetres."""

    def read(self, text: str) -> float:  # type: ignore[override]
        found = super().read(text)
        if abs(found.mm - BAR_MM) > MOST_OFF_MM:
            raise units.BadFigure(
                f"More than {MOST_OFF_MM:g} mm off: the printer scaled the page. Print the test "
                "page again at 100 %, without “fit to page”."
            )
        return found.mm


class PrinterForm(GarageForm):
    key = KeyField()
    name = forms.CharField(
        label="Printer",
        max_length=40,
        help_text="As you call it: the one in the office.",
        error_messages={"required": "Give the printer a name"},
    )
    bar_x_mm = BarField(
        label="Level bar measures",
        help_text="From the first tick to the last, with a steel rule, to 0.2 mm.",
        error_messages={"required": "Measure the level bar"},
    )
    bar_y_mm = BarField(
        label="Upright bar measures",
        error_messages={"required": "Measure the upright bar"},
    )

    def values(self) -> dict[str, Any]:
        return {name: self.cleaned_data[name] for name in ("name", "bar_x_mm", "bar_y_mm")}


def printer_boxes(printer: Printer, *, person: Person) -> dict[str, Any]:
    """What stands in the form of a printer that is there."""
    return {
        "key": printer.key,
        "name": printer.name,
        "bar_x_mm": boxed(round(printer.bar_x_mm, 3), "", person=person),
        "bar_y_mm": boxed(round(printer.bar_y_mm, 3), "", person=person),
    }


# ---- fishmouth ----------------------------------------------------------------------------

LEFT, RIGHT = "left", "right"


class FishmouthForm(GarageForm):
    """A branch that sits on a main tube. Sent by GET: an address is a template."""

    branch_od = SizeField(
        label="Branch, outside",
        most_mm=200,
        zero=False,
        help_text="The tube whose end is cut.",
        error_messages={"required": "Measure the branch, outside"},
    )
    main_od = SizeField(
        label="Main tube, outside",
        most_mm=400,
        zero=False,
        help_text="The tube it sits on: at least as thick.",
        error_messages={"required": "Measure the main tube, outside"},
    )
    angle = AngleField(
        label="Angle between them",
        help_text="Degrees, 90 where they stand square.",
        error_messages={"required": "Write the angle, 90 if square"},
    )
    offset = SizeField(
        label="Offset of the branch",
        most_mm=200,
        zero=True,
        required=False,
        help_text="How far its axis passes beside the other. Empty is 0.",
    )
    side = forms.ChoiceField(
        label="Offset to the",
        choices=((LEFT, "Left"), (RIGHT, "Right")),
        widget=forms.RadioSelect,
        required=False,
        initial=LEFT,
        help_text="Seen along the branch towards the main tube, the acute side on top.",
    )
    wall = SizeField(
        label="Wall of the branch",
        most_mm=20,
        zero=False,
        required=False,
        help_text="Written, the inside edge closes on the main tube, for a cut square through "
        "the wall. Empty, the outside edge does.",
    )

    def clean_angle(self) -> float | None:
        angle_deg: float | None = self.cleaned_data.get("angle")
        if angle_deg is not None and not 15 <= angle_deg <= 90:
            raise forms.ValidationError("Write an angle of 15 to 90 degrees.")
        return angle_deg

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.errors:
            return data
        wall, branch = data["wall"], data["branch_od"]
        if wall and wall.mm >= branch.mm / 2:
            self.add_error("wall", "This wall leaves no bore in the branch.")
            return data
        try:
            fishmouth_paper.points_of(self.fishmouth())
        except OutOfRange:
            self.add_error("main_od", "The branch reaches past the main tube: it would miss it.")
        except CoreError as refused:
            self.add_error(None, refused.message)
        return data

    def fishmouth(self) -> Fishmouth:
        data = self.cleaned_data
        offset_mm = data["offset"].mm if data["offset"] else 0.0
        return Fishmouth(
            branch_od_mm=data["branch_od"].mm,
            main_od_mm=data["main_od"].mm,
            angle_deg=data["angle"],
            offset_mm=-offset_mm if data["side"] == RIGHT else offset_mm,
            wall_mm=data["wall"].mm if data["wall"] else None,
        )


# ---- cutting plan -------------------------------------------------------------------------

MOST_PIECES = 60
COUNTED = re.compile(r"\s*(\d{1,2})\s*[x×*]\s*(.+)", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class Lengths:
    """Lengths as typed in one box, each as often as it was said."""

    each_mm: tuple[float, ...]


class LengthsField(LengthField):
    """Lengths in one box, parted by semicolons or lines: 3 x 450; 620. Cleans to ``Lengths``."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("max_length", 600)
        super().__init__(**kwargs)

    def read(self, text: str) -> Lengths:  # type: ignore[override]
        found: list[float] = []
        for word in re.split(r"[;\n]", text):
            if not word.strip():
                continue
            counted = COUNTED.fullmatch(word)
            many, said = (int(counted[1]), counted[2]) if counted else (1, word)
            length_mm = super().read(said).mm
            if not 0 < length_mm <= 20_000:
                raise units.BadFigure(f"{said.strip()}: write a length above 0, up to 20 m.")
            found += [length_mm] * many
        if len(found) > MOST_PIECES:
            raise units.BadFigure(f"Write at most {MOST_PIECES} lengths.")
        return Lengths(tuple(found))


class CuttingForm(GarageForm):
    """Which sheets are cut from which bars. Sent by GET: nothing is kept."""

    sheets = forms.MultipleChoiceField(
        label="Pipes", required=False, widget=forms.CheckboxSelectMultiple
    )
    more = LengthsField(
        label="Other pieces",
        required=False,
        help_text="Parted by semicolons: 450; 3 x 620. A practice bend wants a piece too.",
    )
    bars = LengthsField(
        label="Bars that can be bought",
        help_text="Each length once, parted by semicolons: 3000; 6000.",
        error_messages={"required": "Write how long a bar is"},
    )
    offcuts = LengthsField(
        label="Offcuts in the rack",
        required=False,
        help_text="They are used first. Parted by semicolons.",
    )
    kerf = SizeField(
        label="Width of a cut",
        most_mm=10,
        zero=True,
        help_text="A hacksaw takes about 1 mm, a cut-off disc 1 to 3, a tube cutter nothing.",
        error_messages={"required": "Write how much a cut takes; 0 for a tube cutter"},
    )
    trim = SizeField(
        label="Cut off the raw end of a bar",
        most_mm=200,
        zero=True,
        required=False,
        help_text="To square it up, its cut included. Empty is 0.",
    )

    def __init__(self, *args: Any, choices: list[tuple[str, str]], **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["sheets"].choices = choices

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not self.errors and not data["sheets"] and not data["more"]:
            self.add_error("sheets", "Tick a pipe, or write another piece.")
        return data

    def lengths(self, name: str) -> tuple[float, ...]:
        found = self.cleaned_data[name]
        return found.each_mm if found else ()

    def size_mm(self, name: str) -> float:
        found = self.cleaned_data[name]
        return found.mm if found else 0.0
