"""Saddles and clips: from what was typed, and from the pipe they go round, to a strap."""

from fabrication.bracket import bracket_inputs as kinds
from fabrication.bracket.bracket_bends import Bending
from fabrication.bracket.bracket_inputs import BracketInputs
from fabrication.bracket.bracket_worked import ClipSum, Remark
from fabrication.core.errors import CoreError
from fabrication.core.saddle import (
    NIP_MM,
    FormedStrap,
    Liner,
    Strap,
    closed_clip,
    half_saddle,
    resting_height_mm,
    two_ear_saddle,
)
from fabrication.models import PipeSheet, SheetStock
from fabrication.pipe import duties


def od_of(bracket: BracketInputs, pipe: PipeSheet | None) -> float | None:
    """The outside diameter to go round: as typed, else that of the pipe sheet's tube."""
    if bracket.clip.od is not None:
        return bracket.clip.od.mm
    return pipe.stock.od_mm if pipe is not None else None


def strap_of(bracket: BracketInputs, *, stock: SheetStock, pipe: PipeSheet | None) -> Strap:
    """Pipe, liner and sheet.

    Raises
    ------
    fabrication.core.errors.CoreError
        Where no pipe is told.
    """
    od_mm = od_of(bracket, pipe)
    if od_mm is None:
        raise CoreError("no_pipe", None, "Write what it goes round, or choose a pipe sheet.")
    clip = bracket.clip
    return Strap(
        pipe_od_mm=od_mm,
        liner_mm=clip.liner.mm if clip.liner else 0.0,
        thickness_mm=stock.thickness_mm,
        ear_radius_mm=clip.ear_radius.mm if clip.ear_radius else 1.5 * stock.thickness_mm,
        ear_mm=clip.ear.mm if clip.ear else 0.0,
    )


def height_of(bracket: BracketInputs, strap: Strap) -> float:
    """How high the middle of the pipe sits over the face."""
    clip = bracket.clip
    liner = Liner.ALL_ROUND if clip.liner_all_round else Liner.IN_STRAP
    return resting_height_mm(strap=strap, liner=liner, nip_mm=clip.nip.mm if clip.nip else 0.0)


def clip_of(
    bracket: BracketInputs, *, stock: SheetStock, bending: Bending, pipe: PipeSheet | None
) -> FormedStrap:
    """The strap laid flat.

    Raises
    ------
    fabrication.core.errors.CoreError
        Where it cannot be made.
    """
    strap = strap_of(bracket, stock=stock, pipe=pipe)
    ratios = {
        "wrap_k_ratio": bending.k_ratio(strap.inner_mm),
        "ear_k_ratio": bending.k_ratio(strap.ear_radius_mm),
    }
    if bracket.form == kinds.CLIP:
        return closed_clip(strap=strap, **ratios)
    make = half_saddle if bracket.form == kinds.HALF else two_ear_saddle
    return make(strap=strap, height_mm=height_of(bracket, strap), **ratios)


def clip_sum(
    bracket: BracketInputs, formed: FormedStrap | None, pipe: PipeSheet | None
) -> ClipSum | None:
    """What to check on the formed clip."""
    od_mm = od_of(bracket, pipe)
    if formed is None or od_mm is None:
        return None
    clip = bracket.clip
    spacing = None
    if bracket.form == kinds.SADDLE and clip.hole_from_upright is not None:
        spacing = formed.hole_spacing_mm(clip.hole_from_upright.mm)
    height = None
    if bracket.form != kinds.CLIP:
        under = clip.liner.mm if clip.liner and clip.liner_all_round else 0.0
        height = od_mm / 2 + under - (clip.nip.mm if clip.nip else 0.0)
    return ClipSum(od_mm, formed.wrap_deg, formed.ear_bend_deg, spacing, height)


def clip_doubts(
    bracket: BracketInputs, formed: FormedStrap, pipe: PipeSheet | None
) -> list[Remark]:
    """Cautions of the clip itself, and of what runs in its pipe."""
    said = [Remark(one.message, "clip") for one in formed.problems]
    if pipe is not None and duties.is_guarded(pipe.duty):
        name = pipe.get_duty_display().lower()
        if bracket.form == kinds.HALF:
            says = f"A {name} pipe wants two ears or a closed clip: one ear lets it turn and work."
            said.append(Remark(says, "clip", True))
        says = (
            f"Clip a {name} pipe within 300 mm, and on either side of every flexible hose; no "
            "glue. The maker's manual, your inspection rules and a qualified person decide."
        )
        said.append(Remark(says, source="Common practice, from memory."))
    nip = bracket.clip.nip
    if nip is not None and nip.mm > NIP_MM[1]:
        says = f"A nip of more than {NIP_MM[1]:g} mm dents thin tube: a thicker liner instead."
        said.append(Remark(says, "clip"))
    return said
