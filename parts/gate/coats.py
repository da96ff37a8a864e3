"""What a coat or an acid bath does: to threads, fits, faces, hard steel; and glue on pipes."""

from parts import threads
from parts.gate import film
from parts.gate.facts import UNKNOWN, Facts
from parts.gate.findings import Fires
from parts.gate.grit import FITS, THREADS
from parts.gate.heat import assumed_of
from parts.gate.sending import ABRADE, BRAZE, HOT_DIP, MACHINE, NAMES, PLATE, STRIP, WELD, Sending

CLAMPED = ("clamped", "nut_seat", "wheel")
BATH_THIN_MM = 2.0
# What a tick of "thin sheet" says at most. [mm]
THIN_MM = 1.5


def thread_filled(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.coats or not facts.may("threads") or facts.keeps_bare(*THREADS):
        return None
    tight = [found for process in sending.coats if (found := _too_thick(facts, sending, process))]
    if not tight:
        return None
    because, assumed = tight[0]
    return Fires(because=because, assumed=(*assumed_of(facts, "threads"), *assumed))


def _too_thick(facts: Facts, sending: Sending, process: str) -> tuple[str, tuple[str, ...]] | None:
    """Why a coat does not fit the threads, None when it fits all that were written down."""
    film_um, is_said = sending.film_of(process)
    known = [found for name in facts.threads if (found := film.thread_named(name))]
    if not known or len(known) < len(facts.threads):
        return f"{NAMES[process].capitalize()} on threads nobody named.", ()
    tightest = min(known, key=_room)
    if film_um <= _room(tightest):
        return None
    because = (
        f"{tightest.designation} has room for about {_room(tightest):.0f} µm;"
        f" {NAMES[process]} {film_um:g} µm."
    )
    return because, () if is_said else (f"thickness not said: {film_um:g} µm",)


def _room(thread: threads.Thread) -> float:
    return film.most_film_um(pitch_mm=thread.pitch_mm, angle_deg=thread.angle_deg)


def no_room_in_fit(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.coats or not facts.may("bores") or facts.keeps_bare(*FITS):
        return None
    film_um, is_said = max(sending.film_of(process) for process in sending.coats)
    play_um = (facts.play_mm or 0.0) * 1000
    if 2 * film_um < play_um:
        return None
    unsaid = () if is_said else (f"thickness not said: {film_um:g} µm",)
    if facts.play_mm is None:
        unsaid = ("play not said: none", *unsaid)
        because = f"Twice the coat is {2 * film_um:g} µm."
    else:
        because = f"Play {play_um:g} µm; twice the coat is {2 * film_um:g} µm."
    return Fires(because=because, assumed=(*assumed_of(facts, "bores"), *unsaid))


def earth_covered(facts: Facts, sending: Sending) -> Fires | None:
    open_earth = facts.may("earth") and not facts.keeps_bare("earth")
    return Fires() if sending.coats and open_earth else None


def _face_covered(facts: Facts, sending: Sending) -> bool:
    return bool(sending.coats) and facts.may("clamped") and not facts.keeps_bare(*CLAMPED)


def safety_face_covered(facts: Facts, sending: Sending) -> Fires | None:
    return Fires() if _face_covered(facts, sending) and facts.may("safety") else None


def face_covered(facts: Facts, sending: Sending) -> Fires | None:
    return Fires() if _face_covered(facts, sending) and not facts.may("safety") else None


def friction_covered(facts: Facts, sending: Sending) -> Fires | None:
    open_face = facts.may("friction") and not facts.keeps_bare("friction")
    return Fires() if sending.coats and open_face else None


def _in_acid(sending: Sending) -> bool:
    return sending.has(PLATE, STRIP)


def _is_hardest(facts: Facts) -> bool:
    """Over 390 HV, or a hard thing nobody gave the class of."""
    springs = "spring_steel" in facts.materials
    return springs or facts.may("hard") or facts.strongest in ("12.9", UNKNOWN)


def _hard_words(facts: Facts) -> Fires:
    if facts.strongest == UNKNOWN:
        return Fires(because="Bolts.", assumed=("class of the bolts: don't know, taken for 12.9",))
    return Fires(
        because=f"Class {facts.strongest}." if facts.strongest else "Hard steel or spring."
    )


def brittle_hardest(facts: Facts, sending: Sending) -> Fires | None:
    unbaked = _in_acid(sending) and not sending.is_baked
    return _hard_words(facts) if unbaked and _is_hardest(facts) else None


def brittle_at_home(facts: Facts, sending: Sending) -> Fires | None:
    unbaked = sending.at_home and _in_acid(sending) and not sending.is_baked
    return _hard_words(facts) if unbaked and facts.strongest == "10.9" else None


def say_the_class(facts: Facts, sending: Sending) -> Fires | None:
    if not _in_acid(sending):
        return None
    strong = facts.strongest == "10.9" and (sending.is_baked or not sending.at_home)
    baked = _is_hardest(facts) and sending.is_baked
    return _hard_words(facts) if strong or baked else None


def class_not_said(facts: Facts, sending: Sending) -> Fires | None:
    acid = _in_acid(sending) or sending.has(HOT_DIP)
    return Fires() if facts.is_lot and not facts.strongest and acid else None


def hard_in_zinc_bath(facts: Facts, sending: Sending) -> Fires | None:
    hard = _is_hardest(facts) or facts.strongest == "10.9"
    return _hard_words(facts) if sending.has(HOT_DIP) and hard else None


def thin_in_zinc_bath(facts: Facts, sending: Sending) -> Fires | None:
    mm = facts.thickness_mm
    if mm is None and facts.may("thin"):
        mm = THIN_MM
    if not sending.has(HOT_DIP) or mm is None or mm >= BATH_THIN_MM:
        return None
    return Fires(because=f"{mm:g} mm or thinner.")


def zinc_fume(facts: Facts, sending: Sending) -> Fires | None:
    worked = sending.has(WELD, BRAZE) or (sending.at_home and sending.has(ABRADE, MACHINE))
    return Fires() if worked and facts.may("zinc") else None


def glue_on_pressure_pipe(facts: Facts, sending: Sending) -> Fires | None:
    glued = any(joint.how == "glue" for joint in facts.joints) or facts.may("glue")
    if not glued or not facts.may("pressure_pipe"):
        return None
    return Fires(assumed=assumed_of(facts, "glue"))


def glue_on_coolant_pipe(facts: Facts, sending: Sending) -> Fires | None:
    glued = any(joint.how == "glue" for joint in facts.joints)
    return Fires() if glued and facts.may("coolant_pipe") else None
