"""What a bracket comes to: blank, lines, holes, strength, and what is said against it."""

from dataclasses import dataclass

from fabrication.core.flat_features import FlatHole
from fabrication.core.flat_pattern import FlatPattern
from fabrication.core.outline import Outline
from fabrication.core.strength import CantileverStrength, StrapStrength


@dataclass(frozen=True, slots=True)
class Remark:
    """One caution or refusal, and where on the page it belongs: "row-2", "hole-1", or nowhere."""

    text: str
    place: str = ""
    stops: bool = False
    source: str = ""

    @property
    def word(self) -> str:
        """What stands before it where it is not beside its row."""
        if self.place:
            kind, _, number = self.place.partition("-")
            return {"row": "Flange", "bend": "Bend"}.get(kind, kind.capitalize()) + (
                f" {number}" if number else ""
            )
        return "Stop" if self.stops else "Caution"


@dataclass(frozen=True, slots=True)
class BendLine:
    """One bend at the bench, and the three numbers on its line. ``line_up_mm`` is the tool's."""

    number: int
    from_left_mm: float
    from_right_mm: float
    line_up_mm: float
    angle_deg: float
    way: str
    radius_mm: float
    allowance_mm: float
    deduction_mm: float
    k_ratio: float
    other_k_ratio: float | None
    made: int

    @property
    def opening_deg(self) -> float | None:
        """What is left open between the legs, as DIN and a bevel gauge tell it; a wrap has none."""
        return 180 - self.angle_deg if self.angle_deg < 180 else None


@dataclass(frozen=True, slots=True)
class HoleSpot:
    """One hole in the flat, from the left end and the line that across is told from."""

    number: int
    row: int
    flat: FlatHole
    from_right_mm: float
    in_bend: bool = False


@dataclass(frozen=True, slots=True)
class ClipSum:
    """What to check on a formed clip."""

    od_mm: float
    wrap_deg: float
    ear_bend_deg: float
    hole_spacing_mm: float | None
    height_mm: float | None


@dataclass(frozen=True, slots=True)
class BracketWorked:
    """All that follows from the inputs; parts are missing where the bracket cannot be made."""

    pattern: FlatPattern | None
    outline: Outline | None = None
    lines: tuple[BendLine, ...] = ()
    holes: tuple[HoleSpot, ...] = ()
    said: tuple[Remark, ...] = ()
    order: tuple[int, ...] = ()
    mass_g: float | None = None
    k_words: str = ""
    other_words: str = ""
    other_total_mm: float | None = None
    agrees: bool = False
    line_up_words: str = ""
    clip: ClipSum | None = None
    strap: StrapStrength | None = None
    beam: CantileverStrength | None = None
    beam_words: str = ""

    @property
    def total_mm(self) -> float | None:
        return None if self.pattern is None else self.pattern.total_mm

    @property
    def width_mm(self) -> float | None:
        """Width of the blank."""
        if self.outline is None:
            return None
        ys = [y for _, y in self.outline.ring]
        return max(ys) - min(ys)

    @property
    def blank_mm(self) -> tuple[float, float] | None:
        """Length and width of the rectangle that the blank is cut from."""
        if self.outline is None or self.width_mm is None:
            return None
        xs = [x for x, _ in self.outline.ring]
        return max(xs) - min(xs), self.width_mm

    @property
    def stopped(self) -> bool:
        return self.outline is None or any(one.stops for one in self.said)

    @property
    def in_order(self) -> list[BendLine]:
        return sorted(self.lines, key=lambda line: line.made)

    @property
    def general(self) -> list[Remark]:
        """What is said of the whole, and every refusal wherever it belongs."""
        return [one for one in self.said if one.stops or not one.place]

    def at(self, *places: str) -> list[Remark]:
        return [one for one in self.said if one.place in places]
