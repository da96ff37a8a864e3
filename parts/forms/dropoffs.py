from typing import Any

from django import forms
from django.db import models

from garage.forms import DayField, GarageForm, KeyField, MoneyField
from parts.models import DropOff, Finisher, Line, Mask, Process
from parts.models.dropoff import Strongest

WORKS = [("", "Nothing more"), *Process.choices]
STRENGTHS = [("", "Not said"), *Strongest.choices]
HOW = ("plug", "tape", "cap", "disc", "leave bare, no mask")


def text(label: str, longest: int, **kwargs: Any) -> forms.CharField:
    kwargs.setdefault("required", False)
    field = forms.CharField(label=label, max_length=longest, **kwargs)
    field.widget.attrs.setdefault("autocomplete", "off")
    return field


def number(label: str, highest: int, **kwargs: Any) -> forms.IntegerField:
    kwargs.setdefault("required", False)
    kwargs.setdefault("min_value", 1)
    widget = forms.NumberInput(attrs={"inputmode": "numeric", "size": 4})
    return forms.IntegerField(label=label, max_value=highest, widget=widget, **kwargs)


class SeenForm(GarageForm):
    """A form that remembers what its reader saw, so that a save can tell who changed what."""

    def __init__(self, *args: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        for field in self.fields.values():
            field.show_hidden_initial = True

    def changes(self) -> dict[str, tuple[Any, Any]]:
        """{field: (as it was seen, as it is wanted)} of what the reader changed."""
        return {
            name: (self._seen(name), self.cleaned_data[name])
            for name in self.changed_data
            if name in self.cleaned_data
        }

    def _seen(self, name: str) -> Any:
        bound = self[name]
        raw = bound.field.hidden_widget().value_from_datadict(
            self.data, self.files, bound.html_initial_name
        )
        try:
            return bound.field.clean(raw)
        except forms.ValidationError:
            return None

    def look_again(self, row: models.Model) -> None:
        """Takes ``row`` as seen: the next save puts what is typed in its place."""
        data: Any = self.data.copy()
        for name, field in self.fields.items():
            seen = getattr(row, name, None)
            data[self[name].html_initial_name] = "" if seen is None else field.prepare_value(seen)
        self.data = data


class StartForm(GarageForm):
    key = KeyField()
    finisher = forms.ModelChoiceField(
        label="Who does it?",
        queryset=Finisher.objects.in_use(),
        widget=forms.RadioSelect,
        empty_label=None,
        error_messages={"required": "Choose who does it"},
    )


class TermsForm(SeenForm):
    """What holds for every line that says nothing else."""

    colour = text("Colour", 60, help_text="Plain words: satin black.")
    colour_code = text("Colour code", 30)
    gloss = text("Gloss", 30)
    thickness_um = number("Thickness in µm", 5_000)
    grit = text("Grit", 60, help_text="Garnet, aluminium oxide, glass bead.")
    quoted = MoneyField(label="Quoted", required=False)
    remarks = text("Remarks for the finisher", 2_000, widget=forms.Textarea(attrs={"rows": 3}))

    @classmethod
    def of(cls, dropoff: DropOff, person: Any, data: Any = None) -> "TermsForm":
        names = cls.base_fields
        return cls(data, person=person, initial={name: getattr(dropoff, name) for name in names})


class WorkForm(SeenForm):
    """The work wanted as up to three steps in order."""

    work_1 = forms.ChoiceField(label="Work wanted, first", choices=WORKS, required=False)
    work_2 = forms.ChoiceField(label="then", choices=WORKS, required=False)
    work_3 = forms.ChoiceField(label="then", choices=WORKS, required=False)
    WORK = ("work_1", "work_2", "work_3")

    def work(self) -> str:
        """The codes in their order: "blast,powder"."""
        return ",".join(filter(None, (self.cleaned_data.get(name) for name in self.WORK)))

    def changes(self) -> dict[str, tuple[Any, Any]]:
        changes = super().changes()
        if {name for name in self.WORK if changes.pop(name, None)}:
            seen = ",".join(filter(None, (self._seen(name) for name in self.WORK)))
            changes["work"] = (seen, self.work())
        return changes

    @classmethod
    def initial_work(cls, work: str) -> dict[str, str]:
        codes = [code for code in work.split(",") if code]
        return dict(zip(cls.WORK, codes, strict=False))


class LineForm(WorkForm):
    count = number("How many", 9_999, required=True, error_messages={"required": "Say how many"})
    weight_g = number("Weight in grams", 1_000_000)
    strongest = forms.ChoiceField(label="Strongest bolt in it", choices=STRENGTHS, required=False)
    grit = text("Grit", 60)
    colour = text("Colour", 60)
    colour_code = text("Colour code", 30)
    gloss = text("Gloss", 30)
    thickness_um = number("Thickness in µm", 5_000)
    hang_by = text("Hang it by", 120, help_text="Where a hook leaves no mark that shows.")
    plug = text("Bores to plug", 120)
    tag_stays = forms.BooleanField(
        label="Metal tag stays on",
        required=False,
        widget=forms.CheckboxInput(attrs={"class": "tick"}),
    )
    remarks = text("Remarks", 300, widget=forms.Textarea(attrs={"rows": 2}))

    OTHER_THAN_SHEET = ("colour", "colour_code", "gloss", "thickness_um", "grit")

    @classmethod
    def of(cls, line: Line, person: Any, data: Any = None) -> "LineForm":
        names = [name for name in cls.base_fields if name not in cls.WORK]
        initial = {name: getattr(line, name) for name in names} | cls.initial_work(line.work)
        form = cls(data, person=person, initial=initial)
        if line.piece:
            del form.fields["weight_g"], form.fields["strongest"]
        return form

    @property
    def work_fields(self) -> list[Any]:
        return [self[name] for name in self.WORK]

    @property
    def finish_fields(self) -> list[Any]:
        return [self[name] for name in self.OTHER_THAN_SHEET]


class LotForm(GarageForm):
    key = KeyField()
    lot = text(
        "What is in it?", 120, required=True, error_messages={"required": "Say what is in the lot"}
    )
    count = number("How many", 9_999, required=True, error_messages={"required": "Count them"})
    weight_g = number(
        "Weight in grams", 1_000_000, help_text="Weigh the bag: it is counted by weight."
    )
    work_1 = forms.ChoiceField(label="Work wanted, first", choices=WORKS, required=False)
    work_2 = forms.ChoiceField(label="then", choices=WORKS, required=False)
    strongest = forms.ChoiceField(
        label="Strongest bolt in it",
        choices=STRENGTHS,
        required=False,
        help_text="Look on the heads. Acid and zinc baths make 10.9 and 12.9 brittle.",
    )
    remarks = text("Remarks", 300)

    def fields_of_line(self) -> dict[str, Any]:
        data = self.cleaned_data
        work = ",".join(filter(None, (data["work_1"], data["work_2"])))
        return {
            name: data[name] for name in ("lot", "count", "weight_g", "strongest", "remarks")
        } | {"work": work}


class TagForm(GarageForm):
    tag = text(
        "By its tag",
        8,
        required=True,
        error_messages={"required": "Write the tag"},
        widget=forms.TextInput(attrs={"size": 8, "autocapitalize": "characters"}),
    )


class MaskForm(GarageForm):
    what = forms.ChoiceField(
        label="Keep bare", choices=[("", "Nothing"), *Mask.What.choices], required=False
    )
    count = number("How many", 999, initial=1)
    thread = text("Thread or size", 24)
    how = text("How", 60)
    how.widget.attrs["list"] = "how"

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not data.get("what") and (data.get("thread") or data.get("how")):
            self.add_error("what", "Say what is to be kept bare")
        if data.get("what") and not data.get("count") and "count" not in self.errors:
            self.add_error("count", "Say how many")
        return data


class MaskForms(forms.formset_factory(MaskForm, extra=3, max_num=40)):  # type: ignore[misc]
    """The places of one line to keep bare, and three blank rows; a row of "Nothing" is dropped."""

    @classmethod
    def of(cls, line: Line, data: Any = None) -> "MaskForms":
        rows = [
            {"what": mask.what, "count": mask.count, "thread": mask.thread, "how": mask.how}
            for mask in line.masks.all()
        ]
        return cls(data, initial=rows, prefix="masks")

    def masks(self) -> list[dict[str, Any]]:
        names = ("what", "count", "thread", "how")
        return [
            {name: form.cleaned_data[name] for name in names}
            for form in self.forms
            if form.cleaned_data.get("what")
        ]


class HandOverForm(GarageForm):
    hand_over_on = DayField(label="Hand over on", error_messages={"required": "Give the day"})
    due_on = DayField(label="Due back", required=False)

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        out, due = data.get("hand_over_on"), data.get("due_on")
        if out and due and due < out:
            self.add_error("due_on", "It cannot be due before it goes")
        return data


class ReasonForm(GarageForm):
    because = text("Why?", 300)
