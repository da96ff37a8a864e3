"""How much a glued saddle bears, in shear and in peel: a number, its margin, what was assumed.

It never says that a bond will do: mean shear flatters, and the end that lifts is what breaks.
"""

import math
from dataclasses import dataclass

from .errors import (
    Problem,
    blocker,
    caution,
    require_between,
    require_not_negative,
    require_positive,
)
from .strength import G0_M_S2

BOND_FACTOR, BOND_FACTOR_OVERHEAD = 4.0, 6.0
PEEL_SHARE = 0.1
"""Wanted margin of a bond, and the share of its knocked-down strength that may peel. House
defaults."""


@dataclass(frozen=True, slots=True)
class BondStrength:
    """A saddle glued to a tube: area, shear and peel, each with what it may be. [mm2, MPa]"""

    area_mm2: float
    shear_mpa: float
    allowed_mpa: float
    peel_mpa: float
    problems: tuple[Problem, ...]
    assumption: str

    @property
    def margin(self) -> float:
        """How many times the load the bond bears in shear, after the knock-downs."""
        return self.allowed_mpa / self.shear_mpa

    @property
    def peel_allowed_mpa(self) -> float:
        return PEEL_SHARE * self.allowed_mpa


def bonded_saddle(
    *,
    tube_od_mm: float,
    width_mm: float,
    arc_deg: float,
    mass_kg: float,
    g_factor: float,
    lap_shear_mpa: float,
    prepared_ratio: float,
    warm_ratio: float,
    aged_ratio: float,
    arm_mm: float,
    overhead: bool = False,
) -> BondStrength:
    """Shear and peel of a saddle glued round a tube.

    Parameters
    ----------
    tube_od_mm, width_mm : float
        Outside diameter, and width of the saddle along the tube. [mm]
    arc_deg : float
        How far round it is glued. [deg]
    mass_kg : float
        What hangs on it. [kg]
    g_factor : float
        How many times its weight it jerks. [-]
    lap_shear_mpa : float
        Published lap shear strength of the adhesive. [MPa]
    prepared_ratio, warm_ratio, aged_ratio : float
        What preparation, warmth and age leave of it, each above 0 and at most 1. [-]
    arm_mm : float
        How far from the bond the load acts. [mm]
    overhead : bool, optional
        Whether it falls on somebody, or on the road, when it lets go. [-]

    Returns
    -------
    BondStrength
        With `bond_small`, `peels` where they apply. [mm2, MPa]

    Raises
    ------
    OutOfRange
        If a value cannot be.

    Source
    ------
    Mean shear; peel 6 F e / (b a^2) of the glued length. Wanted margins are house defaults; lap
    shear results are not design strengths (ASTM D4896).

    Examples
    --------
    >>> bond = bonded_saddle(tube_od_mm=28, arc_deg=180, width_mm=20, mass_kg=0.6, g_factor=10,
    ...     lap_shear_mpa=18, prepared_ratio=0.5, warm_ratio=0.7, aged_ratio=0.8, arm_mm=15)
    >>> round(bond.shear_mpa, 3), round(bond.margin), round(bond.peel_mpa, 2)
    (0.067, 75, 0.14)
    """
    require_positive(tube_od_mm=tube_od_mm, width_mm=width_mm, mass_kg=mass_kg)
    require_positive(g_factor=g_factor, lap_shear_mpa=lap_shear_mpa)
    require_not_negative(arm_mm=arm_mm)
    require_between(0, 360 + 1e-9, arc_deg=arc_deg)
    shares = {"prepared": prepared_ratio, "warm": warm_ratio, "aged": aged_ratio}
    require_between(0, 1 + 1e-9, **{f"{name}_ratio": share for name, share in shares.items()})
    arc_mm = math.radians(arc_deg) * tube_od_mm / 2
    load_n = mass_kg * g_factor * G0_M_S2
    shear_mpa = load_n / (arc_mm * width_mm)
    allowed_mpa = lap_shear_mpa * prepared_ratio * warm_ratio * aged_ratio
    peel_mpa = 6 * load_n * arm_mm / (width_mm * arc_mm**2)
    wanted = BOND_FACTOR_OVERHEAD if overhead else BOND_FACTOR
    found = []
    if allowed_mpa / shear_mpa < wanted:
        says = (
            f"The bond bears {allowed_mpa / shear_mpa:.1f} times this load; {wanted:g} is wanted: "
            "a bigger saddle, less weight, or bolts."
        )
        found.append(blocker("bond_small", says))
    if peel_mpa > PEEL_SHARE * allowed_mpa:
        says = (
            f"The load peels it open with {peel_mpa:.2g} MPa; {PEEL_SHARE * allowed_mpa:.2g} is "
            "the most: wrap further round, add a band, or a bolt at the end that lifts."
        )
        found.append(caution("peels", says))
    says = (
        f"Lap shear of {lap_shear_mpa:g} MPa with an allowance for preparation, warmth and age; "
        "mean shear flatters a bond, peel breaks it."
    )
    return BondStrength(arc_mm * width_mm, shear_mpa, allowed_mpa, peel_mpa, tuple(found), says)
