"""What a bracket bears, from what was typed: a number, its margin, and what was assumed."""

from collections.abc import Sequence

from fabrication.bracket.bracket_bends import grade_of
from fabrication.bracket.bracket_inputs import BracketInputs
from fabrication.bracket.bracket_worked import HoleSpot, Remark
from fabrication.core.errors import CoreError, Severity
from fabrication.core.outline import Outline, span_at
from fabrication.core.sheet_materials import METALS
from fabrication.core.strength import (
    G_FACTORS,
    CantileverStrength,
    StrapStrength,
    cantilever,
    flanged_section,
    strap_with_hole,
    strip_section,
)
from fabrication.models import SheetStock

Load = tuple[StrapStrength | None, CantileverStrength | None, str, list[Remark]]


def load_of(
    bracket: BracketInputs,
    *,
    stock: SheetStock,
    outline: Outline | None,
    holes: Sequence[HoleSpot],
) -> Load:
    """Strap and cantilever, as far as they were asked for; refusals beside the load."""
    if outline is None:
        return None, None, "", []
    width_mm, hole_mm = weakest(bracket, outline, holes)
    try:
        strap = _strap(stock, width_mm, hole_mm)
        beam, words = _beam(bracket, stock, width_mm, hole_mm, strap.peak_ratio)
    except CoreError as refused:
        return None, None, "", [Remark(refused.message, "load", True)]
    said = [
        Remark(one.message, "load", one.severity is Severity.BLOCKER)
        for one in (beam.problems if beam else ())
    ]
    pull_n = bracket.load.pull_n
    if pull_n and strap.margin(pull_n) < 2:
        says = f"It bears {strap.margin(pull_n):.1f} times this pull; 2 is wanted."
        said.append(Remark(says, "load", True))
    return strap, beam, words, said


def weakest(
    bracket: BracketInputs, outline: Outline, holes: Sequence[HoleSpot]
) -> tuple[float, float]:
    """Width and hole where the least metal is left across. [mm]"""
    found = [(narrowest_mm(bracket, outline), 0.0)]
    for spot in holes:
        span = span_at(outline, spot.flat.x_mm)
        across_mm = spot.flat.hole.slot_mm if spot.flat.hole.slot_across else 0.0
        hole_mm = max(across_mm, spot.flat.hole.diameter_mm)
        if span is not None and span[1] - span[0] > hole_mm:
            found.append((span[1] - span[0], hole_mm))
    return min(found, key=lambda one: one[0] - one[1])


def narrowest_mm(bracket: BracketInputs, outline: Outline) -> float:
    """The least width of the strip as typed; of a traced outline, all of it across."""
    typed = [row.width.mm for row in bracket.rows if row.width]
    typed += [bracket.last_width.mm] if bracket.last_width else []
    if bracket.is_clip:
        typed = [bracket.clip.width.mm] if bracket.clip.width else []
    if typed and not (bracket.points and not bracket.is_clip):
        return min(typed)
    ys = [y for _, y in outline.ring]
    return max(ys) - min(ys)


def _strap(stock: SheetStock, width_mm: float, hole_mm: float) -> StrapStrength:
    grade = grade_of(stock)
    return strap_with_hole(
        width_mm=width_mm,
        thickness_mm=stock.thickness_mm,
        hole_mm=hole_mm,
        yield_mpa=grade.yield_mpa,
        tensile_mpa=grade.tensile_mpa,
    )


def _beam(
    bracket: BracketInputs,
    stock: SheetStock,
    width_mm: float,
    hole_mm: float,
    peak_ratio: float,
) -> tuple[CantileverStrength | None, str]:
    load = bracket.load
    if not load.place or load.mass_kg is None or load.arm is None:
        return None, ""
    grade, metal = grade_of(stock), METALS[stock.material]
    section = strip_section(width_mm=width_mm, thickness_mm=stock.thickness_mm, hole_mm=hole_mm)
    edge = ""
    if load.edge is not None:
        section = flanged_section(
            width_mm=width_mm,
            thickness_mm=stock.thickness_mm,
            flange_mm=load.edge.mm,
            hole_mm=hole_mm,
        )
        edge = f" with an edge turned up to {load.edge.mm:g} mm"
    beam = cantilever(
        section=section,
        length_mm=load.arm.mm,
        mass_kg=load.mass_kg,
        g_factor=load.g_factor or G_FACTORS[load.place],
        modulus_mpa=metal.modulus_mpa,
        yield_mpa=grade.yield_mpa,
        tensile_mpa=grade.tensile_mpa,
        density_g_cm3=metal.density_g_cm3,
        peak_ratio=peak_ratio,
        on_engine=load.place == "engine",
    )
    words = (
        f"{beam.assumption} Reckoned where the least metal is left: {width_mm:.3g} mm wide{edge}, "
        f"a hole of {hole_mm:g} mm; {grade.name}, yield {grade.yield_mpa:g} MPa ({grade.source})."
    )
    return beam, words
