"""The make-up sheet on paper: what it says, and the PDF of it at true size."""

from datetime import datetime
from typing import Any

from fabrication.drawn import showing
from fabrication.models import PipeSheet
from fabrication.pipe import duties, ways
from fabrication.pipe.freezing import figures_of
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
    fabrication.pipe.inputs.UnknownSchema
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
    worked = ways.of_sheet(sheet, frozen=figures_of(sheet))
    found = worked.found
    return {
        "sheet": sheet,
        "garage": garage,
        "by": by,
        "now": now,
        "region": by.region,
        "unit": by.units,
        "found": found,
        "ends": _ends(worked),
        "drawing": showing.drawing_of(
            found, sheet.stock, size_mm=VIEWS_MM[size], guessed_mm=worked.guessed_mm
        ),
        "cautions": duties.cautions_of(sheet.duty),
        "ticks": range(10, 100, 10),
    }


def _ends(worked: ways.Worked) -> list[dict[str, Any]]:
    """Each end as typed, and what it comes to where the pipe can be made."""
    if worked.pipe is None:
        return []
    first, last = worked.ends or (None, None)
    ends = (
        ("A", worked.pipe.end_a, worked.found.end_a, first),
        ("B", worked.pipe.end_b, worked.found.end_b, last),
    )
    return [
        {"name": name, "end": end, "sum": total, "finish": finish}
        for name, end, total, finish in ends
        if total
    ]
