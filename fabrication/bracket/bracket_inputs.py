"""What a person typed for a bracket, and the document it is kept in.

A document carries the number of its schema, and every schema ever written has a reader here.
Lengths stand in millimetres beside the text as typed; angles in degrees; flanges count from one.
"""

from collections.abc import Callable
from dataclasses import asdict, dataclass, field
from typing import Any

from fabrication.pipe.inputs import Length, UnknownSchema

SCHEMA = 1

STRIP, HALF, SADDLE, CLIP = "strip", "half", "saddle", "clip"
FORMS = (
    (STRIP, "Bracket of flanges"),
    (SADDLE, "Saddle clip, two ears"),
    (CLIP, "P-clip, ears together"),
    (HALF, "Half saddle, one ear"),
)
CONVENTIONS = (
    ("outside", "Over the outside, to the corner"),
    ("inside", "Inside, to the corner"),
    ("tangent", "The straight alone"),
    ("din", "DIN 6935: outside, past a right angle to the bend"),
)
DIN, TYPED, MEASURED = "din", "typed", "strip"
K_FROM = (
    (DIN, "DIN 6935, by radius and thickness"),
    (MEASURED, "A test strip of this sheet"),
    (TYPED, "A K-factor of my own"),
)
VICE, FOLDER = "vice", "folder"
WAYS = (("up", "up"), ("down", "down"))
ENDS = (("square", "Square"), ("corners", "Rounded corners"), ("round", "Round"))
PLACES = (
    ("", "Not worked out"),
    ("chassis", "On the body or chassis"),
    ("rough", "By a wheel, or rough roads"),
    ("engine", "On the engine"),
)


@dataclass(frozen=True, slots=True)
class FlangeRow:
    """One flange, and the bend after it; no width is as wide as before, no radius the usual one."""

    length: Length
    width: Length | None = None
    bend_deg: float | None = None
    way: str = "up"
    radius: Length | None = None


@dataclass(frozen=True, slots=True)
class HoleRow:
    """A hole or slot on a flange, and how many more stand beside it along the strip."""

    flange: int
    along: Length
    diameter: Length
    from_end: bool = False
    across: Length | None = None
    slot: Length | None = None
    slot_across: bool = False
    count: int = 1
    pitch: Length | None = None


@dataclass(frozen=True, slots=True)
class NotchRow:
    flange: int
    along: Length
    width: Length
    depth: Length
    from_end: bool = False
    on_left: bool = True


@dataclass(frozen=True, slots=True)
class PointRow:
    """A corner of a traced outline, from the left end and the middle line."""

    x: Length
    y: Length
    radius: Length | None = None


@dataclass(frozen=True, slots=True)
class EndRow:
    form: str = "square"
    radius: Length | None = None


@dataclass(frozen=True, slots=True)
class ClipRow:
    """What a clip goes round: no OD is that of its pipe sheet."""

    od: Length | None = None
    liner: Length | None = None
    liner_all_round: bool = True
    ear: Length | None = None
    ear_radius: Length | None = None
    width: Length | None = None
    nip: Length | None = None
    hole: Length | None = None
    hole_from_upright: Length | None = None


@dataclass(frozen=True, slots=True)
class LoadRow:
    """What it has to bear; nothing is worked out without a place and a mass."""

    place: str = ""
    mass_kg: float | None = None
    g_factor: float | None = None
    arm: Length | None = None
    edge: Length | None = None
    pull_n: float | None = None


@dataclass(frozen=True, slots=True)
class BracketInputs:
    """A bracket as typed, from its left end."""

    form: str = STRIP
    convention: str = "outside"
    k_from: str = DIN
    k_ratio: float | None = None
    radius: Length | None = None
    tool: str = ""
    across: bool = True
    flush: bool = False
    rows: tuple[FlangeRow, ...] = ()
    last_width: Length | None = None
    left: EndRow = EndRow()
    right: EndRow = EndRow()
    holes: tuple[HoleRow, ...] = ()
    notches: tuple[NotchRow, ...] = ()
    points: tuple[PointRow, ...] = ()
    order: tuple[int, ...] = ()
    clip: ClipRow = field(default_factory=ClipRow)
    load: LoadRow = field(default_factory=LoadRow)

    @property
    def is_clip(self) -> bool:
        return self.form != STRIP


def document_of(bracket: BracketInputs) -> dict[str, Any]:
    """The document to keep: lists for tuples, as JSON gives them back."""
    document = asdict(bracket)
    for name in ("rows", "holes", "notches", "points", "order"):
        document[name] = list(document[name])
    return {"schema": SCHEMA, **document}


def read_bracket(document: dict[str, Any]) -> BracketInputs:
    """The bracket of a kept document.

    Raises
    ------
    UnknownSchema
        When a newer version wrote it.
    """
    reader = READERS.get(document.get("schema", 0))
    if reader is None:
        raise UnknownSchema("A newer Splitpin wrote this sheet. Start that one to read it.")
    return reader(document)


ROWS: dict[str, type] = {
    "rows": FlangeRow,
    "holes": HoleRow,
    "notches": NotchRow,
    "points": PointRow,
}
RECORDS: dict[str, type] = {"left": EndRow, "right": EndRow, "clip": ClipRow, "load": LoadRow}


def _read_1(document: dict[str, Any]) -> BracketInputs:
    found: dict[str, Any] = {}
    for name, value in document.items():
        if name in ROWS:
            found[name] = tuple(ROWS[name](**_lengths(row)) for row in value)
        elif name in RECORDS:
            found[name] = RECORDS[name](**_lengths(value))
        elif name == "order":
            found[name] = tuple(value)
        elif name != "schema":
            found[name] = value
    return BracketInputs(**_lengths(found))


def _lengths(record: dict[str, Any]) -> dict[str, Any]:
    """The same with every kept length a ``Length`` again."""
    return {
        name: Length(**value) if isinstance(value, dict) else value
        for name, value in record.items()
    }


READERS: dict[int, Callable[[dict[str, Any]], BracketInputs]] = {1: _read_1}
