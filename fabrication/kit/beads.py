"""The order of work at an end with a bead, for one bead tool and its test pieces."""

from collections.abc import Iterable
from dataclasses import dataclass, replace

from django.db import models

from fabrication.core.errors import (
    CoreError,
    Infeasible,
    OutOfRange,
    Problem,
    blocker,
    caution,
)
from fabrication.core.tube_ends import Bead, bead_allowance, bead_setting, house_bead
from fabrication.core.tube_ends import BeadTool as CoreTool
from fabrication.models import BeadTest, BeadTool, PipeSheet, TubeStock
from fabrication.pipe.inputs import BEAD, End

FROM_TESTS = "from test pieces"
OTHER_BEAD_MM = 0.3  # our figure: a bead further off than this is not the one the tool makes


@dataclass(frozen=True, slots=True)
class Learnt:
    """What the test pieces of a bead tool say of one tube. None where they say nothing. [mm]"""

    stop_offset_mm: float | None = None
    height_mm: float | None = None
    width_mm: float | None = None
    eaten_mm: float | None = None

    @property
    def short_mm(self) -> float:
        """How far the bead lies short of the stop's reading; negative beyond it."""
        return -(self.stop_offset_mm or 0.0)


@dataclass(frozen=True, slots=True)
class ToolFigures:
    """What a bead tool and its test pieces come to for one tube, to be kept beside a sheet."""

    pk: int | None
    name: str
    shallowest_mm: float
    deepest_mm: float
    straight_mm: float
    stop_offset_mm: float
    bore_least_mm: float | None = None
    needs_reaming: bool = False
    after_bend: bool = True
    learnt: Learnt = Learnt()

    def __str__(self) -> str:
        return self.name


@dataclass(frozen=True, slots=True)
class Place:
    """Where a bead goes: the straight it sits on, the bend beside it, what the bender holds. [mm]

    ``bend`` counts from one; 0 is a tube without bends.
    """

    straight_mm: float
    bend: int = 0
    held_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class Step:
    """One thing done at the end: cut off, ream, deburr, set the stop, bead or bend. [mm]"""

    what: str
    mm: float | None = None


@dataclass(frozen=True, slots=True)
class BeadWork:
    """What to set and when to cut, with one tool. ``before_bend`` is 0 where it can wait. [mm]

    ``trim_first_mm`` is cut off before the bead is made, ``trim_after_mm`` behind a bead that
    the tool could only make too deep.
    """

    tool: ToolFigures
    bead: Bead
    stop_mm: float | None
    depth_mm: float | None
    trim_first_mm: float
    trim_after_mm: float
    eaten_mm: float
    eaten_is_measured: bool
    before_bend: int = 0
    problems: tuple[Problem, ...] = ()

    @property
    def is_possible(self) -> bool:
        return self.stop_mm is not None

    @property
    def trim_mm(self) -> float:
        return self.trim_first_mm + self.trim_after_mm

    @property
    def occupied_mm(self) -> float:
        """What the bender cannot hold of the end, because the bead is on it already."""
        return self.bead.centre_mm + self.bead.width_mm / 2 if self.before_bend else 0.0

    def steps(self, spare_mm: float = 0.0) -> list[Step]:
        """The work in its order. Spare tube to hold goes with the first cut, after bending."""
        if not self.is_possible:
            return []
        off_mm = self.trim_first_mm + spare_mm
        steps = [Step("cut", off_mm)] if off_mm > 0 else []
        steps += [Step("ream" if self.tool.needs_reaming else "deburr")]
        steps += [Step("stop", self.stop_mm), Step("bead", self.depth_mm)]
        if self.trim_after_mm > 0:
            steps += [Step("cut", self.trim_after_mm), Step("deburr")]
        return [*steps, Step("bend")] if self.before_bend else steps


def learnt(tool: BeadTool, stock: TubeStock) -> Learnt:
    """What the test pieces say: sizes from this very tube, the stop's reading from any of them."""
    tests = kept_tests(tool)
    same = [test for test in tests if test.stock_id == stock.pk]
    return Learnt(
        stop_offset_mm=_mean(test.centre_mm - test.stop_mm for test in same or tests),
        height_mm=_mean(test.height_mm for test in same),
        width_mm=_mean(test.width_mm for test in same),
        eaten_mm=_mean(test.eaten_mm for test in same if test.eaten_mm is not None),
    )


def figures_of_tool(tool: BeadTool, stock: TubeStock) -> ToolFigures:
    """A tool's own figures with what its test pieces say of this tube, as they stand now."""
    return ToolFigures(
        pk=tool.pk,
        name=tool.name,
        shallowest_mm=tool.shallowest_mm,
        deepest_mm=tool.deepest_mm,
        straight_mm=tool.straight_mm,
        stop_offset_mm=tool.stop_offset_mm,
        bore_least_mm=tool.bore_least_mm,
        needs_reaming=tool.needs_reaming,
        after_bend=tool.after_bend,
        learnt=learnt(tool, stock),
    )


def figures_for(stock: TubeStock, chosen: BeadTool | None = None) -> tuple[ToolFigures, ...]:
    """The figures of every bead tool that takes this tube, and of the one that was chosen."""
    tools = tools_for(stock)
    if chosen is not None and chosen.pk not in {tool.pk for tool in tools}:
        tools.append(chosen)
    return tuple(figures_of_tool(tool, stock) for tool in tools)


def learnt_by_tube(tool: BeadTool) -> list[tuple[TubeStock, Learnt]]:
    """What the test pieces say of each tube that was tried, thinnest first."""
    tubes = {test.stock_id: test.stock for test in kept_tests(tool)}
    order = sorted(tubes.values(), key=lambda tube: (tube.od_mm, tube.wall_mm, tube.pk))
    return [(tube, learnt(tool, tube)) for tube in order]


def kept_tests(tool: BeadTool) -> list[BeadTest]:
    """The test pieces that count, oldest first; none for a tool that is not saved."""
    found = getattr(tool, "kept_tests", None)
    if found is None:
        found = list(tool.tests.kept().in_turn()) if tool.pk else []
    return found


def bead_wanted(end: End, stock: TubeStock, said: Learnt | None = None) -> Bead:
    """The bead of an end: as typed, else as the test pieces came out, else our figure.

    Raises
    ------
    CoreError
        no_house_bead, for tube larger than we have figures for; bead_too_high, for a bead higher
        than half its width.
    """
    ours = _house_bead(stock)
    if said and said.height_mm is not None and said.width_mm is not None:
        ours = replace(ours, height_mm=said.height_mm, width_mm=said.width_mm, source=FROM_TESTS)
    bead = replace(
        ours,
        height_mm=end.bead_height.mm if end.bead_height else ours.height_mm,
        width_mm=end.bead_width.mm if end.bead_width else ours.width_mm,
        centre_mm=end.bead_centre.mm if end.bead_centre else ours.centre_mm,
    )
    if bead.height_mm > bead.width_mm / 2:
        message = (
            f"A bead {bead.height_mm:g} mm high and {bead.width_mm:g} mm wide cannot be made: it "
            "is at most half as high as it is wide."
        )
        raise CoreError("bead_too_high", None, message)
    return bead


def _house_bead(stock: TubeStock) -> Bead:
    try:
        return house_bead(od_mm=stock.od_mm)
    except OutOfRange as beyond:
        message = f"We have no bead for tube of {stock.od_mm:g} mm, only up to {beyond.high:g} mm."
        raise CoreError("no_house_bead", None, message) from beyond


def work_of(end: End, *, tool: ToolFigures, stock: TubeStock, place: Place) -> BeadWork:
    """The order of work for the bead of an end with one tool, or what keeps it from being made.

    Raises
    ------
    CoreError
        When the bead itself cannot be: higher than half its width, or on too large a tube.
    """
    said = tool.learnt
    bead = bead_wanted(end, stock, said)
    reckoned_mm = bead_allowance(bead=bead, od_mm=stock.od_mm, wall_mm=stock.wall_mm).most_mm
    typed_mm = end.trim.mm if end.trim else 0.0
    work = BeadWork(
        tool=tool,
        bead=bead,
        stop_mm=None,
        depth_mm=None,
        trim_first_mm=typed_mm,
        trim_after_mm=0.0,
        eaten_mm=reckoned_mm if said.eaten_mm is None else said.eaten_mm,
        eaten_is_measured=said.eaten_mm is not None,
        problems=tuple(_doubts(tool, bead, said)),
    )
    if narrow := _too_narrow(tool, stock):
        return replace(work, problems=(narrow, *work.problems))
    try:
        found = bead_setting(
            bead=bead,
            tool=_core_tool(tool),
            straight_mm=place.straight_mm,
            held_mm=place.held_mm if place.bend else 0.0,
        )
    except Infeasible as impossible:
        return replace(work, problems=(*impossible.problems, *work.problems))
    before_bend = place.bend if found.before_bending else 0
    problems = (*_before(tool, place, found.trim_after_mm, before_bend), *work.problems)
    return replace(
        work,
        stop_mm=found.stop_mm,
        depth_mm=found.depth_mm,
        trim_first_mm=max(0.0, typed_mm - found.trim_after_mm),
        trim_after_mm=found.trim_after_mm,
        before_bend=before_bend,
        problems=problems,
    )


def best_work(
    end: End, *, tools: Iterable[ToolFigures], stock: TubeStock, place: Place
) -> BeadWork:
    """The work with the tool that has the least against it; the tools must be some."""
    found = [work_of(end, tool=tool, stock=stock, place=place) for tool in tools]
    return min(found, key=lambda work: (not work.is_possible, len(work.problems), work.trim_mm))


def tools_for(stock: TubeStock) -> list[BeadTool]:
    """Bead tools for this tube with their test pieces; none for a tube that is not saved."""
    if stock.pk is None:
        return []
    return list(BeadTool.objects.taking(stock).with_tests())


def sheets_for(tool: BeadTool) -> list[PipeSheet]:
    """Pipe sheets with a bead that chose this tool, or none and a tube it takes; newest first."""
    sheets = PipeSheet.objects.kept().for_rows().newest_first()
    takes = models.Q(
        stock__od_mm__gte=tool.tube_od_least_mm - 1e-6,
        stock__od_mm__lte=tool.tube_od_most_mm + 1e-6,
    )
    fitting = sheets.filter(models.Q(bead_tool=tool) | models.Q(takes, bead_tool=None))
    return [sheet for sheet in fitting if has_bead(sheet)]


def has_bead(sheet: PipeSheet) -> bool:
    """Whether an end of the sheet is to have a bead."""
    return any(sheet.inputs.get(end, {}).get("form") == BEAD for end in ("end_a", "end_b"))


def _core_tool(tool: ToolFigures) -> CoreTool:
    measured_mm = tool.learnt.stop_offset_mm
    offset_mm = tool.stop_offset_mm if measured_mm is None else measured_mm
    return CoreTool(
        shallowest_mm=tool.shallowest_mm,
        deepest_mm=tool.deepest_mm,
        straight_needed_mm=tool.straight_mm,
        stop_offset_mm=offset_mm,
        enters_after_bend=tool.after_bend,
    )


def _too_narrow(tool: ToolFigures, stock: TubeStock) -> Problem | None:
    if tool.bore_least_mm is None or stock.bore_mm >= tool.bore_least_mm - 1e-6:
        return None
    return blocker(
        "bore_too_narrow",
        f"{tool.name} needs a bore of {tool.bore_least_mm:g} mm, this tube has "
        f"{stock.bore_mm:g} mm: it will not go in.",
    )


def _doubts(tool: ToolFigures, bead: Bead, said: Learnt) -> Iterable[Problem]:
    if said.height_mm is None or said.width_mm is None:
        yield caution(
            "no_test_piece",
            f"No test piece of this tube in {tool.name} yet: bead one before the pipe.",
        )
        return
    off_mm = max(abs(bead.height_mm - said.height_mm), abs(bead.width_mm - said.width_mm))
    if off_mm > OTHER_BEAD_MM:
        yield caution(
            "other_bead",
            f"{tool.name} made beads of {said.height_mm:.1f} mm high and {said.width_mm:.1f} mm "
            f"wide; {bead.height_mm:.1f} and {bead.width_mm:.1f} mm are wanted.",
        )


def _before(tool: ToolFigures, place: Place, trim_mm: float, before_bend: int) -> list[Problem]:
    if not before_bend:
        return []
    if tool.after_bend:
        why = (
            f"The straight is {place.straight_mm + trim_mm:.1f} mm and {tool.name} needs "
            f"{tool.straight_mm:g} mm"
        )
    else:
        why = f"{tool.name} does not go on after a bend"
    return [
        caution(
            "bead_before_bend", f"{why}: make the bead before bend {before_bend}. No spare then."
        )
    ]


def _mean(values: Iterable[float]) -> float | None:
    found = list(values)
    return sum(found) / len(found) if found else None
