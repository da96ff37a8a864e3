"""Tube tables as frozen rows, each with its source. Sizes in mm, strengths in N/mm2.

A row marked "recalled" was written from memory and not read again in its source; a row marked
"house default" rests on no standard. Both words are part of the source and are shown with it.
"""

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType

from .errors import CoreError, OutOfRange, require_positive

MM_PER_INCH = 25.4


@dataclass(frozen=True, slots=True)
class Temper:
    """A material in one state: strength and how far it stretches before it breaks.

    `thick_wall_mm` is the wall from which on the second elongation holds.
    """

    name: str
    tensile_mpa: float
    elongation_thin_ratio: float
    elongation_thick_ratio: float
    source: str
    thick_wall_mm: float = 0.0
    yield_mpa: float | None = None

    def elongation_ratio(self, wall_mm: float) -> float:
        """Return the elongation at fracture for a wall. [-]"""
        thick = wall_mm >= self.thick_wall_mm
        return self.elongation_thick_ratio if thick else self.elongation_thin_ratio


_EN_1057 = "EN 1057, read in a UK tube maker's table"
_EN_10305 = "EN 10305-1, normalised (+N)"

TEMPERS: Mapping[str, Temper] = MappingProxyType(
    {
        temper.name: temper
        for temper in (
            Temper("EN 1057 R220", 220, 0.40, 0.40, "EN 1057, recalled"),
            Temper("EN 1057 R250", 250, 0.30, 0.20, _EN_1057, thick_wall_mm=1.0),
            Temper("EN 1057 R290", 290, 0.03, 0.03, _EN_1057),
            Temper("EN 10305 E215", 290, 0.30, 0.30, _EN_10305, yield_mpa=215),
            Temper("EN 10305 E235", 340, 0.25, 0.25, _EN_10305, yield_mpa=235),
            Temper("EN 10305 E355", 490, 0.22, 0.22, _EN_10305, yield_mpa=355),
        )
    }
)
"""R220 annealed, R250 half hard, R290 hard copper; E grades steel. At what wall R250 counts as
thick was not printed beside the figures: 1.0 mm is a house default, on the careful side."""


@dataclass(frozen=True, slots=True)
class TubeSize:
    """One outside diameter with the walls the trade sells."""

    standard: str
    od_mm: float
    walls_mm: tuple[float, ...]
    source: str


def _copper(od_mm: float, *walls_mm: float) -> TubeSize:
    return TubeSize("EN 1057", od_mm, walls_mm, _EN_1057)


def _recalled(standard: str, od_mm: float, *walls_mm: float) -> TubeSize:
    return TubeSize(standard, od_mm, walls_mm, "common trade size, recalled")


TUBE_SIZES: tuple[TubeSize, ...] = (
    _copper(12, 0.6, 0.8),
    _copper(15, 0.7, 1.0),
    _copper(22, 0.9, 1.2),
    _copper(28, 0.9, 1.2),
    _copper(35, 1.0, 1.2, 1.5),
    _copper(42, 1.0, 1.2, 1.5),
    _copper(54, 1.0, 1.2, 2.0),
    _recalled("brake tube", 4.75, 0.7),
    _recalled("brake tube", 6, 0.7),
    _recalled("EN 10305-4", 8, 1.0),
    _recalled("EN 10305-4", 10, 1.0, 1.5),
    _recalled("EN 10305-4", 12, 1.0, 1.5),
    _recalled("EN 10305-4", 15, 1.0, 1.5),
)

COPPER_STRESS_65C_MPA: Mapping[str, float] = MappingProxyType(
    {"EN 1057 R220": 46.0, "EN 1057 R250": 60.0, "EN 1057 R290": 72.5}
)
"""Allowed stress at 65 degC. UK copper board's answers. Annealed for bending: use R220."""

COPPER_STRESS_ANNEALED_MPA: Mapping[int, float] = MappingProxyType(
    {65: 46.0, 110: 40.0, 150: 34.0, 175: 26.0, 200: 18.0}
)
"""R220 by temperature [degC]. Same source."""


@dataclass(frozen=True, slots=True)
class RadiusAdvice:
    """The least bend radius a table prints for one tube in one state. [mm]"""

    od_mm: float
    state: str
    radius_mm: float
    source: str


_CDA = "Copper Tube Handbook, CDA A4015, Table 13"
_FAA = "FAA AC 43.13-1B Table 9-2, recalled"


def _inches(state: str, source: str, *rows: tuple[float, float]) -> tuple[RadiusAdvice, ...]:
    return tuple(
        RadiusAdvice(od * MM_PER_INCH, state, radius * MM_PER_INCH, source) for od, radius in rows
    )


LEAST_RADII: tuple[RadiusAdvice, ...] = (
    # Outside diameters: the handbook's nominal sizes are an eighth of an inch smaller.
    *_inches(
        "copper, annealed",
        _CDA,
        (0.375, 0.75),
        (0.5, 1.5),
        (0.625, 2.25),
        (0.875, 3),
        (1.125, 4),
        (1.375, 9),
    ),
    *_inches("copper, drawn", _CDA, (0.5, 1.75), (0.625, 2.5), (0.875, 3)),
    *_inches(
        "aluminium",
        _FAA,
        (3 / 16, 7 / 16),
        (1 / 4, 9 / 16),
        (5 / 16, 3 / 4),
        (3 / 8, 15 / 16),
        (1 / 2, 1.25),
        (5 / 8, 1.5),
        (3 / 4, 1.75),
        (1, 3),
        (1.25, 3.75),
        (1.5, 5),
        (2, 8),
    ),
    *_inches(
        "steel",
        _FAA,
        (3 / 16, 21 / 32),
        (1 / 4, 7 / 8),
        (5 / 16, 9 / 8),
        (3 / 8, 21 / 16),
        (1 / 2, 1.75),
        (5 / 8, 35 / 16),
        (3 / 4, 21 / 8),
        (1, 3.5),
        (1.25, 35 / 8),
        (1.5, 5.25),
        (2, 7),
    ),
)

RULES_OF_THUMB: Mapping[str, tuple[float, str]] = MappingProxyType(
    {
        "half-hard copper, spring": (5.0, "a UK tube maker's technical guide, 3.4"),
        "half-hard copper, machine": (
            3.5,
            "a UK tube maker's technical guide, 3.4: 3 diameters inside",
        ),
        "brake pipe by hand": (3.5, "house default: 3 diameters inside"),
    }
)
"""Least centre-line radius in outside diameters."""


def least_radius_advice(*, od_mm: float, state: str) -> RadiusAdvice:
    """Least radius printed for a tube, or the rule of thumb for its kind.

    Parameters
    ----------
    od_mm : float
        Outside diameter, above zero. [mm]
    state : str
        A state of `LEAST_RADII` or a name of `RULES_OF_THUMB`. [-]

    Returns
    -------
    RadiusAdvice
        Of the next larger printed size where this one is not printed. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero, or larger than any printed.
    CoreError
        unknown_state.

    Source
    ------
    Named in every row.

    Examples
    --------
    >>> least_radius_advice(od_mm=4.75, state="brake pipe by hand").radius_mm
    16.625
    """
    require_positive(od_mm=od_mm)
    if state in RULES_OF_THUMB:
        diameters, source = RULES_OF_THUMB[state]
        return RadiusAdvice(od_mm, state, diameters * od_mm, source)
    rows = [row for row in LEAST_RADII if row.state == state]
    if not rows:
        raise CoreError("unknown_state", None, f"No table here speaks of “{state}”.")
    largest_mm = max(row.od_mm for row in rows)
    if od_mm > largest_mm + 0.01:
        raise OutOfRange("od_mm", od_mm, 0, largest_mm)
    return min((row for row in rows if row.od_mm >= od_mm - 0.01), key=lambda row: row.od_mm)
