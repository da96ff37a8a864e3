"""How much a small bracket bears: a number, its margin, and what was assumed to get there.

None of these says that a part will do. They say what a plain sum gives, so that what is far too
weak is seen before it is made. Notches, heat, rust and shaking take more than any sum knows.
"""

import math
from dataclasses import dataclass

from .errors import (
    OutOfRange,
    Problem,
    blocker,
    caution,
    require_not_negative,
    require_positive,
)

G0_M_S2 = 9.80665
NET_SECTION_FACTOR = 1.25
"""Partial factor of the net section in tension: EN 1993-1-1, 6.1, recalled."""

G_FACTORS = {"chassis": 5.0, "rough": 10.0, "engine": 15.0}
"""Times its own weight that a bracket's load jerks. House default, to be changed: chassis 5, by a
wheel or on rough roads 10, on the engine 8 to 15."""

STATIC_FACTOR = 2.0
ENGINE_PEAK_SHARE = 0.3
"""Wanted margin on yield for a load now and then, and the share of the tensile strength that the
peak stress beside a hole may reach where the engine shakes it. House defaults."""

SHAKEN_HZ = (20.0, 250.0)
"""What a four-cylinder engine's firing shakes between idle and full speed, with some to spare."""


@dataclass(frozen=True, slots=True)
class StrapStrength:
    """What a flat strap with a hole bears along its length. [N]"""

    bears_n: float
    gross_n: float
    net_n: float
    peak_ratio: float
    assumption: str

    @property
    def gives_at_hole(self) -> bool:
        """Whether the metal beside the hole decides."""
        return self.net_n < self.gross_n

    def margin(self, load_n: float) -> float:
        """How many times a load it bears."""
        return self.bears_n / load_n


def strap_with_hole(
    *, width_mm: float, thickness_mm: float, hole_mm: float, yield_mpa: float, tensile_mpa: float
) -> StrapStrength:
    """Pull that a strap with a hole in its middle line bears.

    Parameters
    ----------
    width_mm, thickness_mm : float
        Of the strap. [mm]
    hole_mm : float
        Diameter of the hole, less than the width; 0 for none. [mm]
    yield_mpa, tensile_mpa : float
        Least strengths of the sheet. [MPa]

    Returns
    -------
    StrapStrength
        The lesser of yielding all across and breaking beside the hole; with the stress
        concentration beside the hole. [N, -]

    Raises
    ------
    OutOfRange
        If a value cannot be.

    Source
    ------
    EN 1993-1-1, 6.2.3, recalled; concentration 2 + (1 - d/w)^3 on the net section, recalled.

    Examples
    --------
    >>> strap = strap_with_hole(width_mm=20, thickness_mm=2, hole_mm=6.6, yield_mpa=235,
    ...     tensile_mpa=360)
    >>> round(strap.bears_n), round(strap.peak_ratio, 2)
    (6947, 2.3)
    """
    require_positive(width_mm=width_mm, thickness_mm=thickness_mm, yield_mpa=yield_mpa)
    require_positive(tensile_mpa=tensile_mpa)
    _require_hole(hole_mm, width_mm)
    gross_n = width_mm * thickness_mm * yield_mpa
    net_n = 0.9 * (width_mm - hole_mm) * thickness_mm * tensile_mpa / NET_SECTION_FACTOR
    peak_ratio = 2 + (1 - hole_mm / width_mm) ** 3 if hole_mm else 1.0
    says = "A steady pull along the strap, the hole in its middle; nothing bends it."
    return StrapStrength(min(gross_n, net_n), gross_n, net_n, peak_ratio, says)


def _require_hole(hole_mm: float, width_mm: float) -> None:
    require_not_negative(hole_mm=hole_mm)
    if hole_mm >= width_mm:
        why = "The hole is as wide as the strip."
        raise OutOfRange("hole_mm", hole_mm, 0, width_mm, why=why)


@dataclass(frozen=True, slots=True)
class Section:
    """A cross-section bent about its weak axis: second moment, and least modulus. [mm4, mm3]"""

    second_moment_mm4: float
    modulus_mm3: float
    area_mm2: float


def strip_section(*, width_mm: float, thickness_mm: float, hole_mm: float = 0.0) -> Section:
    """Section of a flat strip, bent over its flat.

    Parameters
    ----------
    width_mm, thickness_mm : float
        Of the strip. [mm]
    hole_mm : float, optional
        Diameter of a hole where it bends most: it weakens, and hardly softens. [mm]

    Returns
    -------
    Section
        Stiffness of the whole width, strength of what the hole leaves. [mm4, mm3]

    Raises
    ------
    OutOfRange
        If a value cannot be.

    Source
    ------
    b t^3 / 12 and (b - d) t^2 / 6.

    Examples
    --------
    >>> round(strip_section(width_mm=25, thickness_mm=2, hole_mm=6.6).modulus_mm3, 3)
    12.267
    """
    require_positive(width_mm=width_mm, thickness_mm=thickness_mm)
    _require_hole(hole_mm, width_mm)
    return Section(
        width_mm * thickness_mm**3 / 12,
        (width_mm - hole_mm) * thickness_mm**2 / 6,
        width_mm * thickness_mm,
    )


def flanged_section(
    *, width_mm: float, thickness_mm: float, flange_mm: float, hole_mm: float = 0.0
) -> Section:
    """Section of a strip with one edge turned up along its length.

    Parameters
    ----------
    width_mm, thickness_mm : float
        Of the flat strip beside the flange. [mm]
    flange_mm : float
        Height of the turned edge over all, more than the thickness. [mm]
    hole_mm : float, optional
        Diameter of a hole in the flat where it bends most. [mm]

    Returns
    -------
    Section
        About the common middle line; the fold is taken as square. [mm4, mm3]

    Raises
    ------
    OutOfRange
        If a value cannot be.

    Source
    ------
    Parallel axes: I = sum of b h^3 / 12 + A d^2.

    Examples
    --------
    >>> turned = flanged_section(width_mm=25, thickness_mm=2, flange_mm=20)
    >>> round(turned.second_moment_mm4 / strip_section(width_mm=25, thickness_mm=2)
    ...     .second_moment_mm4)
    185
    """
    require_positive(width_mm=width_mm, thickness_mm=thickness_mm)
    if not thickness_mm < flange_mm < math.inf:
        raise OutOfRange("flange_mm", flange_mm, thickness_mm, math.inf)
    _require_hole(hole_mm, width_mm)
    rise_mm = flange_mm - thickness_mm
    stiff_mm4, _, area_mm2 = _of_angle(width_mm, thickness_mm, rise_mm)
    weak_mm4, far_mm, _ = _of_angle(width_mm - hole_mm, thickness_mm, rise_mm)
    return Section(stiff_mm4, weak_mm4 / far_mm, area_mm2)


def _of_angle(width_mm: float, thickness_mm: float, rise_mm: float) -> tuple[float, float, float]:
    flat_mm2, flange_mm2 = width_mm * thickness_mm, thickness_mm * rise_mm
    area_mm2 = flat_mm2 + flange_mm2
    flat_at_mm, flange_at_mm = thickness_mm / 2, thickness_mm + rise_mm / 2
    middle_mm = (flat_mm2 * flat_at_mm + flange_mm2 * flange_at_mm) / area_mm2
    second_mm4 = width_mm * thickness_mm**3 / 12 + flat_mm2 * (flat_at_mm - middle_mm) ** 2
    second_mm4 += thickness_mm * rise_mm**3 / 12 + flange_mm2 * (flange_at_mm - middle_mm) ** 2
    return second_mm4, max(middle_mm, thickness_mm + rise_mm - middle_mm), area_mm2


@dataclass(frozen=True, slots=True)
class CantileverStrength:
    """A bracket that sticks out with a mass at its end. [MPa, mm, Hz]"""

    stress_mpa: float
    margin_on_yield: float
    peak_mpa: float
    droop_mm: float
    first_mode_hz: float
    problems: tuple[Problem, ...]
    assumption: str

    @property
    def engine_rpm(self) -> float:
        """Speed at which a four-cylinder engine fires as often as the bracket swings. [1/min]"""
        return self.first_mode_hz * 30


def firing_hz(*, engine_rpm: float, cylinders: int = 4) -> float:
    """How often a four-stroke engine fires.

    Parameters
    ----------
    engine_rpm : float
        Speed of the crankshaft. [1/min]
    cylinders : int, optional
        Their number. [-]

    Returns
    -------
    float
        A cylinder fires every other turn. [Hz]

    Raises
    ------
    OutOfRange
        If a value is not above zero.

    Source
    ------
    The four-stroke cycle.

    Examples
    --------
    >>> round(firing_hz(engine_rpm=800), 1), firing_hz(engine_rpm=6000)
    (26.7, 200.0)
    """
    require_positive(engine_rpm=engine_rpm, cylinders=cylinders)
    return engine_rpm / 60 * cylinders / 2


def cantilever(
    *,
    section: Section,
    length_mm: float,
    mass_kg: float,
    g_factor: float,
    modulus_mpa: float,
    yield_mpa: float,
    tensile_mpa: float,
    density_g_cm3: float,
    peak_ratio: float = 1.0,
    on_engine: bool = False,
) -> CantileverStrength:
    """Stress, droop and first mode of a bracket that sticks out.

    Parameters
    ----------
    section : Section
        Of the strip where it leaves its fixing. [mm4, mm3]
    length_mm : float
        From the fixing to the middle of the mass. [mm]
    mass_kg : float
        At the end. [kg]
    g_factor : float
        How many times its weight it jerks. [-]
    modulus_mpa, yield_mpa, tensile_mpa : float
        Of the sheet. [MPa]
    density_g_cm3 : float
        Of the sheet. [g/cm3]
    peak_ratio : float, optional
        Stress concentration beside a hole at the fixing. [-]
    on_engine : bool, optional
        Whether the engine shakes it: its peak stress and first mode are judged then. [-]

    Returns
    -------
    CantileverStrength
        With `too_weak`, `tires`, `resonates` where they apply. [MPa, mm, Hz]

    Raises
    ------
    OutOfRange
        If a value is not above zero.

    Source
    ------
    Beam formulas; the mass of the strip is in stress and droop, not in the mode. The g factor,
    the wanted margin and the share of the tensile strength are house defaults.

    Examples
    --------
    >>> strip = strip_section(width_mm=25, thickness_mm=2, hole_mm=6.6)
    >>> found = cantilever(section=strip, length_mm=60, mass_kg=0.35, g_factor=8,
    ...     modulus_mpa=206_000, yield_mpa=235, tensile_mpa=360, density_g_cm3=7.85)
    >>> round(found.stress_mpa), round(found.droop_mm, 2), round(found.first_mode_hz)
    (139, 0.59, 59)
    """
    require_positive(length_mm=length_mm, mass_kg=mass_kg, g_factor=g_factor)
    require_positive(modulus_mpa=modulus_mpa, yield_mpa=yield_mpa, tensile_mpa=tensile_mpa)
    require_positive(density_g_cm3=density_g_cm3, peak_ratio=peak_ratio)
    load_n = mass_kg * g_factor * G0_M_S2
    own_n_mm = section.area_mm2 * density_g_cm3 * 1e-6 * g_factor * G0_M_S2
    moment_n_mm = load_n * length_mm + own_n_mm * length_mm**2 / 2
    stress_mpa = moment_n_mm / section.modulus_mm3
    stiff_n_mm2 = modulus_mpa * section.second_moment_mm4
    droop_mm = load_n * length_mm**3 / (3 * stiff_n_mm2)
    droop_mm += own_n_mm * length_mm**4 / (8 * stiff_n_mm2)
    spring_n_m = 3 * stiff_n_mm2 / length_mm**3 * 1000
    first_mode_hz = math.sqrt(spring_n_m / mass_kg) / (2 * math.pi)
    margin = yield_mpa / stress_mpa
    peak_mpa = stress_mpa * peak_ratio
    problems = _cantilever_problems(margin, peak_mpa / tensile_mpa, first_mode_hz, on_engine)
    says = (
        f"Held stiffly at one end, the mass of {mass_kg:g} kg jerking at {g_factor:g} times its "
        "weight at the other. The jerk is our figure."
    )
    return CantileverStrength(stress_mpa, margin, peak_mpa, droop_mm, first_mode_hz, problems, says)


def _cantilever_problems(
    margin: float, peak_share: float, first_mode_hz: float, on_engine: bool
) -> tuple[Problem, ...]:
    found = []
    if margin < STATIC_FACTOR:
        says = (
            f"It yields at {margin:.1f} times this load; {STATIC_FACTOR:g} is wanted: thicker, "
            "shorter, or turn up an edge."
        )
        found.append(blocker("too_weak", says))
    if on_engine and peak_share > ENGINE_PEAK_SHARE:
        says = (
            f"Beside the hole the stress reaches {peak_share:.2f} of the strength; on an engine "
            f"it tires above {ENGINE_PEAK_SHARE:g}."
        )
        found.append(caution("tires", says))
    if on_engine and SHAKEN_HZ[0] <= first_mode_hz <= SHAKEN_HZ[1]:
        says = (
            f"It swings at {first_mode_hz:.0f} times a second, as a four-cylinder engine fires at "
            f"{first_mode_hz * 30:.0f} rpm: turn up an edge, or fix it twice."
        )
        found.append(caution("resonates", says))
    return tuple(found)
