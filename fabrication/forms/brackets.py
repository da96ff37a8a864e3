"""The entry of a bracket or clip: its head, flanges, holes, notches, outline and load, as one."""

from typing import Any

from django import forms
from django.http import QueryDict

from fabrication.bracket import bracket_inputs as inputs
from fabrication.bracket.bracket_bends import TOOLS
from fabrication.forms import AngleField, SizeField
from fabrication.models import PipeSheet, SheetStock, TestStrip
from garage import units
from garage.forms import GarageForm, KeyField, Measured

LONGEST_MM = 3_000.0


class PlainNumberField(Measured):
    """A plain number between two limits, both included: cleans to a float, or None."""

    def __init__(self, *, least: float, most: float, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.least, self.most = least, most

    def read(self, text: str) -> float:
        found = units.parse_number(text, decimal_mark=self.mark)
        if not self.least <= found <= self.most:
            raise units.BadFigure(f"Write a number from {self.least:g} to {self.most:g}.")
        return found


class BracketHeadForm(GarageForm):
    key = KeyField()
    seen = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=0)
    title = forms.CharField(
        label="What it is",
        max_length=80,
        error_messages={"required": "Say what it is"},
    )
    form = forms.ChoiceField(label="Kind", choices=inputs.FORMS)
    stock = forms.ModelChoiceField(
        SheetStock.objects.all(),
        label="Sheet",
        empty_label="Choose",
        error_messages={"required": "Choose a sheet"},
    )
    pipe = forms.ModelChoiceField(
        PipeSheet.objects.none(),
        label="Goes round the pipe of",
        empty_label="No pipe sheet",
        required=False,
    )
    convention = forms.ChoiceField(
        label="Lengths are told", choices=inputs.CONVENTIONS, required=False
    )
    k_from = forms.ChoiceField(label="K-factor from", choices=inputs.K_FROM, required=False)
    strip = forms.ModelChoiceField(
        TestStrip.objects.select_related("stock"),
        label="Test strip",
        empty_label="None",
        required=False,
    )
    k_ratio = PlainNumberField(label="K-factor of my own", least=0.01, most=0.5, required=False)
    radius = SizeField(
        label="Inside radius of bends",
        most_mm=200,
        zero=False,
        required=False,
        help_text="Empty: what the V makes, or the least the table allows.",
    )
    tool = forms.ChoiceField(label="Bent on", choices=TOOLS, required=False)
    along_grain = forms.BooleanField(label="Bends lie along the rolling direction", required=False)
    flush = forms.BooleanField(label="One edge straight, across told from it", required=False)
    order = forms.CharField(
        label="Order of bends",
        max_length=60,
        required=False,
        help_text="Their numbers: 1 3 2. Empty: an order in which nothing is in the way.",
    )

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        pipes = PipeSheet.objects.of_car(self.person.car).for_rows().newest_first()
        field: Any = self.fields["pipe"]
        field.queryset = pipes
        field.label_from_instance = lambda pipe: f"{pipe}, {pipe.title}, {pipe.stock}"

    def clean_order(self) -> tuple[int, ...]:
        text = self.cleaned_data["order"].replace(",", " ")
        if not all(word.isascii() and word.isdigit() and len(word) < 3 for word in text.split()):
            raise forms.ValidationError("Write the numbers of the bends: 1 3 2.")
        return tuple(int(word) for word in text.split())


class RowForm(GarageForm):
    """A row that does not count while the boxes that make it are empty."""

    makes_it: tuple[str, ...] = ()
    wanted: dict[str, str] = {}

    @property
    def is_empty(self) -> bool:
        if self.is_bound:
            return not any(self[name].value() for name in self.makes_it)
        return not any(self.initial.get(name) for name in self.makes_it)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if self.is_empty:
            return data
        for name, says in self.wanted.items():
            if name not in self.errors and data.get(name) in (None, ""):
                self.add_error(name, says)
        return data

    def maybe(self, name: str) -> inputs.Length | None:
        found = self.cleaned_data.get(name)
        return inputs.Length(found.mm, found.typed) if found else None

    def told(self, name: str) -> inputs.Length:
        """A length that ``wanted`` has made sure of."""
        found = self.cleaned_data[name]
        return inputs.Length(found.mm, found.typed)


class FlangeForm(RowForm):
    makes_it = ("length", "width", "bend", "radius")
    wanted = {"length": "Write the length of this flange"}

    length = SizeField(label="Length", most_mm=LONGEST_MM, zero=True, required=False)
    width = SizeField(label="Width", most_mm=1_500, zero=False, required=False)
    bend = AngleField(label="Bend", required=False)
    way = forms.ChoiceField(label="Way", choices=inputs.WAYS, required=False)
    radius = SizeField(label="Radius", most_mm=200, zero=False, required=False)

    def clean_bend(self) -> float | None:
        bend: float | None = self.cleaned_data["bend"]
        if bend is not None and not 0 < bend < 180:
            raise forms.ValidationError(
                "A bend turns more than 0 and less than 180 degrees, counted from flat."
            )
        return bend


class HoleForm(RowForm):
    makes_it = ("diameter", "along")
    wanted = {
        "diameter": "Write how large the hole is",
        "along": "Write how far along its flange",
    }

    flange = forms.IntegerField(
        label="On flange",
        min_value=1,
        max_value=24,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    diameter = SizeField(label="Ø", most_mm=500, zero=False, required=False)
    along = SizeField(label="Along", least_mm=-50, most_mm=LONGEST_MM, zero=True, required=False)
    end = forms.ChoiceField(
        label="from", choices=[("left", "left end"), ("right", "right end")], required=False
    )
    across = SizeField(label="Across", least_mm=-1_500, most_mm=1_500, zero=True, required=False)
    slot = SizeField(label="Slot, over all", most_mm=500, zero=False, required=False)
    slot_way = forms.ChoiceField(
        label="Slot lies", choices=[("along", "along"), ("across", "across")], required=False
    )
    count = forms.IntegerField(
        label="How many",
        min_value=1,
        max_value=30,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    pitch = SizeField(label="Apart", most_mm=1_000, zero=False, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        if (
            (data.get("count") or 1) > 1
            and data.get("pitch") is None
            and "pitch" not in self.errors
        ):
            self.add_error("pitch", "Write how far the holes stand apart")
        return data

    def hole(self) -> inputs.HoleRow:
        data = self.cleaned_data
        return inputs.HoleRow(
            flange=data["flange"] or 1,
            along=self.told("along"),
            diameter=self.told("diameter"),
            from_end=data["end"] == "right",
            across=self.maybe("across"),
            slot=self.maybe("slot"),
            slot_across=data["slot_way"] == "across",
            count=data["count"] or 1,
            pitch=self.maybe("pitch"),
        )


class NotchForm(RowForm):
    makes_it = ("along", "width", "depth")
    wanted = {
        "along": "Write how far along its flange the notch is",
        "width": "Write how wide the notch is",
        "depth": "Write how deep the notch is",
    }

    flange = forms.IntegerField(
        label="On flange",
        min_value=1,
        max_value=24,
        required=False,
        widget=forms.TextInput(attrs={"inputmode": "numeric"}),
    )
    along = SizeField(label="Middle, along", most_mm=LONGEST_MM, zero=True, required=False)
    end = forms.ChoiceField(
        label="from", choices=[("left", "left end"), ("right", "right end")], required=False
    )
    width = SizeField(label="Width", most_mm=LONGEST_MM, zero=False, required=False)
    depth = SizeField(label="Depth", most_mm=1_500, zero=False, required=False)
    edge = forms.ChoiceField(
        label="In the", choices=[("left", "far edge"), ("right", "near edge")], required=False
    )

    def notch(self) -> inputs.NotchRow:
        data = self.cleaned_data
        return inputs.NotchRow(
            flange=data["flange"] or 1,
            along=self.told("along"),
            width=self.told("width"),
            depth=self.told("depth"),
            from_end=data["end"] == "right",
            on_left=data["edge"] != "right",
        )


class PointForm(RowForm):
    makes_it = ("x", "y")
    wanted = {"x": "Write how far along", "y": "Write how far across"}

    x = SizeField(
        label="Along", least_mm=-LONGEST_MM, most_mm=LONGEST_MM, zero=True, required=False
    )
    y = SizeField(
        label="Across", least_mm=-LONGEST_MM, most_mm=LONGEST_MM, zero=True, required=False
    )
    radius = SizeField(label="Radius", most_mm=500, zero=False, required=False)

    def point(self) -> inputs.PointRow:
        return inputs.PointRow(self.told("x"), self.told("y"), self.maybe("radius"))


class EndsForm(RowForm):
    """The two ends, and the width at the right one."""

    last_width = SizeField(
        label="Width at the right end",
        most_mm=1_500,
        zero=False,
        required=False,
        help_text="Empty: as wide as before.",
    )
    left_form = forms.ChoiceField(label="Left end", choices=inputs.ENDS, required=False)
    left_radius = SizeField(label="Its corner radius", most_mm=500, zero=False, required=False)
    right_form = forms.ChoiceField(label="Right end", choices=inputs.ENDS, required=False)
    right_radius = SizeField(label="Its corner radius", most_mm=500, zero=False, required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean()
        for end in ("left", "right"):
            name = f"{end}_radius"
            rounded = data.get(f"{end}_form") == "corners"
            if rounded and data.get(name) is None and name not in self.errors:
                self.add_error(name, "Write the radius of the corners")
        return data

    def end(self, name: str) -> inputs.EndRow:
        form = self.cleaned_data[f"{name}_form"] or "square"
        return inputs.EndRow(form, self.maybe(f"{name}_radius"))


LISTS: dict[str, type[RowForm]] = {
    "flange": FlangeForm,
    "hole": HoleForm,
    "notch": NotchForm,
    "point": PointForm,
}
MOST = {"flange": 16, "hole": 24, "notch": 12, "point": 60}
FIRST = {"flange": 2, "hole": 1, "notch": 0, "point": 0}
PREFIX = {"flange": "f", "hole": "h", "notch": "n", "point": "p"}


def count_of(data: QueryDict, kind: str) -> int:
    text = data.get(f"{kind}_rows", "")
    plain = text.isascii() and text.isdigit() and len(text) < 4
    return min(int(text), MOST[kind]) if plain else 0


def row_boxes(kind: str) -> list[str]:
    """The names of the boxes of a row."""
    return list(LISTS[kind].base_fields)
