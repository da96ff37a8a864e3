"""What the ends of a pipe ask for: hose and clip, what goes on first, the order of work."""

from collections.abc import Iterator
from dataclasses import dataclass

from fabrication.core.errors import CoreError
from fabrication.core.tube_ends import (
    Bead,
    EndForm,
    HoseFit,
    Work,
    WorkStep,
    hose_fit,
    loose_before_bend,
    work_at_end,
)
from fabrication.pipe import inputs
from fabrication.pipe.bend_readings import guessed_mm
from fabrication.pipe.inputs import End, Noted, PipeInputs
from fabrication.pipe.worked import EndSum, WorkedOut

# A worm-drive clip has a band of 9 or 12 mm: DIN 3017-1, from memory.
CLIP_WIDTH_MM = 12.0
NO_BEAD = Bead(height_mm=0.0, width_mm=0.0, centre_mm=0.0)

STEP_WORDS = {
    "cut_square": "Cut square",
    "deburr": "Deburr inside and out",
    "slide_on": "Slide on",
    "bead": "Bead",
    "flare": "Flare",
    "trim": "Cut off what is spare",
    "bend": "Bend",
}


@dataclass(frozen=True, slots=True)
class Finish:
    """What one end comes to. ``short_mm`` is how much straight is missing for its hose. [mm]"""

    name: str
    end: End
    straight_mm: float
    total: EndSum | None
    hose: HoseFit | None = None
    steps: tuple[WorkStep, ...] = ()
    refused: str = ""

    @property
    def clip_mm(self) -> float:
        return clip_width_mm(self.end)

    @property
    def clip_is_ours(self) -> bool:
        return self.end.clip_width is None

    @property
    def guessed_mm(self) -> float:
        return guessed_mm(self.end, self.straight_mm)

    @property
    def short_mm(self) -> float:
        return self.hose.straight_needed_mm - self.straight_mm if self.hose else 0.0

    @property
    def slid_on_before_bend(self) -> bool:
        """Whether what is slid on has no room on the straight once its bend is made."""
        works = [step.work for step in self.steps]
        return Work.SLIDE_ON in works and works.index(Work.SLIDE_ON) < works.index(Work.BEND)

    @property
    def step_words(self) -> list[str]:
        """The order of work at this end, in words; a plain end needs none told."""
        if self.end.form == inputs.PLAIN and not self.end.slid_on:
            return []
        return [
            f"{STEP_WORDS[step.work]}{f': {step.part}' if step.part else ''}" for step in self.steps
        ]


def finishes(pipe: PipeInputs, found: WorkedOut) -> tuple[Finish, Finish]:
    """Both ends of a pipe."""
    first = pipe.rows[0].straight.mm if pipe.rows else pipe.last.mm
    return (
        _finish("A", pipe.end_a, first, found.end_a),
        _finish("B", pipe.end_b, pipe.last.mm, found.end_b),
    )


def clip_width_mm(end: End) -> float:
    return end.clip_width.mm if end.clip_width else CLIP_WIDTH_MM


def hose_of(end: End, bead: Bead | None) -> HoseFit | None:
    """How a hose sits on an end: over its bead, or on plain tube where one was asked for."""
    if end.form == inputs.HOSE:
        bead = NO_BEAD
    return hose_fit(bead=bead, clip_width_mm=clip_width_mm(end)) if bead else None


def doubts_of(pipe: PipeInputs, both: tuple[Finish, Finish]) -> Iterator[Noted]:
    """What is doubtful about hose and order of work, at the row of the end's straight."""
    rows = pipe.straight_rows or tuple(range(1, len(pipe.rows) + 2))
    for one, row in zip(both, (rows[0], rows[-1]), strict=True):
        if one.short_mm > 1e-6 and one.hose:
            yield Noted(
                row,
                f"The hose at end {one.name} needs {one.hose.straight_needed_mm:.1f} mm of "
                f"straight, here are {one.straight_mm:.1f} mm: lengthen the end, or take a "
                "narrower clip.",
            )
        if one.end.form == inputs.HOSE:
            yield Noted(
                row,
                f"The hose at end {one.name} holds by its clip alone: bead the tube where "
                "anything presses.",
            )
        if one.refused:
            yield Noted(row, f"End {one.name}: {one.refused}")


def _finish(name: str, end: End, straight_mm: float, total: EndSum | None) -> Finish:
    hose = hose_of(end, total.bead if total else None)
    steps, refused = _steps(end, straight_mm, total)
    return Finish(name, end, straight_mm, total, hose, steps, refused)


def _steps(end: End, straight_mm: float, total: EndSum | None) -> tuple[tuple[WorkStep, ...], str]:
    """The order of work, or why there is none."""
    work = total.bead_work if total else None
    form = {inputs.BEAD: EndForm.BEAD, inputs.FLARE: EndForm.FLARE}.get(end.form, EndForm.PLAIN)
    loose_mm = end.slid_on_length.mm if end.slid_on_length else 0.0
    trim_mm = end.trim.mm if end.trim else 0.0
    spare_mm = total.spare_mm if total else 0.0
    first = work is not None and bool(work.before_bend)
    try:
        steps = work_at_end(
            form=form,
            loose=end.slid_on,
            form_before_bending=first,
            loose_before_bending=bool(end.slid_on)
            and loose_before_bend(straight_mm=straight_mm, loose_mm=loose_mm, tool_grip_mm=0.0),
            spare_mm=spare_mm if first else spare_mm + trim_mm,
            trim_after_mm=work.trim_after_mm if work else 0.0,
        )
    except CoreError as refused:
        return (), refused.message
    return steps, ""
