"""What grit and dust do: to lungs, to thin sheet, to fits, to what the grit leaves behind."""

from parts.gate.facts import BEARING, Facts
from parts.gate.film import thread_named
from parts.gate.findings import Fires
from parts.gate.heat import assumed_of
from parts.gate.sending import ABRADE, BLAST, BURN, COATS, DUSTY, PAINT, POWDER, Sending

THIN_MM, SKIN_MM = 1.5, 1.2
# A thread of this pitch or finer is cut into by grit. Ours. [mm]
FINE_PITCH_MM = 1.0
FITS = ("bore", "bearing", "seal", "gasket", "splines", "passage")
THREADS = ("thread_in", "thread_out")
TAKES_IRON = frozenset({"aluminium", "cast_aluminium", "stainless", "magnesium"})


def free_silica(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.has(BLAST) or not sending.has_silica:
        return None
    return Fires(because=f"Grit: {sending.grit}.")


def lead_at_home(facts: Facts, sending: Sending) -> Fires | None:
    dusty = sending.has(ABRADE, BLAST, BURN)
    return Fires() if sending.at_home and dusty and facts.may("lead_paint") else None


def lead_sent_out(facts: Facts, sending: Sending) -> Fires | None:
    disturbed = sending.has(*DUSTY, "strip", "weld", BURN)
    return Fires() if not sending.at_home and disturbed and facts.may("lead_paint") else None


def asbestos(facts: Facts, sending: Sending) -> Fires | None:
    return Fires() if sending.has(*DUSTY) and facts.may("asbestos") else None


def _hard_grit(sending: Sending) -> tuple[str, ...] | None:
    """What is assumed about the grit, None for grit that spares thin sheet."""
    if not sending.has(BLAST) or sending.grit_is_hard is False:
        return None
    return ("grit not said: taken for a hard one",) if sending.grit_is_hard is None else ()


def _thickness(facts: Facts, unsaid_mm: float) -> tuple[float, str]:
    if facts.thickness_mm is not None:
        return facts.thickness_mm, f"{facts.thickness_mm:g} mm sheet."
    return unsaid_mm, "Thin sheet."


def thin_sheet(facts: Facts, sending: Sending) -> Fires | None:
    assumed = _hard_grit(sending)
    is_thin = facts.thickness_mm is not None or facts.may("thin")
    if assumed is None or not is_thin or skin_panel(facts, sending):
        return None
    mm, because = _thickness(facts, THIN_MM)
    return Fires(because=because, assumed=assumed) if mm <= THIN_MM else None


def skin_panel(facts: Facts, sending: Sending) -> Fires | None:
    assumed = _hard_grit(sending)
    if assumed is None or not facts.may("panel"):
        return None
    mm, because = _thickness(facts, SKIN_MM)
    if mm > SKIN_MM:
        return None
    taken = (
        () if facts.thickness_mm is not None else (f"thickness not said: {SKIN_MM:g} mm or less",)
    )
    return Fires(because=because, assumed=(*taken, *assumed))


def bare_fits(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.has(BLAST):
        return None
    if facts.may("bores") and not facts.keeps_bare(*FITS):
        return Fires(
            because="Bores or faces of a close fit, not on the list of what stays bare.",
            assumed=assumed_of(facts, "bores"),
        )
    fine = [name for name in facts.threads if _is_fine(name)]
    if facts.may("threads") and fine and not facts.keeps_bare(*THREADS):
        return Fires(because=f"Fine thread {fine[0]}, not on the list of what stays bare.")
    return None


def _is_fine(designation: str) -> bool:
    thread = thread_named(designation)
    return thread is not None and thread.pitch_mm <= FINE_PITCH_MM


def grit_in_works(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.has(BLAST):
        return None
    if facts.may("oilways"):
        return Fires(because="Oilways, or still assembled.")
    if facts.may("bearing") or any(thing.sort == BEARING for thing in facts.things):
        return Fires(because="A bearing or grease in it.", assumed=assumed_of(facts, "bearing"))
    return None


def steel_grit(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.has(BLAST) or not sending.grit_is_steel or not facts.materials & TAKES_IRON:
        return None
    return Fires(because=f"Grit: {sending.grit}.")


def soda_under_paint(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.has(BLAST) or not sending.grit_is_soda or not sending.has(POWDER, PAINT):
        return None
    return Fires(because=f"Grit: {sending.grit}.")


def magnesium_dust(facts: Facts, sending: Sending) -> Fires | None:
    dry = sending.at_home and sending.has(ABRADE, BLAST)
    return Fires() if dry and "magnesium" in facts.materials else None


def number_lost(facts: Facts, sending: Sending) -> Fires | None:
    rough = sending.has(BLAST, "strip", ABRADE, "machine", *COATS)
    kept = facts.keeps_bare("number", "plate")
    return Fires() if rough and facts.may("number") and not kept else None
