"""How a bracket's bends are reckoned: K-factor by one road and the other, radius, and tool."""

from collections.abc import Sequence
from dataclasses import dataclass

from fabrication.bracket import bracket_inputs as kinds
from fabrication.bracket.bracket_inputs import BracketInputs
from fabrication.bracket.bracket_worked import Remark
from fabrication.core.din_bend import din_k_ratio
from fabrication.core.errors import CoreError
from fabrication.core.flat_pattern import FlatPattern, Zone
from fabrication.core.sheet_materials import (
    DIES,
    GRADES,
    Die,
    Grade,
    least_flange_in_vice_mm,
    least_radius,
    typical_k_ratio,
)
from fabrication.models import SheetStock, TestStrip

# Where the grade is not known: a common one of the metal.
USUAL_GRADES = {
    "steel": "S235",
    "stainless": "1.4301",
    "aluminium": "5251 H22",
    "copper": "Cu half hard",
    "brass": "CuZn37 half hard",
}
STRIP_RADIUS_SHARE = 0.25  # a strip bent to a radius that differs more says little. Our figure.
DIE_OFF_MM = 0.5  # a radius that differs from the die's by more than this is said. Our figure.

TOOLS = (
    ("", "Not said"),
    (kinds.VICE, "Vice and bending bars"),
    (kinds.FOLDER, "Folder"),
    *((f"v{die.opening_mm:g}", f"Press, V of {die.opening_mm:g} mm") for die in DIES),
)
LINE_UP = {
    kinds.VICE: "where the bend begins, at the top of the bars",
    kinds.FOLDER: "sight line, one radius past where the bend begins, under the nose",
    "v": "middle of the bend, under the punch",
    "": "middle of the bend",
}


def grade_of(stock: SheetStock) -> Grade:
    """The grade's row, or that of a common one of its metal."""
    return stock.grade_row or GRADES[USUAL_GRADES[stock.material]]


def die_named(tool: str) -> Die | None:
    return next((die for die in DIES if tool == f"v{die.opening_mm:g}"), None)


@dataclass(frozen=True, slots=True)
class Bending:
    """The chosen road to a K-factor, the radii in turn, and what the tool asks."""

    bracket: BracketInputs
    thickness_mm: float
    metal: str
    radii_mm: tuple[float, ...]
    strip: TestStrip | None
    said: tuple[Remark, ...]

    @property
    def road(self) -> str:
        """Where K-factors come from, as far as what was chosen is there."""
        if self.bracket.k_from == kinds.MEASURED and self._strip_k_ratio is not None:
            return kinds.MEASURED
        if self.bracket.k_from == kinds.TYPED and self.bracket.k_ratio is not None:
            return kinds.TYPED
        return kinds.DIN

    @property
    def _strip_k_ratio(self) -> float | None:
        reading = self.strip.reading if self.strip else None
        return reading.k_ratio if reading else None

    def k_ratio(self, radius_mm: float) -> float:
        """The K-factor of a bend of this radius.

        Raises
        ------
        fabrication.core.errors.CoreError
            Where DIN has no answer.
        """
        if self.road == kinds.MEASURED and self._strip_k_ratio is not None:
            return self._strip_k_ratio
        if self.road == kinds.TYPED and self.bracket.k_ratio is not None:
            return self.bracket.k_ratio
        return din_k_ratio(radius_mm=radius_mm, thickness_mm=self.thickness_mm)

    def other_k_ratio(self, radius_mm: float) -> float | None:
        """By the other road: DIN, or where DIN is used the usual one of the metal."""
        try:
            if self.road == kinds.DIN:
                return typical_k_ratio(
                    metal=self.metal, radius_mm=radius_mm, thickness_mm=self.thickness_mm
                )
            return din_k_ratio(radius_mm=radius_mm, thickness_mm=self.thickness_mm)
        except CoreError:
            return None  # a bend too sharp for DIN has no other figure to show

    @property
    def words(self) -> str:
        return {
            kinds.MEASURED: f"K-factor from {self.strip}",
            kinds.TYPED: "K-factor as you typed it",
            kinds.DIN: "K-factor by DIN 6935",
        }[self.road]

    @property
    def other_words(self) -> str:
        return "by the usual K-factor" if self.road == kinds.DIN else "by DIN 6935"

    @property
    def line_up_words(self) -> str:
        return LINE_UP.get(self.bracket.tool, LINE_UP["v"])

    def line_up_mm(self, zone: Zone) -> float:
        """Where the tool is lined up, from the left end."""
        if self.bracket.tool == kinds.VICE:
            return zone.start_mm
        if self.bracket.tool == kinds.FOLDER:
            return zone.start_mm + zone.fold.radius_mm
        return zone.line_mm

    def least_flanges_mm(self, pattern: FlatPattern) -> list[float]:
        """The least outside length beside each bend, as the tool asks; nothing without one."""
        die = die_named(self.bracket.tool)
        if die is not None:
            return [die.least_flange_mm for _ in pattern.zones]
        if self.bracket.tool == kinds.VICE:
            return [
                least_flange_in_vice_mm(
                    radius_mm=zone.fold.radius_mm, thickness_mm=self.thickness_mm
                )
                for zone in pattern.zones
            ]
        return []

    def radius_doubts(self, pattern: FlatPattern, stock: SheetStock) -> list[Remark]:
        """What is said of radii: under the table's least, or not what the die makes."""
        found = []
        grade, die = grade_of(stock), die_named(self.bracket.tool)
        for number, zone in enumerate(pattern.zones, start=1):
            place, radius_mm = f"bend-{number}", zone.fold.radius_mm
            found += self._least(grade, zone, place, is_known=stock.grade_row is not None)
            if die is not None and abs(die.radius_mm - radius_mm) > DIE_OFF_MM:
                says = (
                    f"A V of {die.opening_mm:g} mm makes about {die.radius_mm:g} mm inside, "
                    f"whatever the punch; {radius_mm:g} mm is written here."
                )
                found.append(Remark(says, place))
            if self._strip_is_far(radius_mm):
                says = "The test strip was bent to another radius: its K-factor says little here."
                found.append(Remark(says, place))
        if grade.note and pattern.zones:
            found.append(Remark(grade.note))
        return found

    def _least(self, grade: Grade, zone: Zone, place: str, *, is_known: bool) -> list[Remark]:
        try:
            least = least_radius(
                grade=grade,
                thickness_mm=self.thickness_mm,
                angle_deg=min(zone.fold.angle_deg, 179.0),
                across=self.bracket.across,
            )
        except CoreError:
            says = "No table speaks of the least radius of a sheet as thick as this."
            return [Remark(says, place)]
        if zone.fold.radius_mm >= least.radius_mm - 1e-9:
            return []
        taken = "" if is_known else f" (grade not known, taken as {grade.name})"
        says = (
            f"Inside radius {zone.fold.radius_mm:g} mm; the table wants {least.radius_mm:g} "
            f"mm{taken}: it may crack. A larger radius, or across the rolling direction."
        )
        return [Remark(says, place, source=least.source)]

    def _strip_is_far(self, radius_mm: float) -> bool:
        if self.road != kinds.MEASURED or self.strip is None:
            return False
        return abs(self.strip.radius_mm / radius_mm - 1) > STRIP_RADIUS_SHARE


def bending_of(bracket: BracketInputs, *, stock: SheetStock, strip: TestStrip | None) -> Bending:
    """How this bracket's bends are reckoned."""
    said = []
    if bracket.k_from == kinds.MEASURED and strip is None:
        said.append(Remark("No test strip is chosen: reckoned by DIN 6935.", "k"))
    if bracket.k_from == kinds.MEASURED and strip is not None and strip.reading is None:
        says = f"{strip} and the thickness of its sheet do not fit: reckoned by DIN 6935."
        said.append(Remark(says, "k"))
    if bracket.k_from == kinds.TYPED and bracket.k_ratio is None:
        said.append(Remark("No K-factor is written: reckoned by DIN 6935.", "k"))
    if strip is not None and bracket.k_from == kinds.MEASURED and strip.stock_id != stock.pk:
        says = f"{strip} was cut from {strip.stock}, this bracket is of {stock}."
        said.append(Remark(says, "k"))
    return Bending(
        bracket=bracket,
        thickness_mm=stock.thickness_mm,
        metal=stock.material,
        radii_mm=tuple(_radii_mm(bracket, stock)),
        strip=strip,
        said=tuple(said),
    )


def _radii_mm(bracket: BracketInputs, stock: SheetStock) -> Sequence[float]:
    """Each bend's radius: its own, the usual one, the die's, or the least of the table."""
    usual = bracket.radius.mm if bracket.radius else None
    if usual is None and (die := die_named(bracket.tool)):
        usual = die.radius_mm
    found = []
    for row in bracket.rows[:-1]:
        own = row.radius.mm if row.radius else usual
        found.append(own if own is not None else _least_mm(stock, row.bend_deg or 90.0))
    return found


def _least_mm(stock: SheetStock, angle_deg: float) -> float:
    try:
        least = least_radius(
            grade=grade_of(stock),
            thickness_mm=stock.thickness_mm,
            angle_deg=min(max(angle_deg, 1.0), 179.0),
        )
    except CoreError:
        return 2 * stock.thickness_mm  # thicker than any table: twice is what the last rows ask
    return max(least.radius_mm, stock.thickness_mm / 2)
