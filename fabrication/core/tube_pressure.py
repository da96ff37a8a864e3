"""What pressure a tube holds, as an estimate that always carries its caution.

In a bend use the wall at the heel where it is less than that of the straight.
"""

from dataclasses import dataclass
from enum import StrEnum

from .errors import require_between, require_not_negative, require_positive

PRESSURE_CAUTION = (
    "Estimate for a plain straight tube in static pressure. It says nothing about flares, joints, "
    "fatigue, corrosion, heat or a flattened bend. Never use it to accept a brake, fuel or clutch "
    "line: use tube certified for that duty, the flare and nut the car needs, and have the brakes "
    "tested."
)


@dataclass(frozen=True, slots=True)
class PressureEstimate:
    """A pressure, the law it came from, and the caution that goes with it wherever it goes."""

    pressure_bar: float
    law: str
    caution: str = PRESSURE_CAUTION


def barlow_pressure(*, stress_mpa: float, wall_mm: float, od_mm: float) -> PressureEstimate:
    """Pressure at which the hoop stress, on the outside diameter, reaches a stress.

    Parameters
    ----------
    stress_mpa : float
        Allowed stress, above zero. [N/mm2]
    wall_mm, od_mm : float
        Wall, least of straight and heel; outside diameter. [mm]

    Returns
    -------
    PressureEstimate
        P = 20 S t / D. [bar]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    Barlow's formula, on the outside diameter: the careful side.

    Examples
    --------
    >>> barlow_pressure(stress_mpa=33.93, wall_mm=0.7, od_mm=4.75).pressure_bar // 1
    100.0
    """
    require_positive(stress_mpa=stress_mpa)
    _require_wall(wall_mm, od_mm)
    return PressureEstimate(20 * stress_mpa * wall_mm / od_mm, "Barlow, 20 S t / D")


def copper_pressure(*, stress_mpa: float, wall_mm: float, od_mm: float) -> PressureEstimate:
    """Working pressure of copper tube by the form its makers print.

    Parameters
    ----------
    stress_mpa : float
        Allowed stress for temper and temperature, above zero. [N/mm2]
    wall_mm, od_mm : float
        Wall, least of straight and heel; outside diameter. [mm]

    Returns
    -------
    PressureEstimate
        P = 20 F t / (D - t). [bar]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    A UK tube maker's table to EN 1057 and the UK copper board's answers, which give 46, 60 and
    72.5 N/mm2 at 65 degC for R220, R250 and R290.

    Examples
    --------
    >>> round(copper_pressure(stress_mpa=60, wall_mm=0.9, od_mm=22).pressure_bar, 1)
    51.2
    """
    require_positive(stress_mpa=stress_mpa)
    _require_wall(wall_mm, od_mm)
    pressure_bar = 20 * stress_mpa * wall_mm / (od_mm - wall_mm)
    return PressureEstimate(pressure_bar, "EN 1057 tables, 20 F t / (D - t)")


def code_pressure(
    *, stress_mpa: float, least_wall_mm: float, most_od_mm: float
) -> PressureEstimate:
    """Working pressure by the American code form, on the least wall and the largest diameter.

    Parameters
    ----------
    stress_mpa : float
        Allowed stress, above zero. [N/mm2]
    least_wall_mm, most_od_mm : float
        Both at the unlucky end of their tolerances. [mm]

    Returns
    -------
    PressureEstimate
        P = 2 S t / (D - 0.8 t). [bar]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    ASME B31 form as used in the Copper Tube Handbook, CDA A4015, Table 3c.

    Examples
    --------
    >>> round(code_pressure(stress_mpa=6, least_wall_mm=1, most_od_mm=10.8).pressure_bar, 6)
    12.0
    """
    require_positive(stress_mpa=stress_mpa)
    _require_wall(least_wall_mm, most_od_mm)
    pressure_bar = 20 * stress_mpa * least_wall_mm / (most_od_mm - 0.8 * least_wall_mm)
    return PressureEstimate(pressure_bar, "ASME B31 form, 2 S t / (D - 0.8 t)")


class HoopLaw(StrEnum):
    """On which diameter the hoop stress is taken."""

    OUTSIDE = "outside"
    MEAN = "mean"
    THICK_WALL_BORE = "thick_wall_bore"


def hoop_stress_mpa(*, pressure_bar: float, wall_mm: float, od_mm: float, law: HoopLaw) -> float:
    """Hoop stress in a straight tube under pressure.

    Parameters
    ----------
    pressure_bar : float
        Pressure inside, not negative. [bar]
    wall_mm, od_mm : float
        Wall, and outside diameter. [mm]
    law : HoopLaw
        On the outside diameter (careful), the mean one, or at the bore of a thick wall.

    Returns
    -------
    float
        Stress. [N/mm2]

    Raises
    ------
    OutOfRange
        If a value is outside its limits.

    Source
    ------
    Barlow p D / 2t; p (D - t) / 2t; Lame p (D^2 + d^2) / (D^2 - d^2).

    Examples
    --------
    >>> stress = hoop_stress_mpa(pressure_bar=100, wall_mm=0.7, od_mm=4.75, law=HoopLaw.OUTSIDE)
    >>> round(stress, 1)
    33.9
    """
    require_not_negative(pressure_bar=pressure_bar)
    _require_wall(wall_mm, od_mm)
    pressure_mpa = pressure_bar / 10
    if law is HoopLaw.OUTSIDE:
        return pressure_mpa * od_mm / (2 * wall_mm)
    if law is HoopLaw.MEAN:
        return pressure_mpa * (od_mm - wall_mm) / (2 * wall_mm)
    bore_mm = od_mm - 2 * wall_mm
    return pressure_mpa * (od_mm**2 + bore_mm**2) / (od_mm**2 - bore_mm**2)


def _require_wall(wall_mm: float, od_mm: float) -> None:
    require_positive(od_mm=od_mm)
    require_between(0, od_mm / 2, wall_mm=wall_mm)
