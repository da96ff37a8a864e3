"""A made pipe as somebody measured it, and the document it is kept in.

Like ``fabrication.pipe.inputs``: lengths in millimetres beside the text as typed, a schema number,
and a reader for every schema ever written. Bends count from one, as on the sheet.
"""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

from fabrication.pipe.inputs import Length, UnknownSchema

SCHEMA = 1
ANGLES, ROWS, CORNERS = "angles", "rows", "corners"
WAYS = (
    (ANGLES, "Bends only"),
    (ROWS, "Straights, twists and bends"),
    (CORNERS, "Corner points"),
)
WILL_DO = Length(2.0)
"""Our figure: how far a corner or an end may lie off before something is done about it."""


@dataclass(frozen=True, slots=True)
class Row:
    """One bend as measured: straight before it, twist, bend."""

    straight: Length
    twist_deg: float
    bend_deg: float


@dataclass(frozen=True, slots=True)
class Measured:
    """What was measured, in one of three ways.

    ``made`` are the bends that were on the tube. With ``spare_on`` the tube had its spare ends yet,
    and the first and last straight were measured with them.
    """

    way: str
    made: tuple[int, ...]
    rows: tuple[Row, ...] = ()
    last: Length | None = None
    corners: tuple[tuple[Length, Length, Length], ...] = ()
    angles_deg: tuple[float, ...] = ()
    spare_on: bool = False
    will_do: Length = WILL_DO


def document_of(measured: Measured) -> dict[str, Any]:
    """The document to keep: plain lists and texts, so that it reads back equal."""
    said = asdict(measured)
    return {
        "schema": SCHEMA,
        **said,
        "made": list(measured.made),
        "rows": [asdict(row) for row in measured.rows],
        "corners": [[asdict(length) for length in corner] for corner in measured.corners],
        "angles_deg": list(measured.angles_deg),
    }


def read(document: dict[str, Any]) -> Measured:
    """The measured pipe of a kept document.

    Raises
    ------
    UnknownSchema
        When a newer version wrote it.
    """
    reader = READERS.get(document.get("schema", 0))
    if reader is None:
        raise UnknownSchema("A newer Splitpin wrote this comparison. Start that one to read it.")
    return reader(document)


def _read_1(document: dict[str, Any]) -> Measured:
    return Measured(
        way=document["way"],
        made=tuple(document["made"]),
        rows=tuple(
            Row(Length(**row["straight"]), row["twist_deg"], row["bend_deg"])
            for row in document["rows"]
        ),
        last=Length(**document["last"]) if document["last"] else None,
        corners=tuple(_corner(corner) for corner in document["corners"]),
        angles_deg=tuple(document["angles_deg"]),
        spare_on=document["spare_on"],
        will_do=Length(**document["will_do"]),
    )


def _corner(kept: list[dict[str, Any]]) -> tuple[Length, Length, Length]:
    x, y, z = (Length(**length) for length in kept)
    return x, y, z


READERS: dict[int, Callable[[dict[str, Any]], Measured]] = {1: _read_1}
