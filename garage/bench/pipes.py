"""What a pipe of ten bends costs: its table, its order, its corrections, its page and its paper.

Beside the table stands the time in which an open solid modeller (Open CASCADE, one of the test
packages) fillets the same corners; beside the page, a view that reads the same row and names it.
"""

from collections.abc import Callable
from dataclasses import dataclass
from datetime import datetime
from functools import partial
from importlib.util import find_spec
from itertools import pairwise
from uuid import uuid4

from django.http import HttpRequest, HttpResponse
from django.shortcuts import get_object_or_404
from django.test import Client
from django.views.decorators.http import require_safe

from fabrication.core.bend_order import plan
from fabrication.core.bender import Former as Bender
from fabrication.core.corrections import corrections
from fabrication.core.tube_path import bend_table, nodes_from_table, table_from_rows
from fabrication.core.tube_table import BendRow, BendTable
from fabrication.core.vectors import Vec3
from fabrication.models import Duty, Former, PipeSheet, TubeStock
from fabrication.paper.sheets import make_up_sheet
from fabrication.pipe.inputs import Length, PipeInputs, Row
from fabrication.pipe.pipes import begin_sheet
from garage.bench import measure
from garage.models import Car, Person

BENDS, RADIUS_MM, OD_MM = 10, 45.0, 15.0
HOOK_MM, GUIDE_MM = 20.0, 30.0
ROWS = [
    (90.0 + 7 * bend, 0.0 if bend == 0 else (65.0 * bend) % 170 - 85, 25.0 + (31 * bend) % 60)
    for bend in range(BENDS)
]


@dataclass(frozen=True, slots=True)
class Weighed:
    """The cost of each part of the work, and of what it is measured beside."""

    table: measure.Timed
    kernel: measure.Timed | None
    order: measure.Timed
    corrections: measure.Timed
    page: measure.Timed
    bare_page: measure.Timed
    live: measure.Timed
    pdf: measure.Timed


def table_of(*, over_deg: float = 0.0) -> BendTable:
    """The pipe; ``over_deg`` opens every bend by as much, as a made one might be."""
    rows = [BendRow(straight, twist, bend - over_deg, RADIUS_MM) for straight, twist, bend in ROWS]
    return table_from_rows(rows=rows, last_straight_mm=120)


def make(*, car: Car, by: Person, now: datetime) -> PipeSheet:
    """The same pipe as a sheet."""
    former = Former.objects.create(
        key=uuid4(),
        name="Bench",
        tube_od_mm=OD_MM,
        stamped_radius_mm=RADIUS_MM,
        measured_radius_mm=RADIUS_MM,
        hook_mm=HOOK_MM,
        guide_mm=GUIDE_MM,
    )
    stock = TubeStock.objects.create(key=uuid4(), material="steel", od_mm=OD_MM, wall_mm=1.0)
    head = {
        "title": "Bench pipe",
        "duty": Duty.COOLANT,
        "former": former,
        "stock": stock,
        "bead_tool": None,
    }
    rows = tuple(Row(Length(straight), twist, bend) for straight, twist, bend in ROWS)
    pipe = PipeInputs(rows, Length(120.0))
    return begin_sheet(key=uuid4(), car=car, part=None, head=head, pipe=pipe, by=by, now=now)


@require_safe
def bare(request: HttpRequest, pk: int) -> HttpResponse:
    """The least a page about this sheet could do: read its row, and say its name."""
    sheet = get_object_or_404(PipeSheet.objects.for_rows(), pk=pk)
    return HttpResponse(f"<h1>{sheet.title}</h1>")


def weigh(sheet: PipeSheet, *, client: Client, by: Person, now: datetime) -> Weighed:
    table, made = table_of(), table_of(over_deg=0.7)
    nodes = nodes_from_table(table)
    radii = [RADIUS_MM] * BENDS
    bender = Bender(radius_mm=RADIUS_MM, grip_mm=HOOK_MM, follower_mm=GUIDE_MM)
    ours: Callable[[], object] = partial(bend_table, nodes_mm=nodes, radii_mm=radii)
    if find_spec("OCP"):
        table_ms, kernel_ms = measure.in_turn(ours, partial(fillet, nodes, radii), runs=40)
    else:
        (table_ms,), kernel_ms = measure.in_turn(ours, runs=40), None
    order_ms, correct_ms = measure.in_turn(
        lambda: plan(table, bender), lambda: corrections(made, table), runs=5
    )
    url = sheet.get_absolute_url()
    page_ms, bare_ms = measure.in_turn(
        lambda: client.get(url), lambda: client.get(f"/bench-pipe/{sheet.pk}/"), runs=10
    )
    form = posted(sheet)
    (live_ms,) = measure.in_turn(
        lambda: client.post("/pipes/work-out/", form, headers={"HX-Request": "true"}), runs=10
    )
    (pdf_ms,) = measure.in_turn(lambda: make_up_sheet(sheet, by=by, now=now), runs=5)
    return Weighed(table_ms, kernel_ms, order_ms, correct_ms, page_ms, bare_ms, live_ms, pdf_ms)


def posted(sheet: PipeSheet) -> dict[str, str]:
    """What the page sends while somebody types."""
    form = {
        "key": str(sheet.key),
        "title": sheet.title,
        "duty": sheet.duty,
        "former": str(sheet.former_id),
        "stock": str(sheet.stock_id),
        "rows": str(BENDS),
        "last": "120",
    }
    for number, (straight, twist, bend) in enumerate(ROWS):
        form |= {
            f"r{number}-straight": f"{straight:g}",
            f"r{number}-twist": f"{twist:g}",
            f"r{number}-bend": f"{bend:g}",
        }
    return form


def fillet(nodes: tuple[Vec3, ...], radii: list[float]) -> None:
    """The solid modeller's own way to the same arcs."""
    # A test package, and slow to load: only a bench that can compare pays for it.
    from OCP.BRepBuilderAPI import BRepBuilderAPI_MakeEdge  # noqa: PLC0415
    from OCP.ChFi2d import ChFi2d_FilletAPI  # noqa: PLC0415
    from OCP.gp import gp_Dir, gp_Pln, gp_Pnt, gp_Vec  # noqa: PLC0415

    points = [gp_Pnt(*node) for node in nodes]
    legs = [BRepBuilderAPI_MakeEdge(a, b).Edge() for a, b in pairwise(points)]
    for corner, radius in enumerate(radii, start=1):
        before = gp_Vec(points[corner - 1], points[corner])
        after = gp_Vec(points[corner], points[corner + 1])
        plane = gp_Pln(points[corner], gp_Dir(before.Crossed(after)))
        made = ChFi2d_FilletAPI(legs[corner - 1], legs[corner], plane)
        if not made.Perform(radius):
            raise ArithmeticError(f"corner {corner} could not be filleted")
        made.Result(points[corner], legs[corner - 1], legs[corner])


def lines_of(found: Weighed) -> list[tuple[str, bool | None]]:
    """What the bench prints, and whether a goal was met where there is one."""
    lines: list[tuple[str, bool | None]] = [
        (f"Pipe of {BENDS} bends: table {found.table.median_ms * 1_000:.0f} us", None)
    ]
    if found.kernel is None:
        lines.append(("  the solid modeller is not installed, so nothing to compare with", None))
    else:
        ratio = found.table.median_ms / found.kernel.median_ms
        same = f"{found.kernel.median_ms * 1_000:.0f} us"
        lines.append((f"  the solid modeller's arcs {same}; ratio {ratio:.2f}", None))
    order_s = found.order.median_ms / 1_000
    page_ratio = found.page.median_ms / found.bare_page.median_ms
    lines += [
        (f"  order of bending {found.order}", order_s <= 0.2),
        (f"  corrections {found.corrections}", None),
        (f"  page {found.page}; bare view {found.bare_page}; ratio {page_ratio:.1f}", None),
        (f"  answer while typing {found.live}", found.live.median_ms <= 100),
        (f"  make-up sheet as PDF {found.pdf}", None),
    ]
    return lines
