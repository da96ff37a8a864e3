"""What a pipe comes to: sums, marks, and what is said against it, each at its row of the page."""

from dataclasses import dataclass

from fabrication.core.bend_order import BendPlan
from fabrication.core.bender import TubeEnd
from fabrication.core.springback import Springback
from fabrication.core.table_forms import part_bent
from fabrication.core.tube_ends import Bead
from fabrication.core.tube_table import BendTable
from fabrication.kit.beads import BeadWork, Step
from fabrication.kit.handle import Reading


@dataclass(frozen=True, slots=True)
class Said:
    """One caution or refusal; ``row`` is where it belongs as typed, 0 for the whole pipe."""

    text: str
    row: int = 0
    stops: bool = False

    @property
    def word(self) -> str:
        return f"Row {self.row}" if self.row else ("Stop" if self.stops else "Caution")


@dataclass(frozen=True, slots=True)
class Mark:
    """One bend at the bench. Lengths run from the raw end at A, spare tube included."""

    bend: int
    order: int
    start_mm: float
    line_up_mm: float
    hook_at: str
    turned: bool
    clock_deg: float
    wrap_mm: float
    pull_deg: float
    angle_deg: float
    pull_at: Reading | None = None

    @property
    def pull_scale(self) -> str:
        """The pull as the handle shows it, "45 mark + 6 mm"; nothing without a scale."""
        return self.pull_at.words if self.pull_at else ""

    @property
    def clock(self) -> str:
        """The clock position as hours and minutes, to a degree: 12:00 is the heel of bend 1."""
        minutes = round(self.clock_deg) * 2 % 720
        return f"{minutes // 60 or 12}:{minutes % 60:02d}"


@dataclass(frozen=True, slots=True)
class EndSum:
    """An end: what it is to the bender, its bead, and the spare tube left on to hold.

    ``bead_work`` is there when a bead tool for the tube is written down.
    """

    tube: TubeEnd
    bead: Bead | None = None
    bead_is_ours: bool = False
    spare_mm: float = 0.0
    bead_work: BeadWork | None = None

    @property
    def bead_steps(self) -> list[Step]:
        return self.bead_work.steps(self.spare_mm) if self.bead_work else []


@dataclass(frozen=True, slots=True)
class WorkedOut:
    """All that follows from the inputs; parts are missing where the pipe cannot be made.

    ``is_ordered`` is False where the order of bending was not asked for: marks and cut length
    are missing then too, and nothing is wrong.
    """

    table: BendTable | None
    plan: BendPlan | None
    marks: tuple[Mark, ...]
    said: tuple[Said, ...]
    end_a: EndSum | None = None
    end_b: EndSum | None = None
    pull_is_guess: bool = False
    springback: Springback | None = None
    radius_mm: float | None = None
    radius_from: str = ""
    is_ordered: bool = True

    @property
    def finished_mm(self) -> float | None:
        return None if self.table is None else self.table.length_mm

    @property
    def cut_mm(self) -> float | None:
        return None if self.plan is None else self.plan.stock_mm

    @property
    def stopped(self) -> bool:
        return self.plan is None if self.is_ordered else self.table is None

    @property
    def pull_says(self) -> str:
        """Where the pull is from, in one sentence."""
        if self.springback is not None:
            return "Pull is from your practice bends with this tube."
        if self.pull_is_guess:
            return "Pull is our figure from the steel's yield: a hand bender asks for more."
        return "No practice bend yet: pull says no more than the angle."

    @property
    def order(self) -> tuple[int, ...]:
        """Bends in the order they are made, counted from one; as they lie without an order."""
        if self.plan is not None:
            return tuple(bend + 1 for bend in self.plan.order)
        return tuple(range(1, len(self.table.bends) + 1)) if self.table else ()

    @property
    def in_order(self) -> list[Mark]:
        return sorted(self.marks, key=lambda mark: mark.order)

    def at_row(self, row: int) -> list[Said]:
        return [said for said in self.said if said.row == row]

    def after(self, bends: int) -> BendTable | None:
        """The pipe when so many of its bends are made, in their order."""
        if self.table is None:
            return None
        return part_bent(self.table, made=[bend - 1 for bend in self.order[:bends]])
