"""What a person typed for a pipe, and the document it is kept in.

A pipe is told in one of three ways: straights, twists and bends as measured; corner points in the
car's axes; the mirror image of another sheet. Each way keeps its own input; ``way`` says which of
them counts. A document carries the number of its schema, and every schema ever written has a
reader here. Lengths stand in millimetres beside the text as typed; angles in degrees.
"""

import types
from collections.abc import Callable
from dataclasses import asdict, dataclass, fields, is_dataclass
from functools import cache
from typing import Any, Union, get_args, get_origin, get_type_hints

SCHEMA = 2

BENDS, CORNERS, MIRROR = "bends", "corners", "mirror"
WAYS = ((BENDS, "As measured"), (CORNERS, "Corner points"), (MIRROR, "Mirror of a sheet"))

PLAIN, BEAD, HOSE, FLARE, SOLDER, GLUE = "plain", "bead", "hose", "flare", "solder", "glue"
END_FORMS = (
    (PLAIN, "Plain"),
    (BEAD, "Bead for a hose"),
    (HOSE, "Hose on plain tube"),
    (FLARE, "Flare"),
    (SOLDER, "Soft solder"),
    (GLUE, "Glue"),
)

TANGENT = "tangent"
EDGES = (
    (TANGENT, "where the bend starts"),
    ("centre", "centre line of the other leg"),
    ("heel", "heel, outer edges produced"),
    ("throat", "throat, inner edges produced"),
    ("back", "back, square on the far leg"),
)
TURN, GAUGE, INCLUDED, MARKS, PRODUCED = "turn", "gauge", "included", "marks", "produced"
BEND_READINGS = (
    (TURN, "how far it turns from straight"),
    (GAUGE, "angle gauge, zeroed on the leg before"),
    (INCLUDED, "bevel gauge, angle between the legs"),
    (MARKS, "gap between two marks, one up each leg"),
    (PRODUCED, "gap from the leg before, run on straight"),
)
GAPS = (MARKS, PRODUCED)
TWIST, SLOPE, HEIGHTS = "twist", "slope", "heights"
TWIST_READINGS = (
    (TWIST, "the twist itself"),
    (SLOPE, "slope of the next straight, by gauge"),
    (HEIGHTS, "a height and the distance across"),
)
SAME_SIDE, OTHER_SIDE = "same_side", "other_side"
SIDES = (
    (SAME_SIDE, "same side as the straight before (C)"),
    (OTHER_SIDE, "the other side (S)"),
)
TOP, UNDER = "top", "under"
GAUGE_AT = ((TOP, "on top of the tube"), (UNDER, "under the tube"))
DIRECTIONS = ("forward", "rear", "left", "right", "up", "down")
END_A, END_B = "a", "b"


class UnknownSchema(ValueError):
    """A document of a schema that this version does not know."""


@dataclass(frozen=True, slots=True)
class Length:
    mm: float
    typed: str = ""


# ---- the three ways, as typed ---------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Leg:
    """A length along a straight, and what it was measured from and to.

    At an end of the pipe the edge says nothing: it is the end.
    """

    reading: Length
    near: str = TANGENT
    far: str = TANGENT


@dataclass(frozen=True, slots=True)
class BendRead:
    """A bend as read: degrees, or a gap between marks ``arm`` up the legs (100 mm if empty)."""

    how: str = TURN
    deg: float = 0.0
    gap: Length | None = None
    arm: Length | None = None


@dataclass(frozen=True, slots=True)
class TwistRead:
    """A twist as read. ``falls``: the next straight goes down while the bend before turns left."""

    how: str = TWIST
    deg: float = 0.0
    side: str = SAME_SIDE
    height: Length | None = None
    gauge_at: str = TOP
    falls: bool = False
    across: Length | None = None


@dataclass(frozen=True, slots=True)
class ReadRow:
    """One bend: go straight, twist, bend; and what of it was measured a second time.

    The first row's twist is kept and not used. ``radius`` stands only where a pipe told by corner
    points is kept row by row: a page has no box for it, for rows are bent on the former.
    """

    leg: Leg
    twist: TwistRead
    bend: BendRead
    leg_again: Leg | None = None
    bend_again: BendRead | None = None
    radius: Length | None = None


@dataclass(frozen=True, slots=True)
class Bends:
    """A pipe as measured, row by row from one of its ends; ``across`` from end to end checks it."""

    rows: tuple[ReadRow, ...]
    last: Leg
    last_again: Leg | None = None
    across: Length | None = None
    from_end: str = END_A


@dataclass(frozen=True, slots=True)
class Corner:
    """One point: an end, or where two neighbouring centre lines meet. Radius if not the former's"""

    x: Length
    y: Length
    z: Length
    radius: Length | None = None


@dataclass(frozen=True, slots=True)
class Corners:
    """End A, the corner points, end B; ``axes`` says where x, y and z point on the car."""

    points: tuple[Corner, ...]
    axes: tuple[str, ...] = ("forward", "left", "up")


@dataclass(frozen=True, slots=True)
class Mirror:
    """The partner of another sheet on the other side of the car."""

    sheet: int
    plane: str = "left_right"


@dataclass(frozen=True, slots=True)
class End:
    """How an end is finished, and what is cut off it after. A size left out is our figure.

    ``slid_on`` goes on before the end is formed, in this order. A ``lost`` end is guessed for
    ``guessed`` of its length, for the whole of its straight where that is left out.
    """

    form: str = PLAIN
    trim: Length | None = None
    bead_height: Length | None = None
    bead_width: Length | None = None
    bead_centre: Length | None = None
    clip_width: Length | None = None
    slid_on: tuple[str, ...] = ()
    slid_on_length: Length | None = None
    lost: bool = False
    guessed: Length | None = None

    @property
    def words(self) -> str:
        return dict(END_FORMS)[self.form]


@dataclass(frozen=True, slots=True)
class Typed:
    """All that was typed for a pipe. ``fabrication.pipe.ways`` makes the pipe of it."""

    way: str = BENDS
    bends: Bends | None = None
    corners: Corners | None = None
    mirror: Mirror | None = None
    end_a: End = End()
    end_b: End = End()


# ---- the pipe that follows ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Row:
    """One bend of the pipe from end A; the former's radius where it says none."""

    straight: Length
    twist_deg: float
    bend_deg: float
    radius_mm: float | None = None


@dataclass(frozen=True, slots=True)
class Misfit:
    """How far a second reading is from the first, at a row as typed: first less second."""

    row: int
    what: str
    mm: float | None = None
    deg: float | None = None
    is_large: bool = False

    @property
    def mm_off(self) -> float | None:
        return None if self.mm is None else abs(self.mm)

    @property
    def deg_off(self) -> float | None:
        return None if self.deg is None else abs(self.deg)


@dataclass(frozen=True, slots=True)
class Noted:
    """A doubt about what was typed, at its row as typed; 0 is the whole pipe."""

    row: int
    text: str
    stops: bool = False


@dataclass(frozen=True, slots=True)
class PipeInputs:
    """A pipe from end A to end B, whichever way it was told.

    ``bend_rows`` and ``straight_rows`` are the rows as typed of each bend and each straight;
    empty, they stand as they are.
    """

    rows: tuple[Row, ...]
    last: Length
    end_a: End = End()
    end_b: End = End()
    noted: tuple[Noted, ...] = ()
    misfits: tuple[Misfit, ...] = ()
    bend_rows: tuple[int, ...] = ()
    straight_rows: tuple[int, ...] = ()


def as_typed(pipe: PipeInputs) -> Typed:
    """The pipe as somebody would have typed it: straights, twists and bends from end A."""
    return Typed(bends=as_bends(pipe), end_a=pipe.end_a, end_b=pipe.end_b)


def as_bends(pipe: PipeInputs) -> Bends:
    """The rows of a pipe as somebody would have typed them from end A."""
    rows = tuple(
        ReadRow(
            Leg(row.straight),
            TwistRead(deg=row.twist_deg),
            BendRead(deg=row.bend_deg),
            radius=Length(row.radius_mm) if row.radius_mm else None,
        )
        for row in pipe.rows
    )
    return Bends(rows, Leg(pipe.last))


# ---- the document -----------------------------------------------------------------------------


def document_of(pipe: Typed | PipeInputs) -> dict[str, Any]:
    """The document to keep, as JSON would give it back."""
    typed = pipe if isinstance(pipe, Typed) else as_typed(pipe)
    return {"schema": SCHEMA, **_plain(asdict(typed))}


def read(document: dict[str, Any]) -> Typed:
    """What was typed, of a kept document.

    Raises
    ------
    UnknownSchema
        When a newer version wrote it.
    """
    reader = READERS.get(document.get("schema", 0))
    if reader is None:
        raise UnknownSchema("A newer Splitpin wrote this sheet. Start that one to read it.")
    return reader(document)


def _plain(value: Any) -> Any:
    """Tuples as lists, as they come back from the database: two documents can be compared."""
    if isinstance(value, dict):
        return {name: _plain(one) for name, one in value.items()}
    return [_plain(one) for one in value] if isinstance(value, list | tuple) else value


def _read_1(document: dict[str, Any]) -> Typed:
    """Rows of straight, twist and bend from end A, and the two ends."""
    rows = tuple(
        Row(Length(**row["straight"]), row["twist_deg"], row["bend_deg"])
        for row in document["rows"]
    )
    ends = [_built(End, document[name]) for name in ("end_a", "end_b")]
    return as_typed(PipeInputs(rows, Length(**document["last"]), *ends))


def _read_2(document: dict[str, Any]) -> Typed:
    typed: Typed = _built(Typed, {name: document[name] for name in document if name != "schema"})
    return typed


def _built(wanted: Any, value: Any) -> Any:
    """The value as the dataclass, tuple or plain value that a field wants."""
    if get_origin(wanted) in (Union, types.UnionType):
        inner = next(one for one in get_args(wanted) if one is not type(None))
        return None if value is None else _built(inner, value)
    if get_origin(wanted) is tuple:
        return tuple(_built(get_args(wanted)[0], one) for one in value)
    if is_dataclass(wanted):
        hints = _hints(wanted)
        found = {name: _built(hints[name], one) for name, one in value.items()}
        return wanted(**found)  # type: ignore[operator]
    return value


@cache
def _hints(wanted: Any) -> dict[str, Any]:
    hints = get_type_hints(wanted)
    return {field.name: hints[field.name] for field in fields(wanted)}


READERS: dict[int, Callable[[dict[str, Any]], Typed]] = {1: _read_1, 2: _read_2}
