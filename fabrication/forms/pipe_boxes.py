"""What stands in the boxes of a pipe: of a sheet, of a post shown again, of a list changed."""

from collections.abc import Callable
from dataclasses import fields
from typing import Any

from django.http import QueryDict

from fabrication.forms import angle_boxed, boxed
from fabrication.forms.pipe_ends import EndForm
from fabrication.forms.pipe_rows import LastForm, RowForm
from fabrication.forms.pipe_ways import AxesForm, CornerForm, MirrorForm
from fabrication.forms.pipes import HEAD, ROWS_MOST, HeadForm, row_count
from fabrication.models import PipeRevision, PipeSheet
from fabrication.pipe import inputs
from garage.models import Person

ROW_BOXES = tuple(RowForm.base_fields)
CORNER_BOXES = tuple(CornerForm.base_fields)
LETTERS = {"rows": ("r", ROW_BOXES), "corners": ("c", CORNER_BOXES)}

Boxes = dict[str, Any]


class NotTurned(Exception):
    """Why a list cannot be read from the other end as it stands."""


# ---- of a post ----------------------------------------------------------------------------


def boxes_typed(data: QueryDict) -> Boxes:
    """What stands in the boxes of a post, to be shown again without being checked."""
    return {
        "way": data.get("way", ""),
        "tab": data.get("tab", ""),
        "head": _boxes(data, HeadForm.base_fields),
        "last": _boxes(data, LastForm.base_fields),
        "axes": _boxes(data, AxesForm.base_fields),
        "mirror": _boxes(data, MirrorForm.base_fields),
        **{name: rows_typed(data, name) for name in LETTERS},
        **{end: _boxes(data, EndForm.base_fields, f"{end}-") for end in ("a", "b")},
    }


def data_of(boxes: Boxes) -> QueryDict:
    """Boxes as a browser would post them."""
    data = QueryDict(mutable=True)
    groups = [("", boxes.get(name, {})) for name in ("head", "last", "axes", "mirror")]
    groups += [(f"{end}-", boxes.get(end, {})) for end in ("a", "b")]
    for name, (letter, _) in LETTERS.items():
        rows = boxes.get(name, [])
        data[name] = str(len(rows))
        groups += [(f"{letter}{number}-", row) for number, row in enumerate(rows)]
    for prefix, group in groups:
        for name, value in group.items():
            if value not in (None, "", False):
                data[f"{prefix}{name}"] = "on" if value is True else str(value)
    for name in ("way", "tab"):
        data[name] = boxes.get(name, "")
    return data


def rows_typed(data: QueryDict, name: str) -> list[dict[str, str]]:
    """The rows of one way as they stand in a post."""
    letter, boxes = LETTERS[name]
    return [_boxes(data, boxes, f"{letter}{n}-") for n in range(row_count(data, name))]


def _boxes(data: QueryDict, names: Any, prefix: str = "") -> dict[str, str]:
    return {name: data.get(f"{prefix}{name}", "") for name in names}


def reordered(data: QueryDict) -> Boxes | None:
    """The boxes with a row more, a row out, or one moved, when a button asked for that."""
    asked = next((name for name in ("more", "out", "up", "down") if name in data), "")
    if not asked:
        return None
    found = boxes_typed(data)
    rows = found["corners" if found["way"] == inputs.CORNERS else "rows"]
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
    return found


def turned_round(data: QueryDict) -> Boxes:
    """The boxes with the same pipe read from its other end.

    Raises
    ------
    NotTurned
        When a twist was read by slope or height: such a reading holds from one end only.
    """
    found = boxes_typed(data)
    rows, last = [row for row in found["rows"] if any(row[n] for n in RowForm.TYPED)], found["last"]
    for number, row in enumerate(rows[1:], start=2):
        if (row["twist_how"] or inputs.TWIST) != inputs.TWIST:
            raise NotTurned(
                f"The twist of row {number} is read by {row['twist_how']}, which holds from this "
                "end only. Write the twist itself, then turn the list round."
            )
    legs = [*(_leg_of(row, "straight") for row in rows), _leg_of(last, "last")][::-1]
    twists = [rows[0]["twist"] if rows else "", *(row["twist"] for row in rows[:0:-1])]
    turned = [
        {**row, **_put("straight", leg), "twist": twist}
        for row, leg, twist in zip(rows[::-1], legs, twists, strict=False)
    ]
    found["rows"] = turned or [{}]
    from_end = inputs.END_A if last["from_end"] == inputs.END_B else inputs.END_B
    found["last"] = {**last, **_put("last", legs[-1]), "from_end": from_end}
    return found


def _leg_of(boxes: dict[str, str], name: str) -> dict[str, str]:
    """A straight's boxes seen from the other end: what it was measured from is what it was to."""
    again = "again" if name == "straight" else "last_again"
    return {
        "reading": boxes[name],
        "near": boxes.get(f"{name}_far", ""),
        "far": boxes[f"{name}_near"],
        "again": boxes[again],
        "again_near": boxes.get(f"{again}_far", ""),
        "again_far": boxes[f"{again}_near"],
    }


def _put(name: str, leg: dict[str, str]) -> dict[str, str]:
    again = "again" if name == "straight" else "last_again"
    return {
        name: leg["reading"],
        f"{name}_near": leg["near"],
        f"{name}_far": leg["far"],
        again: leg["again"],
        f"{again}_near": leg["again_near"],
        f"{again}_far": leg["again_far"],
    }


# ---- of a sheet ---------------------------------------------------------------------------


def boxes_of(sheet: PipeSheet, *, person: Person, revision: PipeRevision | None = None) -> Boxes:
    """What stands in the boxes of a sheet that is there, or of an earlier revision of it."""
    said = revision or sheet
    return {
        "head": {
            "key": sheet.key,
            "seen": sheet.version,
            **{name: _id(getattr(said, name)) for name in HEAD},
        },
        **boxes_of_typed(inputs.read(said.inputs), person=person),
    }


def boxes_of_typed(typed: inputs.Typed, *, person: Person) -> Boxes:
    """What stands in the boxes of what was typed."""

    def length(value: inputs.Length | None) -> str:
        return boxed(value.mm, value.typed, person=person) if value else ""

    def angle(deg: float) -> str:
        return angle_boxed(deg, person=person) if deg else ""

    found: Boxes = {"way": typed.way, "tab": typed.way}
    if typed.bends is not None:
        found["rows"] = [_row(row, length, angle) for row in typed.bends.rows] or [{}]
        found["last"] = _last(typed.bends, length)
    if typed.corners is not None:
        found["axes"] = dict(zip(AxesForm.base_fields, typed.corners.axes, strict=True))
        found["corners"] = [
            {name: length(getattr(point, name)) for name in CORNER_BOXES}
            for point in typed.corners.points
        ]
    if typed.mirror is not None:
        found["mirror"] = {"mirror": typed.mirror.sheet}
    return found | {"a": _end(typed.end_a, length), "b": _end(typed.end_b, length)}


def _row(
    row: inputs.ReadRow,
    length: Callable[[inputs.Length | None], str],
    angle: Callable[[float], str],
) -> dict[str, Any]:
    twist, bend, again = row.twist, row.bend, row.leg_again
    second = row.bend_again
    return {
        "straight": length(row.leg.reading),
        "straight_near": row.leg.near,
        "straight_far": row.leg.far,
        "twist": angle(twist.deg),
        "twist_how": twist.how,
        "side": twist.side,
        "height": length(twist.height),
        "gauge_at": twist.gauge_at,
        "falls": twist.falls,
        "across": length(twist.across),
        "bend": length(bend.gap) if bend.gap else angle(bend.deg),
        "bend_how": bend.how,
        "arm": length(bend.arm or (second.arm if second else None)),
        **(
            {
                "again": length(again.reading),
                "again_near": again.near,
                "again_far": again.far,
            }
            if again
            else {}
        ),
        **(
            {
                "bend_again": length(second.gap) if second.gap else angle(second.deg),
                "bend_again_how": second.how,
            }
            if second
            else {}
        ),
    }


def _last(bends: inputs.Bends, length: Callable[[inputs.Length | None], str]) -> dict[str, Any]:
    again = bends.last_again
    return {
        "last": length(bends.last.reading),
        "last_near": bends.last.near,
        "end_to_end": length(bends.across),
        "from_end": bends.from_end,
        **({"last_again": length(again.reading), "last_again_near": again.near} if again else {}),
    }


def _end(end: inputs.End, length: Callable[[inputs.Length | None], str]) -> dict[str, Any]:
    found: dict[str, Any] = {}
    for field in fields(end):
        value = getattr(end, field.name)
        is_length = value is None or isinstance(value, inputs.Length)
        found[field.name] = length(value) if is_length else value
    return found | {"slid_on": ", ".join(end.slid_on)}


def _id(value: Any) -> Any:
    """A choice box holds the row's number."""
    return getattr(value, "pk", value)
