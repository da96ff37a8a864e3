"""What the two ends of a pipe are to the bender: trims, beads, and the work a bead asks for."""

from fabrication.core.bender import TubeEnd
from fabrication.core.tube_ends import HOUSE_DEFAULT, bead_allowance
from fabrication.core.tube_table import BendTable
from fabrication.kit.beads import (
    Place,
    ToolFigures,
    bead_wanted,
    best_work,
    figures_for,
    figures_of_tool,
)
from fabrication.models import BeadTool, TubeStock
from fabrication.pipe.frozen import Frozen
from fabrication.pipe.inputs import BEAD, End, PipeInputs
from fabrication.pipe.worked import EndSum


def ends_of(
    inputs: PipeInputs,
    *,
    table: BendTable,
    held: Frozen,
    stock: TubeStock,
    tool: BeadTool | None = None,
) -> tuple[EndSum, EndSum]:
    """Both ends; a bead with ``tool``, else with the one that suits it best.

    Tools are reckoned with as ``held`` keeps them, else as they are measured now.

    Raises
    ------
    CoreError
        When a bead cannot be.
    """
    has_bead = BEAD in (inputs.end_a.form, inputs.end_b.form)
    tools = _tools(held, stock, tool) if has_bead else ()
    # Whichever side is hooked, this much of the last straight is held while its bend is made.
    held_mm = min(held.hook_mm, held.guide_mm)
    last = len(table.bends)
    places = (
        Place(table.straights_mm[0], 1 if last else 0, held_mm),
        Place(table.straights_mm[-1], last, held_mm),
    )
    first, second = (
        _end(end, place, stock, tools)
        for end, place in zip((inputs.end_a, inputs.end_b), places, strict=True)
    )
    return first, second


def _tools(held: Frozen, stock: TubeStock, tool: BeadTool | None) -> tuple[ToolFigures, ...]:
    """The tool that was chosen, or all to choose from."""
    if tool is None:
        return figures_for(stock) if held.bead_tools is None else held.bead_tools
    kept = [one for one in held.bead_tools or () if one.pk == tool.pk]
    return tuple(kept) or (figures_of_tool(tool, stock),)


def _end(end: End, place: Place, stock: TubeStock, tools: tuple[ToolFigures, ...]) -> EndSum:
    trim_mm = end.trim.mm if end.trim else 0.0
    if end.form != BEAD:
        return EndSum(TubeEnd(trim_mm=trim_mm))
    sizes = (end.bead_height, end.bead_width, end.bead_centre)
    if tools:
        work = best_work(end, tools=tools, stock=stock, place=place)
        tube = TubeEnd(work.trim_mm, work.eaten_mm, work.occupied_mm)
        is_ours = None in sizes[2:] if work.bead.source != HOUSE_DEFAULT else None in sizes
        return EndSum(tube, work.bead, is_ours, bead_work=work)
    bead = bead_wanted(end, stock)
    eaten = bead_allowance(bead=bead, od_mm=stock.od_mm, wall_mm=stock.wall_mm)
    return EndSum(TubeEnd(trim_mm, eaten.most_mm), bead, None in sizes)
