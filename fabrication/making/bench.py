"""A pipe at the bench as it stands: its steps, which are done, its readings, the next pull."""

from dataclasses import dataclass, replace
from typing import Any

from fabrication.making import advice
from fabrication.making.advice import Pull
from fabrication.making.bench_steps import BenchStep, steps_of
from fabrication.models import DoneStep, Making, Reading
from fabrication.pipe import inputs, ways
from fabrication.pipe.frozen import Frozen, from_document
from fabrication.pipe.worked import Mark, WorkedOut


@dataclass(frozen=True, slots=True)
class Bench:
    """A making as it stands: all steps, which are done, and the one to do now."""

    making: Making
    figures: Frozen
    found: WorkedOut
    steps: tuple[BenchStep, ...]
    done: dict[str, DoneStep]
    readings: tuple[Reading, ...]

    @property
    def now(self) -> BenchStep | None:
        """The first step that is not done; None when all are."""
        return next((step for step in self.steps if step.code not in self.done), None)

    @property
    def done_count(self) -> int:
        return sum(step.code in self.done for step in self.steps)

    @property
    def bends_made(self) -> tuple[int, ...]:
        """The bends called done, in the order they are made."""
        return tuple(mark.bend for mark in self.found.in_order if f"pull-{mark.bend}" in self.done)

    def step(self, code: str) -> BenchStep | None:
        return next((step for step in self.steps if step.code == code), None)

    def at(self, code: str) -> BenchStep | None:
        """The step of a code, else the one to do now, else the last."""
        return self.step(code) or self.now or (self.steps[-1] if self.steps else None)

    def beside(self, step: BenchStep) -> tuple[BenchStep | None, BenchStep | None]:
        """The steps before and after one."""
        at = self.steps.index(step)
        before = self.steps[at - 1] if at else None
        return before, self.steps[at + 1] if at + 1 < len(self.steps) else None

    def readings_of(self, bend: int) -> list[Reading]:
        return [reading for reading in self.readings if reading.bend == bend]

    def pull(self, mark: Mark) -> Pull:
        """What to do with a bend now."""
        return advice.pull_now(
            mark,
            self.readings_of(mark.bend),
            springback=self.found.springback,
            first_pulls=advice.first_pulls_of(self.readings),
            scale=self.figures.scale,
        )


def bench_of(making: Making) -> Bench:
    """A making with everything its page needs.

    Raises
    ------
    fabrication.pipe.inputs.UnknownSchema
        When a newer version began it.
    """
    figures = from_document(making.figures)
    worked = worked_as_begun(making, figures)
    steps = steps_of(worked.pipe, worked.found) if worked.pipe else ()
    standing = making.done_steps.standing().select_related("by")
    return Bench(
        making=making,
        figures=figures,
        found=worked.found,
        steps=steps,
        done={row.code: row for row in standing},
        readings=tuple(making.readings.standing().in_turn()),
    )


def worked_as_begun(making: Making, figures: Frozen) -> ways.Worked:
    """The pipe of a making, its marks where they were when it was begun.

    A bead tool that is tried again meanwhile would shift what it eats of the end, and so every
    mark: they are on the tube already.
    """
    worked = ways.worked_out(
        inputs.read(making.inputs),
        former=making.sheet.former,
        stock=making.sheet.stock,
        tool=making.sheet.bead_tool,
        frozen=figures,
    )
    kept, found = making.marks, worked.found
    if found.plan is None or not kept:
        return worked
    marks = tuple(
        replace(mark, start_mm=at["start_mm"], line_up_mm=at["line_up_mm"])
        for mark in found.marks
        if (at := kept["bends"].get(str(mark.bend)))
    )
    plan = replace(found.plan, stock_mm=kept["cut_mm"])
    return replace(worked, found=replace(found, marks=marks, plan=plan))


def marks_of(found: WorkedOut) -> dict[str, Any]:
    """Cut length and marks, to be kept with a pipe that is begun."""
    return {
        "cut_mm": found.cut_mm,
        "bends": {
            str(mark.bend): {"start_mm": mark.start_mm, "line_up_mm": mark.line_up_mm}
            for mark in found.marks
        },
    }
