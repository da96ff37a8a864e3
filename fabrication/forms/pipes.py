"""The entry of a pipe: its head, a row a bend, the last straight and the two ends, as one."""

from typing import Any

from django import forms
from django.http import QueryDict

from fabrication import duties, inputs
from fabrication.forms import AngleField, SizeField, angle_boxed, boxed
from fabrication.models import Duty, Former, PipeSheet, TubeStock
from garage.forms import GarageForm, KeyField
from garage.models import Person

ROWS_MOST, ROWS_FIRST = 24, 3
LONGEST_MM = 20_000.0


class HeadForm(GarageForm):
    key = KeyField()
    seen = forms.IntegerField(widget=forms.HiddenInput, required=False, min_value=0)
    title = forms.CharField(
        label="What the pipe is",
        max_length=80,
        error_messages={"required": "Say what the pipe is"},
    )
    duty = forms.ChoiceField(
        label="What runs in it",
        choices=[("", "Choose"), *Duty.choices],
        error_messages={"required": "Say what runs in it"},
    )
    former = forms.ModelChoiceField(
        Former.objects.all(),
        label="Former",
        empty_label="Choose",
        error_messages={"required": "Choose a former"},
    )
    stock = forms.ModelChoiceField(
        TubeStock.objects.all(),
        label="Tube",
        empty_label="Choose",
        error_messages={"required": "Choose a tube"},
    )


class RowForm(GarageForm):
    """One bend. A row with nothing in it does not count."""

    straight = SizeField(label="Straight", most_mm=LONGEST_MM, zero=True, required=False)
    twist = AngleField(label="Twist", required=False)
    bend = AngleField(label="Bend", required=False)

    @property
    def is_empty(self) -> bool:
        if self.is_bound:
            return not any(self[name].value() for name in self.fields)
        return not any(self.initial.get(name) for name in self.fields)

    def clean_bend(self) -> float | None:
        bend: float | None = self.cleaned_data["bend"]
        if bend is not None and not 0 < bend < 360:
            raise forms.ValidationError("A bend lies between 0 and 360 degrees.")
        return bend

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
        for name, says in wanted.items():
            if name not in self.errors and data.get(name) is None:
                self.add_error(name, says)
        return data

    def row(self) -> inputs.Row:
        straight = self.cleaned_data["straight"]
        return inputs.Row(
            straight=inputs.Length(straight.mm, straight.typed),
            twist_deg=self.cleaned_data["twist"] or 0.0,
            bend_deg=self.cleaned_data["bend"],
        )


class LastForm(GarageForm):
    last = SizeField(
        label="Last straight",
        most_mm=LONGEST_MM,
        zero=True,
        error_messages={"required": "Write the straight up to end B"},
    )


class EndForm(GarageForm):
    """How one end is finished. What is left empty is our figure, or nothing to cut off."""

    form = forms.ChoiceField(label="Finished as", choices=inputs.END_FORMS, required=False)
    trim = SizeField(label="To cut off after", most_mm=1_000, zero=True, required=False)
    bead_height = SizeField(label="Bead height", most_mm=10, zero=False, required=False)
    bead_width = SizeField(label="Bead width", most_mm=40, zero=False, required=False)
    bead_centre = SizeField(
        label="Bead centre, from the end", most_mm=200, zero=False, required=False
    )

    def __init__(self, *args: Any, duty: str = "", **kwargs: Any) -> None:
        super().__init__(*args, **kwargs)
        self.duty = duty

    def clean_form(self) -> str:
        form = self.cleaned_data["form"] or inputs.PLAIN
        if refused := duties.refusal(self.duty, form):
            raise forms.ValidationError(refused)
        return str(form)

    @property
    def has_sizes(self) -> bool:
        """Whether a bead's size stands here: the page unfolds them then."""
        return any(self[name].value() for name in ("bead_height", "bead_width", "bead_centre"))

    def end(self) -> inputs.End:
        found = {
            name: inputs.Length(length.mm, length.typed)
            for name, length in self.cleaned_data.items()
            if name != "form" and length is not None
        }
        return inputs.End(form=self.cleaned_data["form"], **found)


class PipeEntry:
    """All forms of a pipe, read and shown as one.

    ``data`` is a post to be checked; without it the entry shows ``boxes``.
    """

    def __init__(
        self, data: QueryDict | None = None, *, person: Person, boxes: dict[str, Any] | None = None
    ) -> None:
        self.person, self.is_bound = person, data is not None
        boxes = boxes or {}
        self.head = HeadForm(data, person=person, initial=boxes.get("head", {}))
        self.last = LastForm(data, person=person, initial=boxes.get("last", {}))
        duty = str(self.head["duty"].value() or "")
        self.ends = [
            EndForm(data, prefix=name, person=person, duty=duty, initial=boxes.get(name, {}))
            for name in ("a", "b")
        ]
        if data is not None:
            count = row_count(data)
            self.rows = [RowForm(data, prefix=f"r{n}", person=person) for n in range(count)]
        else:
            rows = boxes.get("rows", [{}] * ROWS_FIRST)
            self.rows = [
                RowForm(prefix=f"r{n}", person=person, initial=row) for n, row in enumerate(rows)
            ]

    @property
    def forms(self) -> list[GarageForm]:
        return [self.head, *self.rows, self.last, *self.ends]

    @property
    def problems(self) -> list[tuple[str, str]]:
        return [problem for form in self.forms for problem in form.problems]

    def is_valid(self) -> bool:
        checked = [form.is_valid() for form in self.forms]
        return all(checked)

    @property
    def numbered(self) -> list[tuple[int, RowForm]]:
        """Each row with the number it has on the page; an empty one has the next."""
        return list(enumerate(self.rows, start=1))

    @property
    def last_number(self) -> int:
        """The number of the row of the last straight, as the results count it."""
        return sum(not row.is_empty for row in self.rows) + 1

    def page_row(self, row: int) -> int:
        """Where on the page the results' row stands; empty rows between are not counted there."""
        filled = [number for number, form in self.numbered if not form.is_empty]
        return filled[row - 1] if 0 < row <= len(filled) else len(self.rows) + 1

    def inputs(self) -> inputs.PipeInputs:
        """The pipe as typed. Only after ``is_valid``."""
        last = self.last.cleaned_data["last"]
        return inputs.PipeInputs(
            rows=tuple(row.row() for row in self.rows if not row.is_empty),
            last=inputs.Length(last.mm, last.typed),
            end_a=self.ends[0].end(),
            end_b=self.ends[1].end(),
        )

    def head_values(self) -> dict[str, Any]:
        return {name: self.head.cleaned_data[name] for name in ("title", "duty", "former", "stock")}


def row_count(data: QueryDict) -> int:
    text = data.get("rows", "")
    return min(int(text), ROWS_MOST) if text.isascii() and text.isdigit() and len(text) < 4 else 0


ROW_BOXES = ("straight", "twist", "bend")


def reordered(data: QueryDict) -> QueryDict | None:
    """The post with a row more, a row out, or one moved, when a button asked for that."""
    rows = [
        {name: data.get(f"r{n}-{name}", "") for name in ROW_BOXES} for n in range(row_count(data))
    ]
    asked = next((name for name in ("more", "out", "up", "down") if name in data), "")
    text = data.get(asked, "")
    at = int(text) - 1 if text.isascii() and text.isdigit() and len(text) < 4 else -1
    if asked == "more" and len(rows) < ROWS_MOST:
        rows.append({})
    elif asked == "out" and 0 <= at < len(rows):
        rows.pop(at)
    elif asked == "up" and 0 < at < len(rows):
        rows.insert(at - 1, rows.pop(at))
    elif asked == "down" and 0 <= at < len(rows) - 1:
        rows.insert(at + 1, rows.pop(at))
    elif not asked:
        return None
    return _with_rows(data, rows)


def boxes_typed(data: QueryDict) -> dict[str, Any]:
    """What stands in the boxes of a post, to be shown again without being checked."""
    heads = ("key", "seen", "title", "duty", "former", "stock")
    ends = ("form", "trim", "bead_height", "bead_width", "bead_centre")
    return {
        "head": {name: data.get(name, "") for name in heads},
        "rows": [
            {name: data.get(f"r{n}-{name}", "") for name in ROW_BOXES}
            for n in range(row_count(data))
        ],
        "last": {"last": data.get("last", "")},
        **{end: {name: data.get(f"{end}-{name}", "") for name in ends} for end in ("a", "b")},
    }


def _with_rows(data: QueryDict, rows: list[dict[str, str]]) -> QueryDict:
    changed = data.copy()
    for name in [name for name in changed if name[:1] == "r" and name[1:2].isdigit()]:
        del changed[name]
    changed["rows"] = str(len(rows))
    for number, row in enumerate(rows):
        for name in ROW_BOXES:
            changed[f"r{number}-{name}"] = row.get(name, "")
    return changed


def boxes_of(sheet: PipeSheet, *, person: Person) -> dict[str, Any]:
    """What stands in the boxes of a sheet that is there."""
    pipe = inputs.read(sheet.inputs)

    def length(value: inputs.Length | None) -> str:
        return boxed(value.mm, value.typed, person=person) if value else ""

    return {
        "head": {
            "key": sheet.key,
            "seen": sheet.version,
            "title": sheet.title,
            "duty": sheet.duty,
            "former": sheet.former_id,
            "stock": sheet.stock_id,
        },
        "rows": [
            {
                "straight": length(row.straight),
                "twist": angle_boxed(row.twist_deg, person=person) if row.twist_deg else "",
                "bend": angle_boxed(row.bend_deg, person=person),
            }
            for row in pipe.rows
        ],
        "last": {"last": length(pipe.last)},
        **{
            name: {
                "form": end.form,
                "trim": length(end.trim),
                "bead_height": length(end.bead_height),
                "bead_width": length(end.bead_width),
                "bead_centre": length(end.bead_centre),
            }
            for name, end in (("a", pipe.end_a), ("b", pipe.end_b))
        },
    }
