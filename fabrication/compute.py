"""The one bridge from rows to the core: a sheet's inputs in, all that follows from them out.

Nothing here is kept. A pipe that cannot be is an answer too: it says what is wrong, and at which
row. Rows count from one as on the page; the row after the last bend is the last straight.
"""

from collections.abc import Iterable
from dataclasses import replace

from fabrication.core.bend_order import BendPlan, plan
from fabrication.core.bender import Former as Bender
from fabrication.core.bender import Side, TubeEnd
from fabrication.core.errors import CoreError, Infeasible, Problem, Severity
from fabrication.core.springback import first_guess_ratio
from fabrication.core.table_forms import clock_wrap_mm, merged
from fabrication.core.tube_ends import Bead, bead_allowance, house_bead
from fabrication.core.tube_materials import TEMPERS
from fabrication.core.tube_path import table_from_rows
from fabrication.core.tube_section import problems_of_bend
from fabrication.core.tube_table import BendRow, BendTable
from fabrication.inputs import BEAD, End, PipeInputs
from fabrication.models import Former, TubeStock
from fabrication.worked import EndSum, Mark, Said, WorkedOut

# Modulus of elasticity of structural steel: EN 1993-1-1, 3.2.6. Only steels have a yield here.
STEEL_MODULUS_MPA = 210_000.0

# What the index of a problem counts, by its kind.
_COUNTS_STRAIGHTS = {
    "no_end_straight",
    "no_straight_between",
    "short_straight",
}
_COUNTS_BENDS = {"other_radius", "no_room", "in_the_way"}
_COUNTS_ROWS = {
    "tight_radius",
    "nearly_straight",
    "steep_corner",
    "shallow_bend",
    "angle_out_of_range",
    "clr_too_small",
    "first_rotation",
}


def work_out(inputs: PipeInputs, *, former: Former, stock: TubeStock) -> WorkedOut:
    """All that follows from a pipe as typed, on this former, from this tube."""
    try:
        typed = table_from_rows(
            rows=_bend_rows(inputs, former.radius_mm),
            last_straight_mm=inputs.last.mm,
            od_mm=stock.od_mm,
            wall_mm=stock.wall_mm,
        )
        table = merged(typed)
        ends = [_end(end, stock) for end in (inputs.end_a, inputs.end_b)]
    except CoreError as refused:
        return WorkedOut(None, None, (), (_refused(refused, len(inputs.rows)),))
    said = _doubts(table, former, stock) + _one_bend(typed, table) + _beside(former, stock)
    try:
        order = plan(table, _bender(former), datum_end=ends[0].tube, far_end=ends[1].tube)
    except Infeasible as impossible:
        said += _placed(impossible.problems, table)
        return WorkedOut(table, None, (), _worst_first(said))
    except CoreError as refused:
        return WorkedOut(table, None, (), (_refused(refused, len(inputs.rows)), *said))
    said += _placed(order.problems, table)
    ratio = _first_guess(former, stock)
    return WorkedOut(
        table=table,
        plan=order,
        marks=_marks(order, table, ends[0], stock, ratio),
        said=_worst_first(said),
        end_a=replace(ends[0], spare_mm=order.spare_datum_mm),
        end_b=replace(ends[1], spare_mm=order.spare_far_mm),
        pull_is_guess=ratio is not None,
    )


def _bend_rows(inputs: PipeInputs, radius_mm: float) -> list[BendRow]:
    return [
        BendRow(
            straight_mm=row.straight.mm,
            # The first bend has no plane before it to be turned from.
            rotation_deg=row.twist_deg if number else 0.0,
            angle_deg=row.bend_deg,
            radius_mm=radius_mm,
        )
        for number, row in enumerate(inputs.rows)
    ]


def _bender(former: Former) -> Bender:
    return Bender(
        radius_mm=former.radius_mm,
        grip_mm=former.hook_mm,
        follower_mm=former.guide_mm,
        start_offset_mm=former.start_offset_mm,
    )


def _end(end: End, stock: TubeStock) -> EndSum:
    trim_mm = end.trim.mm if end.trim else 0.0
    if end.form != BEAD:
        return EndSum(TubeEnd(trim_mm=trim_mm))
    ours = house_bead(od_mm=stock.od_mm)
    bead = Bead(
        height_mm=end.bead_height.mm if end.bead_height else ours.height_mm,
        width_mm=end.bead_width.mm if end.bead_width else ours.width_mm,
        centre_mm=end.bead_centre.mm if end.bead_centre else ours.centre_mm,
    )
    eaten = bead_allowance(bead=bead, od_mm=stock.od_mm, wall_mm=stock.wall_mm)
    is_ours = None in (end.bead_height, end.bead_width, end.bead_centre)
    return EndSum(TubeEnd(trim_mm=trim_mm, bead_allowance_mm=eaten.most_mm), bead, is_ours)


def _marks(
    order: BendPlan, table: BendTable, end_a: EndSum, stock: TubeStock, ratio: float | None
) -> tuple[Mark, ...]:
    """The marks by bend, from the raw end at A."""
    before_mm = order.spare_datum_mm + end_a.tube.extra_mm
    found = [
        Mark(
            bend=step.bend + 1,
            order=number,
            start_mm=before_mm + table.bends[step.bend].start_mm,
            line_up_mm=step.mark_mm,
            hook_at="A" if step.hook is Side.DATUM else "B",
            turned=step.turned_end_for_end,
            clock_deg=step.clock_deg,
            wrap_mm=clock_wrap_mm(clock_deg=step.clock_deg, od_mm=stock.od_mm),
            pull_deg=step.angle_deg / ratio if ratio else step.angle_deg,
            angle_deg=step.angle_deg,
        )
        for number, step in enumerate(order.steps, start=1)
    ]
    return tuple(sorted(found, key=lambda mark: mark.bend))


def _first_guess(former: Former, stock: TubeStock) -> float | None:
    """Share of the pull that stays, where the yield is known; real benders lose more."""
    temper = TEMPERS.get(stock.temper)
    if temper is None or temper.yield_mpa is None:
        return None
    return first_guess_ratio(
        yield_mpa=temper.yield_mpa,
        modulus_mpa=STEEL_MODULUS_MPA,
        radius_mm=former.radius_mm,
        mid_wall_radius_mm=(stock.od_mm - stock.wall_mm) / 2,
    )


def _doubts(table: BendTable, former: Former, stock: TubeStock) -> list[Said]:
    found = _placed(table.problems, table)
    if table.bends:
        section = problems_of_bend(
            od_mm=stock.od_mm,
            wall_mm=stock.wall_mm,
            radius_mm=former.radius_mm,
            temper=TEMPERS.get(stock.temper),
        )
        found += [Said(one.message, 0, one.severity is Severity.BLOCKER) for one in section]
    return found


def _one_bend(typed: BendTable, table: BendTable) -> list[Said]:
    """Rows that touch in one plane, told as the one bend they are."""
    kept = {bend.node for bend in table.bends}
    return [
        Said("It touches the bend before it, in one plane: they are made as one bend.", bend.node)
        for bend in typed.bends
        if bend.node not in kept
    ]


def _beside(former: Former, stock: TubeStock) -> list[Said]:
    said = []
    if abs(former.tube_od_mm - stock.od_mm) > 0.1:
        said.append(
            Said(
                f"{former.name} is made for tube of {former.tube_od_mm:g} mm, this tube is "
                f"{stock.od_mm:g} mm outside: it will kink or slip."
            )
        )
    if not former.is_measured:
        said.append(
            Said(
                f"The radius of {former.name} is only stamped, not measured. Make a practice bend: "
                "every mark after the first depends on it."
            )
        )
    return said


def _placed(problems: Iterable[Problem], table: BendTable) -> list[Said]:
    return [
        Said(one.message, _row_of(one, table), one.severity is Severity.BLOCKER) for one in problems
    ]


def _row_of(problem: Problem, table: BendTable) -> int:
    """The row of the page that a problem's index points at."""
    index = problem.index
    if index is None:
        return 0
    last_row = max((bend.node for bend in table.bends), default=0) + 1
    if problem.kind in _COUNTS_STRAIGHTS:
        return table.bends[index].node if index < len(table.bends) else last_row
    if problem.kind in _COUNTS_BENDS:
        return table.bends[index].node
    return index if problem.kind in _COUNTS_ROWS else 0


def _refused(refused: CoreError, rows: int) -> Said:
    row = 0
    if refused.index is not None and refused.kind in _COUNTS_ROWS:
        row = refused.index
    elif refused.index is not None and refused.kind == "straight_negative":
        row = min(refused.index, rows) + 1
    # All bends share the former's radius: one that is too small is wrong for the whole pipe.
    return Said(refused.message, 0 if refused.kind == "clr_too_small" else row, True)


def _worst_first(said: list[Said]) -> tuple[Said, ...]:
    return tuple(sorted(said, key=lambda one: (not one.stops, one.row)))
