"""All forms of a bracket read and shown as one; its rows moved; its boxes filled."""

from typing import Any

from django.http import QueryDict

from fabrication.bracket import bracket_inputs as inputs
from fabrication.bracket.bracket_inputs import BracketInputs, Length, read_bracket
from fabrication.forms import angle_boxed, boxed
from fabrication.forms.brackets import (
    FIRST,
    LISTS,
    MOST,
    PREFIX,
    BracketHeadForm,
    EndsForm,
    RowForm,
    count_of,
    row_boxes,
)
from fabrication.forms.clips import ClipForm, LoadForm
from fabrication.models import BracketSheet
from garage.forms import GarageForm
from garage.models import Person

Boxes = dict[str, Any]


class BracketEntry:
    """``data`` is a post to be checked; without it the entry shows ``boxes``."""

    def __init__(
        self, data: QueryDict | None = None, *, person: Person, boxes: Boxes | None = None
    ) -> None:
        self.person, self.is_bound = person, data is not None
        boxes = boxes or {}
        self.head = BracketHeadForm(data, person=person, initial=boxes.get("head", {}))
        kind = str(self.head["form"].value() or inputs.STRIP)
        self.is_clip = kind in dict(inputs.FORMS) and kind != inputs.STRIP
        self.ends = EndsForm(data, prefix="e", person=person, initial=boxes.get("ends", {}))
        self.clip = ClipForm(data, prefix="c", person=person, initial=boxes.get("clip", {}))
        self.load = LoadForm(data, prefix="l", person=person, initial=boxes.get("load", {}))
        self.lists = {kind: self._rows(kind, data, boxes) for kind in LISTS}

    def _rows(self, kind: str, data: QueryDict | None, boxes: Boxes) -> list[RowForm]:
        make, prefix = LISTS[kind], PREFIX[kind]
        if data is not None:
            count = count_of(data, kind)
            return [make(data, prefix=f"{prefix}{n}", person=self.person) for n in range(count)]
        rows = boxes.get(f"{kind}_rows", [{}] * FIRST[kind])
        return [
            make(prefix=f"{prefix}{n}", person=self.person, initial=row)
            for n, row in enumerate(rows)
        ]

    @property
    def forms(self) -> list[GarageForm]:
        """Those that count: a clip has no flanges of its own, a bracket no clip."""
        if self.is_clip:
            return [self.head, self.clip, self.ends, self.load]
        rows = [row for kind in LISTS for row in self.lists[kind]]
        return [self.head, *rows, self.ends, self.load]

    @property
    def problems(self) -> list[tuple[str, str]]:
        return [problem for form in self.forms for problem in form.problems]

    def is_valid(self) -> bool:
        checked = [form.is_valid() for form in self.forms]
        return all(checked) and self._flanges_are_whole()

    def _flanges_are_whole(self) -> bool:
        """A bracket has a flange, the first a width, and a bend after each but the last."""
        if self.is_clip:
            return True
        filled = self._filled("flange")
        if not filled:
            self._wants(self.lists["flange"], "length", "Write the length of the first flange")
            return False
        wanted = [] if self._filled("point") else [(filled[0], "width", "Write how wide it is")]
        wanted += [(row, "bend", "Write how far it bends after this flange") for row in filled[:-1]]
        for row, name, says in wanted:
            if row.cleaned_data.get(name) is None:
                self._wants([row], name, says)
        return all(not row.errors for row in filled)

    def _wants(self, rows: list[RowForm], name: str, says: str) -> None:
        if rows and name not in rows[0].errors:
            rows[0].add_error(name, says)
        elif not rows:
            self.head.add_error(None, says)

    def _filled(self, kind: str) -> list[Any]:
        return [row for row in self.lists[kind] if not row.is_empty]

    def page_row(self, kind: str, number: int) -> int:
        """Where on the page a row of the results stands; empty rows are not counted there."""
        filled = [n for n, row in enumerate(self.lists[kind], start=1) if not row.is_empty]
        return filled[number - 1] if 0 < number <= len(filled) else 0

    def typed(self) -> BracketInputs:
        """The bracket as typed. Only after ``is_valid``."""
        head = self.head.cleaned_data
        common: dict[str, Any] = {
            "form": head["form"],
            "convention": head["convention"] or "outside",
            "k_from": head["k_from"] or inputs.DIN,
            "k_ratio": head["k_ratio"],
            "radius": self._length(head["radius"]),
            "tool": head["tool"],
            "across": not head["along_grain"],
            "flush": head["flush"],
            "order": head["order"],
            "left": self.ends.end("left"),
            "right": self.ends.end("right"),
            "load": self.load.load(),
        }
        if self.is_clip:
            return BracketInputs(**common, clip=self.clip.clip())
        return BracketInputs(
            **common,
            last_width=self.ends.maybe("last_width"),
            rows=tuple(self._flanges()),
            holes=tuple(row.hole() for row in self._filled("hole")),
            notches=tuple(row.notch() for row in self._filled("notch")),
            points=tuple(row.point() for row in self._filled("point")),
        )

    def _length(self, found: Any) -> Length | None:
        return Length(found.mm, found.typed) if found else None

    def _flanges(self) -> list[inputs.FlangeRow]:
        rows = self._filled("flange")
        return [
            inputs.FlangeRow(
                length=row.told("length"),
                width=row.maybe("width"),
                # The last flange has no bend after it: what stands there waits for the next.
                bend_deg=row.cleaned_data["bend"] if row is not rows[-1] else None,
                way=row.cleaned_data["way"] or "up",
                radius=row.maybe("radius") if row is not rows[-1] else None,
            )
            for row in rows
        ]

    def head_values(self) -> dict[str, Any]:
        return {name: self.head.cleaned_data[name] for name in ("title", "stock", "pipe", "strip")}


# ---- rows moved without JavaScript --------------------------------------------------------


def reordered(data: QueryDict) -> QueryDict | None:
    """The post with a row more, a row out, or one moved, when a button asked for that."""
    asked = next((name for name in ("more", "out", "up", "down") if name in data), "")
    if not asked:
        return None
    kind, _, number = data.get(asked, "").partition("-")
    if kind not in LISTS:
        return data.copy()
    rows = [
        {name: data.get(f"{PREFIX[kind]}{n}-{name}", "") for name in row_boxes(kind)}
        for n in range(count_of(data, kind))
    ]
    at = int(number) - 1 if number.isascii() and number.isdigit() and len(number) < 4 else -1
    if asked == "more" and len(rows) < MOST[kind]:
        rows.append({})
    elif asked == "out" and 0 <= at < len(rows):
        rows.pop(at)
    elif asked == "up" and 0 < at < len(rows):
        rows.insert(at - 1, rows.pop(at))
    elif asked == "down" and 0 <= at < len(rows) - 1:
        rows.insert(at + 1, rows.pop(at))
    changed = data.copy()
    changed[f"{kind}_rows"] = str(len(rows))
    for n, row in enumerate(rows):
        for name in row_boxes(kind):
            changed[f"{PREFIX[kind]}{n}-{name}"] = row.get(name, "")
    return changed


def boxes_typed(data: QueryDict) -> Boxes:
    """What stands in the boxes of a post, to be shown again without being checked."""

    def of(form: type[GarageForm], prefix: str) -> dict[str, str]:
        start = f"{prefix}-" if prefix else ""
        return {name: data.get(f"{start}{name}", "") for name in form.base_fields}

    return {
        "head": of(BracketHeadForm, ""),
        "ends": of(EndsForm, "e"),
        "clip": of(ClipForm, "c"),
        "load": of(LoadForm, "l"),
        **{
            f"{kind}_rows": [
                of(LISTS[kind], f"{PREFIX[kind]}{n}") for n in range(count_of(data, kind))
            ]
            for kind in LISTS
        },
    }


# ---- a sheet that is there ----------------------------------------------------------------


def boxes_of(sheet: BracketSheet, *, person: Person) -> Boxes:
    """What stands in the boxes of a sheet that is there."""
    bracket = read_bracket(sheet.inputs)

    def length(value: Length | None) -> str:
        return boxed(value.mm, value.typed, person=person) if value else ""

    def number(value: float | None) -> str:
        return "" if value is None else angle_boxed(value, person=person)

    return {
        "head": _head_boxes(sheet, bracket, length(bracket.radius), number(bracket.k_ratio)),
        "ends": {
            "last_width": length(bracket.last_width),
            "left_form": bracket.left.form,
            "left_radius": length(bracket.left.radius),
            "right_form": bracket.right.form,
            "right_radius": length(bracket.right.radius),
        },
        "clip": _clip_boxes(bracket.clip, length),
        "load": {
            "place": bracket.load.place,
            "mass_kg": number(bracket.load.mass_kg),
            "arm": length(bracket.load.arm),
            "g_factor": number(bracket.load.g_factor),
            "edge": length(bracket.load.edge),
            "pull_n": number(bracket.load.pull_n),
        },
        **_row_boxes(bracket, length, number),
    }


def _head_boxes(
    sheet: BracketSheet, bracket: BracketInputs, radius: str, k_ratio: str
) -> dict[str, Any]:
    return {
        "key": sheet.key,
        "seen": sheet.version,
        "title": sheet.title,
        "form": bracket.form,
        "stock": sheet.stock_id,
        "pipe": sheet.pipe_id,
        "strip": sheet.strip_id,
        "convention": bracket.convention,
        "k_from": bracket.k_from,
        "k_ratio": k_ratio,
        "radius": radius,
        "tool": bracket.tool,
        "along_grain": not bracket.across,
        "flush": bracket.flush,
        "order": " ".join(map(str, bracket.order)),
    }


def _clip_boxes(clip: inputs.ClipRow, length: Any) -> dict[str, str]:
    names = ("od", "liner", "ear", "ear_radius", "width", "nip", "hole", "hole_from_upright")
    return {
        "liner_lies": "all_round" if clip.liner_all_round else "in_strap",
        **{name: length(getattr(clip, name)) for name in names},
    }


def _row_boxes(bracket: BracketInputs, length: Any, number: Any) -> Boxes:
    return {
        "flange_rows": [
            {
                "length": length(row.length),
                "width": length(row.width),
                "bend": number(row.bend_deg),
                "way": row.way,
                "radius": length(row.radius),
            }
            for row in bracket.rows
        ],
        "hole_rows": [
            {
                "flange": row.flange,
                "diameter": length(row.diameter),
                "along": length(row.along),
                "end": "right" if row.from_end else "left",
                "across": length(row.across),
                "slot": length(row.slot),
                "slot_way": "across" if row.slot_across else "along",
                "count": row.count if row.count > 1 else "",
                "pitch": length(row.pitch),
            }
            for row in bracket.holes
        ],
        "notch_rows": [
            {
                "flange": row.flange,
                "along": length(row.along),
                "end": "right" if row.from_end else "left",
                "width": length(row.width),
                "depth": length(row.depth),
                "edge": "left" if row.on_left else "right",
            }
            for row in bracket.notches
        ],
        "point_rows": [
            {"x": length(row.x), "y": length(row.y), "radius": length(row.radius)}
            for row in bracket.points
        ],
    }
