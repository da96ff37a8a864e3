"""Which of the garage's sheet can stand in for an old bracket: as stiff, as much beside the hole.

A strip bends over its flat like E w t^3; what a hole leaves bears like (w - d) t. The old bracket's
grade is not known, so one metal is compared with another at the usual yield of each.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from fabrication.bracket.bracket_bends import USUAL_GRADES
from fabrication.core.sheet_materials import GRADES, METALS
from fabrication.models import SheetStock
from fabrication.models.bracket import Coating

ENOUGH = 0.95  # as stiff as the old one, to a caliper's accuracy. Our figure.
FAR = 0.4  # under this share of the old one it is listed apart. Our figure.


@dataclass(frozen=True, slots=True)
class OldBracket:
    """What a caliper says of the bracket that is to be replaced, and how wide the new may be."""

    material: str
    thickness_mm: float
    width_mm: float
    hole_mm: float
    new_width_mm: float

    @property
    def stiffness(self) -> float:
        return METALS[self.material].modulus_mpa * self.width_mm * self.thickness_mm**3

    @property
    def beside_n(self) -> float:
        """What the metal beside the hole bears before it yields."""
        return (self.width_mm - self.hole_mm) * self.thickness_mm * usual_yield_mpa(self.material)


def usual_yield_mpa(material: str) -> float:
    """Least yield of a common grade of a metal."""
    return GRADES[USUAL_GRADES[material]].yield_mpa


@dataclass(frozen=True, slots=True)
class Choice:
    """One sheet against the old bracket; ratios are new over old."""

    stock: SheetStock
    stiffness_ratio: float
    beside_ratio: float
    beside_mm2: float
    width_for_same_mm: float
    fitting_offcuts: tuple[tuple[float, float], ...]

    @property
    def is_enough(self) -> bool:
        return self.stiffness_ratio >= ENOUGH and self.beside_ratio >= ENOUGH

    @property
    def is_far(self) -> bool:
        """Whether it is so much weaker that nobody would take it."""
        return min(self.stiffness_ratio, self.beside_ratio) < FAR

    @property
    def warns(self) -> str:
        """What its coating asks before glue or heat."""
        return {
            Coating.ZINC: "strip the zinc before glue or heat",
            Coating.PAINT: "bare metal before glue",
            Coating.UNKNOWN: "coating not known: file a corner and look",
        }.get(Coating(self.stock.coating), "")


def ranked(old: OldBracket, stock: Iterable[SheetStock]) -> list[Choice]:
    """The sheets, best first: enough with the least excess, then what comes nearest."""
    choices = [_choice(old, one) for one in stock]
    return sorted(
        choices,
        key=lambda one: (
            not one.is_enough,
            one.stiffness_ratio if one.is_enough else -min(one.stiffness_ratio, one.beside_ratio),
            not one.stock.at_hand,
        ),
    )


def _choice(old: OldBracket, stock: SheetStock) -> Choice:
    per_mm = METALS[stock.material].modulus_mpa * stock.thickness_mm**3
    beside_mm2 = (old.new_width_mm - old.hole_mm) * stock.thickness_mm
    return Choice(
        stock=stock,
        stiffness_ratio=per_mm * old.new_width_mm / old.stiffness,
        beside_ratio=beside_mm2 * usual_yield_mpa(stock.material) / old.beside_n,
        beside_mm2=beside_mm2,
        width_for_same_mm=old.stiffness / per_mm,
        fitting_offcuts=tuple(
            (long_mm, wide_mm)
            for long_mm, wide_mm in stock.offcuts
            if min(long_mm, wide_mm) >= old.new_width_mm
        ),
    )
