"""What a person typed for a pipe, and the document it is kept in.

A document carries the number of its schema, and every schema ever written has a reader here.
Lengths stand in millimetres beside the text as typed; angles in degrees.
"""

from collections.abc import Callable
from dataclasses import asdict, dataclass
from typing import Any

SCHEMA = 1
PLAIN, BEAD, FLARE, SOLDER, GLUE = "plain", "bead", "flare", "solder", "glue"
END_FORMS = (
    (PLAIN, "Plain"),
    (BEAD, "Bead for a hose"),
    (FLARE, "Flare"),
    (SOLDER, "Soft solder"),
    (GLUE, "Glue"),
)


class UnknownSchema(ValueError):
    """A document of a schema that this version does not know."""


@dataclass(frozen=True, slots=True)
class Length:
    mm: float
    typed: str = ""


@dataclass(frozen=True, slots=True)
class Row:
    """One bend: go straight, twist, bend. The first row's twist is kept and not used."""

    straight: Length
    twist_deg: float
    bend_deg: float


@dataclass(frozen=True, slots=True)
class End:
    """How an end is finished, and what is cut off it after. A size left out is our figure."""

    form: str = PLAIN
    trim: Length | None = None
    bead_height: Length | None = None
    bead_width: Length | None = None
    bead_centre: Length | None = None

    @property
    def words(self) -> str:
        return dict(END_FORMS)[self.form]


@dataclass(frozen=True, slots=True)
class PipeInputs:
    """A pipe as typed, from end A to end B."""

    rows: tuple[Row, ...]
    last: Length
    end_a: End = End()
    end_b: End = End()


def document_of(inputs: PipeInputs) -> dict[str, Any]:
    """The document to keep."""
    return {"schema": SCHEMA, **asdict(inputs), "rows": [asdict(row) for row in inputs.rows]}


def read(document: dict[str, Any]) -> PipeInputs:
    """The pipe of a kept document.

    Raises
    ------
    UnknownSchema
        When a newer version wrote it.
    """
    reader = READERS.get(document.get("schema", 0))
    if reader is None:
        raise UnknownSchema("A newer Splitpin wrote this sheet. Start that one to read it.")
    return reader(document)


def _read_1(document: dict[str, Any]) -> PipeInputs:
    rows = tuple(
        Row(Length(**row["straight"]), row["twist_deg"], row["bend_deg"])
        for row in document["rows"]
    )
    ends = [_end_1(document[name]) for name in ("end_a", "end_b")]
    return PipeInputs(rows, Length(**document["last"]), *ends)


def _end_1(end: dict[str, Any]) -> End:
    lengths = {name: Length(**value) for name, value in end.items() if isinstance(value, dict)}
    return End(form=end["form"], **lengths)


READERS: dict[int, Callable[[dict[str, Any]], PipeInputs]] = {1: _read_1}
