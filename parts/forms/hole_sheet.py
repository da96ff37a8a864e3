"""The form of a hole and the rows of its stack, read and shown as one sheet."""

from collections.abc import Sequence
from dataclasses import asdict
from typing import Any

from django.core.exceptions import ValidationError
from django.http import QueryDict

from garage import units
from garage.models import Person
from parts import fasteners, threads
from parts.forms.fasteners import (
    GRADES,
    HEADS,
    MATERIALS,
    ROWS_BLANK,
    ROWS_MOST,
    HoleForm,
    StackRow,
)
from parts.models import Hole, Part, StackItem
from parts.stack_words import Written, measured_in


class HoleSheet:
    """The form of the hole and its rows, read and shown as one.

    ``data`` is a post to be checked; without it the sheet shows ``initial`` and ``rows``.
    """

    def __init__(
        self,
        data: QueryDict | None = None,
        *,
        part: Part,
        person: Person,
        initial: dict[str, Any] | None = None,
        rows: Sequence[dict[str, Any]] = (),
        blank: int = ROWS_BLANK,
    ) -> None:
        self.part, self.person = part, person
        self.form = HoleForm(data, part=part, person=person, initial=initial or {})
        if data is not None:
            self.rows = [self._row(number, data=data) for number in range(row_count(data))]
        else:
            shown = [*rows, *[{}] * blank][:ROWS_MOST]
            self.rows = [self._row(number, initial=row) for number, row in enumerate(shown)]

    def _row(self, number: int, **kwargs: Any) -> StackRow:
        if "initial" in kwargs:
            kwargs["initial"] = kwargs["initial"] | {"order": number + 1}
        return StackRow(prefix=f"row-{number}", person=self.person, **kwargs)

    @property
    def is_bound(self) -> bool:
        return self.form.is_bound

    @property
    def problems(self) -> list[tuple[str, str]]:
        return self.form.problems + [problem for row in self.rows for problem in row.problems]

    @property
    def is_blank(self) -> bool:
        """Whether no row holds anything: the page folds them away then."""
        return all(row.is_empty for row in self.rows)

    def is_valid(self) -> bool:
        rows = [row.is_valid() for row in self.rows]
        return self.form.is_valid() and all(rows)

    def stack(self) -> list[StackItem]:
        """The rows in the order of their places, then what the line says."""
        rows = [
            (row.cleaned_data["order"], number, row)
            for number, row in enumerate(self.rows)
            if not row.is_empty
        ]
        rows.sort(key=lambda line: (line[0] if line[0] is not None else line[1] + 1, line[1]))
        return [row.item() for _, _, row in rows] + [
            self._item(written) for written in self.form.written
        ]

    def _item(self, written: Written) -> StackItem:
        row = StackRow(asdict(written), person=self.person)
        if not row.is_valid():
            raise ValueError(f"{written} was read and is not right: {row.errors}")
        return row.item()

    def see(self, hole: Hole) -> None:
        """The form now answers to the hole as it stands; saving once more replaces it."""
        self.form.put("seen", fasteners.mark_of(hole))


def row_count(data: QueryDict) -> int:
    """How many rows a post carries."""
    return min(whole(data.get("rows", "")), ROWS_MOST)


def whole(text: str) -> int:
    """A small whole number as posted; 0 for anything else."""
    return int(text) if text.isascii() and text.isdigit() and len(text) < 4 else 0


def fresh_sheet(*, part: Part, person: Person) -> HoleSheet:
    """An empty sheet with the next free number."""
    return HoleSheet(part=part, person=person, initial={"number": fasteners.next_number(part)})


def sheet_of(hole: Hole, *, person: Person) -> HoleSheet:
    """A sheet that shows a hole, to be changed."""
    names = ("number", "count", "where", "torque_source", "note", "photo", "x", "y", "key")
    initial = {name: getattr(hole, name) for name in names}
    initial |= {"torque": hole.torque_typed, "seen": fasteners.mark_of(hole)}
    rows = rows_of(hole.stack.all(), person=person)
    return HoleSheet(part=hole.part, person=person, initial=initial, rows=rows, blank=2)


def rows_of(stack: Sequence[StackItem], *, person: Person) -> list[dict[str, Any]]:
    """Things as the rows of a sheet show them."""
    names = ("what", "thread", "property_class", "head", "material", "treatment")
    return [
        {name: getattr(item, name) for name in names} | {"length": _length_box(item, person)}
        for item in stack
    ]


def _length_box(item: StackItem, person: Person) -> str:
    """What stands in the box of a length: the typed text where this person's box reads it right."""
    if item.length_mm is None:
        return ""
    mark: units.Mark = person.decimal_mark
    try:
        read = units.parse_length(item.length_typed, default_unit=person.units, decimal_mark=mark)
    except units.BadLength:
        read = None  # typed under another decimal mark: the computed figure is shown instead
    if read and read.mm == item.length_mm:
        return item.length_typed
    system = measured_in(item.length_mm, item.length_typed, decimal_mark=mark)
    typed = item.length_typed or None
    return units.format_length(item.length_mm, unit=system, decimal_mark=mark, typed=typed)


def sheet_as_typed(
    data: QueryDict,
    *,
    part: Part,
    person: Person,
    add: Sequence[dict[str, Any]] = (),
    more: int = 0,
    quick: bool = True,
) -> HoleSheet:
    """The sheet as it was typed, unchecked: with the rows of ``add`` behind those that are
    filled, and ``more`` blank rows. ``quick`` keeps the line."""
    initial = {name: data.get(name) for name in HoleForm.base_fields if name in data}
    if not quick:
        initial["quick"] = ""
    names = [name for name in StackRow.base_fields if name != "order"]
    typed = [{name: data.get(f"row-{n}-{name}", "") for name in names} for n in _in_order(data)]
    filled = [row for row in typed if any(row[name] for name in names if name != "treatment")]
    blank = max(0, len(typed) - len(filled) - len(add)) + more
    return HoleSheet(part=part, person=person, initial=initial, rows=[*filled, *add], blank=blank)


def _in_order(data: QueryDict) -> list[int]:
    """The rows of a post by the place typed into each."""
    box = StackRow.base_fields["order"]

    def place(number: int) -> tuple[float, int]:
        try:
            found = box.clean(data.get(f"row-{number}-order", ""))
        except ValidationError:
            found = None
        return number + 1 if found is None else found, number

    return sorted(range(row_count(data)), key=place)


def offered() -> dict[str, Any]:
    """The lists behind the boxes of a row."""
    return {
        "thread_choices": threads.choices(),
        "classes": [*dict.fromkeys(row.name for row in threads.PROPERTY_CLASSES), *GRADES],
        "heads": HEADS,
        "materials": MATERIALS,
    }
