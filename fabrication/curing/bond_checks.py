"""What is said about a bond before it is mixed: what stops it, what is doubted, and by what."""

from dataclasses import dataclass

from fabrication.curing.bond_loads import bearing_of
from fabrication.models import Bond, Duty, PipeSheet
from fabrication.pipe import duties
from parts.models import Adhesive

# What is ticked off before mixing, in the order of the work.
CHECKS = (
    ("offered", "Offered up dry: it sits without springing, and the clamp reaches"),
    ("bright", "Back to bright metal wherever the glue goes, both sides"),
    ("abraded", "Abraded crosswise until no shine is left"),
    ("degreased", "Degreased with a clean rag after the last abrading; nothing touched since"),
    ("spacer", "Something keeps the glue 0.1 to 0.3 mm thick: fine wire or beads in it"),
    ("second", "A band, rivet or screw holds the end that would lift"),
    ("guarded", "Gloves on, window open, no dust in the air; the data sheet is read"),
)
ANAEROBIC_GAP_MM = 0.25
OURS = "Our judgement; from no standard."


@dataclass(frozen=True, slots=True)
class Finding:
    """One thing said about a bond. ``refuses`` cannot be overruled; ``stops`` wants a reason."""

    word: str
    text: str
    source: str
    stops: bool = False
    refuses: bool = False


def findings(bond: Bond) -> list[Finding]:
    """Everything to be said about a bond as it is written down, the gravest first."""
    found = [
        *_of_use(bond),
        *_of_adhesive(bond, bond.adhesive),
        *_of_surfaces(bond),
        *_of_load(bond),
        *_always(bond),
    ]
    return sorted(found, key=lambda one: (not one.refuses, not one.stops))


def refusal_of(*, bond: Bond) -> str:
    """Why this is never glued, or nothing."""
    return next((one.text for one in findings(bond) if one.refuses), "")


def stops(bond: Bond) -> list[Finding]:
    return [one for one in findings(bond) if one.stops and not one.refuses]


def duties_of(bond: Bond) -> set[str]:
    """What runs in the pipe: as written on the bond, and on any sheet of either part."""
    parts = [bond.piece.part_id, bond.onto.part_id]
    sheets = PipeSheet.objects.kept().filter(part__in=parts)
    return {bond.duty, *sheets.values_list("duty", flat=True)} - {""}


def _of_use(bond: Bond) -> list[Finding]:
    found = []
    guarded = [Duty(duty).label.lower() for duty in duties_of(bond) if duties.is_guarded(duty)]
    if guarded:
        found.append(
            Finding(
                "Stop",
                f"Never glue a pipe that carries pressure or fuel, nor anything onto it: this one "
                f"carries {' and '.join(sorted(guarded))}. Clip it, with a liner.",
                OURS,
                stops=True,
                refuses=True,
            )
        )
    if bond.holds_safety and bond.is_only_fixing:
        found.append(
            Finding(
                "Stop",
                "Glue must not be the only thing that holds a part of brakes, fuel, steering or "
                "seats. Bolt it or rivet it; glue may help.",
                OURS,
                stops=True,
                refuses=True,
            )
        )
    if Duty.COOLANT in duties_of(bond):
        found.append(
            Finding(
                "Caution",
                "On a coolant pipe: glue on the dry outside only, a second fixing near the end "
                "that lifts, and a look at it at every service.",
                OURS,
            )
        )
    if bond.trial == Bond.Trial.LET_GO:
        found.append(
            Finding(
                "Stop",
                "The test piece let go. Find out why before the real one is glued: where the glue "
                "came off bare metal, the metal was not clean.",
                "Common practice.",
                stops=True,
            )
        )
    elif not bond.trial:
        found.append(
            Finding(
                "Caution",
                "No test piece has held yet. Glue two offcuts the same way, leave them as long, "
                "and break them.",
                "Common practice.",
            )
        )
    return found


def _of_adhesive(bond: Bond, adhesive: Adhesive) -> list[Finding]:
    found = []
    gap = bond.gap_mm
    is_anaerobic = adhesive.code == Adhesive.Code.ANAEROBIC
    if gap is not None and is_anaerobic and gap > ANAEROBIC_GAP_MM:
        found.append(
            Finding(
                "Stop",
                "The gap is too wide for this glue: it hardens only where metal shuts out the air, "
                "and would stay liquid inside.",
                "Cure against gap in makers' sheets, read.",
                stops=True,
            )
        )
    elif gap is not None and adhesive.gap_max_mm is not None and gap > adhesive.gap_max_mm:
        found.append(
            Finding(
                "Caution",
                "The gap is wider than this glue is printed for.",
                adhesive.source or OURS,
            )
        )
    is_wet = bond.wet == Bond.Wet.WET
    limit_c = adhesive.service_max_wet_c if is_wet else None
    if limit_c is None:
        limit_c = adhesive.service_max_dry_c
    if bond.service_c is not None and limit_c is not None and bond.service_c > limit_c:
        found.append(
            Finding(
                "Stop",
                f"Too hot in use for this glue: it gets {bond.service_c:g} °C there, the glue "
                f"stands {limit_c:g} °C{' wet' if is_wet else ''}.",
                adhesive.source or OURS,
                stops=True,
            )
        )
    return found


def _of_surfaces(bond: Bond) -> list[Finding]:
    if bond.found == Bond.Found.AS_FOUND:
        return [
            Finding(
                "Caution",
                "The joint will be only as strong as the paint, plating, rust or oil it sits on: "
                "back to bright metal.",
                "Common practice.",
            )
        ]
    open_checks = [words for code, words in CHECKS if code not in bond.checks]
    if not open_checks:
        return []
    return [
        Finding(
            "Caution",
            f"{len(open_checks)} of {len(CHECKS)} preparations are not ticked yet.",
            "Common practice.",
        )
    ]


def _of_load(bond: Bond) -> list[Finding]:
    source = "Mean shear and peel of a saddle; allowances and wanted margins are our judgement."
    return [
        Finding("Stop" if stops else "Caution", text, source, stops=stops)
        for text, stops in bearing_of(bond).said
    ]


def _always(bond: Bond) -> list[Finding]:
    sheet = (
        "These are figures of a sort of glue" if bond.adhesive.is_ours else "Figures of its sheet"
    )
    return [
        Finding(
            "Glue",
            "It irritates skin and eyes, and some people become allergic for life: gloves, open "
            "window, no flame; acrylics catch fire at room temperature. Cured glue is not sanded "
            "or burnt without a mask.",
            "Makers' safety sheets, read; keep to yours.",
        ),
        Finding(
            "Check your product's data sheet",
            f"{sheet}: working time, cure, gap and heat differ from product to product, and the "
            "sheet in the box wins.",
            bond.adhesive.source or OURS,
        ),
    ]
