"""A former bender, and what is at the two ends of the pipe while it is bent."""

from dataclasses import dataclass
from enum import StrEnum

from .errors import require_finite, require_not_negative, require_positive


class Side(StrEnum):
    """An end of the pipe: the datum end, end A, or the far end, end B."""

    DATUM = "datum"
    FAR = "far"


@dataclass(frozen=True, slots=True)
class Former:
    """A former bender as measured, not as stamped.

    `start_offset_mm` is how far beyond the mark, set at the tool's zero, the arc begins.
    """

    radius_mm: float
    grip_mm: float
    follower_mm: float
    start_offset_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class TubeEnd:
    """What is at an end of the pipe while it is bent.

    `trim_mm` and `bead_allowance_mm` are tube that will go: cut square, or eaten by the bead.
    `occupied_mm` is finished end the bender cannot hold (a bead or flare made first); such an
    end can have no spare tube.
    """

    trim_mm: float = 0.0
    bead_allowance_mm: float = 0.0
    occupied_mm: float = 0.0

    @property
    def extra_mm(self) -> float:
        return self.trim_mm + self.bead_allowance_mm

    @property
    def takes_spare(self) -> bool:
        return self.occupied_mm == 0


RAW_END = TubeEnd()


def refuse_bad_tools(former: Former, datum_end: TubeEnd, far_end: TubeEnd) -> None:
    """Raise `OutOfRange` for the first length of a former or an end that cannot be."""
    require_positive(radius_mm=former.radius_mm)
    require_not_negative(grip_mm=former.grip_mm, follower_mm=former.follower_mm)
    require_finite(start_offset_mm=former.start_offset_mm)
    for end in (datum_end, far_end):
        require_not_negative(
            trim_mm=end.trim_mm,
            bead_allowance_mm=end.bead_allowance_mm,
            occupied_mm=end.occupied_mm,
        )
