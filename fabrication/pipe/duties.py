"""What runs in a pipe decides what may be done to it: the cautions, and what is refused."""

from dataclasses import dataclass

from fabrication.models import Duty
from fabrication.pipe import inputs

GUARDED = (Duty.BRAKE, Duty.FUEL, Duty.CLUTCH, Duty.POWER_STEERING)
REFUSED_ENDS = {
    inputs.BEAD: "a bead",
    inputs.HOSE: "hose",
    inputs.SOLDER: "soft solder",
    inputs.GLUE: "glue",
}


@dataclass(frozen=True, slots=True)
class Caution:
    word: str
    says: str
    source: str


def is_guarded(duty: str) -> bool:
    """Whether a failure of this pipe hurts somebody."""
    return duty in GUARDED


def refusal(duty: str, form: str) -> str:
    """Why an end of this form is refused on this pipe, or nothing."""
    if not is_guarded(duty) or form not in REFUSED_ENDS:
        return ""
    name = Duty(duty).label.lower()
    return (
        f"No {REFUSED_ENDS[form].removeprefix('a ')} on a {name} pipe. Flare it, or leave it plain."
    )


# The standards of brake tube are from memory; what inspections refuse differs by country.
_TUBE = {
    Duty.BRAKE: "Use tube made and marked to a standard for brakes: copper-nickel 90/10 or coated "
    "steel. Plumbing copper hardens, cracks, and some inspections refuse it.",
    Duty.CLUTCH: "Use tube made and marked to a standard for hydraulics: copper-nickel 90/10 or "
    "coated steel, no plumbing copper.",
    Duty.FUEL: "Use tube made for fuel, and hose that stands today's petrol: ethanol attacks old "
    "rubber, zinc and terne plate.",
    Duty.POWER_STEERING: "Use seamless steel tube made for the pressure of the pump, with the "
    "ends that the rack and the pump were made for.",
}
_ENDS = {
    Duty.FUEL: "No bead, no glue, no soft solder. An olive only where the maker fitted one.",
}
_FLARE = (
    "No bead, no glue, no soft solder. Flare as the nut and the seat ask: a double flare and a "
    "bubble flare do not replace one another, nor do their nuts. Never a single flare."
)
_TEST = {
    Duty.FUEL: "Have it tested for weeps, engine off, before it is driven.",
}
_PRESSURE = (
    "Your inspection rules and a qualified person decide. Have it tested under full pressure, "
    "look for weeps, and look again after a week."
)


def cautions_of(duty: str) -> list[Caution]:
    """What is said on page and paper for this duty; nothing for coolant and the like."""
    if not is_guarded(duty):
        return []
    kind = Duty(duty)
    source = "Common practice; standards of tube and flare from memory."
    return [
        Caution(f"{kind.label} pipe", _TUBE[kind], source),
        Caution("Ends", _ENDS.get(kind, _FLARE), source),
        Caution("Before it is used", _TEST.get(kind, "") or _PRESSURE, "House rule."),
    ]
