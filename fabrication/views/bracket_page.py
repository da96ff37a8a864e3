"""The page of a bracket sheet: what it shows, from a post or from what is kept."""

from typing import Any

from django.http import HttpRequest, HttpResponse

from fabrication.bench_figures import BenchFigures
from fabrication.bracket import bracket_inputs as inputs
from fabrication.bracket.bracket_figures import flat_figure, folded_figure, screen_text_mm
from fabrication.bracket.bracket_solid import bracket_solid
from fabrication.bracket.bracket_work import work_out_bracket
from fabrication.bracket.bracket_worked import BracketWorked, Remark
from fabrication.drawn.previews import preview, readable
from fabrication.forms.bracket_entry import BracketEntry
from fabrication.forms.brackets import LISTS
from fabrication.models import BracketSheet, PipeSheet
from fabrication.pipe import duties
from garage.http import page
from parts.models import Part, Piece

TEMPLATE = "fabrication/bracket.html"
FOLDED_TEXT = 1.4  # the folded view stands in a narrower place


def worked_of(entry: BracketEntry) -> BracketWorked | None:
    """All that follows from an entry, when all of it can be read."""
    if not entry.is_valid():
        return None
    head = entry.head.cleaned_data
    return work_out_bracket(
        entry.typed(), stock=head["stock"], strip=head["strip"], pipe=head["pipe"]
    )


def context_of(
    request: HttpRequest,
    entry: BracketEntry,
    found: BracketWorked | None,
    bracket: inputs.BracketInputs | None,
) -> dict[str, Any]:
    """What page and pieces of it show."""
    return {
        "entry": entry,
        "found": found,
        "lists": {kind: _rows(entry, kind, found) for kind in LISTS},
        "kinds": inputs.FORMS,
        **_pictures(request, found, bracket),
    }


def _rows(
    entry: BracketEntry, kind: str, found: BracketWorked | None
) -> list[tuple[int, Any, list[Remark]]]:
    """Each row with its number on the page and what is said at it."""
    return [
        (number, row, _said(entry, kind, number, found))
        for number, row in enumerate(entry.lists[kind], start=1)
    ]


def _said(entry: BracketEntry, kind: str, number: int, found: BracketWorked | None) -> list[Remark]:
    if found is None:
        return []
    names = ("row", "bend") if kind == "flange" else (kind,)
    said = []
    for one in found.said:
        name, _, at = one.place.partition("-")
        if name in names and at.isdigit() and entry.page_row(kind, int(at)) == number:
            said.append(one)
    return said


def _pictures(
    request: HttpRequest, found: BracketWorked | None, bracket: inputs.BracketInputs | None
) -> dict[str, Any]:
    if found is None or bracket is None or found.outline is None:
        return {"flat_view": None, "folded_view": None, "solid": None}
    text_mm = screen_text_mm(found)
    says = BenchFigures.of(request.user)
    flat = flat_figure(found, says=says, text_mm=text_mm, full=False)
    folded = folded_figure(found, bracket, text_mm=text_mm * FOLDED_TEXT) if found.lines else None
    return {
        "flat_view": readable(flat, says="The flat with its bend lines and holes"),
        "folded_view": preview(folded, says="The section folded up") if folded else None,
        "solid": bracket_solid(found),
    }


def show(
    request: HttpRequest,
    entry: BracketEntry,
    found: BracketWorked | None,
    *,
    bracket: inputs.BracketInputs | None = None,
    sheet: BracketSheet | None = None,
    part: Part | None = None,
    theirs: BracketSheet | None = None,
    code: int = 200,
) -> HttpResponse:
    """The whole page."""
    here = request.get_full_path() if sheet is None else sheet.get_absolute_url()
    context = context_of(request, entry, found, bracket) | {
        "sheet": sheet,
        "part": part,
        "theirs": theirs,
        "theirs_bracket": inputs.read_bracket(theirs.inputs) if theirs else None,
        "here_url": here,
        "glued_on": _glued_on(sheet) if sheet else None,
    }
    return page(request, TEMPLATE, context, code=code)


def _glued_on(sheet: BracketSheet) -> Piece | None:
    """The piece a bond of this bracket is written for; none where its pipe may not be glued."""
    if sheet.part is None or sheet.thrown_out_at:
        return None
    pipes = [sheet.pipe, *PipeSheet.objects.of_part(sheet.part)]
    if any(pipe and duties.is_guarded(pipe.duty) for pipe in pipes):
        return None
    return sheet.part.fitted_piece
