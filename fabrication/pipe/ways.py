"""The three ways in: whatever was typed, to the one pipe that is worked out; and each way shown
as the others would tell it.

``worked_out`` and ``of_sheet`` are the doors for pages and papers. A pipe that makes no sense is
an answer too: it says what is wrong, at its row as typed.
"""

from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace

from fabrication.core.errors import CoreError
from fabrication.core.measured_angles import axes_from_words
from fabrication.core.springback import Springback
from fabrication.core.tube_path import bend_table, nodes_from_table, table_from_rows
from fabrication.core.tube_table import BendRow, BendTable, wrapped_deg
from fabrication.core.tube_table import rows_of as table_rows
from fabrication.core.vectors import Vec3
from fabrication.models import BeadTool, Former, PipeSheet, SheetFreeze, TubeStock
from fabrication.pipe import hoses, inputs
from fabrication.pipe.bend_readings import WayError, doubts_of_ends, pipe_from, said_of
from fabrication.pipe.compute import work_out
from fabrication.pipe.frozen import Frozen, from_document, frozen_of
from fabrication.pipe.inputs import (
    Bends,
    Corner,
    Corners,
    Length,
    Misfit,
    Noted,
    PipeInputs,
    Row,
    Typed,
)
from fabrication.pipe.worked import Said, WorkedOut

CHAIN_MOST = 8
"""So many sheets may mirror one another in a chain before it is taken for a ring."""

Rounded = Callable[[float], Length]


@dataclass(frozen=True, slots=True)
class Worked:
    """A pipe and all that follows from it; no pipe where what was typed makes none."""

    pipe: PipeInputs | None
    found: WorkedOut
    radius_mm: float
    stock: TubeStock
    ends: tuple[hoses.Finish, hoses.Finish] | None = None

    @property
    def misfits(self) -> tuple[Misfit, ...]:
        return self.pipe.misfits if self.pipe else ()

    @property
    def guessed_mm(self) -> tuple[float, float]:
        """How much of the tube at end A and at end B is a guess."""
        first, last = self.ends or (None, None)
        return (first.guessed_mm if first else 0.0, last.guessed_mm if last else 0.0)


def of_sheet(sheet: PipeSheet, *, frozen: Frozen | None = None, order: bool = True) -> Worked:
    """All that follows from a sheet as it is saved.

    Raises
    ------
    fabrication.pipe.inputs.UnknownSchema
        When a newer version wrote it.
    """
    return worked_out(
        inputs.read(sheet.inputs),
        former=sheet.former,
        stock=sheet.stock,
        other=partner_of(inputs.read(sheet.inputs)),
        tool=sheet.bead_tool,
        frozen=frozen,
        order=order,
    )


def worked_out(
    typed: Typed,
    *,
    former: Former,
    stock: TubeStock,
    other: PipeSheet | None = None,
    tool: BeadTool | None = None,
    springback: Springback | None = None,
    frozen: Frozen | None = None,
    order: bool = True,
) -> Worked:
    """All that follows from what was typed, each doubt at its row as typed."""
    held = frozen or frozen_of(former, stock)
    try:
        pipe = rows_of(typed, former=former, stock=stock, other=other, frozen=held)
    except WayError as wrong:
        said = tuple(Said(one.text, one.row, one.stops) for one in wrong.noted)
        return Worked(None, WorkedOut(None, None, (), said), held.radius_mm, stock)
    found = work_out(
        pipe,
        former=former,
        stock=stock,
        tool=tool,
        springback=springback,
        frozen=held,
        order=order,
    )
    both = hoses.finishes(pipe, found) if found.table is not None else None
    more = [Said(one.text, one.row) for one in hoses.doubts_of(pipe, both)] if both else []
    worst_first = sorted([*found.said, *more], key=lambda one: (not one.stops, one.row))
    return Worked(pipe, replace(found, said=tuple(worst_first)), held.radius_mm, stock, both)


def rows_of(
    typed: Typed,
    *,
    former: Former,
    stock: TubeStock,
    other: PipeSheet | None = None,
    frozen: Frozen | None = None,
) -> PipeInputs:
    """The pipe from end A to end B, with what is doubted and what does not close, at its row.

    ``other`` is the sheet that a mirror image is taken of.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When what was typed makes no pipe.
    """
    held = frozen or frozen_of(former, stock)
    pipe = _pipe_of(typed, held, other, CHAIN_MOST)
    return replace(pipe, noted=(*pipe.noted, *doubts_of_ends(pipe)))


def partner_of(typed: Typed) -> PipeSheet | None:
    """The sheet that this one mirrors, when it does and that one is there."""
    if typed.way != inputs.MIRROR or typed.mirror is None:
        return None
    return PipeSheet.objects.for_rows().filter(pk=typed.mirror.sheet).first()


def _pipe_of(typed: Typed, held: Frozen, other: PipeSheet | None, more: int) -> PipeInputs:
    ends = (typed.end_a, typed.end_b)
    if typed.way == inputs.CORNERS:
        return _from_corners(typed.corners or Corners(()), ends, held)
    if typed.way == inputs.MIRROR:
        return _mirrored(other, ends, held, more)
    if typed.bends is None:
        raise WayError(Noted(0, "Write the straight up to end B.", stops=True))
    return pipe_from(typed.bends, ends=ends, radius_mm=held.radius_mm, od_mm=held.od_mm)


# ---- corner points ------------------------------------------------------------------------


def _from_corners(
    corners: Corners, ends: tuple[inputs.End, inputs.End], held: Frozen
) -> PipeInputs:
    if len(corners.points) < 2:
        says = "A tube needs its two ends: write two points or more."
        raise WayError(Noted(0, says, stops=True))
    inner = corners.points[1:-1]
    radii = [one.radius.mm if one.radius else held.radius_mm for one in inner]
    try:
        table = bend_table(
            nodes_mm=points_on_car(corners),
            radii_mm=radii,
            od_mm=held.od_mm,
            wall_mm=held.wall_mm,
        )
    except CoreError as refused:
        row = 0 if refused.index is None else refused.index + 1
        raise WayError(Noted(row, said_of(refused), stops=True)) from None
    own = [corners.points[bend.node].radius for bend in table.bends]
    at = tuple(bend.node + 1 for bend in table.bends)
    dropped = [
        Noted(problem.index + 1, problem.message)
        for problem in table.problems
        if problem.kind == "collinear_node" and problem.index is not None
    ]
    return replace(
        _as_pipe(table, ends, radii_mm=[one.mm if one else None for one in own]),
        noted=tuple(dropped),
        bend_rows=at,
        straight_rows=(1, *at),
    )


def points_on_car(corners: Corners) -> list[Vec3]:
    """The points in one frame, forward, left, up, whatever axes they were typed in.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When the axes are no right-handed set.
    """
    try:
        x, y, z = corners.axes
        ahead, across, upward = axes_from_words(x=x, y=y, z=z)
    except CoreError as refused:
        raise WayError(Noted(0, said_of(refused), stops=True)) from None
    return [ahead * one.x.mm + across * one.y.mm + upward * one.z.mm for one in corners.points]


def _as_pipe(
    table: BendTable,
    ends: tuple[inputs.End, inputs.End],
    *,
    radii_mm: Sequence[float | None],
) -> PipeInputs:
    rows = tuple(
        Row(Length(row.straight_mm), row.rotation_deg, row.angle_deg, radius_mm)
        for row, radius_mm in zip(table_rows(table), radii_mm, strict=True)
    )
    return PipeInputs(rows, Length(table.straights_mm[-1]), *ends)


# ---- mirror of another sheet ----------------------------------------------------------------


def _mirrored(
    other: PipeSheet | None, ends: tuple[inputs.End, inputs.End], held: Frozen, more: int
) -> PipeInputs:
    """The partner on the other side of the car: every twist changes its sign, nothing else."""
    if other is None:
        raise WayError(Noted(0, "Choose the sheet that this pipe mirrors.", stops=True))
    if more == 0:
        raise WayError(Noted(0, f"{other} mirrors this very sheet, round a ring.", stops=True))
    theirs = _figures_of(other)
    typed = inputs.read(other.inputs)
    try:
        pipe = _pipe_of(typed, theirs, partner_of(typed), more - 1)
        pipe, retold = _on_radius(pipe, theirs.radius_mm, held.radius_mm)
    except WayError as wrong:
        raise WayError(Noted(0, f"{other}: {wrong}", stops=True)) from None
    rows = tuple(replace(row, twist_deg=0.0 - row.twist_deg) for row in pipe.rows)
    noted: tuple[Noted, ...] = ()
    if retold:
        says = (
            f"{other} is bent on a radius of {theirs.radius_mm:g} mm, this pipe on "
            f"{held.radius_mm:g} mm: corner points and ends are kept, the straights differ."
        )
        noted = (Noted(0, says),)
    return PipeInputs(rows, pipe.last, *ends, noted=noted)


def _figures_of(sheet: PipeSheet) -> Frozen:
    """The figures a sheet is held to since it was printed or bent, else those of its tools now."""
    freeze = SheetFreeze.objects.holding(sheet)
    return from_document(freeze.figures) if freeze else frozen_of(sheet.former, sheet.stock)


def _on_radius(pipe: PipeInputs, from_mm: float, to_mm: float) -> tuple[PipeInputs, bool]:
    """The pipe through the same corner points on another radius, and whether it had to be retold.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When its corner points leave no room for that radius.
    """
    if abs(from_mm - to_mm) < 1e-6:
        return pipe, False
    table = table_of(pipe, from_mm)
    nodes = nodes_from_table(table)
    radii = [
        row.radius_mm or to_mm
        for row, bend in zip(pipe.rows, table.bends, strict=True)
        for _ in range(1 if bend.setback_mm is not None else 2)
    ]
    try:
        again = bend_table(nodes_mm=nodes, radii_mm=radii)
    except CoreError as refused:
        raise WayError(Noted(0, said_of(refused), stops=True)) from None
    own = [radius if radius != to_mm else None for radius in radii]
    own = [own[bend.node - 1] for bend in again.bends]
    return _as_pipe(again, (pipe.end_a, pipe.end_b), radii_mm=own), True


def table_of(pipe: PipeInputs, radius_mm: float) -> BendTable:
    """The list of bends of a pipe, return bends and touching bends as they stand.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When there is no such tube.
    """
    rows = [
        BendRow(
            row.straight.mm,
            wrapped_deg(row.twist_deg) if number else 0.0,
            row.bend_deg,
            row.radius_mm or radius_mm,
        )
        for number, row in enumerate(pipe.rows)
    ]
    try:
        return table_from_rows(rows=rows, last_straight_mm=pipe.last.mm)
    except CoreError as refused:
        raise WayError(Noted(0, said_of(refused), stops=True)) from None


# ---- one way told as another -----------------------------------------------------------------


def bends_from(pipe: PipeInputs, *, radius_mm: float, rounded: Rounded) -> Bends:
    """The pipe as somebody would have typed it: straights, twists and bends from end A.

    A row has no radius of its own: where corner points had one, they are kept and the straights
    follow the former.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When its corner points leave no room for the former's radius.
    """
    if any(row.radius_mm for row in pipe.rows):
        nodes = nodes_from_table(table_of(pipe, radius_mm))
        try:
            table = bend_table(nodes_mm=nodes, radii_mm=[radius_mm] * (len(nodes) - 2))
        except CoreError as refused:
            raise WayError(Noted(0, said_of(refused), stops=True)) from None
        pipe = _as_pipe(table, (pipe.end_a, pipe.end_b), radii_mm=[None] * len(table.bends))
    rows = tuple(
        Row(rounded(row.straight.mm), round(row.twist_deg, 3), round(row.bend_deg, 3))
        for row in pipe.rows
    )
    return inputs.as_bends(PipeInputs(rows, rounded(pipe.last.mm)))


def corners_from(pipe: PipeInputs, *, radius_mm: float, rounded: Rounded) -> Corners:
    """End A, corner points and end B, with end A at nothing, the first straight along x and bend 1
    turning to the left.

    Raises
    ------
    fabrication.pipe.bend_readings.WayError
        When there is no such tube.
    """
    table = table_of(pipe, radius_mm)
    own = [
        row.radius_mm
        for row, bend in zip(pipe.rows, table.bends, strict=True)
        for _ in range(1 if bend.setback_mm is not None else 2)
    ]
    points = []
    for node, radius in zip(nodes_from_table(table), [None, *own, None], strict=True):
        x, y, z = map(rounded, node)
        points.append(Corner(x, y, z, rounded(radius) if radius else None))
    return Corners(tuple(points))
