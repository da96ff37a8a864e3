"""The work a piece is to go through, as far as it bears on what the piece stands."""

import re
from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType

# Processes of a finisher (parts.models.finisher.Process) and of the bench at home.
BLAST, POWDER, PAINT, PLATE = "blast", "powder", "paint", "plate"
HOT_DIP, PHOSPHATE, STRIP, MACHINE, WELD = "hot_dip", "phosphate", "strip", "machine", "weld"
ABRADE, BURN, BRAZE = "abrade", "burn", "braze"

COATS = frozenset({POWDER, PAINT, PLATE, HOT_DIP, PHOSPHATE})
OVENS = (HOT_DIP, POWDER, PHOSPHATE, PAINT)
FLAMES = frozenset({WELD, BRAZE, BURN})
SPARKS = frozenset({WELD, MACHINE, ABRADE})
DUSTY = frozenset({BLAST, ABRADE, MACHINE})

NAMES = MappingProxyType(
    {
        BLAST: "blasting",
        POWDER: "powder coat",
        PAINT: "wet paint",
        PLATE: "plating",
        HOT_DIP: "hot-dip galvanising",
        PHOSPHATE: "phosphate",
        STRIP: "chemical strip",
        MACHINE: "machining",
        WELD: "welding",
        ABRADE: "dry sanding",
        BURN: "burning off",
        BRAZE: "brazing",
    }
)
# Metal temperature and minutes to reckon with when the finisher never said. [C, min]
# Sources: powder, cure schedules read (10 min at 200 C, 15 to 20 min at 180 C), the worse of
# each; phosphate with e-coat 160 to 180 C, wet paint stoved at 60 to 80 C, zinc bath 450 C: from
# memory. The minutes of the last three are ours.
UNSAID = MappingProxyType(
    {POWDER: (200.0, 20.0), PHOSPHATE: (180.0, 20.0), PAINT: (80.0, 30.0), HOT_DIP: (450.0, 10.0)}
)
# Thickest film of each coat. [um] Common figures, from memory.
FILM_UM = MappingProxyType(
    {POWDER: 120.0, PAINT: 150.0, PHOSPHATE: 30.0, PLATE: 12.0, HOT_DIP: 85.0}
)
# Below this nothing on a car minds the heat: air-drying paint is no oven. Ours. [C]
OVEN_FROM_C = 40.0

_SILICA = re.compile(r"\b(sand|silica|quartz|flint|sandblast\w*)\b")
_NOT_SILICA = re.compile(
    r"\b(no|not|never|without|free of|free from)\b[^,;.]*\b(sand|silica|quartz)\b|"
    r"\b(sand|silica|quartz)[- ]free\b"
)
_SOFT = re.compile(r"\b(plastic|soda|bicarb\w*|walnut|nut ?shells?|corn ?cob|dry ice|starch)\b")
_STEEL = re.compile(r"\b(steel|iron)\b")
_SODA = re.compile(r"\b(soda|bicarb\w*)\b")
_BAKE = re.compile(r"\bbak(e|ed|ing)\b")
_NO_BAKE = re.compile(r"\b(no|not|never|without|don.t)\b[^,;.]*\bbak(e|ed|ing)\b")


@dataclass(frozen=True, slots=True, kw_only=True)
class Heat:
    """The hottest the metal gets in one process, and for how long. [C, min]"""

    process: str
    peak_c: float
    minutes: float
    peak_said: bool
    minutes_said: bool

    @property
    def words(self) -> str:
        return f"{NAMES[self.process]} at {self.peak_c:g} °C metal"

    @property
    def sentence(self) -> str:
        return f"{self.words[0].upper()}{self.words[1:]}."

    @property
    def assumed(self) -> tuple[str, ...]:
        """The figure nobody gave; a zinc bath needs none, zinc melts where it melts."""
        if self.peak_said or self.process == HOT_DIP:
            return ()
        return (f"{NAMES[self.process]} with no figure: {self.peak_c:g} °C metal",)


@dataclass(frozen=True, slots=True, kw_only=True)
class Sending:
    """Processes in their order, and what was agreed about them."""

    processes: tuple[str, ...]
    grit: str = ""
    # Process to (hottest the metal gets, minutes at it), None where nobody asked. [C, min]
    heat: Mapping[str, tuple[float | None, float | None]] = field(default_factory=dict)
    film_um: float | None = None
    # What is written for the finisher: a bake for hydrogen counts when it stands there.
    remarks: str = ""
    at_home: bool = False

    def has(self, *processes: str) -> bool:
        return any(process in self.processes for process in processes)

    @property
    def coats(self) -> tuple[str, ...]:
        return tuple(process for process in self.processes if process in COATS)

    @property
    def heats(self) -> tuple[Heat, ...]:
        """Everything that heats the whole piece, the hottest first."""
        found = [self._heat(process) for process in self.processes if process in OVENS]
        hot = [heat for heat in found if heat.peak_c > OVEN_FROM_C]
        return tuple(sorted(hot, key=lambda heat: -heat.peak_c))

    def _heat(self, process: str) -> Heat:
        peak_c, minutes = self.heat.get(process, (None, None))
        unsaid_c, unsaid_minutes = UNSAID[process]
        return Heat(
            process=process,
            peak_c=unsaid_c if peak_c is None else peak_c,
            minutes=unsaid_minutes if minutes is None else minutes,
            peak_said=peak_c is not None,
            minutes_said=minutes is not None,
        )

    @property
    def hottest(self) -> Heat | None:
        return self.heats[0] if self.heats else None

    @property
    def is_hot(self) -> bool:
        """Whether anything heats it, an oven, a bath or a flame."""
        return bool(self.heats) or bool(FLAMES & set(self.processes))

    @property
    def has_silica(self) -> bool:
        """Whether the grit named holds free silica. "Silica-free" and "no sand" do not."""
        grit = _NOT_SILICA.sub("", self.grit.lower())
        return bool(_SILICA.search(grit))

    @property
    def grit_is_hard(self) -> bool | None:
        """False for grit known to be soft, None when nobody said which."""
        if not self.grit.strip():
            return None
        return not _SOFT.search(self.grit.lower())

    @property
    def grit_is_steel(self) -> bool:
        return bool(_STEEL.search(self.grit.lower()))

    @property
    def grit_is_soda(self) -> bool:
        return bool(_SODA.search(self.grit.lower()))

    @property
    def is_baked(self) -> bool:
        """Whether a bake for hydrogen is written for the finisher."""
        said = self.remarks.lower()
        return bool(_BAKE.search(_NO_BAKE.sub("", said)))

    def film_of(self, process: str) -> tuple[float, bool]:
        """Film of one coat and whether it was said. [um]

        A thickness agreed for the sheet is the powder's or the paint's where there is one, not
        the zinc's under it.
        """
        paints = {POWDER, PAINT} & set(self.processes)
        if self.film_um is not None and (process in paints or not paints):
            return self.film_um, True
        return FILM_UM[process], False
