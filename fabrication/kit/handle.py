"""The scale on a former's handle: a pull told as the nearest mark and millimetres round the rim."""

import math
from dataclasses import dataclass

from fabrication.core.table_forms import to_nearest

RIM_STEP_MM = 0.5  # what a rule laid round a rim can show


@dataclass(frozen=True, slots=True)
class Reading:
    """Where to pull to: a mark of the scale, and how far beyond it round the rim."""

    mark_deg: float
    beyond_mm: float

    @property
    def words(self) -> str:
        """ "45 mark + 6 mm", by a rule in millimetres."""
        beyond_mm = to_nearest(self.beyond_mm, step=RIM_STEP_MM)
        if not beyond_mm:
            return f"{self.mark_deg:g} mark"
        return f"{self.mark_deg:g} mark {'-' if beyond_mm < 0 else '+'} {abs(beyond_mm):g} mm"


@dataclass(frozen=True, slots=True)
class Scale:
    """Marks every ``step_deg``, read at ``rim_mm`` from the pivot.

    ``zero_deg`` is what the scale reads before the handle moves.
    """

    rim_mm: float
    step_deg: float
    zero_deg: float = 0.0

    def reading(self, pull_deg: float) -> Reading:
        """The nearest mark, and the arc from it: rim radius times the angle left over."""
        at_deg = self.zero_deg + pull_deg
        mark_deg = self.step_deg * math.floor(at_deg / self.step_deg + 0.5)
        return Reading(mark_deg, self.rim_mm * math.radians(at_deg - mark_deg))
