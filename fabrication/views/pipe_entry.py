"""The page of a pipe sheet: what it shows, and what its buttons do to what stands in the boxes."""

from dataclasses import dataclass, field, replace
from typing import Any

from django.http import HttpRequest, HttpResponse

from fabrication.drawn import showing
from fabrication.forms import rounded
from fabrication.forms.pipe_boxes import (
    Boxes,
    NotTurned,
    boxes_of_typed,
    boxes_typed,
    data_of,
    reordered,
    turned_round,
)
from fabrication.forms.pipes import ROWS_MOST, PipeEntry
from fabrication.models import Former, PipeSheet
from fabrication.pipe import duties, inputs, pasted, ways
from fabrication.pipe.bend_readings import WayError
from fabrication.pipe.freezing import figures_under
from garage.http import page
from garage.models import Person
from parts.models import Part

TEMPLATE = "fabrication/pipe.html"


@dataclass(frozen=True, slots=True)
class Shown:
    """What a page of a pipe is about, beside its boxes."""

    sheet: PipeSheet | None = None
    part: Part | None = None
    revision: int | None = None
    theirs: dict[str, Any] | None = None
    trouble: str = ""
    pasted: dict[str, str] = field(default_factory=dict)


# ---- what a button asks for ------------------------------------------------------------------


def answer_to_button(request: HttpRequest, about: Shown) -> HttpResponse | None:
    """The page after a button that changes the boxes and saves nothing; None for a save."""
    data = request.POST
    try:
        if "turn" in data:
            return _show_changed(request, turned_round(data), about)
        if "paste_in" in data:
            return _show_changed(request, _with_points(request), about)
    except NotTurned as kept:
        return _show_changed(request, boxes_typed(data), replace(about, trouble=str(kept)), 422)
    except pasted.BadPaste as bad:
        said = {"text": data.get("paste", ""), "error": str(bad)}
        return _show_changed(request, boxes_typed(data), replace(about, pasted=said), 422)
    if "to" in data:
        return _show_changed(request, boxes_typed(data) | {"tab": data["to"]}, about)
    if (changed := reordered(data)) is not None:
        return _show_changed(request, changed, about)
    return _look(request, about) if "look" in data or "after" in data else None


def _look(request: HttpRequest, about: Shown) -> HttpResponse:
    entry = PipeEntry(request.POST, person=request.user, sheet=about.sheet)
    if not entry.is_readable():
        return show(request, entry, None, about, code=422)
    return _show_changed(request, boxes_typed(request.POST), about)


def _show_changed(
    request: HttpRequest, boxes: Boxes, about: Shown, code: int = 200
) -> HttpResponse:
    """The page with these boxes, unchecked, and their results where they can be read."""
    checked = PipeEntry(data_of(boxes), person=request.user, sheet=about.sheet)
    shown = PipeEntry(person=request.user, boxes=boxes, sheet=about.sheet)
    return show(request, shown, worked_of(checked), about, code=code)


def _with_points(request: HttpRequest) -> Boxes:
    """The boxes with the points of a paste or a file in the place of those that stood there."""
    file = request.FILES.get("file")
    text = (
        pasted.text_of(file.read(pasted.BYTES_MOST + 1)) if file else request.POST.get("paste", "")
    )
    points = pasted.points_in(text, person=request.user, most=ROWS_MOST)
    return boxes_typed(request.POST) | {"corners": points}


# ---- working from another way ------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class FromHere:
    """What 'work from here instead' comes to: a pipe to save, or boxes to go on with."""

    typed: inputs.Typed | None
    boxes: Boxes
    entry: PipeEntry
    is_wrong: bool = False


def from_here(request: HttpRequest, sheet: PipeSheet | None) -> FromHere:
    """The pipe with the way that was asked for as the one that counts.

    Its boxes take what the way before comes to, or with ``kept`` what was typed there earlier.
    Nothing is taken over from boxes that cannot be read: they are put right first, or emptied.
    """
    data, person = request.POST, request.user
    asked = data.get("here") or data.get("kept", "")
    way = asked if asked in dict(inputs.WAYS) else inputs.BENDS
    boxes = boxes_typed(data)
    entry = PipeEntry(data, person=person, sheet=sheet)
    turned = boxes | {"way": way, "tab": way}
    if entry.is_blank(entry.way):
        return FromHere(None, turned, entry)
    if way == inputs.MIRROR:
        entry = PipeEntry(data_of(turned), person=person, sheet=sheet)
    # On a sheet that is there it is saved at once, so its head has to be right too.
    if not (entry.is_valid() if sheet else entry.is_readable()):
        return FromHere(None, boxes, entry, is_wrong=True)
    typed = entry.typed()
    if way != inputs.MIRROR and not ("kept" in data and not entry.is_blank(way)):
        try:
            typed = _taken_over(typed, way, entry)
        except WayError:
            return FromHere(None, turned, entry)
    typed = replace(typed, way=way)
    return FromHere(typed, turned | boxes_of_typed(typed, person=person), entry)


def _taken_over(typed: inputs.Typed, way: str, entry: PipeEntry) -> inputs.Typed:
    """The pipe with one way's own input replaced by what the way that counts comes to."""
    worked = worked_of(entry)
    if worked is None or worked.pipe is None:
        raise WayError()
    return replace(typed, **{way: told(worked, way, person=entry.person)})


def told(worked: ways.Worked, way: str, *, person: Person) -> inputs.Bends | inputs.Corners:
    """A pipe told in another way, as this person would have typed it.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When it cannot be told so.
    """
    if worked.pipe is None:
        raise WayError()
    tell = ways.bends_from if way == inputs.BENDS else ways.corners_from
    return tell(
        worked.pipe,
        radius_mm=worked.radius_mm,
        rounded=lambda mm: rounded(mm, person=person),
    )


# ---- what is shown ---------------------------------------------------------------------------


def worked_of(entry: PipeEntry, *, order: bool = True) -> ways.Worked | None:
    """All that follows from an entry, when former, tube, rows and ends can be read."""
    if not entry.is_readable():
        return None
    head = entry.head.cleaned_data
    former, stock, key = head["former"], head["stock"], head.get("key")
    return ways.worked_out(
        entry.typed(),
        former=former,
        stock=stock,
        other=entry.other,
        tool=head["bead_tool"],
        frozen=figures_under(key, former=former, stock=stock) if key else None,
        order=order,
    )


def context_of(
    entry: PipeEntry,
    worked: ways.Worked | None,
    *,
    after: int | None = None,
    drawn: bool = True,
) -> dict[str, Any]:
    """What page and pieces of it show."""
    found = worked.found if worked else None
    pictures = showing.pictures_of(worked, after=after) if worked and drawn else {}
    last = len(entry.shown_rows) + 1
    numbered: list[tuple[int, Any]] = entry.numbered
    if entry.way == inputs.MIRROR:
        told_rows = len(worked.pipe.rows) + 1 if worked and worked.pipe else 0
        numbered = [(number, None) for number in range(1, told_rows + 1)]
    return {
        "entry": entry,
        "worked": worked,
        "found": found,
        "rows": [_row(number, form, worked, entry) for number, form in numbered],
        "last": _row(last, entry.last, worked, entry),
        "derived": _derived(entry, worked),
        "cautions": duties.cautions_of(str(entry.head["duty"].value() or "")),
        **pictures,
    }


def _row(number: int, form: Any, worked: ways.Worked | None, entry: PipeEntry) -> dict[str, Any]:
    """A row of the page with what is said there; misfits stand apart from doubts."""
    said = worked.found.said if worked else ()
    misfits = worked.misfits if worked else ()
    return {
        "number": number,
        "form": form,
        "said": [one for one in said if one.row and entry.page_row(one.row) == number],
        "misfits": [one for one in misfits if entry.page_row(one.row) == number],
    }


def _derived(entry: PipeEntry, worked: ways.Worked | None) -> dict[str, Any]:
    """The tab that is shown, as the way that counts tells it; nothing on its own tab."""
    if entry.tab in entry.seen and entry.tab != inputs.MIRROR:
        return {}
    way = inputs.BENDS if entry.tab == inputs.MIRROR else entry.tab
    if worked is None or worked.pipe is None:
        return {"says": "It stands here when the pipe can be read."}
    try:
        return {way: told(worked, way, person=entry.person)}
    except WayError as cannot:
        return {"says": str(cannot)}


def show(
    request: HttpRequest,
    entry: PipeEntry,
    worked: ways.Worked | None,
    about: Shown,
    *,
    code: int = 200,
) -> HttpResponse:
    """The page of a pipe sheet."""
    after = showing.stage_asked(request.POST if request.method == "POST" else request.GET)
    found = worked.found if worked else None
    context = context_of(entry, worked, after=after) | {
        "about": about,
        "sheet": about.sheet,
        "part": about.part,
        "stages": showing.stages(found, after) if found and about.sheet else [],
        "shows_readings": "readings" in request.POST,
        "no_former": not Former.objects.exists(),
        "here_url": about.sheet.get_absolute_url() if about.sheet else request.get_full_path(),
        "may_type": request.user.works_here
        and not (about.sheet is not None and about.sheet.thrown_out_at),
        "ways": inputs.WAYS,
        "revisions": list(about.sheet.revisions.newest_first()) if about.sheet else [],
    }
    return page(request, TEMPLATE, context, code=code)
