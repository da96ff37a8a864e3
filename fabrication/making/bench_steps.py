"""The steps of making a pipe, in their order, as the bench shows them one at a time.

They follow from the sheet and are nowhere kept; what is kept is which of them are done, by code.
"""

from collections.abc import Iterator
from dataclasses import dataclass
from enum import StrEnum

from fabrication.pipe import inputs
from fabrication.pipe.inputs import End, PipeInputs
from fabrication.pipe.worked import EndSum, Mark, WorkedOut


class What(StrEnum):
    """What is done in a step."""

    CUT = "cut"
    SQUARE = "square"
    SLIDE = "slide"
    SCRIBE = "scribe"
    MARK = "mark"
    LINE_UP = "line"
    PULL = "pull"
    OFF = "off"
    DEBURR = "deburr"
    REAM = "ream"
    STOP = "stop"
    BEAD = "bead"
    FORM = "form"
    COMPARE = "compare"


@dataclass(frozen=True, slots=True)
class BenchStep:
    """One screen of the bench. ``mark`` is there for marks and bends, ``end`` for work at an end.

    ``mm`` is the one length of the step, where it has one.
    """

    code: str
    what: What
    mark: Mark | None = None
    end: str = ""
    mm: float | None = None
    form: str = ""
    slid_on: tuple[str, ...] = ()

    @property
    def form_words(self) -> str:
        return dict(inputs.END_FORMS).get(self.form, "").lower()


def steps_of(pipe: PipeInputs, found: WorkedOut) -> tuple[BenchStep, ...]:
    """All steps from the bar to the comparison; none where the pipe cannot be made."""
    if found.cut_mm is None or found.end_a is None or found.end_b is None:
        return ()
    ends = (("a", pipe.end_a, found.end_a), ("b", pipe.end_b, found.end_b))
    before_bend = {
        name: total.bead_work.before_bend if total.bead_work else 0 for name, _, total in ends
    }
    at_ends = {name: tuple(_end(name, end, total)) for name, end, total in ends}
    steps = [
        BenchStep("cut", What.CUT, mm=found.cut_mm),
        BenchStep("square", What.SQUARE),
        BenchStep("slide", What.SLIDE, slid_on=_slid_on(pipe)),
    ]
    if found.marks:
        steps.append(BenchStep("scribe", What.SCRIBE))
    steps += [
        BenchStep(f"mark-{mark.bend}", What.MARK, mark)
        for mark in sorted(found.marks, key=lambda mark: mark.line_up_mm)
    ]
    for mark in found.in_order:
        for name, work in at_ends.items():
            steps += work if before_bend[name] == mark.bend else ()
        steps.append(BenchStep(f"line-{mark.bend}", What.LINE_UP, mark))
        steps.append(BenchStep(f"pull-{mark.bend}", What.PULL, mark))
    for name, work in at_ends.items():
        steps += () if before_bend[name] else work
    return (*steps, BenchStep("compare", What.COMPARE))


def _slid_on(pipe: PipeInputs) -> tuple[str, ...]:
    return (*pipe.end_a.slid_on, *pipe.end_b.slid_on)


def _end(name: str, end: End, total: EndSum) -> Iterator[BenchStep]:
    """The work at one end: spare off, deburr, then how it is finished."""
    if total.bead_steps:
        yield from _bead(name, total)
        return
    off_mm = total.spare_mm + total.tube.trim_mm
    if off_mm > 0:
        yield BenchStep(f"{name}-off", What.OFF, end=name.upper(), mm=off_mm)
        yield BenchStep(f"{name}-deburr", What.DEBURR, end=name.upper())
    if total.bead is not None:
        yield BenchStep(f"{name}-bead", What.BEAD, end=name.upper(), mm=total.bead.centre_mm)
    elif end.form not in (inputs.PLAIN, inputs.HOSE):
        yield BenchStep(f"{name}-form", What.FORM, end=name.upper(), form=end.form)


_BEAD_WORK = {
    "cut": What.OFF,
    "ream": What.REAM,
    "deburr": What.DEBURR,
    "stop": What.STOP,
    "bead": What.BEAD,
}


def _bead(name: str, total: EndSum) -> Iterator[BenchStep]:
    """The order of work of the bead tool; the bend in it has its own steps."""
    for number, one in enumerate(total.bead_steps, start=1):
        if one.what in _BEAD_WORK:
            what = _BEAD_WORK[one.what]
            yield BenchStep(f"{name}-{number}-{what}", what, end=name.upper(), mm=one.mm)
