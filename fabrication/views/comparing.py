"""Compare: what a made pipe measures beside what was wanted, and what can still be done."""

from dataclasses import dataclass
from typing import Any

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.utils import timezone
from django.views.decorators.http import require_http_methods, require_POST, require_safe

from fabrication.core.as_made import Hold
from fabrication.core.corrections import Closing
from fabrication.core.errors import CoreError
from fabrication.core.table_forms import part_bent
from fabrication.core.tube_table import BendTable
from fabrication.drawn import showing
from fabrication.forms import angle_boxed
from fabrication.forms.bending import CompareEntry
from fabrication.making import comparing
from fabrication.making.bench import bench_of
from fabrication.making.measured import ANGLES, ROWS, WAYS, read
from fabrication.making.overlay import overlay
from fabrication.models import Comparison, Making, PipeSheet
from fabrication.pipe import duties, freezing, inputs, ways
from fabrication.pipe.frozen import as_document, from_document, to_keep
from fabrication.pipe.inputs import UnknownSchema
from fabrication.pipe.worked import WorkedOut
from garage.http import go, page
from garage.models import Person


@dataclass(frozen=True, slots=True)
class Wanted:
    """What a made pipe is compared with: a sheet as it stands, or as a pipe was begun from it."""

    sheet: PipeSheet
    making: Making | None
    found: WorkedOut
    kept: dict[str, Any]
    done: int | None
    angles: dict[int, str]


@require_http_methods(["GET", "HEAD", "POST"])
def compare_pipe(request: HttpRequest, pk: int) -> HttpResponse:
    """Boxes for what the made pipe measures, the wanted figure beside each."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    try:
        wanted = _wanted(request, sheet)
    except UnknownSchema as newer:
        return page(request, "fabrication/pipe_newer.html", {"sheet": sheet, "says": str(newer)})
    if wanted.found.table is None:
        context = {"sheet": sheet, "says": "This sheet cannot be worked out as it stands."}
        return page(request, "fabrication/pipe_newer.html", context)
    after = _after(request, wanted)
    made = tuple(sorted(wanted.found.order[:after]))
    way = _way(request, whole=after == len(wanted.found.order))
    entry = CompareEntry(
        way=way,
        made=made,
        person=request.user,
        data=request.POST if request.method == "POST" else None,
        angles=wanted.angles,
    )
    if request.method == "POST" and entry.is_valid():
        try:
            return _write_down(request, wanted, entry)
        except CoreError as refused:
            entry.refuse(refused)
        except comparing.OtherUnderThisKey as other:
            entry.head.renew_key(str(other))
    context = _entry_context(wanted, entry, after)
    code = 422 if entry.is_bound else 200
    return page(request, "fabrication/compare_pipe.html", context, code=code)


@require_safe
def comparison(request: HttpRequest, pk: int) -> HttpResponse:
    """What is off, where the pipe ends up, and what can still be done.

    The last takes long and comes second, asked for with ``?advice=1`` by what is sent first; a
    browser without scripts is led to the whole page.
    """
    row = get_object_or_404(Comparison.objects.for_page().standing(), pk=pk)
    hold = Hold.SHARED if request.GET.get("laid") == "shared" else Hold.DATUM_END
    closing = Closing.OVER_KNEE if request.GET.get("close") == "knee" else Closing.ON_FORMER
    context: dict[str, Any] = {"row": row, "sheet": row.sheet}
    advised = "advice" in request.GET
    try:
        figures, measured = from_document(row.figures), read(row.measured)
        found = ways.worked_out(
            inputs.read(row.inputs),
            former=row.sheet.former,
            stock=row.sheet.stock,
            tool=row.sheet.bead_tool,
            frozen=figures,
            order=advised or comparing.needs_order(measured),
        ).found
        result = comparing.compared(measured, found, hold=hold, closing=closing, advised=advised)
    except (UnknownSchema, CoreError) as refused:
        context |= {"says": str(refused)}
        return page(request, "fabrication/pipe_newer.html", context)
    context |= {
        "measured": measured,
        "result": result,
        "laid": "shared" if hold is Hold.SHARED else "a",
        "close": "knee" if closing is Closing.OVER_KNEE else "former",
        "drawing": overlay(
            result.made, result.wanted, hold=hold, od_mm=figures.od_mm, numbers=result.numbers
        ),
        "cautions": duties.cautions_of(row.sheet.duty),
    }
    return page(request, "fabrication/comparison.html", context, fragment="advice")


@require_POST
def comparison_out(request: HttpRequest, pk: int) -> HttpResponse:
    row = get_object_or_404(Comparison.objects.for_page(), pk=pk)
    comparing.take_out(comparison=row, now=timezone.now())
    return go(request, row.making or row.sheet, "The comparison is taken out.")


# ---- what is wanted, and what is asked ------------------------------------------------------


def _wanted(request: HttpRequest, sheet: PipeSheet) -> Wanted:
    asked = request.POST.get("making") or request.GET.get("making") or ""
    if asked.isascii() and asked.isdigit() and len(asked) < 10:
        makings = Making.objects.of_sheet(sheet).for_page()
        return _as_begun(request.user, get_object_or_404(makings, pk=int(asked)))
    held = freezing.figures_of(sheet)
    worked = ways.of_sheet(sheet, frozen=held)
    figures = held or to_keep(sheet.former, sheet.stock, sheet.bead_tool)
    kept = {
        "revision": sheet.version,
        "inputs": inputs.document_of(worked.pipe) if worked.pipe else {},
        "figures": as_document(figures),
    }
    return Wanted(sheet, None, worked.found, kept, None, {})


def _as_begun(person: Person, making: Making) -> Wanted:
    bench = bench_of(making)
    last = {reading.bend: reading.came_to_deg for reading in bench.readings}
    kept = {
        "revision": making.revision,
        "inputs": making.inputs,
        "figures": making.figures,
    }
    angles = {bend: angle_boxed(deg, person=person) for bend, deg in last.items()}
    # A bend that was begun and is too far counts as made, or nobody could compare it.
    done = sum(mark.bend in bench.bends_made or mark.bend in last for mark in bench.found.in_order)
    return Wanted(making.sheet, making, bench.found, kept, done, angles)


def _after(request: HttpRequest, wanted: Wanted) -> int:
    """How many bends are on the tube: as asked, else as the bench has it, else all."""
    count = len(wanted.found.order)
    asked = showing.stage_asked(request.POST or request.GET)
    if asked is None:
        asked = wanted.done
    return count if asked is None else min(asked, count)


def _way(request: HttpRequest, *, whole: bool) -> str:
    asked = request.POST.get("way") or request.GET.get("way") or ""
    return asked if asked in dict(WAYS) else ROWS if whole else ANGLES


def _write_down(request: HttpRequest, wanted: Wanted, entry: CompareEntry) -> HttpResponse:
    measured = entry.measured()
    # Refused here, beside its box, and not on the page that only shows it.
    comparing.compared(measured, wanted.found, advised=False)
    row = comparing.write_down(
        key=entry.head.cleaned_data["key"],
        sheet=wanted.sheet,
        making=wanted.making,
        wanted=wanted.kept,
        measured=measured,
        by=request.user,
        now=timezone.now(),
    )
    return go(request, row)


def _entry_context(wanted: Wanted, entry: CompareEntry, after: int) -> dict[str, Any]:
    table = part_bent(wanted.found.table, made=[bend - 1 for bend in entry.made])
    return {
        "sheet": wanted.sheet,
        "making": wanted.making,
        "entry": entry,
        "ways": WAYS,
        "after": after,
        "stages": showing.stages(wanted.found, after),
        "lines": _lines(entry, table),
        "last_wanted_mm": table.straights_mm[-1],
        "earlier": Comparison.objects.of_sheet(wanted.sheet).standing().newest_first()[:5],
    }


def _lines(entry: CompareEntry, table: BendTable) -> list[dict[str, Any]]:
    """Each row of boxes with its name, and what is wanted there."""
    names = [f"Bend {number}" for number in entry.made]
    if entry.way in (ANGLES, ROWS):
        pairs = zip(names, entry.rows, table.straights_mm, table.bends, strict=False)
        return [
            {
                "name": name,
                "form": form,
                "is_first": number == 0,
                "straight_mm": straight_mm,
                "twist_deg": bend.rotation_deg,
                "bend_deg": bend.angle_deg,
            }
            for number, (name, form, straight_mm, bend) in enumerate(pairs)
        ]
    points = ["End A", *(f"Corner of bend {number}" for number in entry.made), "End B"]
    return [{"name": name, "form": form} for name, form in zip(points, entry.rows, strict=True)]
