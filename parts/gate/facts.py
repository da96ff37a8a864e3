"""What is known about a piece before it goes through heat, grit or acid. Plain data, no rows."""

from collections.abc import Mapping
from dataclasses import dataclass, field

YES, NO, UNKNOWN = "yes", "no", "unknown"

# Things that stand on a piece, as parts.models.heat.Limit sorts them.
LEFT_ON, BEARING, MAGNET, LINING = "left_on", "bearing", "magnet", "lining"


@dataclass(frozen=True, slots=True, kw_only=True)
class JointFact:
    """One joint as it stands now. An alloy or adhesive of "" is one nobody named."""

    how: str
    with_what: str = ""
    solidus_c: float | None = None
    adhesive: str = ""
    short_peak_c: float | None = None
    short_peak_minutes: float | None = None
    is_hard: bool = True
    # Why it is not hard, in words.
    why_not: str = ""


@dataclass(frozen=True, slots=True, kw_only=True)
class Thing:
    """Something on the piece and the heat it stands. [C]"""

    name: str
    sort: str
    limit_c: float
    # The limit is the lowest of the table, because nobody said what the thing is.
    assumed: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Facts:
    """What is on one piece with everything joined into it, or on a lot of loose fasteners."""

    materials: frozenset[str] = frozenset()
    answers: Mapping[str, str] = field(default_factory=dict)
    joints: tuple[JointFact, ...] = ()
    things: tuple[Thing, ...] = ()
    # What is to be kept bare, as parts.models.mask names it.
    masks: frozenset[str] = frozenset()
    # Threads by their designation, as far as they were written down.
    threads: tuple[str, ...] = ()
    # Thinnest sheet, and least play of a close fit. [mm]
    thickness_mm: float | None = None
    play_mm: float | None = None
    # Of a lot: its strongest bolt; "" when nobody said.
    strongest: str = ""
    is_lot: bool = False

    def says(self, question: str) -> str | None:
        """What was answered, None when nobody asked."""
        return self.answers.get(question)

    def may(self, question: str) -> bool:
        """Whether it is so, as far as one must reckon: "don't know" is the worse answer."""
        return self.answers.get(question) in (YES, UNKNOWN)

    def is_sure(self, question: str) -> bool:
        return self.answers.get(question) == YES

    def keeps_bare(self, *places: str) -> bool:
        return any(place in self.masks for place in places)

    @property
    def glued(self) -> tuple[JointFact, ...]:
        return tuple(joint for joint in self.joints if joint.how in ("glue", "filler"))
