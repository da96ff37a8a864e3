"""Screw threads found on old cars: what each is, how to find it, and what it is mistaken for.

`data/threads.csv` holds one row per thread. Where the figures come from:

- metric: ISO 261 and ISO 724; stress area ISO 898-1; hexagons ISO 272, tapping drill ISO 2306;
- UNC, UNF: ASME B1.1; BSW, BSF: BS 84; G: ISO 228-1; BA: BS 93 (pitch 0.9^n mm, diameter
  6 p^1.2, hexagon 1.75 d); drills for the British ones BS 1157;
- brass (26 to the inch, Whitworth form): common practice, no standard.

For Whitworth forms and BA no standard gives a stress area; ours is the circle of the mean of
core and effective diameter, as ISO 898-1 does it. `data/look_alikes.csv` holds the pairs of
threads that garages know to be mixed up (common practice); closer pairs are computed.
"""

import csv
import re
from collections.abc import Iterable
from dataclasses import dataclass
from fractions import Fraction
from functools import cache
from itertools import combinations, groupby
from pathlib import Path

DATA = Path(__file__).parent / "data"

SYSTEM_NAMES = {
    "metric coarse": "Metric, coarse",
    "metric fine": "Metric, fine",
    "UNC": "UNC",
    "UNF": "UNF",
    "BSW": "BSW (Whitworth)",
    "BSF": "BSF",
    "BSPP": "BSP, parallel (G)",
    "BSB26": "Brass, 26 to the inch",
    "BA": "BA",
}
# Angle of the form in degrees, its depth on the screw in pitches.
# Source: ISO 68-1, ISO 724 (0.613 435); ASME B1.1-2003, UNR (0.595 495); BS 84; BS 93.
_ISO, _UNIFIED = (60.0, 0.613435), (60.0, 0.595495)
_WHITWORTH, _BA = (55.0, 0.640327), (47.5, 0.6)
_FORMS = {
    "metric coarse": _ISO, "metric fine": _ISO, "UNC": _UNIFIED, "UNF": _UNIFIED, "BSW": _WHITWORTH,
    "BSF": _WHITWORTH, "BSPP": _WHITWORTH, "BSB26": _WHITWORTH, "BA": _BA,
}  # fmt: skip


@dataclass(frozen=True, slots=True)
class Thread:
    """One thread. `spanner` is what is stamped on the spanner, empty where nothing is usual."""

    designation: str
    system: str
    major_mm: float
    pitch_mm: float
    tpi: int | None
    tap_drill_mm: float
    stress_area_mm2: float
    spanner: str
    af_mm: float | None
    note: str

    @property
    def angle_deg(self) -> float:
        """Angle between the flanks."""
        return _FORMS[self.system][0]

    @property
    def core_mm(self) -> float:
        """Diameter at the root of the screw."""
        return self.major_mm - 2 * _FORMS[self.system][1] * self.pitch_mm

    @property
    def effective_mm(self) -> float:
        """Pitch diameter: 0.649 519 p below the major for 60 degrees, half the depth otherwise."""
        angle_deg, depth = _FORMS[self.system]
        return self.major_mm - (0.649519 if angle_deg == 60 else depth) * self.pitch_mm

    @property
    def area_is_standard(self) -> bool:
        """Whether a standard gives the stress area; if not, it is our figure."""
        return self.angle_deg == 60

    @property
    def label(self) -> str:
        """The designation with what a thread gauge shows."""
        gauge = f"{self.tpi} to the inch" if self.tpi else f"{self.pitch_mm:g} mm"
        return f"{self.designation}, {gauge}"


@dataclass(frozen=True, slots=True)
class LookAlike:
    """A thread that is taken for another, and what happens then."""

    thread: Thread
    sentence: str


@dataclass(frozen=True, slots=True)
class PropertyClass:
    """Strength of a steel bolt, by the figures on its head, for diameters in a range."""

    name: str
    tensile_mpa: int
    proof_mpa: int
    over_mm: float
    up_to_mm: float
    source: str


_ISO_898 = "ISO 898-1:2013, table 3"
PROPERTY_CLASSES = (
    PropertyClass("4.6", 400, 225, 0, 39, _ISO_898),
    PropertyClass("4.8", 420, 310, 0, 39, _ISO_898),
    PropertyClass("5.6", 500, 280, 0, 39, _ISO_898),
    PropertyClass("5.8", 520, 380, 0, 39, _ISO_898),
    PropertyClass("6.8", 600, 440, 0, 39, _ISO_898),
    PropertyClass("8.8", 800, 580, 0, 16, _ISO_898),
    PropertyClass("8.8", 830, 600, 16, 39, _ISO_898),
    PropertyClass("9.8", 900, 650, 0, 16, _ISO_898),
    PropertyClass("10.9", 1040, 830, 0, 39, _ISO_898),
    PropertyClass("12.9", 1220, 970, 0, 39, _ISO_898),
)


@cache
def all_threads() -> tuple[Thread, ...]:
    """Every thread of the table, in its order."""
    with (DATA / "threads.csv").open(encoding="utf-8", newline="") as file:
        return tuple(_thread(row) for row in csv.DictReader(file))


def choices() -> tuple[tuple[str, tuple[tuple[str, str], ...]], ...]:
    """Grouped choices for a form: (system, ((designation, label), ...))."""
    return tuple(
        (SYSTEM_NAMES[system], tuple((thread.designation, thread.label) for thread in group))
        for system, group in groupby(all_threads(), key=lambda thread: thread.system)
    )


def find(text: str) -> Thread | None:
    """The one thread a text names, None if it names none of ours or more than one.

    >>> [find(text).designation for text in ("m8 × 1", "5/16 UNC", '1/4" BSF', "2BA", "10-32")]
    ['M8x1', '5/16-18 UNC', '1/4 BSF', '2 BA', '#10-32 UNF']
    """
    typed = _read_name(text)
    if typed is None:
        return None
    fitting = [thread for thread in all_threads() if _fits(_named(thread), typed, thread)]
    return fitting[0] if len(fitting) == 1 else None


def look_alikes(thread: Thread) -> tuple[LookAlike, ...]:
    """Threads taken for this one, known pairs first.

    A pair is computed where the major diameters are within 0.35 mm and the pitches within 5 %.
    Threads of the same size, pitch and form are the same thread under two names.
    """
    known = _known_pairs()
    found = []
    for other in all_threads():
        sentence = known.get(frozenset((thread.designation, other.designation)))
        if sentence is None and _close(thread, other):
            sentence = _sentence(*sorted((thread, other), key=lambda t: (t.major_mm, t.angle_deg)))
        if sentence is not None:
            found.append(LookAlike(other, sentence))
    return tuple(sorted(found, key=lambda alike: alike.sentence not in known.values()))


def mixed_up(threads: Iterable[Thread]) -> tuple[str, ...]:
    """Cautions for a part that holds threads of which one is taken for another."""
    cautions = []
    for one, other in combinations(dict.fromkeys(threads), 2):
        cautions += [alike.sentence for alike in look_alikes(one) if alike.thread == other]
    return tuple(cautions)


def property_class(*, name: str, thread: Thread) -> PropertyClass:
    """The class as it holds for this thread. Raises ValueError outside ISO 898-1."""
    if not thread.system.startswith("metric"):
        raise ValueError("Property classes are for metric bolts.")
    for row in PROPERTY_CLASSES:
        if row.name == name and row.over_mm < thread.major_mm <= row.up_to_mm:
            return row
    raise ValueError(f"There is no class {name} for {thread.designation}.")


def proof_load_n(*, name: str, thread: Thread) -> float:
    """The load a bolt of a property class must bear unstretched, in newtons: area x proof stress.

    Raises ValueError outside ISO 898-1.
    """
    return thread.stress_area_mm2 * property_class(name=name, thread=thread).proof_mpa


# ---- names

Name = tuple[bool, str, Fraction, Fraction | None]
"""Numbered size, letters, size, pitch or threads to the inch."""

_LETTERS = {
    "": tuple(SYSTEM_NAMES), "m": ("metric coarse", "metric fine"), "mf": ("metric fine",),
    "m fine": ("metric fine",), "m coarse": ("metric coarse",), "unc": ("UNC",), "nc": ("UNC",),
    "unf": ("UNF",), "nf": ("UNF",), "bsw": ("BSW",), "whit": ("BSW",), "whitworth": ("BSW",),
    "w": ("BSW",), "bsf": ("BSF",), "g": ("BSPP",), "bsp": ("BSPP",), "bspp": ("BSPP",),
    "brass": ("BSB26",), "bsb": ("BSB26",), "ba": ("BA",),
}  # fmt: skip
_ALIKE = str.maketrans({
    "×": "x", "*": "x", ",": ".", "–": "-", "−": "-", "½": "1/2", "¼": "1/4", "¾": "3/4",
    "⅛": "1/8", "⅜": "3/8", "⅝": "5/8", "⅞": "7/8", "⁄": "/",
    '"': "", "″": "", "”": "", "'": "", "′": "", "’": "",
})  # fmt: skip
_NAME = re.compile(
    r"(?P<number>#|no\.?)?(?P<before>[a-z]*?)(?P<size>[0-9]+(?:/[1-9][0-9]*|\.[0-9]+)?)"
    r"(?:[x-](?P<pitch>[0-9]+(?:\.[0-9]+)?))?(?P<after>[a-z]*?)[x-]?(?P<late>[0-9]+(?:\.[0-9]+)?)?"
)


def _read_name(text: str) -> Name | None:
    """What a text says about a thread, None where it is not of that form."""
    clean = re.sub(r"(?<=[0-9])\s+(?=[0-9])", "x", text[:40].lower().translate(_ALIKE).strip())
    match = _NAME.fullmatch(re.sub(r"\s|tpi", "", clean))
    if match is None or (match["pitch"] and match["late"]) or len(text) > 40:
        return None
    pitch = match["pitch"] or match["late"]
    letters = f"{match['before']} {match['after']}".strip()
    number = match["number"] is not None
    return number, letters, Fraction(match["size"]), Fraction(pitch) if pitch else None


@cache
def _named(thread: Thread) -> Name:
    """The designation of a thread, read like any text."""
    name = _read_name(thread.designation)
    if name is None:
        raise ValueError(f"{thread.designation} is no designation")
    return name


def _fits(own: Name, typed: Name, thread: Thread) -> bool:
    """Whether a typed name can mean this thread."""
    number, letters, size, pitch = typed
    if size != own[2] or (number and not own[0]) or thread.system not in _LETTERS.get(letters, ()):
        return False
    if pitch is None:
        return letters != "m" or thread.system == "metric coarse"
    return pitch == (thread.tpi or Fraction(str(thread.pitch_mm)))


# ---- pairs


@cache
def _known_pairs() -> dict[frozenset[str], str]:
    with (DATA / "look_alikes.csv").open(encoding="utf-8", newline="") as file:
        return {frozenset((r["one"], r["other"])): r["sentence"] for r in csv.DictReader(file)}


def _close(one: Thread, other: Thread) -> bool:
    """The computed rule; a hair of slack, because 6.35 - 6 is not quite 0.35."""
    step_mm = abs(one.major_mm - other.major_mm)
    slip_mm = abs(one.pitch_mm - other.pitch_mm)
    same = step_mm == slip_mm == 0 and one.angle_deg == other.angle_deg
    return (
        not same and step_mm <= 0.35 + 1e-9 and slip_mm <= 0.05 * max(one.pitch_mm, other.pitch_mm)
    )


def _sentence(small: Thread, large: Thread) -> str:
    """What happens when the two are put together; 0.15 mm of play is our figure."""
    if large.major_mm - small.major_mm > 0.15:
        return (
            f"{small.designation} goes loosely into {large.designation} and pulls out;"
            f" {large.designation} binds in {small.designation}."
        )
    if small.pitch_mm == large.pitch_mm:
        return (
            f"{small.designation} and {large.designation} have the same pitch, but the flanks stand"
            f" at {small.angle_deg:g} and {large.angle_deg:g} degrees: they go together and do not"
            " hold."
        )
    names = f"{small.designation} and {large.designation}"
    return f"{names} are nearly alike: one starts in the other, then binds."


def _thread(row: dict[str, str]) -> Thread:
    return Thread(
        designation=row["designation"],
        system=row["system"],
        major_mm=float(row["major_mm"]),
        pitch_mm=float(row["pitch_mm"]),
        tpi=int(row["tpi"]) if row["tpi"] else None,
        tap_drill_mm=float(row["tap_drill_mm"]),
        stress_area_mm2=float(row["stress_area_mm2"]),
        spanner=row["spanner"],
        af_mm=float(row["af_mm"]) if row["af_mm"] else None,
        note=row["note"],
    )
