"""From a bracket as typed to all that follows from it. Nothing here is kept.

A bracket that cannot be is an answer too: it says what is wrong, and at which row.
"""

import itertools
from collections.abc import Iterable, Sequence
from dataclasses import replace

from fabrication.bracket import bracket_inputs as kinds
from fabrication.bracket.bracket_bends import Bending, bending_of
from fabrication.bracket.bracket_clips import clip_doubts, clip_of, clip_sum
from fabrication.bracket.bracket_inputs import BracketInputs, EndRow
from fabrication.bracket.bracket_load import load_of
from fabrication.bracket.bracket_worked import BendLine, BracketWorked, HoleSpot, Remark
from fabrication.core.errors import CoreError, Problem, Severity
from fabrication.core.flat_features import (
    CutNotch,
    Hole,
    flange_problems,
    flat_hole,
    hole_problems,
)
from fabrication.core.flat_pattern import (
    Convention,
    FlatPattern,
    Fold,
    Way,
    agrees_from_both_ends,
    flat_pattern,
)
from fabrication.core.formed import reach_problems
from fabrication.core.outline import Corner, Outline, rounded
from fabrication.core.sheet_materials import blank_mass_g
from fabrication.core.strip import End, EndShape, strip_outline
from fabrication.models import PipeSheet, SheetStock, TestStrip
from fabrication.models.bracket import Coating

OFF_BY_MM = 0.5  # a traced outline may differ from the sum of the flanges by this, unsaid


def work_out_bracket(
    bracket: BracketInputs,
    *,
    stock: SheetStock,
    strip: TestStrip | None = None,
    pipe: PipeSheet | None = None,
) -> BracketWorked:
    """All that follows from a bracket as typed, from this sheet."""
    bending = bending_of(bracket, stock=stock, strip=strip)
    said = [*bending.said, *_of_sheet(stock)]
    try:
        if bracket.is_clip:
            formed = clip_of(bracket, stock=stock, bending=bending, pipe=pipe)
            pattern = formed.pattern
            said += clip_doubts(bracket, formed, pipe)
        else:
            formed = None
            pattern = _pattern(bracket, stock, bending)
    except CoreError as refused:
        return BracketWorked(None, said=_worst_first([_refused(refused, bracket), *said]))
    spots, of_holes = _spots(bracket, pattern)
    outline, of_outline = _outline(bracket, pattern)
    said += [*of_holes, *of_outline, *_bend_doubts(bracket, pattern, bending, stock)]
    order, of_order = _order(bracket, pattern)
    said += of_order
    if outline is not None:
        flats = [spot.flat for spot in spots]
        found = hole_problems(pattern=pattern, outline=outline, holes=flats)
        said += [_at_hole(one, spots) for one in found]
        spots = _marked(spots, found)
    strap, beam, beam_words, of_load = load_of(bracket, stock=stock, outline=outline, holes=spots)
    return BracketWorked(
        pattern=pattern,
        outline=outline,
        lines=_lines(pattern, bending, order),
        holes=spots,
        said=_worst_first([*said, *of_load]),
        order=order,
        mass_g=_mass_g(outline, spots, stock),
        k_words=bending.words,
        other_words=bending.other_words,
        other_total_mm=_other_total_mm(bracket, pattern, bending),
        agrees=agrees_from_both_ends(pattern),
        line_up_words=bending.line_up_words,
        clip=clip_sum(bracket, formed, pipe),
        strap=strap,
        beam=beam,
        beam_words=beam_words,
    )


def _pattern(bracket: BracketInputs, stock: SheetStock, bending: Bending) -> FlatPattern:
    bends = zip(bracket.rows[:-1], bending.radii_mm, strict=True)
    folds = [
        Fold(row.bend_deg or 0.0, radius_mm, _k_ratio(bending, number, radius_mm), Way(row.way))
        for number, (row, radius_mm) in enumerate(bends)
    ]
    return flat_pattern(
        lengths_mm=[row.length.mm for row in bracket.rows],
        folds=folds,
        thickness_mm=stock.thickness_mm,
        convention=Convention(bracket.convention),
    )


def _k_ratio(bending: Bending, number: int, radius_mm: float) -> float:
    try:
        return bending.k_ratio(radius_mm)
    except CoreError as refused:
        says = f"Bend {number + 1}: {radius_mm:g} mm inside is too sharp for DIN 6935."
        raise CoreError("bad_fold", number, says) from refused


def _other_total_mm(bracket: BracketInputs, pattern: FlatPattern, bending: Bending) -> float | None:
    """The length by the other way of reckoning, flats as they are."""
    ratios = [bending.other_k_ratio(zone.fold.radius_mm) for zone in pattern.zones]
    if not ratios or None in ratios:
        return None
    flats_mm = sum(flat.length_mm for flat in pattern.flats)
    folds = [
        replace(zone.fold, k_ratio=ratio)
        for zone, ratio in zip(pattern.zones, ratios, strict=True)
        if ratio is not None
    ]
    bent = flat_pattern(
        lengths_mm=[0.0] * (len(folds) + 1),
        folds=folds,
        thickness_mm=pattern.thickness_mm,
        convention=Convention.TANGENT,
    )
    return flats_mm + bent.total_mm


# ---- holes and outline --------------------------------------------------------------------


def _spots(
    bracket: BracketInputs, pattern: FlatPattern
) -> tuple[tuple[HoleSpot, ...], list[Remark]]:
    """The holes in the flat, numbered from the left row on; a pattern row is several."""
    spots: list[HoleSpot] = []
    said = []
    for row, hole in _holes(bracket, pattern):
        try:
            flat = flat_hole(pattern=pattern, hole=hole)
        except CoreError as refused:
            said.append(Remark(refused.message, f"hole-{row}", True))
            continue
        spots.append(HoleSpot(len(spots) + 1, row, flat, pattern.total_mm - flat.x_mm))
    return tuple(spots), said


def _holes(bracket: BracketInputs, pattern: FlatPattern) -> Iterable[tuple[int, Hole]]:
    if bracket.is_clip:
        yield from _clip_holes(bracket, pattern)
        return
    for number, row in enumerate(bracket.holes, start=1):
        for nth in range(row.count):
            yield (
                number,
                Hole(
                    flange=row.flange - 1,
                    along_mm=row.along.mm + nth * (row.pitch.mm if row.pitch else 0.0),
                    diameter_mm=row.diameter.mm,
                    across_mm=row.across.mm if row.across else 0.0,
                    from_end=row.from_end,
                    slot_mm=row.slot.mm if row.slot else 0.0,
                    slot_across=row.slot_across,
                ),
            )


def _clip_holes(bracket: BracketInputs, pattern: FlatPattern) -> Iterable[tuple[int, Hole]]:
    clip = bracket.clip
    if clip.hole is None or clip.hole_from_upright is None:
        return
    out_mm = clip.hole_from_upright.mm
    if bracket.form != kinds.CLIP:
        # From the outer face of the upright; the flat of the ear begins a radius farther out.
        out_mm -= pattern.zones[0].fold.radius_mm
    ears = [0] if bracket.form == kinds.HALF else [0, len(pattern.flats) - 1]
    for ear in ears:
        yield 0, Hole(ear, out_mm, clip.hole.mm, from_end=ear == 0)


def _outline(bracket: BracketInputs, pattern: FlatPattern) -> tuple[Outline | None, list[Remark]]:
    try:
        if bracket.points and not bracket.is_clip:
            outline = rounded(
                [
                    Corner(point.x.mm, point.y.mm, point.radius.mm if point.radius else 0.0)
                    for point in bracket.points
                ]
            )
            return outline, _of_trace(outline, pattern)
        return strip_outline(
            pattern=pattern,
            widths_mm=_widths_mm(bracket, pattern),
            left=_end(bracket.left),
            right=_end(bracket.right),
            flush=bracket.flush and not bracket.is_clip,
            notches=[] if bracket.is_clip else _notches(bracket),
        ), []
    except CoreError as refused:
        return None, [Remark(refused.message, _outline_place(refused, bracket), True)]


def _outline_place(refused: CoreError, bracket: BracketInputs) -> str:
    if refused.index is None:
        return ""
    if bracket.points and not bracket.is_clip:
        return f"point-{refused.index + 1}"
    notches = ("notch_too_deep", "notch_off", "notches_meet")
    return f"notch-{refused.index + 1}" if refused.kind in notches else "ends"


def _of_trace(outline: Outline, pattern: FlatPattern) -> list[Remark]:
    xs = [x for x, _ in outline.ring]
    long_mm = max(xs) - min(xs)
    if abs(long_mm - pattern.total_mm) <= OFF_BY_MM and abs(min(xs)) <= OFF_BY_MM:
        return []
    says = (
        f"The traced outline runs from {min(xs):.1f} to {max(xs):.1f} mm, the flanges from 0 to "
        f"{pattern.total_mm:.1f} mm: bend lines are drawn where the flanges put them."
    )
    return [Remark(says)]


def _widths_mm(bracket: BracketInputs, pattern: FlatPattern) -> list[float]:
    """A width at each end and at every bend; where none is typed, as before."""
    if bracket.is_clip:
        width_mm = bracket.clip.width.mm if bracket.clip.width else 0.0
        return [width_mm] * (len(pattern.flats) + 1)
    typed = [*(row.width for row in bracket.rows), bracket.last_width]
    found: list[float] = []
    for width in typed:
        found.append(width.mm if width else (found[-1] if found else 0.0))
    return found


def _end(end: EndRow) -> EndShape:
    return EndShape(End(end.form), end.radius.mm if end.radius else 0.0)


def _notches(bracket: BracketInputs) -> list[CutNotch]:
    return [
        CutNotch(
            flange=row.flange - 1,
            along_mm=row.along.mm,
            width_mm=row.width.mm,
            depth_mm=row.depth.mm,
            on_left=row.on_left,
            from_end=row.from_end,
        )
        for row in bracket.notches
    ]


def _mass_g(outline: Outline | None, spots: Sequence[HoleSpot], stock: SheetStock) -> float | None:
    if outline is None:
        return None
    area_mm2 = outline.area_mm2 - sum(spot.flat.area_mm2 for spot in spots)
    if area_mm2 <= 0:
        return None
    return blank_mass_g(area_mm2=area_mm2, thickness_mm=stock.thickness_mm, metal=stock.material)


# ---- bends --------------------------------------------------------------------------------


def _bend_doubts(
    bracket: BracketInputs, pattern: FlatPattern, bending: Bending, stock: SheetStock
) -> list[Remark]:
    said = [_at_bend(one) for one in pattern.problems]
    if bracket.is_clip:
        return said
    said += bending.radius_doubts(pattern, stock)
    least_mm = bending.least_flanges_mm(pattern)
    if least_mm:
        found = flange_problems(pattern, least_mm=least_mm)
        said += [_at_flange(one) for one in found]
    return said


Order = tuple[int, ...]


def _order(bracket: BracketInputs, pattern: FlatPattern) -> tuple[Order, list[Remark]]:
    """The order the bends are made in, counted from one: as typed, else one that reaches."""
    count = len(pattern.zones)
    said: list[Remark] = []
    if bracket.order:
        order = tuple(bend - 1 for bend in bracket.order)
        if sorted(order) == list(range(count)):
            found = reach_problems(pattern, order=order)
            said += [_at_bend(one) for one in found]
            if found and (better := _reaching(pattern)):
                words = " ".join(str(bend + 1) for bend in better)
                said.append(Remark(f"In the order {words} nothing is in the way.", "order"))
            return bracket.order, said
        says = f"Each of the {count} bends is made once: write 1 to {count}, in your order."
        said.append(Remark(says, "order", True))
    order = _reaching(pattern) or tuple(range(count))
    if not bracket.is_clip:
        said += [_at_bend(one) for one in reach_problems(pattern, order=order)]
    return tuple(bend + 1 for bend in order), said


MOST_TRIED = 5


def _reaching(pattern: FlatPattern) -> Order | None:
    """An order in which nothing is in the way: from the ends inward first, then what there is."""
    count = len(pattern.zones)
    inward = sorted(range(count), key=lambda bend: (min(bend, count - 1 - bend), bend))
    tried: list[Order] = [tuple(inward), tuple(range(count)), tuple(reversed(inward))]
    if count <= MOST_TRIED:
        tried += list(itertools.permutations(range(count)))
    return next((order for order in tried if not reach_problems(pattern, order=order)), None)


def _lines(pattern: FlatPattern, bending: Bending, order: Sequence[int]) -> tuple[BendLine, ...]:
    return tuple(
        BendLine(
            number=number,
            from_left_mm=zone.line_mm,
            from_right_mm=pattern.total_mm - zone.line_mm,
            line_up_mm=bending.line_up_mm(zone),
            angle_deg=zone.fold.angle_deg,
            way=zone.fold.way.value,
            radius_mm=zone.fold.radius_mm,
            allowance_mm=zone.allowance_mm,
            deduction_mm=zone.deduction_mm,
            k_ratio=zone.fold.k_ratio,
            other_k_ratio=bending.other_k_ratio(zone.fold.radius_mm),
            made=order.index(number) + 1,
        )
        for number, zone in enumerate(pattern.zones, start=1)
    )


# ---- where things are said ----------------------------------------------------------------


def _of_sheet(stock: SheetStock) -> list[Remark]:
    if stock.coating != Coating.ZINC:
        return []
    says = (
        "Zinc-coated: strip it before glue, solder or heat, and never breathe the white fume. "
        "Bare edges rust: coat them."
    )
    return [Remark(says, source="Common practice, from memory.")]


def _at_bend(problem: Problem) -> Remark:
    place = "" if problem.index is None else f"bend-{problem.index + 1}"
    return Remark(problem.message, place, problem.severity is Severity.BLOCKER)


def _at_flange(problem: Problem) -> Remark:
    place = "" if problem.index is None else f"row-{problem.index + 1}"
    return Remark(problem.message, place, problem.severity is Severity.BLOCKER)


def _at_hole(problem: Problem, spots: Sequence[HoleSpot]) -> Remark:
    spot = spots[problem.index or 0]
    place = f"hole-{spot.row}" if spot.row else "clip"
    return Remark(problem.message, place, problem.severity is Severity.BLOCKER)


def _marked(spots: Sequence[HoleSpot], found: Iterable[Problem]) -> tuple[HoleSpot, ...]:
    """The holes, with those that are to be drilled after bending marked."""
    late = {one.index for one in found if one.kind in ("hole_by_bend", "hole_in_bend")}
    return tuple(replace(spot, in_bend=n in late) for n, spot in enumerate(spots))


def _refused(refused: CoreError, bracket: BracketInputs) -> Remark:
    if bracket.is_clip:
        return Remark(refused.message, "clip", True)
    if refused.index is not None and refused.kind == "flange_negative":
        return Remark(refused.message, f"row-{refused.index + 1}", True)
    if refused.index is not None and refused.kind == "bad_fold":
        return Remark(refused.message, f"bend-{refused.index + 1}", True)
    return Remark(refused.message, "", True)


def _worst_first(said: list[Remark]) -> tuple[Remark, ...]:
    """Refusals first; what two ears have in common is said once."""
    return tuple(sorted(dict.fromkeys(said), key=lambda one: not one.stops))
