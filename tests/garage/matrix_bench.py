"""What the access matrix needs of the fabrication room: argument providers, and their rows.

``BENCH`` names, for each route and argument, the row of ``build_bench`` to take it from.
"""

from typing import Any

from garage.models import Car, Person
from parts.models import Part
from tests.fabrication.pipe_rows import make_sheet

# (routes, argument, name of the row, attribute of it)
BENCH: list[tuple[list[str], str, str, str]] = [
    (["pipe", "pipe_sheet"], "pk", "pipe", "pk"),
    (["former"], "pk", "pipe", "former_id"),
]


def build_bench(car: Car, part: Part, by: Person) -> dict[str, Any]:
    """The rows by name, made with the verbs that the pages use."""
    return {"pipe": make_sheet(by=by, part=part)}
