"""What heat does to a piece: solder, glue, rubber, bearings, hollows, fuel, light alloy, springs.

Each function answers for one rule of ``rules``: what makes it hold, or None.
"""

from collections.abc import Callable

from parts.gate.facts import BEARING, LEFT_ON, LINING, MAGNET, UNKNOWN, Facts, JointFact, Thing
from parts.gate.findings import Fires
from parts.gate.questions import EVERY, chosen
from parts.gate.sending import BLAST, FLAMES, PAINT, POWDER, SPARKS, Heat, Sending

# Margins between the oven and the beginning of melting. Ours. [C]
RUNS_WITHIN_C, CREEPS_WITHIN_C = 30.0, 60.0
# An unknown metal repair is taken for tin-lead solder. [C]
UNKNOWN_SOLDER_C = 183.0
# A braze nobody named is taken for the lowest of the table. [C]
UNKNOWN_BRAZE_C = 620.0
NEAR_THE_PEAK_C = 20.0
BEARING_C, AGEING_C, SPRING_C = 120.0, 150.0, 180.0
# Sorts of glue whose short-term heat is known to lie below any oven.
NEVER_IN_AN_OVEN = ("fast_epoxy", "acrylic")
CASTINGS = frozenset({"cast_iron", "cast_aluminium", "zinc_cast", "magnesium"})
LIGHT = frozenset({"aluminium", "cast_aluminium"})


def assumed_of(facts: Facts, *questions: str) -> tuple[str, ...]:
    """What counts as yes because the answer was "don't know"."""
    return tuple(
        f"{EVERY[code].name}: don't know, counted as yes"
        for code in questions
        if facts.says(code) == UNKNOWN
    )


def _metal_joints(facts: Facts) -> list[tuple[str, float, tuple[str, ...]]]:
    """Joints that melt: name, where they begin to [C], what was assumed."""
    found = []
    for joint in facts.joints:
        if joint.how in ("solder", "braze"):
            found.append(_melts(joint))
    named = any(joint.how in ("solder", "braze", "weld") for joint in facts.joints)
    answer = facts.says("repair")
    if answer == UNKNOWN or (answer == "yes" and not named):
        taken = f"unknown metal repair taken for soft solder, {UNKNOWN_SOLDER_C:g} °C"
        found.append(("Unknown repair", UNKNOWN_SOLDER_C, (*assumed_of(facts, "repair"), taken)))
    return found


def _melts(joint: JointFact) -> tuple[str, float, tuple[str, ...]]:
    name = joint.with_what or ("Solder" if joint.how == "solder" else "Braze")
    if joint.solidus_c is not None:
        return name, joint.solidus_c, ()
    at = UNKNOWN_SOLDER_C if joint.how == "solder" else UNKNOWN_BRAZE_C
    return name, at, (f"{name.lower()} of unknown sort begins to melt at {at:g} °C",)


def _margin(facts: Facts, sending: Sending) -> tuple[float, Fires] | None:
    """How far below melting the lowest joint stays, and the sentence about it. [C]"""
    heat, joints = sending.hottest, _metal_joints(facts)
    if heat is None or not joints:
        return None
    name, solidus_c, assumed = min(joints, key=lambda joint: joint[1])
    because = f"{name} begins to melt at {solidus_c:g} °C; {heat.words}."
    return solidus_c - heat.peak_c, Fires(because=because, assumed=(*assumed, *heat.assumed))


def solder_runs(facts: Facts, sending: Sending) -> Fires | None:
    found = _margin(facts, sending)
    return found[1] if found and found[0] <= RUNS_WITHIN_C else None


def solder_creeps(facts: Facts, sending: Sending) -> Fires | None:
    found = _margin(facts, sending)
    return found[1] if found and RUNS_WITHIN_C < found[0] <= CREEPS_WITHIN_C else None


def heat_not_said(facts: Facts, sending: Sending) -> Fires | None:
    heats = [heat for heat in sending.heats if heat.assumed]
    on_it = facts.joints or facts.things or any(map(facts.may, ("left_on", "repair", "glue")))
    if not heats or not on_it:
        return None
    return Fires(assumed=tuple(text for heat in heats for text in heat.assumed))


def never_asked(facts: Facts, sending: Sending) -> Fires | None:
    if facts.is_lot or not (sending.is_hot or sending.has(BLAST)):
        return None
    open_ones = [
        question.name.lower()
        for question in chosen(facts.materials, sending.processes)
        if facts.says(question.code) is None
    ]
    return Fires(because=f"Not asked: {', '.join(open_ones)}.") if open_ones else None


def _glue_in_oven(
    facts: Facts, sending: Sending, judge: Callable[[JointFact, Heat], Fires | None]
) -> Fires | None:
    for heat in sending.heats:
        for joint in facts.joints:
            if joint.how == "glue" and (fires := judge(joint, heat)):
                return fires
    return None


def _burns(joint: JointFact, heat: Heat) -> Fires | None:
    name = joint.with_what or "Glue"
    if joint.short_peak_c is None:
        if joint.adhesive in NEVER_IN_AN_OVEN:
            return Fires(because=f"{name}; {heat.words}.", assumed=heat.assumed)
        if not joint.adhesive:
            taken = "glue of unknown sort taken for one that stands no oven"
            return Fires(because=f"{name}; {heat.words}.", assumed=(taken, *heat.assumed))
        return None
    stands = f"{name} stands {joint.short_peak_c:g} °C"
    if joint.short_peak_c < heat.peak_c:
        return Fires(because=f"{stands}; {heat.words}.", assumed=heat.assumed)
    if joint.short_peak_minutes is not None and joint.short_peak_minutes < heat.minutes:
        unsaid = () if heat.minutes_said else (f"minutes not said: {heat.minutes:g} min",)
        because = (
            f"{stands} for {joint.short_peak_minutes:g} min; {heat.words}, {heat.minutes:g} min."
        )
        return Fires(because=because, assumed=(*heat.assumed, *unsaid))
    return None


def _near_its_peak(joint: JointFact, heat: Heat) -> Fires | None:
    name = joint.with_what or "Glue"
    if joint.short_peak_c is None:
        because = f"No short-term figure is written down for {name}; {heat.words}."
        return Fires(because=because, assumed=heat.assumed)
    if joint.short_peak_c - heat.peak_c <= NEAR_THE_PEAK_C:
        because = f"{name} stands {joint.short_peak_c:g} °C for a short time; {heat.words}."
        return Fires(because=because, assumed=heat.assumed)
    return None


def glue_burns(facts: Facts, sending: Sending) -> Fires | None:
    return _glue_in_oven(facts, sending, _burns)


def glue_near_its_peak(facts: Facts, sending: Sending) -> Fires | None:
    return None if glue_burns(facts, sending) else _glue_in_oven(facts, sending, _near_its_peak)


def glue_not_hard(facts: Facts, sending: Sending) -> Fires | None:
    if not (sending.is_hot or sending.has(BLAST)):
        return None
    soft = next((joint for joint in facts.glued if not joint.is_hard), None)
    if soft:
        return Fires(because=f"{soft.with_what or soft.how.capitalize()}: {soft.why_not}.")
    unclocked = facts.says("glue") == UNKNOWN or (facts.may("glue") and not facts.glued)
    if not unclocked:
        return None
    because = "Nobody wrote the glued joint down, so nothing says that it is hard."
    return Fires(because=because, assumed=assumed_of(facts, "glue"))


def _too_hot_for(facts: Facts, sending: Sending, sort: str, margin_c: float = 0) -> Fires | None:
    heat = sending.hottest
    things = [thing for thing in facts.things if thing.sort == sort]
    if heat is None or not things:
        return None
    weakest: Thing = min(things, key=lambda thing: thing.limit_c)
    # A margin reaches to the limit itself; without one the limit may be met.
    is_over = (
        weakest.limit_c - margin_c <= heat.peak_c if margin_c else weakest.limit_c < heat.peak_c
    )
    if not is_over:
        return None
    because = f"{weakest.name} stands {weakest.limit_c:g} °C; {heat.words}."
    taken = (f"{weakest.name.lower()}: lowest limit of the table",) if weakest.assumed else ()
    unsure = assumed_of(facts, "left_on") if weakest.assumed else ()
    return Fires(because=because, assumed=(*unsure, *taken, *heat.assumed))


def rubber_in_oven(facts: Facts, sending: Sending) -> Fires | None:
    return _too_hot_for(facts, sending, LEFT_ON)


def magnet_in_oven(facts: Facts, sending: Sending) -> Fires | None:
    return _too_hot_for(facts, sending, MAGNET)


def lining_in_oven(facts: Facts, sending: Sending) -> Fires | None:
    return _too_hot_for(facts, sending, LINING, margin_c=RUNS_WITHIN_C)


def bearing_in_oven(facts: Facts, sending: Sending) -> Fires | None:
    heat = sending.hottest
    named = any(thing.sort == BEARING for thing in facts.things)
    if heat is None or heat.peak_c <= BEARING_C or not (named or facts.may("bearing")):
        return None
    unsure = () if named else assumed_of(facts, "bearing")
    return Fires(because=heat.sentence, assumed=(*unsure, *heat.assumed))


def hollow_in_heat(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.is_hot or not facts.may("hollow"):
        return None
    heat = sending.hottest
    because = (
        f"Dry air shut in at 20 °C rises to {pressure_ratio(peak_c=heat.peak_c):.1f} times its"
        f" pressure at {heat.peak_c:g} °C."
        if heat
        else ""
    )
    unsaid = heat.assumed if heat else ()
    return Fires(because=because, assumed=(*assumed_of(facts, "hollow"), *unsaid))


def pressure_ratio(*, peak_c: float, shut_at_c: float = 20.0) -> float:
    """How many times its pressure air has that was shut in and heated, by the gas law.

    >>> round(pressure_ratio(peak_c=200), 2)
    1.61
    """
    return (peak_c + 273.15) / (shut_at_c + 273.15)


def fuel_in_heat(facts: Facts, sending: Sending) -> Fires | None:
    lights = sending.is_hot or sending.has(BLAST, *SPARKS, *FLAMES)
    if not lights or not facts.may("fuel"):
        return None
    return Fires(assumed=assumed_of(facts, "fuel"))


def gives_off_gas(facts: Facts, sending: Sending) -> Fires | None:
    if not sending.has(POWDER):
        return None
    if facts.materials & CASTINGS:
        return Fires(because="A casting.")
    return Fires(because="Zinc coated.") if facts.may("zinc") else None


def _aged(facts: Facts, sending: Sending) -> Fires | None:
    heat = sending.hottest
    if heat is None or heat.peak_c < AGEING_C or not facts.may("aged"):
        return None
    return Fires(because=heat.sentence, assumed=heat.assumed)


def aged_alloy(facts: Facts, sending: Sending) -> Fires | None:
    return None if facts.may("safety") else _aged(facts, sending)


def aged_safety_part(facts: Facts, sending: Sending) -> Fires | None:
    return _aged(facts, sending) if facts.may("safety") else None


def spring_in_heat(facts: Facts, sending: Sending) -> Fires | None:
    heat = sending.hottest
    springs = "spring_steel" in facts.materials or facts.may("hard") or facts.strongest == "12.9"
    if heat is None or heat.peak_c < SPRING_C or not springs:
        return None
    return Fires(because=heat.sentence, assumed=heat.assumed)


def coat_on_chrome(facts: Facts, sending: Sending) -> Fires | None:
    return Fires() if sending.has(POWDER, PAINT) and facts.may("chrome") else None


def charred_rubber(facts: Facts, sending: Sending) -> Fires | None:
    return Fires() if facts.may("burnt_rubber") else None


def under_pressure(facts: Facts, sending: Sending) -> Fires | None:
    rough = sending.is_hot or sending.has(BLAST, *SPARKS)
    return Fires() if rough and facts.may("pressurised") else None
