"""The questions about a piece, and which of them its metal and the work wanted call for.

Each is worded so that "yes" is the worse answer. At most eight are asked; the marks are ticks
beside them, for what most pieces have not: what is not ticked is not known, and fires nothing.
"""

from collections.abc import Iterable
from dataclasses import dataclass

from parts.gate import sending as s

MOST = 8

STEELS = frozenset({"steel", "spring_steel", "cast_iron", "stainless", "mixed", ""})
ALUMINIUM = frozenset({"aluminium", "cast_aluminium", "mixed", ""})
METALS = frozenset(
    {*STEELS, *ALUMINIUM, "magnesium", "zinc_cast", "brass", "copper"}
)  # "" is a material nobody wrote down
HOT = frozenset({s.POWDER, s.PAINT, s.HOT_DIP, s.PHOSPHATE, s.WELD, s.BRAZE, s.BURN})
COATED = s.COATS
ACID = frozenset({s.PLATE, s.HOT_DIP, s.STRIP})
ANY = frozenset({*HOT, *COATED, *ACID, s.BLAST, s.MACHINE, s.ABRADE})


@dataclass(frozen=True, slots=True)
class Question:
    """One question: asked of pieces of ``materials`` when any of ``works`` is wanted."""

    code: str
    # For lists on paper: "Closed hollow".
    name: str
    text: str
    help: str
    works: frozenset[str]
    materials: frozenset[str] = METALS
    is_mark: bool = False

    def bears_on(self, materials: frozenset[str], works: frozenset[str]) -> bool:
        return bool(works & self.works) and bool((materials or {""}) & self.materials)


EVERYTHING = frozenset({*METALS, "rubber", "plastic", "glass", "wood", "textile"})

QUESTIONS = (
    Question(
        "fuel",
        "Held fuel",
        "Has it ever held petrol, oil, gas or other fuel?",
        "Tanks, pipes, carburettors, pumps. Empty counts too.",
        HOT | {s.BLAST, s.MACHINE, s.ABRADE},
        EVERYTHING,
    ),
    Question(
        "hollow",
        "Closed hollow",
        "Is there a closed hollow in it?",
        "A box, tube or float with no open vent and no drain. One with both is a “no”.",
        HOT | ACID,
    ),
    Question(
        "left_on",
        "Rubber or plastic left",
        "Is rubber, plastic, filler, sealer or a magnet left on it?",
        "Bushes, seals, grommets, wiring, underseal, a lining of tin or white metal.",
        HOT | ACID | {s.BLAST},
        EVERYTHING,
    ),
    Question(
        "repair",
        "Soldered or unknown repair",
        "Was it ever soldered, or mended in a way you do not know?",
        "A seam, a patch, a fitting, lead under old paint. Write the joint down if you know it.",
        HOT,
    ),
    Question(
        "glue",
        "Glue",
        "Is anything on it glued?",
        "Write the joint down so that its hardening is watched.",
        HOT | {s.BLAST, s.STRIP},
        EVERYTHING,
    ),
    Question(
        "bearing",
        "Bearing or grease",
        "Is a bearing or grease still in it?",
        "Pressed in, sealed or packed.",
        HOT | {s.BLAST, s.STRIP},
    ),
    Question(
        "bores",
        "Close bores",
        "Has it bores, seats or faces of a close fit?",
        "Pivots, bearing and seal seats, gasket faces. Write the play if you know it.",
        COATED | {s.BLAST},
    ),
    Question(
        "threads",
        "Threads",
        "Has it threads that must stay clean?",
        "Holes and studs alike.",
        COATED | {s.BLAST},
    ),
)

MARKS = (
    Question(
        "lead_paint",
        "Old paint, may hold lead",
        "Old paint that may hold lead",
        "Likely on anything painted before the 1980s.",
        frozenset({s.BLAST, s.STRIP, s.WELD, s.MACHINE, s.ABRADE, s.BURN}),
        EVERYTHING,
        is_mark=True,
    ),
    Question(
        "zinc",
        "Zinc or cadmium coated",
        "Galvanised, zinc or cadmium plated",
        "Bracket stock from the rack often is: spangled, bright or yellow.",
        HOT | {s.ABRADE, s.MACHINE},
        STEELS,
        is_mark=True,
    ),
    Question(
        "safety",
        "Brakes, steering, suspension, seat or belt",
        "Part of brakes, steering, suspension, a seat or a belt",
        "",
        ANY,
        is_mark=True,
    ),
    Question(
        "hard",
        "10.9 and stronger, hardened, spring",
        "Bolt of 10.9 or stronger, hardened, or a spring",
        "10.9 or 12.9 on the head; circlips, clips that spring.",
        ACID | HOT,
        STEELS,
        is_mark=True,
    ),
    Question(
        "aged",
        "Heat-treated aluminium",
        "Heat-treated aluminium",
        "6000, 2000 and 7000 grades, heat-treated castings. Sheet that bends easily is not.",
        HOT,
        ALUMINIUM,
        is_mark=True,
    ),
    Question(
        "thin",
        "Thin sheet",
        "Sheet of 1.5 mm or thinner",
        "Write the thickness if you measured it.",
        frozenset({s.BLAST, s.HOT_DIP}),
        is_mark=True,
    ),
    Question(
        "panel",
        "Large flat panel",
        "Large flat skin: bonnet, door, roof, wing",
        "",
        frozenset({s.BLAST}),
        is_mark=True,
    ),
    Question(
        "pressure_pipe",
        "Brake, fuel, clutch or steering pipe",
        "Brake, fuel, clutch or power-steering pipe",
        "",
        ANY,
        is_mark=True,
    ),
    Question(
        "coolant_pipe",
        "Coolant pipe",
        "Coolant pipe",
        "",
        ANY,
        is_mark=True,
    ),
    Question(
        "number",
        "Chassis number or maker's plate",
        "Chassis number or maker's plate on it",
        "",
        COATED | {s.BLAST, s.STRIP, s.ABRADE, s.MACHINE},
        EVERYTHING,
        is_mark=True,
    ),
    Question(
        "clamped",
        "Clamped face or nut seat",
        "Faces that are clamped, or nut seats",
        "",
        COATED,
        is_mark=True,
    ),
    Question("earth", "Earth point", "Earth point", "", COATED, is_mark=True),
    Question(
        "friction", "Friction face", "Brake or clutch face", "", COATED | {s.BLAST}, is_mark=True
    ),
    Question(
        "oilways",
        "Oilways, or assembled",
        "Oilways in it, or still assembled",
        "Engine, gearbox, carburettor, pump, caliper.",
        frozenset({s.BLAST}),
        is_mark=True,
    ),
    Question(
        "chrome", "Chrome plate", "Chrome plate", "", frozenset({s.POWDER, s.PAINT}), is_mark=True
    ),
    Question(
        "pressurised",
        "Under pressure, or pyrotechnic",
        "Gas strut, damper, airbag, belt tensioner",
        "",
        HOT | {s.BLAST, s.ABRADE, s.MACHINE},
        EVERYTHING,
        is_mark=True,
    ),
    Question(
        "asbestos",
        "May hold asbestos",
        "Old lining, gasket or exhaust wrap that may hold asbestos",
        "",
        s.DUSTY | {s.STRIP},
        EVERYTHING,
        is_mark=True,
    ),
    Question(
        "burnt_rubber",
        "Charred rubber",
        "Charred, sticky black rubber after a fire",
        "",
        ANY,
        EVERYTHING,
        is_mark=True,
    ),
)

EVERY = {question.code: question for question in (*QUESTIONS, *MARKS)}


def chosen(materials: Iterable[str], works: Iterable[str]) -> tuple[Question, ...]:
    """The yes, no, don't know questions for pieces of these materials and this work."""
    return _bearing(QUESTIONS, materials, works)[:MOST]


def marks(materials: Iterable[str], works: Iterable[str]) -> tuple[Question, ...]:
    """The ticks beside them."""
    return _bearing(MARKS, materials, works)


def _bearing(
    pool: tuple[Question, ...], materials: Iterable[str], works: Iterable[str]
) -> tuple[Question, ...]:
    of, wanted = frozenset(materials), frozenset(works)
    return tuple(question for question in pool if question.bears_on(of, wanted))
