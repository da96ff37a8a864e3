"""The boxes of an end of a pipe: what it is finished as, what goes on first, what is guessed."""

from typing import Any

from django import forms

from fabrication.forms import LONGEST_MM, SizeField, kept
from fabrication.pipe import duties, inputs
from garage.forms import GarageForm


class EndForm(GarageForm):
    """How one end is finished. What is left empty is our figure, or nothing to cut off."""

    form = forms.ChoiceField(label="Finished as", choices=inputs.END_FORMS, required=False)
    trim = SizeField(label="To cut off after", most_mm=1_000, zero=True, required=False)
    bead_height = SizeField(label="Bead height", most_mm=10, zero=False, required=False)
    bead_width = SizeField(label="Bead width", most_mm=40, zero=False, required=False)
    bead_centre = SizeField(
        label="Bead centre, from the end", most_mm=200, zero=False, required=False
    )
    clip_width = SizeField(label="Width of the hose clip", most_mm=60, zero=False, required=False)
    slid_on = forms.CharField(
        label="Slid on first",
        max_length=120,
        required=False,
        help_text="Nut, sleeve, closed clip, in their order, with commas between",
    )
    slid_on_length = SizeField(
        label="How long that is together", most_mm=500, zero=False, required=False
    )
    lost = forms.BooleanField(label="The old end is gone, its length a guess", required=False)
    guessed = SizeField(
        label="Guessed length",
        most_mm=LONGEST_MM,
        zero=False,
        required=False,
        help_text="Empty: the whole of its straight",
    )

    SIZES = ("bead_height", "bead_width", "bead_centre", "clip_width")
    LOOSE = ("slid_on", "slid_on_length")
    GONE = ("lost", "guessed")

    def __init__(self, *args: Any, duty: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.duty = duty

    def clean_form(self) -> str:
        form = self.cleaned_data["form"] or inputs.PLAIN
        if refused := duties.refusal(self.duty, form):
            raise forms.ValidationError(refused)
        return str(form)

    def clean_slid_on(self) -> tuple[str, ...]:
        parts = (part.strip() for part in self.cleaned_data["slid_on"].split(","))
        return tuple(part for part in parts if part)

    @property
    def has_sizes(self) -> bool:
        """Whether a size of bead or clip stands here: the page unfolds them then."""
        return any(self[name].value() for name in self.SIZES)

    @property
    def has_loose(self) -> bool:
        return any(self[name].value() for name in self.LOOSE)

    @property
    def is_gone(self) -> bool:
        return any(self[name].value() for name in self.GONE)

    def end(self) -> inputs.End:
        data = self.cleaned_data
        lengths = ("trim", *self.SIZES, "slid_on_length", "guessed")
        found = {name: kept(data[name]) for name in lengths if data[name] is not None}
        return inputs.End(form=data["form"], slid_on=data["slid_on"], lost=data["lost"], **found)
