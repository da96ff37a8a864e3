"""The entry of a pipe: its head, the three ways in and the two ends, read and shown as one."""

from typing import Any

from django import forms
from django.forms import BoundField
from django.http import QueryDict

from fabrication.forms.pipe_ends import EndForm
from fabrication.forms.pipe_rows import LastForm, RowForm
from fabrication.forms.pipe_ways import AxesForm, CornerForm, MirrorForm
from fabrication.models import BeadTool, Duty, Former, PipeSheet, TubeStock
from fabrication.pipe import inputs
from garage.forms import GarageForm, KeyField
from garage.models import Person

ROWS_MOST = 24
FIRST = {"r": 3, "c": 4}
"""How many empty rows a new sheet shows, by what the boxes' names begin with."""

HEAD = ("title", "duty", "former", "stock", "bead_tool")
TO_SAVE_ONLY = ("key", "seen", "title", "duty")
"""What has to be right in the head to save a pipe, and need not be to work it out."""


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
    bead_tool = forms.ModelChoiceField(
        BeadTool.objects.all(),
        label="Bead tool",
        empty_label="The one that suits best",
        required=False,
    )


class PipeEntry:
    """All forms of a pipe.

    ``data`` is a post to be checked; without it the entry shows ``boxes``. ``way`` is the one that
    counts, ``tab`` the one that is shown; the boxes of the others travel with the page unseen.
    """

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        person: Person,
        boxes: dict[str, Any] | None = None,
        sheet: PipeSheet | None = None,
    ) -> None:
        self.person, self.is_bound, self.data = person, data is not None, data
        self.boxes = boxes or {}
        self.way = _one_of(self._said("way"))
        self.tab = _one_of(self._said("tab"), self.way)
        self.head = HeadForm(data, person=person, initial=self.boxes.get("head", {}))
        self.rows = self._numbered(RowForm, "r", "rows")
        self.last = LastForm(
            data,
            person=person,
            initial=self.boxes.get("last", {}),
            is_wanted=self.way == inputs.BENDS,
        )
        self.corners = self._numbered(CornerForm, "c", "corners")
        self.axes = AxesForm(data, person=person, initial=self.boxes.get("axes", {}))
        self.mirror = MirrorForm(
            data,
            person=person,
            sheet=sheet,
            is_wanted=self.way == inputs.MIRROR,
            initial=self.boxes.get("mirror", {}),
        )
        duty = str(self.head["duty"].value() or "")
        self.ends = [
            EndForm(data, prefix=name, person=person, duty=duty, initial=self.boxes.get(name, {}))
            for name in ("a", "b")
        ]

    def _said(self, name: str) -> str:
        return str(self.data.get(name, "") if self.data is not None else self.boxes.get(name, ""))

    def _numbered(self, form: type[GarageForm], letter: str, name: str) -> list[Any]:
        """The rows of one way, as posted or as they stand in the boxes."""
        if self.data is not None:
            count = row_count(self.data, name)
            return [
                form(self.data, prefix=f"{letter}{n}", person=self.person) for n in range(count)
            ]
        rows = self.boxes.get(name) or [{}] * FIRST[letter]
        return [
            form(prefix=f"{letter}{n}", person=self.person, initial=row)
            for n, row in enumerate(rows)
        ]

    @property
    def by_way(self) -> dict[str, list[GarageForm]]:
        """The forms of each way."""
        return {
            inputs.BENDS: [*self.rows, self.last],
            inputs.CORNERS: [self.axes, *self.corners],
            inputs.MIRROR: [self.mirror],
        }

    @property
    def forms(self) -> list[GarageForm]:
        """What has to be right: the head, the ends, and every way in which something stands."""
        told = [form for way in self.by_way if self.is_told(way) for form in self.by_way[way]]
        return [self.head, *told, *self.ends]

    def is_told(self, way: str) -> bool:
        """Whether something stands in the boxes of a way; in the one that counts it must."""
        return way == self.way or not self.is_blank(way)

    def is_blank(self, way: str) -> bool:
        if way == inputs.MIRROR:
            return not self.mirror["mirror"].value()
        rows = self.rows if way == inputs.BENDS else self.corners
        blank = all(row.is_empty for row in rows)
        return blank and (way == inputs.CORNERS or self.last.is_empty)

    @property
    def has_kept(self) -> bool:
        """Whether something of its own was typed earlier on the tab that is shown."""
        return not self.is_blank(self.tab)

    @property
    def unseen(self) -> list[BoundField]:
        """Boxes of the ways that are not on the page, to travel along."""
        others = [way for way in self.by_way if way not in self.seen]
        return [box for way in others for form in self.by_way[way] for box in form]

    @property
    def seen(self) -> tuple[str, ...]:
        """Whose boxes stand on the page: the chooser of a mirror stands on its own tab always."""
        own = self.tab in (self.way, inputs.MIRROR)
        return (self.tab,) if own else ()

    @property
    def problems(self) -> list[tuple[str, str]]:
        """Each thing to put right with the id of its box, and its row where it has one."""
        places = {id(form): f"Row {number}: " for number, form in enumerate(self.rows, start=1)}
        places |= {id(one): f"Point {n}: " for n, one in enumerate(self.corners, start=1)}
        places |= {id(end): f"End {name}: " for end, name in zip(self.ends, "AB", strict=True)}
        return [
            (box, f"{places.get(id(form), '')}{says}")
            for form in self.forms
            for box, says in form.problems
        ]

    def is_valid(self) -> bool:
        checked = [form.is_valid() for form in self.forms]
        return all(checked)

    def is_readable(self) -> bool:
        """Whether former, tube, rows and ends can be read: it can be worked out then."""
        return self.is_valid() or (self.is_bound and not self.waits)

    @property
    def waits(self) -> list[tuple[str, str]]:
        """Of the problems those that keep the pipe from being worked out."""
        boxes = {self.head[name].id_for_label for name in TO_SAVE_ONLY}
        return [(box, says) for box, says in self.problems if box not in boxes]

    @property
    def not_chosen(self) -> list[str]:
        """Former and tube, as long as they are not chosen."""
        names = {"former": "a former", "stock": "a tube"}
        return [words for name, words in names.items() if not self.head[name].value()]

    @property
    def is_of_sheet(self) -> bool:
        """Whether the boxes are those of a sheet that was saved before."""
        return bool(self.head["seen"].value())

    @property
    def has_no_duty(self) -> bool:
        return not self.head["duty"].value()

    # ---- rows and their numbers ---------------------------------------------------------------

    @property
    def shown_rows(self) -> list[Any]:
        """The rows of the way that counts."""
        return self.corners if self.way == inputs.CORNERS else self.rows

    @property
    def numbered(self) -> list[tuple[int, Any]]:
        """Each row with the number it has on the page; an empty one has the next."""
        return list(enumerate(self.shown_rows, start=1))

    def page_row(self, row: int) -> int:
        """Where on the page the results' row stands; empty rows between are not counted there."""
        if self.way == inputs.MIRROR:
            return row
        filled = [number for number, form in self.numbered if not form.is_empty]
        return filled[row - 1] if 0 < row <= len(filled) else len(self.shown_rows) + 1

    # ---- what was typed -----------------------------------------------------------------------

    def typed(self) -> inputs.Typed:
        """The pipe as typed. Only after ``is_readable``."""
        return inputs.Typed(
            way=self.way,
            bends=self._bends() if self.is_told(inputs.BENDS) else None,
            corners=self._corners() if self.is_told(inputs.CORNERS) else None,
            mirror=self._mirror() if self.is_told(inputs.MIRROR) else None,
            end_a=self.ends[0].end(),
            end_b=self.ends[1].end(),
        )

    def _bends(self) -> inputs.Bends | None:
        if self.last.cleaned_data.get("last") is None:
            return None
        return self.last.bends(tuple(row.row() for row in self.rows if not row.is_empty))

    def _corners(self) -> inputs.Corners:
        points = tuple(row.corner() for row in self.corners if not row.is_empty)
        return inputs.Corners(points, self.axes.axes)

    def _mirror(self) -> inputs.Mirror:
        return inputs.Mirror(self.mirror.cleaned_data["mirror"].pk)

    @property
    def other(self) -> PipeSheet | None:
        """The sheet that this one mirrors. Only after ``is_readable``."""
        if self.way != inputs.MIRROR:
            return None
        sheet: PipeSheet | None = self.mirror.cleaned_data["mirror"]
        return sheet

    def head_values(self) -> dict[str, Any]:
        return {name: self.head.cleaned_data[name] for name in HEAD}


def row_count(data: QueryDict, name: str) -> int:
    text = data.get(name, "")
    return min(int(text), ROWS_MOST) if text.isascii() and text.isdigit() and len(text) < 4 else 0


def _one_of(text: str, otherwise: str = inputs.BENDS) -> str:
    return text if text in dict(inputs.WAYS) else otherwise
