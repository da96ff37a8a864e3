from typing import Any

from django import forms

from garage.forms import GarageForm, GarageModelForm, KeyField, MoneyField
from garage.models import Car
from parts.edits import Change
from parts.forms.takeoff import PlaceField
from parts.models import Condition, Material, Moment, Part, Piece, Purpose, Question
from parts.statuses import Move
from parts.tags import spoken


class TagField(forms.CharField):
    """A part named by its tag; cleans to the ``Part`` of this car, or None when left empty."""

    def __init__(self, **kwargs: Any) -> None:
        kwargs.setdefault("required", False)
        super().__init__(max_length=8, **kwargs)
        self.car: Car | None = None
        self.widget.attrs |= {"autocomplete": "off", "autocapitalize": "characters", "size": 6}

    def prepare_value(self, value: Any) -> Any:
        if isinstance(value, int):
            part = Part.objects.filter(pk=value).first()
            return part.tag if part else ""
        return value.tag if isinstance(value, Part) else value

    def clean(self, value: Any) -> Part | None:
        text = spoken(super().clean(value) or "")
        if not text:
            return None
        part = Part.objects.kept().filter(car=self.car, tag=text).first()
        if part is None:
            raise forms.ValidationError(f"No part of this car has the tag {text}")
        return part


class PartForm(GarageForm):
    """What a part is. It sends along what was seen, so a save names only what it changes."""

    PART_FIELDS = (
        "name",
        "system",
        "position",
        "side",
        "makers_number",
        "assembly",
        "found_earlier",
        "notes",
    )
    PIECE_FIELDS = (
        "quantity",
        "material",
        "condition",
        "condition_note",
        "still_attached",
        "origin",
    )

    version = forms.IntegerField(widget=forms.HiddenInput)
    name = forms.CharField(
        label="What is it?", max_length=80, error_messages={"required": "Give the part a name"}
    )
    system: forms.ModelChoiceField = forms.ModelChoiceField(
        label="System", queryset=None, empty_label=None
    )
    position = forms.CharField(label="Where it sat", max_length=120, required=False)
    side = forms.ChoiceField(label="Side", choices=Part.Side.choices, required=False)
    assembly = TagField(label="Belongs to assembly", help_text="The tag of the assembly: K7M.")
    makers_number = forms.CharField(label="Maker's number", max_length=60, required=False)
    quantity = forms.IntegerField(label="How many alike", min_value=1, max_value=999)
    material = forms.ChoiceField(
        label="Material",
        choices=[("", "Not said"), *Material.choices],
        required=False,
    )
    condition = forms.ChoiceField(
        label="Condition",
        choices=[("", "Not said"), *Condition.choices],
        required=False,
    )
    condition_note = forms.CharField(label="What is wrong with it", max_length=300, required=False)
    still_attached = forms.CharField(
        label="What is still on it",
        max_length=300,
        required=False,
        help_text="Rubber bush, stud, bearing, sound deadening: a finisher must know.",
    )
    found_earlier = forms.CharField(
        label="Earlier repairs found",
        max_length=2_000,
        required=False,
        widget=forms.Textarea(attrs={"rows": 2}),
    )
    origin = forms.CharField(
        label="Where this piece came from",
        max_length=120,
        required=False,
        help_text="Off the car, breaker, maker, made here.",
    )
    notes = forms.CharField(
        label="Notes", max_length=10_000, required=False, widget=forms.Textarea(attrs={"rows": 4})
    )

    def __init__(self, *args: Any, piece: Piece, **kwargs: Any) -> None:
        self.piece, self.part = piece, piece.part
        initial = {name: self._stored(name) for name in (*self.PART_FIELDS, *self.PIECE_FIELDS)}
        super().__init__(*args, initial=initial | {"version": self.part.version}, **kwargs)
        self.fields["system"].queryset = self.part.car.systems.all()
        self.fields["assembly"].car = self.part.car
        for name in (*self.PART_FIELDS, *self.PIECE_FIELDS):
            self.fields[name].show_hidden_initial = True

    def clean_assembly(self) -> Part | None:
        assembly = self.cleaned_data["assembly"]
        above = assembly
        while above is not None:
            if above.pk == self.part.pk:
                raise forms.ValidationError("A part cannot belong to itself.")
            above = above.assembly
        return assembly

    def changes(self) -> list[Change]:
        """What the person changed, field by field, with what they had before them."""
        named = (name for name in self.changed_data if name != "version")
        return [
            Change(
                name=name,
                label=str(self.fields[name].label),
                base=self._seen(name),
                mine=self.cleaned_data[name],
            )
            for name in named
        ]

    def _seen(self, name: str) -> Any:
        seen = self.data.get(self.add_initial_prefix(name), "")
        if name == "assembly":
            # In the bin by now it is still what the person saw, so it is looked for there too.
            return Part.objects.of(self.part.car).tagged(seen)
        return seen

    def _stored(self, name: str) -> Any:
        owner = self.part if name in self.PART_FIELDS else self.piece
        return getattr(owner, owner._meta.get_field(name).attname)


class MoveForm(GarageForm):
    """One move of a piece out of its page."""

    OFFERED = (
        Move.PUT_ON_BENCH,
        Move.SHELVE,
        Move.LOSE,
        Move.FIND,
        Move.KEEP_AS_PATTERN,
        Move.RELEASE,
        Move.SCRAP,
        Move.SELL,
        Move.GET_BACK,
    )

    move = forms.ChoiceField(choices=[(move.value, move.value.capitalize()) for move in OFFERED])
    place = PlaceField()
    note = forms.CharField(label="Why", max_length=300, required=False)


class PieceForm(GarageForm):
    key = KeyField()
    purpose = forms.ChoiceField(label="What for", choices=Purpose.choices, widget=forms.RadioSelect)
    origin = forms.CharField(
        label="Where it came from",
        max_length=120,
        required=False,
        help_text="Made here from new tube; bought; off another car.",
    )
    quantity = forms.IntegerField(label="How many", min_value=1, max_value=999, initial=1)
    place = PlaceField()
    cost = MoneyField(label="Cost", required=False)


class QuestionForm(GarageModelForm):
    key = KeyField()

    class Meta:
        model = Question
        fields = ("question", "asked_of")


class AnswerForm(GarageForm):
    """The answer to one doubt about a part; ``settled`` says that the doubt is over."""

    question_pk: forms.ModelChoiceField = forms.ModelChoiceField(
        queryset=None, error_messages={"invalid_choice": "That doubt is not there any more."}
    )
    answer = forms.CharField(label="Answer", max_length=2_000, required=False)
    settled = forms.BooleanField(required=False)

    def __init__(self, *args: Any, part: Part, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["question_pk"].queryset = part.questions.all()

    def clean(self) -> dict[str, Any]:
        data = super().clean() or self.cleaned_data
        if not data.get("answer") and not data.get("settled") and not self.errors:
            self.add_error("answer", "Write down the answer, or that the doubt is settled.")
        return data


class JoinForm(GarageForm):
    into = TagField(label="Joined into", help_text="The tag it travels with: K7M.")
    joined_how = forms.CharField(
        label="How",
        max_length=120,
        required=False,
        help_text="Bonded, bolted, pressed in, clipped.",
    )


class PhotoForm(GarageForm):
    moment = forms.ChoiceField(label="Moment", choices=Moment.choices, widget=forms.RadioSelect)
    caption = forms.CharField(label="What it shows", max_length=120, required=False)
