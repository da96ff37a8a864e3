"""How much a bond bears, as far as its figures are known: the bridge to the core's sum."""

from dataclasses import dataclass

from fabrication.core.bond_strength import BondStrength, bonded_saddle
from fabrication.core.errors import CoreError, Severity
from fabrication.models import Bond

# What is left of the printed strength: house defaults, from no standard.
PREPARED = {Bond.Found.AS_FOUND: 0.2, Bond.Found.HAND: 0.5, Bond.Found.BLASTED: 0.8}
AGED = {Bond.Wet.DRY: 0.8, Bond.Wet.WET: 0.5}
COOL_C, WARM_C, NEAR_LIMIT_K = 40.0, 60.0, 20.0
COOL, WARM, NEAR_LIMIT = 1.0, 0.7, 0.5
WANTED = ("od_mm", "wrap_deg", "width_mm", "load_g", "shake_ratio", "arm_mm")


@dataclass(frozen=True, slots=True)
class Bearing:
    """What a bond bears, or why that cannot be said yet."""

    strength: BondStrength | None
    missing: tuple[str, ...] = ()
    refused: str = ""

    @property
    def said(self) -> list[tuple[str, bool]]:
        """Each doubt of the sum, and whether it stops the work."""
        problems = self.strength.problems if self.strength else ()
        return [(one.message, one.severity is Severity.BLOCKER) for one in problems]


def bearing_of(bond: Bond) -> Bearing:
    """The shear and peel of a bond by its own figures and its glue's printed strength."""
    empty = [name for name in WANTED if getattr(bond, name) is None]
    missing = [str(Bond._meta.get_field(name).verbose_name).lower() for name in empty]
    if bond.adhesive.lap_shear_mpa is None:
        missing.append("lap shear strength of the glue")
    if missing:
        return Bearing(None, tuple(missing))
    try:
        strength = bonded_saddle(
            tube_od_mm=bond.od_mm,
            arc_deg=bond.wrap_deg,
            width_mm=bond.width_mm,
            mass_kg=bond.load_g / 1000,
            g_factor=bond.shake_ratio,
            lap_shear_mpa=bond.adhesive.lap_shear_mpa,
            prepared_ratio=PREPARED[Bond.Found(bond.found)],
            warm_ratio=warm_ratio(bond),
            aged_ratio=AGED[Bond.Wet(bond.wet)],
            arm_mm=bond.arm_mm,
            overhead=bond.is_overhead,
        )
    except CoreError as refused:
        return Bearing(None, refused=refused.message)
    return Bearing(strength)


def warm_ratio(bond: Bond) -> float:
    """What warmth leaves of the strength; where nobody says how hot it gets, that at 60 C."""
    hot_c = bond.service_c
    limit_c = bond.adhesive.service_max_dry_c
    if bond.wet == Bond.Wet.WET and bond.adhesive.service_max_wet_c is not None:
        limit_c = bond.adhesive.service_max_wet_c
    if hot_c is None:
        return WARM
    if limit_c is not None and hot_c > limit_c - NEAR_LIMIT_K:
        return NEAR_LIMIT
    if hot_c <= COOL_C:
        return COOL
    return max(WARM, COOL - (COOL - WARM) * (hot_c - COOL_C) / (WARM_C - COOL_C))
