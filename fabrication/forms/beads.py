"""A bead tool, and a test piece made with it."""

from typing import Any

from django import forms

from fabrication.forms import SizeField, boxed, typed_in
from fabrication.forms.tools import BOUGHT, BoughtForm, bought_boxes
from fabrication.models import BeadTool, TubeStock
from fabrication.models.tools import typed_of
from garage.forms import GarageForm, KeyField

TOOL_LENGTHS = (
    "tube_od_least_mm",
    "tube_od_most_mm",
    "bore_least_mm",
    "shallowest_mm",
    "deepest_mm",
    "stop_offset_mm",
    "straight_mm",
)
TEST_LENGTHS = ("stop_mm", "centre_mm", "height_mm", "width_mm", "eaten_mm")


class BeadToolForm(BoughtForm):
    key = KeyField()
    name = forms.CharField(
        label="Name",
        max_length=40,
        help_text="As you call it at the bench.",
        error_messages={"required": "Give the bead tool a name"},
    )
    tube_od_least_mm = SizeField(
        label="Tube it takes, outside, from",
        most_mm=100,
        zero=False,
        error_messages={"required": "Write the smallest tube it takes"},
    )
    tube_od_most_mm = SizeField(
        label="Up to",
        most_mm=100,
        zero=False,
        required=False,
        help_text="Empty where it takes one size only.",
    )
    bore_least_mm = SizeField(
        label="Narrowest bore it enters",
        most_mm=100,
        zero=False,
        required=False,
        help_text="Measure the part that goes in.",
    )
    shallowest_mm = SizeField(
        label="Nearest it beads to the end",
        most_mm=200,
        zero=True,
        required=False,
        help_text="End of the tube to the centre of the bead. Empty is 0.",
    )
    deepest_mm = SizeField(
        label="Deepest it reaches",
        most_mm=200,
        zero=False,
        help_text="End of the tube to the centre of the bead.",
        error_messages={"required": "Measure how deep it can set a bead"},
    )
    stop_offset_mm = SizeField(
        label="Bead centre, beyond the stop's reading",
        least_mm=-100,
        most_mm=100,
        zero=True,
        required=False,
        help_text="Stop at 12, bead at 14: write 2. Test pieces go before this. Empty is 0.",
    )
    straight_mm = SizeField(
        label="Straight it needs",
        most_mm=500,
        zero=True,
        help_text="How much straight tube the tool takes up, from the end.",
        error_messages={"required": "Measure the straight it needs; 0 if nothing"},
    )
    needs_reaming = forms.BooleanField(
        label="Needs a reamed bore",
        required=False,
        help_text="A tube cutter rolls the bore in.",
    )
    after_bend = forms.BooleanField(label="Goes on after a bend", required=False, initial=True)
    note = forms.CharField(
        label="Note", max_length=1000, required=False, widget=forms.Textarea(attrs={"rows": 3})
    )

    field_order = (
        "key",
        "name",
        *TOOL_LENGTHS,
        "needs_reaming",
        "after_bend",
        *BOUGHT,
        "note",
    )

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        least, most = data.get("tube_od_least_mm"), data.get("tube_od_most_mm")
        if least and most and most.mm < least.mm:
            self.add_error("tube_od_most_mm", "This is less than the smallest tube.")
        shallow, deep = data.get("shallowest_mm"), data.get("deepest_mm")
        if shallow and deep and deep.mm < shallow.mm:
            self.add_error("deepest_mm", "This lies nearer to the end than its nearest bead.")
        return data

    def values(self) -> dict[str, Any]:
        found = typed_in(self, *TOOL_LENGTHS)
        found["shallowest_mm"] = found["shallowest_mm"] or 0.0
        found["stop_offset_mm"] = found["stop_offset_mm"] or 0.0
        if found["tube_od_most_mm"] is None:
            found["tube_od_most_mm"] = found["tube_od_least_mm"]
        kept = ("name", "needs_reaming", "after_bend", "note")
        return {name: self.cleaned_data[name] for name in kept} | found | self.bought()


def bead_tool_boxes(tool: BeadTool, *, person: Any) -> dict[str, Any]:
    """What stands in the form of a bead tool that is there."""
    lengths = {
        name: boxed(getattr(tool, name), typed_of(tool, name), person=person)
        for name in TOOL_LENGTHS
    }
    kept = ("key", "name", "needs_reaming", "after_bend", "note")
    flat = {name: getattr(tool, name) for name in kept}
    return flat | lengths | bought_boxes(tool, person=person)


class BeadTestForm(GarageForm):
    """One test piece. Sizes are of the bead as made, height for each side."""

    key = KeyField()
    stock: "forms.ModelChoiceField[TubeStock]" = forms.ModelChoiceField(
        TubeStock.objects.none(),
        label="Tube",
        empty_label="Choose",
        error_messages={"required": "Choose the tube of the test piece"},
    )
    stop_mm = SizeField(
        label="Depth stop read",
        least_mm=-100,
        most_mm=300,
        zero=True,
        error_messages={"required": "Write what the depth stop read"},
    )
    centre_mm = SizeField(
        label="End to bead centre",
        most_mm=300,
        zero=False,
        help_text="On the finished piece.",
        error_messages={"required": "Measure from the end to the centre of the bead"},
    )
    height_mm = SizeField(
        label="Height",
        most_mm=10,
        zero=False,
        help_text="Diameter over the bead less the tube, halved.",
        error_messages={"required": "Measure how high the bead stands"},
    )
    width_mm = SizeField(
        label="Width",
        most_mm=40,
        zero=False,
        error_messages={"required": "Measure how wide the bead is"},
    )
    eaten_mm = SizeField(
        label="Length eaten",
        most_mm=40,
        zero=True,
        required=False,
        help_text="Length of the piece before, less after.",
    )
    note = forms.CharField(label="Note", max_length=200, required=False)

    def __init__(self, *args: Any, tool: BeadTool, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        field: Any = self.fields["stock"]
        field.queryset = TubeStock.objects.between(tool.tube_od_least_mm, tool.tube_od_most_mm)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        height, width = data.get("height_mm"), data.get("width_mm")
        if height and width and height.mm > width.mm / 2:
            self.add_error("height_mm", "A bead is at most half as high as it is wide.")
        return data

    def values(self) -> dict[str, Any]:
        found = typed_in(self, *TEST_LENGTHS)
        return {"stock": self.cleaned_data["stock"], "note": self.cleaned_data["note"], **found}
