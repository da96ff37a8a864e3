"""Sheet tables as frozen rows, each with its source. Sizes in mm, strengths in N/mm2.

A row marked "recalled" was written from memory and not read again in its source; "house default"
rests on no standard. Both words are part of the source and are shown with it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .errors import CoreError, OutOfRange, require_between, require_positive


@dataclass(frozen=True, slots=True)
class Metal:
    """What all grades of a metal share: weight, stiffness, and how the bend is told."""

    name: str
    density_g_cm3: float
    modulus_mpa: float
    typical_k_ratio: float
    source: str


_RECALLED = "usual figures, recalled"

METALS: Mapping[str, Metal] = MappingProxyType(
    {
        "steel": Metal("Mild steel", 7.85, 206_000, 0.42, _RECALLED),
        "stainless": Metal("Stainless steel", 7.9, 193_000, 0.45, _RECALLED),
        "aluminium": Metal("Aluminium", 2.70, 70_000, 0.40, _RECALLED),
        "copper": Metal("Copper", 8.94, 117_000, 0.38, _RECALLED),
        "brass": Metal("Brass", 8.47, 103_000, 0.42, _RECALLED),
    }
)

SHARP_K_RATIO = 0.33
"""K-factor typical of a bend sharper than the thickness. Recalled."""


@dataclass(frozen=True, slots=True)
class Grade:
    """A metal in one state. `radius_ratio` is the least inside radius in thicknesses, least and
    most that is printed; None where the table of DIN 6935 answers by tensile strength."""

    name: str
    metal: str
    yield_mpa: float
    tensile_mpa: float
    source: str
    radius_ratio: tuple[float, float] | None = None
    note: str = ""


_CRACKS = "It cracks in a tight bend: bend it soft (T4 or O), or take another alloy."
_HARDENS = "It hardens with the first bend: anneal again before the next at the same place."

GRADES: Mapping[str, Grade] = MappingProxyType(
    {
        grade.name: grade
        for grade in (
            Grade("DC01", "steel", 140, 270, "EN 10130, recalled", (0.5, 1.0)),
            Grade("DC04", "steel", 140, 270, "EN 10130, recalled", (0.5, 1.0)),
            Grade("DX51D +Z", "steel", 140, 270, "EN 10346, recalled", (0.5, 1.0)),
            Grade("S235", "steel", 235, 360, "EN 10025-2, recalled"),
            Grade("S355", "steel", 355, 510, "EN 10025-2, recalled"),
            Grade("1.4301", "stainless", 210, 520, "EN 10088-2, recalled", (0.5, 1.0)),
            Grade("5251 H22", "aluminium", 120, 190, "EN 485-2, recalled", (1.0, 1.0)),
            Grade("5083 O", "aluminium", 125, 275, "EN 485-2, recalled", (1.5, 2.0)),
            Grade("6082 T6", "aluminium", 255, 300, "EN 485-2, recalled", (4.0, 6.0), _CRACKS),
            Grade("Cu soft", "copper", 50, 220, "EN 1652 R220, recalled", (0.0, 0.5), _HARDENS),
            Grade("Cu half hard", "copper", 180, 240, "EN 1652 R240, recalled", (1.0, 1.0)),
            Grade("CuZn37 half hard", "brass", 180, 350, "EN 1652 R350, recalled", (1.0, 1.0)),
        )
    }
)
"""Least strengths. Radii of all but S235 and S355: common practice, recalled."""

_DIN_6935 = "DIN 6935, table 1"
_THICK_MM = (1, 1.5, 2.5, 3, 4, 5, 6, 7, 8, 10)
_ACROSS: Mapping[int, tuple[float, ...]] = MappingProxyType(
    {
        390: (1, 1.6, 2.5, 3, 5, 6, 8, 10, 12, 16),
        490: (1.2, 2, 3, 4, 5, 8, 10, 12, 16, 20),
        640: (1.6, 2.5, 4, 5, 6, 8, 10, 12, 16, 20),
    }
)
_ALONG: Mapping[int, tuple[float, ...]] = MappingProxyType(
    {
        390: (1, 1.6, 2.5, 3, 6, 8, 10, 12, 16, 20),
        490: (1.2, 2, 3, 4, 6, 10, 12, 16, 20, 25),
        640: (1.6, 2.5, 4, 5, 8, 10, 12, 16, 20, 25),
    }
)


@dataclass(frozen=True, slots=True)
class SheetRadius:
    """The least inside radius a table gives for a bend. [mm]"""

    radius_mm: float
    source: str


def least_steel_radius(
    *, thickness_mm: float, tensile_mpa: float, angle_deg: float = 90.0, across: bool = True
) -> SheetRadius:
    """Least inside radius of a cold bend in steel sheet.

    Parameters
    ----------
    thickness_mm : float
        Above zero and at most 10; above 120 degrees at most 8. [mm]
    tensile_mpa : float
        Tensile strength, at most 640. [MPa]
    angle_deg : float, optional
        Bend angle; above 120 the next thicker row holds. [deg]
    across : bool, optional
        Whether the bend line lies across the rolling direction, which bears the sharper bend. [-]

    Returns
    -------
    SheetRadius
        As the table prints it. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside the table.

    Source
    ------
    DIN 6935, table 1 and clause 3, read in two reprints. EN 10025-2 agrees for S235.

    Examples
    --------
    >>> least_steel_radius(thickness_mm=1.6, tensile_mpa=360).radius_mm
    2.5
    """
    require_between(0, 180, angle_deg=angle_deg)
    require_positive(thickness_mm=thickness_mm, tensile_mpa=tensile_mpa)
    band = next((most for most in _ACROSS if tensile_mpa <= most), None)
    if band is None:
        raise OutOfRange("tensile_mpa", tensile_mpa, 0, 640)
    row = sum(thickness_mm > most + 1e-9 for most in _THICK_MM) + (angle_deg > 120)
    if row >= len(_THICK_MM):
        raise OutOfRange("thickness_mm", thickness_mm, 0, 10 if angle_deg <= 120 else 8)
    return SheetRadius(float((_ACROSS if across else _ALONG)[band][row]), _DIN_6935)


def least_radius(
    *, grade: Grade, thickness_mm: float, angle_deg: float = 90.0, across: bool = True
) -> SheetRadius:
    """Least inside radius of a bend in a grade of sheet, by the table or the rule of its kind.

    Parameters
    ----------
    grade : Grade
        A row of `GRADES`. [-]
    thickness_mm : float
        Of the sheet. [mm]
    angle_deg : float, optional
        Bend angle. [deg]
    across : bool, optional
        Whether the bend line lies across the rolling direction; only the table asks. [-]

    Returns
    -------
    SheetRadius
        The larger one where the rule gives two. [mm]

    Raises
    ------
    OutOfRange
        If a value is outside the table.

    Source
    ------
    DIN 6935 for structural steel; for the rest common practice, recalled.

    Examples
    --------
    >>> least_radius(grade=GRADES["5083 O"], thickness_mm=2).radius_mm
    4.0
    """
    if grade.radius_ratio is None:
        return least_steel_radius(
            thickness_mm=thickness_mm,
            tensile_mpa=grade.tensile_mpa,
            angle_deg=angle_deg,
            across=across,
        )
    require_positive(thickness_mm=thickness_mm)
    return SheetRadius(grade.radius_ratio[1] * thickness_mm, "common practice, recalled")


@dataclass(frozen=True, slots=True)
class Die:
    """A V die in air bending: it sets the least flange and the inside radius. [mm]"""

    opening_mm: float
    least_flange_mm: float
    radius_mm: float


DIES: tuple[Die, ...] = (
    Die(6, 4, 1.0),
    Die(8, 5.5, 1.3),
    Die(10, 7, 1.6),
    Die(12, 8.5, 2.0),
    Die(16, 11, 2.6),
    Die(20, 14, 3.3),
    Die(25, 17.5, 4.0),
    Die(32, 22, 5.0),
    Die(40, 28, 6.5),
    Die(50, 35, 8.0),
)
"""A press-brake maker's air-bending chart for steel of 450 N/mm2."""


def die_of(*, opening_mm: float) -> Die:
    """The row of the air-bending chart for a die.

    Parameters
    ----------
    opening_mm : float
        Width of the V, one of the chart. [mm]

    Returns
    -------
    Die
        Least flange and radius. [mm]

    Raises
    ------
    CoreError
        unknown_die.

    Source
    ------
    A press-brake maker's air-bending chart.

    Examples
    --------
    >>> die_of(opening_mm=12)
    Die(opening_mm=12, least_flange_mm=8.5, radius_mm=2.0)
    """
    for die in DIES:
        if abs(die.opening_mm - opening_mm) < 1e-9:
            return die
    raise CoreError("unknown_die", None, f"The chart has no V of {opening_mm:g} mm.")


def least_flange_in_vice_mm(*, radius_mm: float, thickness_mm: float) -> float:
    """Least flange that a vice and bending bars can hold and turn, over the outside.

    Parameters
    ----------
    radius_mm : float
        Inside radius. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        Radius, thickness, and three thicknesses to hold. [mm]

    Raises
    ------
    OutOfRange
        If a length is not above zero.

    Source
    ------
    Common practice, recalled.

    Examples
    --------
    >>> least_flange_in_vice_mm(radius_mm=3, thickness_mm=2)
    11.0
    """
    require_positive(radius_mm=radius_mm, thickness_mm=thickness_mm)
    return float(radius_mm + 4 * thickness_mm)


def typical_k_ratio(*, metal: str, radius_mm: float, thickness_mm: float) -> float:
    """K-factor to begin with where nothing was measured and DIN is not wanted.

    Parameters
    ----------
    metal : str
        A name of `METALS`. [-]
    radius_mm : float
        Inside radius. [mm]
    thickness_mm : float
        Of the sheet. [mm]

    Returns
    -------
    float
        0.33 for a bend sharper than the thickness, else by the metal. [-]

    Raises
    ------
    OutOfRange
        If a length is not above zero.
    CoreError
        unknown_metal.

    Source
    ------
    Common practice, recalled; measured tables print 0.38 to 0.48.

    Examples
    --------
    >>> typical_k_ratio(metal="steel", radius_mm=3, thickness_mm=2)
    0.42
    """
    require_positive(radius_mm=radius_mm, thickness_mm=thickness_mm)
    if metal not in METALS:
        raise CoreError("unknown_metal", None, f"No table here speaks of “{metal}”.")
    return SHARP_K_RATIO if radius_mm < thickness_mm else METALS[metal].typical_k_ratio


def blank_mass_g(*, area_mm2: float, thickness_mm: float, metal: str) -> float:
    """Mass of a flat piece of sheet.

    Parameters
    ----------
    area_mm2 : float
        Of the metal that is left, holes taken off. [mm2]
    thickness_mm : float
        Of the sheet. [mm]
    metal : str
        A name of `METALS`. [-]

    Returns
    -------
    float
        Mass. [g]

    Raises
    ------
    OutOfRange
        If a value is not above zero.
    CoreError
        unknown_metal.

    Source
    ------
    Density times volume; densities recalled.

    Examples
    --------
    >>> round(blank_mass_g(area_mm2=2500, thickness_mm=2, metal="steel"), 2)
    39.25
    """
    require_positive(area_mm2=area_mm2, thickness_mm=thickness_mm)
    if metal not in METALS:
        raise CoreError("unknown_metal", None, f"No table here speaks of “{metal}”.")
    return area_mm2 * thickness_mm * METALS[metal].density_g_cm3 / 1000
