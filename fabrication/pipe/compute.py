"""The one bridge from rows to the core: a sheet's inputs in, all that follows from them out.

Nothing here is kept. A pipe that cannot be is an answer too: it says what is wrong, and at which
row. Rows count from one as they were typed; the one after the last bend is the last straight.
"""

from collections.abc import Iterable
from dataclasses import replace

from fabrication.core.bend_order import BendPlan, plan
from fabrication.core.bender import Former as Bender
from fabrication.core.bender import Side
from fabrication.core.errors import CoreError, Infeasible, Problem, Severity
from fabrication.core.springback import Springback, first_guess_ratio
from fabrication.core.table_forms import clock_wrap_mm, merged
from fabrication.core.tube_materials import TEMPERS
from fabrication.core.tube_path import table_from_rows
from fabrication.core.tube_section import problems_of_bend
from fabrication.core.tube_table import BendRow, BendTable
from fabrication.models import BeadTool, Former, TubeStock
from fabrication.pipe.ends import ends_of
from fabrication.pipe.frozen import Frozen, frozen_of
from fabrication.pipe.inputs import PipeInputs
from fabrication.pipe.worked import EndSum, Mark, Said, WorkedOut

# Modulus of elasticity of structural steel: EN 1993-1-1, 3.2.6. Only steels have a yield here.
STEEL_MODULUS_MPA = 210_000.0

# Our figure: 4.75 and 3/16 in are one tube to a former, 15 mm and 5/8 in are not.
FITS_MM = 0.2

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


class Rows:
    """Which row as typed a bend or a straight of the pipe came from."""

    def __init__(self, inputs: PipeInputs) -> None:
        count = len(inputs.rows)
        self.bends = inputs.bend_rows or tuple(range(1, count + 1))
        self.straights = inputs.straight_rows or tuple(range(1, count + 2))

    def of_bend(self, number: int) -> int:
        """The row of a bend counted from one; the one after the last is the last straight."""
        if number < 1:
            return 0
        return self.bends[number - 1] if number <= len(self.bends) else self.straights[-1]

    def of_straight(self, index: int) -> int:
        """The row of a straight counted from nought; -1 and all beyond are the last one."""
        return self.straights[min(index, len(self.straights) - 1)]


def work_out(
    inputs: PipeInputs,
    *,
    former: Former,
    stock: TubeStock,
    tool: BeadTool | None = None,
    springback: Springback | None = None,
    frozen: Frozen | None = None,
    order: bool = True,
) -> WorkedOut:
    """All that follows from a pipe as typed, on this former, from this tube.

    ``frozen`` are the constants to reckon with instead of those that former and tube have now,
    ``springback`` one to use instead of theirs. ``tool`` makes the beads; without one the tool
    that suits best is taken. With ``order=False`` the order of bending is not looked for, which
    is what takes long; marks and cut length rest on it.
    """
    held = frozen or frozen_of(former, stock)
    rows = Rows(inputs)
    if springback is not None:
        held = replace(held, springback=springback)
    try:
        typed = table_from_rows(
            rows=_bend_rows(inputs, held.radius_mm),
            last_straight_mm=inputs.last.mm,
            od_mm=held.od_mm,
            wall_mm=held.wall_mm,
        )
        table = merged(typed)
        ends = ends_of(inputs, table=table, held=held, stock=stock, tool=tool)
    except CoreError as refused:
        said = [_refused(refused, rows), *_noted(inputs)]
        return WorkedOut(None, None, (), _worst_first(said))
    said = _noted(inputs) + _doubts(table, held, rows) + _one_bend(typed, table, rows)
    said += _beside(former, held, table) + _about_ends(ends, rows) + _about_pulls(table, held, rows)
    if table.bends and not _fits(held):
        return _answer(table, None, ends, said, held)
    if not order:
        return _answer(table, None, ends, said, held, is_ordered=False)
    try:
        found = plan(table, _bender(held), datum_end=ends[0].tube, far_end=ends[1].tube)
    except Infeasible as impossible:
        said += _placed(impossible.problems, table, rows)
        return _answer(table, None, ends, said, held)
    except CoreError as refused:
        return _answer(table, None, ends, [_refused(refused, rows), *said], held)
    return _answer(table, found, ends, said + _placed(found.problems, table, rows), held)


def _answer(
    table: BendTable,
    order: BendPlan | None,
    ends: tuple[EndSum, EndSum],
    said: list[Said],
    held: Frozen,
    *,
    is_ordered: bool = True,
) -> WorkedOut:
    end_a, end_b = ends
    ratio = None if held.springback else _first_guess(held)
    if order is not None:
        end_a = replace(end_a, spare_mm=order.spare_datum_mm)
        end_b = replace(end_b, spare_mm=order.spare_far_mm)
    shows_ends = order is not None or not is_ordered
    return WorkedOut(
        table=table,
        plan=order,
        marks=_marks(order, table, end_a, held, ratio) if order else (),
        said=_worst_first(said),
        end_a=end_a if shows_ends else None,
        end_b=end_b if shows_ends else None,
        pull_is_guess=ratio is not None,
        springback=held.springback,
        radius_mm=held.radius_mm,
        radius_from=held.radius_from,
        is_ordered=is_ordered,
    )


def _bend_rows(inputs: PipeInputs, radius_mm: float) -> list[BendRow]:
    return [
        BendRow(
            straight_mm=row.straight.mm,
            # The first bend has no plane before it to be turned from.
            rotation_deg=row.twist_deg if number else 0.0,
            angle_deg=row.bend_deg,
            radius_mm=row.radius_mm or radius_mm,
        )
        for number, row in enumerate(inputs.rows)
    ]


def _bender(held: Frozen) -> Bender:
    return Bender(
        radius_mm=held.radius_mm,
        grip_mm=held.hook_mm,
        follower_mm=held.guide_mm,
        start_offset_mm=held.start_offset_mm,
    )


def _marks(
    order: BendPlan, table: BendTable, end_a: EndSum, held: Frozen, ratio: float | None
) -> tuple[Mark, ...]:
    """The marks by bend, from the raw end at A."""
    before_mm = order.spare_datum_mm + end_a.tube.extra_mm
    found = []
    for number, step in enumerate(order.steps, start=1):
        pull_deg = _pull_deg(step.angle_deg, held.springback, ratio)
        found.append(
            Mark(
                bend=step.bend + 1,
                order=number,
                start_mm=before_mm + table.bends[step.bend].start_mm,
                line_up_mm=step.mark_mm,
                hook_at="A" if step.hook is Side.DATUM else "B",
                turned=step.turned_end_for_end,
                clock_deg=step.clock_deg,
                wrap_mm=clock_wrap_mm(clock_deg=step.clock_deg, od_mm=held.od_mm),
                pull_deg=pull_deg,
                angle_deg=step.angle_deg,
                pull_at=held.scale.reading(pull_deg) if held.scale else None,
            )
        )
    return tuple(sorted(found, key=lambda mark: mark.bend))


def _pull_deg(angle_deg: float, springback: Springback | None, ratio: float | None) -> float:
    """The pull from practice bends, else from the yield, else no more than the angle."""
    if springback is not None:
        return springback.pull_deg(angle_deg)
    return angle_deg / ratio if ratio else angle_deg


def _first_guess(held: Frozen) -> float | None:
    """Share of the pull that stays, where the yield is known; real benders lose more."""
    temper = TEMPERS.get(held.temper)
    if temper is None or temper.yield_mpa is None:
        return None
    return first_guess_ratio(
        yield_mpa=temper.yield_mpa,
        modulus_mpa=STEEL_MODULUS_MPA,
        radius_mm=held.radius_mm,
        mid_wall_radius_mm=(held.od_mm - held.wall_mm) / 2,
    )


def _noted(inputs: PipeInputs) -> list[Said]:
    """What was doubted already while the pipe was read."""
    return [Said(one.text, one.row, one.stops) for one in inputs.noted]


def _doubts(table: BendTable, held: Frozen, rows: Rows) -> list[Said]:
    found = _placed(table.problems, table, rows)
    if table.bends:
        section = problems_of_bend(
            od_mm=held.od_mm,
            wall_mm=held.wall_mm,
            radius_mm=held.radius_mm,
            temper=TEMPERS.get(held.temper),
        )
        found += [Said(one.message, 0, one.severity is Severity.BLOCKER) for one in section]
    return found


def _about_ends(ends: tuple[EndSum, EndSum], rows: Rows) -> list[Said]:
    """What a bead tool has against an end. Another tool may do, so nothing here stops the pipe."""
    works = [(name, end.bead_work) for name, end in zip("AB", ends, strict=True)]
    return [
        Said(f"Bead at end {name}: {one.message}", rows.of_straight(0 if name == "A" else -1))
        for name, work in works
        if work is not None
        for one in work.problems
    ]


def _about_pulls(table: BendTable, held: Frozen, rows: Rows) -> list[Said]:
    """What is doubtful about the springback, and the bends that no practice bend is near."""
    learnt = held.springback
    if learnt is None:
        return []
    said = [Said(one.message) for one in learnt.problems]
    for bend in table.bends:
        beyond = learnt.doubts_about(bend.angle_deg)[len(learnt.problems) :]
        said += [Said(one.message, rows.of_bend(bend.node)) for one in beyond]
    return said


def _one_bend(typed: BendTable, table: BendTable, rows: Rows) -> list[Said]:
    """Rows that touch in one plane, told as the one bend they are."""
    kept = {bend.node for bend in table.bends}
    return [
        Said(
            "It touches the bend before it, in one plane: they are made as one bend.",
            rows.of_bend(bend.node),
        )
        for bend in typed.bends
        if bend.node not in kept
    ]


def _fits(held: Frozen) -> bool:
    """Whether the former is made for this tube; figures kept of old do not say."""
    return held.former_od_mm is None or abs(held.former_od_mm - held.od_mm) <= FITS_MM + 1e-9


def _beside(former: Former, held: Frozen, table: BendTable) -> list[Said]:
    said = []
    if table.bends and not _fits(held):
        said.append(
            Said(
                f"{former.name} is made for tube of {held.former_od_mm:g} mm, this tube is "
                f"{held.od_mm:g} mm outside: it does not fit. Choose a former for this tube.",
                stops=True,
            )
        )
    if not held.is_measured:
        said.append(
            Said(
                f"The radius of {former.name} is only stamped, not measured. Make a practice bend: "
                "every mark after the first depends on it."
            )
        )
    return said


def _placed(problems: Iterable[Problem], table: BendTable, rows: Rows) -> list[Said]:
    return [
        Said(one.message, _row_of(one, table, rows), one.severity is Severity.BLOCKER)
        for one in problems
    ]


def _row_of(problem: Problem, table: BendTable, rows: Rows) -> int:
    """The row as typed that a problem's index points at."""
    index = problem.index
    if index is None:
        return 0
    if problem.kind in _COUNTS_STRAIGHTS:
        is_last = index >= len(table.bends)
        return rows.of_straight(-1 if is_last else table.bends[index].node - 1)
    if problem.kind in _COUNTS_BENDS:
        return rows.of_bend(table.bends[index].node)
    return rows.of_bend(index) if problem.kind in _COUNTS_ROWS else 0


def _refused(refused: CoreError, rows: Rows) -> Said:
    row = 0
    if refused.index is not None and refused.kind in _COUNTS_ROWS:
        row = rows.of_bend(refused.index)
    elif refused.index is not None and refused.kind == "straight_negative":
        row = rows.of_straight(refused.index)
    # All bends share the former's radius: one that is too small is wrong for the whole pipe.
    return Said(refused.message, 0 if refused.kind == "clr_too_small" else row, True)


def _worst_first(said: list[Said]) -> tuple[Said, ...]:
    return tuple(sorted(said, key=lambda one: (not one.stops, one.row)))
