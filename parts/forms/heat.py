"""What is on a piece: the questions about it, its joints, and why it is sent anyway."""

from collections.abc import Iterable
from typing import Any

from django import forms

from garage import units
from garage.forms import GarageForm, KeyField, LengthField, Measured
from parts.gate import questions
from parts.gate.questions import Question
from parts.models import Adhesive, Alloy, Answer, Joint, Limit, Piece
from parts.questions import Said

# Marks and questions that a measured size goes with: field, label, help, most. [mm]
THICKNESS = ("thin", "Thinnest sheet", "As measured; leave it empty if you did not.", 25.0)
PLAY = (
    "bores",
    "Least play of a close fit",
    "Hole less pin, across. Leave it empty if unknown.",
    5.0,
)


class SmallLengthField(LengthField):
    """A length above nothing and up to a limit."""

    def __init__(self, *, most_mm: float, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.most_mm = most_mm
        self.widget.attrs |= {"inputmode": "decimal", "size": 8}

    def read(self, text: str) -> units.Length:
        length = super().read(text)
        if not 0 < length.mm <= self.most_mm:
            raise units.BadFigure(f"Write a length above 0 and up to {self.most_mm:g} mm.")
        return length


class QuestionsForm(GarageForm):
    """Yes, no or don't know to each question, and ticks beside them.

    The boxes are made for one piece and the work wanted: ``asked`` are the questions shown.
    """

    def __init__(
        self, *args: Any, piece: Piece, asked: Iterable[Question], works: Iterable[str], **kw: Any
    ) -> None:
        super().__init__(*args, **kw)
        self.piece, self.asked = piece, tuple(asked)
        self.marks = questions.marks({piece.material}, works)
        self.known = {answer.question: answer for answer in piece.answers.all()}
        for question in self.asked:
            self._add_question(question)
        if self.marks:
            self._add_marks()

    def _add_question(self, question: Question) -> None:
        known = self.known.get(question.code)
        self.fields[question.code] = forms.ChoiceField(
            label=question.text,
            help_text=question.help,
            choices=Answer.Says.choices,
            widget=forms.RadioSelect,
            initial=known.says if known else None,
            error_messages={"required": "Say yes, no or don't know"},
        )
        if question.code == "left_on":
            self.fields["things"] = forms.ModelMultipleChoiceField(
                label="Which?",
                queryset=Limit.objects.filter(thrown_out_at=None),
                widget=forms.CheckboxSelectMultiple,
                required=False,
                initial=[thing.pk for thing in known.things.all()] if known else None,
                help_text="Without a tick the one that stands least is taken.",
            )
        if question.code == PLAY[0]:
            self.fields["play"] = self._size(PLAY, known)

    def _add_marks(self) -> None:
        told = [code for code, answer in self.known.items() if answer.says == Answer.Says.YES]
        self.fields["marks"] = forms.MultipleChoiceField(
            label="Tick what is true of it",
            help_text="Leave what you do not know: nothing is said about it then.",
            choices=[(mark.code, mark.text) for mark in self.marks],
            widget=forms.CheckboxSelectMultiple,
            required=False,
            initial=told,
        )
        if any(mark.code == THICKNESS[0] for mark in self.marks):
            self.fields["thickness"] = self._size(THICKNESS, self.known.get(THICKNESS[0]))

    def _size(self, size: tuple[str, str, str, float], known: Answer | None) -> SmallLengthField:
        _, label, help_text, most_mm = size
        field = SmallLengthField(
            label=label,
            help_text=help_text,
            most_mm=most_mm,
            required=False,
            initial=self._typed(known),
        )
        field.person = self.person
        return field

    def _typed(self, known: Answer | None) -> str:
        if known is None or known.size_mm is None:
            return ""
        return units.format_length(
            known.size_mm,
            unit=self.person.units,
            decimal_mark=self.person.decimal_mark,
            typed=known.size_typed,
        )

    @property
    def groups(self) -> list[tuple[Any, list[Any]]]:
        """Each question with the boxes that go with its yes."""
        more = {"left_on": "things", PLAY[0]: "play"}
        return [
            (self[one.code], [self[more[one.code]]] if one.code in more else [])
            for one in self.asked
        ]

    @property
    def marks_box(self) -> Any:
        return self["marks"]

    @property
    def thickness_box(self) -> Any:
        return self["thickness"] if "thickness" in self.fields else None

    def said(self) -> list[Said]:
        """The answers, as the verb takes them. A tick that was taken back is a no."""
        data = self.cleaned_data
        found = []
        for question in self.asked:
            says = data[question.code]
            more: dict[str, Any] = {}
            if question.code == "left_on" and says == Answer.Says.YES:
                more["things"] = tuple(data["things"])
            if question.code == PLAY[0] and says == Answer.Says.YES:
                more = _sized(data["play"])
            found.append(Said(question=question.code, says=says, **more))
        return found + self._marks_said()

    def _marks_said(self) -> list[Said]:
        ticked = set(self.cleaned_data.get("marks", ()))
        thickness = self.cleaned_data.get("thickness")
        if thickness:
            ticked.add(THICKNESS[0])
        found = []
        for mark in self.marks:
            if mark.code in ticked:
                more = _sized(thickness) if mark.code == THICKNESS[0] else {}
                found.append(Said(question=mark.code, says=Answer.Says.YES, **more))
            elif mark.code in self.known:
                found.append(Said(question=mark.code, says=Answer.Says.NO))
        return found


def _sized(length: units.Length | None) -> dict[str, Any]:
    return {"size_mm": length.mm, "size_typed": length.typed} if length else {}


class SameForForm(GarageForm):
    """The other pieces of the same metal for which the same answers hold."""

    same = forms.ModelMultipleChoiceField(
        label="The same holds for",
        queryset=Piece.objects.none(),
        widget=forms.CheckboxSelectMultiple,
        required=False,
    )

    def __init__(self, *args: Any, others: Any, **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.fields["same"].queryset = others  # type: ignore[attr-defined]


class JointForm(GarageForm):
    key = KeyField()
    how = forms.ChoiceField(
        label="How is it joined?",
        choices=Joint.How.choices,
        widget=forms.RadioSelect,
        error_messages={"required": "Say how it is joined"},
    )
    alloy = forms.ModelChoiceField(
        label="Solder or braze",
        queryset=Alloy.objects.filter(thrown_out_at=None),
        required=False,
        empty_label="Don't know",
        help_text="Of solder nobody knows, the one that melts first is taken.",
    )
    adhesive = forms.ModelChoiceField(
        label="Glue",
        queryset=Adhesive.objects.filter(thrown_out_at=None),
        required=False,
        empty_label="Don't know",
    )
    note = forms.CharField(
        label="What is joined, where",
        max_length=200,
        required=False,
        help_text="Bracket to the lower pipe, left of the elbow.",
    )


class AnywayForm(GarageForm):
    reason = forms.CharField(
        label="Send anyway, because",
        max_length=300,
        min_length=8,
        widget=forms.Textarea(attrs={"rows": 2}),
        help_text="It is printed on the sheet and kept in the part's history.",
        error_messages={
            "required": "Write why it is sent anyway",
            "min_length": "Write why, in a few words",
        },
    )


class TemperatureField(Measured):
    """A temperature a material stands or melts at: cleans to degrees Celsius, or None."""

    MOST_C = 2_000.0

    def __init__(self, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.widget.attrs |= {"size": 8}

    def read(self, text: str) -> float:
        unit = None if self.person and self.person.region == "en_US" else "C"
        temp_c = units.parse_temperature(text, decimal_mark=self.mark, default_unit=unit)
        if not -60 <= temp_c <= self.MOST_C:
            raise units.BadFigure(f"Write a temperature from -60 to {self.MOST_C:g} °C.")
        return temp_c

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, float):
            return value
        return units.format_temperature(value, decimal_mark=self.mark)


class FigureField(Measured):
    """A plain figure above nothing and up to a limit."""

    def __init__(self, *, most: float, **kwargs: Any) -> None:
        super().__init__(**kwargs)
        self.most = most
        self.widget.attrs |= {"inputmode": "decimal", "size": 8}

    def read(self, text: str) -> float:
        number = units.parse_number(text, decimal_mark=self.mark)
        if not 0 < number <= self.most:
            raise units.BadFigure(f"Write a figure above 0 and up to {self.most:g}.")
        return number

    def prepare_value(self, value: Any) -> Any:
        if not isinstance(value, float):
            return value
        return units.format_number(value, decimal_mark=self.mark)
