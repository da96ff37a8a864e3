"""The make-up sheet on paper: what it says, and the PDF of it at true size."""

from datetime import datetime
from typing import Any

from fabrication import duties, showing
from fabrication.compute import work_out
from fabrication.inputs import PipeInputs, read
from fabrication.models import PipeSheet
from garage import paper
from garage.models import Garage, Person

# What is left for the three views between the table and the bars.
VIEWS_MM = {"a4": (172.0, 92.0), "letter": (176.0, 76.0)}


def make_up_sheet(sheet: PipeSheet, *, by: Person, now: datetime, paper_size: str = "") -> bytes:
    """The PDF of a sheet as it stands.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    fabrication.inputs.UnknownSchema
        When a newer version wrote the sheet.
    """
    garage = Garage.here()
    size = paper_size or garage.paper
    return paper.render(
        "print/pipe.html",
        sheet_context(sheet, garage=garage, by=by, now=now, size=size),
        paper=size,
        name=f"Make-up sheet {sheet}, {sheet.title}",
        true_size=True,
    )


def sheet_context(
    sheet: PipeSheet, *, garage: Garage, by: Person, now: datetime, size: str
) -> dict[str, Any]:
    """What the template needs."""
    pipe = read(sheet.inputs)
    found = work_out(pipe, former=sheet.former, stock=sheet.stock)
    return {
        "sheet": sheet,
        "garage": garage,
        "by": by,
        "now": now,
        "region": by.region,
        "unit": by.units,
        "found": found,
        "ends": _ends(pipe, found),
        "drawing": showing.drawing_of(found, sheet.stock, size_mm=VIEWS_MM[size]),
        "cautions": duties.cautions_of(sheet.duty),
        "ticks": range(10, 100, 10),
    }


def _ends(pipe: PipeInputs, found: Any) -> list[dict[str, Any]]:
    """Each end as typed, and what it comes to where the pipe can be made."""
    ends = (("A", pipe.end_a, found.end_a), ("B", pipe.end_b, found.end_b))
    return [{"name": name, "end": end, "sum": total} for name, end, total in ends if total]
