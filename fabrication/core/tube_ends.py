"""What is done to the ends of a tube: bead for a hose, flare for a nut, or nothing.

No table of bead sizes could be read in any standard, so every size here is a house default: it
says so in its `source`, and is meant to be changed. Lengths run from the finished end.
"""

import math
from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from .errors import (
    CoreError,
    Infeasible,
    OutOfRange,
    blocker,
    require_between,
    require_not_negative,
    require_positive,
)

HOUSE_DEFAULT = "house default, from no standard"

BEHIND_BEAD_MM = 3.0
CLIP_TO_HOSE_END_MM = 6.0
BEYOND_HOSE_MM = 5.0
"""Bead to clip: house default. Clip to the end of the hose: a clamp maker's article, about 6 mm
(1/4 in). Straight tube beyond the hose before the bend starts: house default."""


@dataclass(frozen=True, slots=True)
class Bead:
    """A rounded ring rolled or pressed out of the tube; height for each side. [mm]"""

    height_mm: float
    width_mm: float
    centre_mm: float
    source: str = HOUSE_DEFAULT


def house_bead(*, od_mm: float) -> Bead:
    """Bead for a hose where nothing better is known.

    Parameters
    ----------
    od_mm : float
        Outside diameter, above zero and at most 54. [mm]

    Returns
    -------
    Bead
        Height by diameter, four times as wide as high. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is outside these limits.

    Source
    ------
    House default. SAE J1231 is the standard to look up for real work.

    Examples
    --------
    >>> house_bead(od_mm=28)
    Bead(height_mm=1.5, width_mm=6.0, centre_mm=8.0, source='house default, from no standard')
    """
    require_positive(od_mm=od_mm)
    for most_mm, height_mm, centre_mm in (
        (12, 0.8, 6.0),
        (25, 1.0, 8.0),
        (40, 1.5, 8.0),
        (54, 2.0, 10.0),
    ):
        if od_mm <= most_mm:
            return Bead(height_mm, 4 * height_mm, centre_mm)
    raise OutOfRange("od_mm", od_mm, 0, 54)


@dataclass(frozen=True, slots=True)
class BeadAllowance:
    """Tube eaten by a bead: nothing if all comes out of the wall, most if the wall is kept. [mm]

    Leave `most_mm`, bead a test piece, trim after. Rolled beads eat little, pressed ones more.
    """

    least_mm: float
    along_mm: float
    most_mm: float


def bead_allowance(*, bead: Bead, od_mm: float, wall_mm: float) -> BeadAllowance:
    """Length a bead takes out of the tube, between two bounds.

    Parameters
    ----------
    bead : Bead
        Its profile is an arc of chord width and rise height; rise at most half the chord. [mm]
    od_mm, wall_mm : float
        Outside diameter, and wall of less than half of it. [mm]

    Returns
    -------
    BeadAllowance
        Least 0; arc less chord; and the bound where the wall keeps its thickness. [mm]

    Raises
    ------
    OutOfRange
        If a length is outside these limits.

    Source
    ------
    Derived: arc length of the profile, and the second theorem of Pappus for the kept wall.

    Examples
    --------
    >>> eaten = bead_allowance(bead=house_bead(od_mm=28), od_mm=28, wall_mm=1.2)
    >>> round(eaten.along_mm, 3), round(eaten.most_mm, 3)
    (0.955, 1.466)
    """
    require_positive(od_mm=od_mm, width_mm=bead.width_mm)
    require_between(0, od_mm / 2, wall_mm=wall_mm)
    require_between(0, bead.width_mm / 2 * (1 + 1e-12), height_mm=bead.height_mm)
    half_mm, rise_mm = bead.width_mm / 2, bead.height_mm
    arc_radius_mm = (half_mm**2 + rise_mm**2) / (2 * rise_mm)
    half_angle_rad = 2 * math.atan2(rise_mm, half_mm)
    arc_mm = 2 * half_angle_rad * arc_radius_mm
    mid_wall_mm = (od_mm - wall_mm) / 2
    lift_mm = arc_radius_mm * math.sin(half_angle_rad) / half_angle_rad - (arc_radius_mm - rise_mm)
    kept_mm = arc_mm * (mid_wall_mm + lift_mm) / mid_wall_mm
    return BeadAllowance(0.0, arc_mm - bead.width_mm, kept_mm - bead.width_mm)


@dataclass(frozen=True, slots=True)
class HoseFit:
    """Where hose and clip sit on a beaded end, and the straight tube that asks for. [mm]"""

    push_on_mm: float
    clip_centre_mm: float
    straight_needed_mm: float


def hose_fit(*, bead: Bead, clip_width_mm: float) -> HoseFit:
    """How far a hose is pushed on, where its clip goes, and how long the end must be straight.

    Parameters
    ----------
    bead : Bead
        The hose goes over it, the clip behind it and never on it. [mm]
    clip_width_mm : float
        Width of the clip, above zero. [mm]

    Returns
    -------
    HoseFit
        From the finished end. [mm]

    Raises
    ------
    OutOfRange
        If the clip has no width.

    Source
    ------
    Clip between bead and hose end, about 6 mm from the hose end: a clamp maker's article. The
    rest is a house default.

    Examples
    --------
    >>> hose_fit(bead=house_bead(od_mm=28), clip_width_mm=12)
    HoseFit(push_on_mm=32.0, clip_centre_mm=20.0, straight_needed_mm=37.0)
    """
    require_positive(clip_width_mm=clip_width_mm)
    clip_from_mm = bead.centre_mm + bead.width_mm / 2 + BEHIND_BEAD_MM
    push_on_mm = clip_from_mm + clip_width_mm + CLIP_TO_HOSE_END_MM
    return HoseFit(push_on_mm, clip_from_mm + clip_width_mm / 2, push_on_mm + BEYOND_HOSE_MM)


@dataclass(frozen=True, slots=True)
class BeadTool:
    """A bead tool as measured. Depth is from the tube's end to the centre of the bead. [mm]

    `stop_offset_mm` is depth less the reading of the depth stop. `straight_needed_mm` is the
    straight end the tool wants; `enters_after_bend` is False for one that meets a bend.
    """

    shallowest_mm: float
    deepest_mm: float
    straight_needed_mm: float
    stop_offset_mm: float = 0.0
    enters_after_bend: bool = True


@dataclass(frozen=True, slots=True)
class BeadSetting:
    """What to set the depth stop to, when to bead, and how much to cut off after. [mm]"""

    stop_mm: float
    depth_mm: float
    trim_after_mm: float
    before_bending: bool


def bead_setting(
    *, bead: Bead, tool: BeadTool, straight_mm: float, held_mm: float = 0.0
) -> BeadSetting:
    """Setting of the bead tool, and whether the bead comes before the bend next to it.

    Parameters
    ----------
    bead : Bead
        Where it is wanted on the finished end. [mm]
    tool : BeadTool
        What the tool can reach. [mm]
    straight_mm : float
        Finished straight from end to bend, not negative. [mm]
    held_mm : float, optional
        Straight the bender must hold on this side of the bend. [mm]

    Returns
    -------
    BeadSetting
        A tool that only beads deeper than wanted beads first, and the end is trimmed after.

    Raises
    ------
    OutOfRange
        If a length is negative.
    CoreError
        bad_tool, if the tool's deepest bead is not the deeper one.
    Infeasible
        bead_out_of_reach; bead_in_the_way, if the bead must come first and then leaves the
        bender too little to hold.

    Source
    ------
    Common practice with depth-stop tools.

    Examples
    --------
    >>> tool = BeadTool(shallowest_mm=12, deepest_mm=20, straight_needed_mm=30, stop_offset_mm=2)
    >>> bead_setting(bead=house_bead(od_mm=28), tool=tool, straight_mm=60)
    BeadSetting(stop_mm=10.0, depth_mm=12.0, trim_after_mm=4.0, before_bending=False)
    """
    require_not_negative(straight_mm=straight_mm, held_mm=held_mm)
    if not 0 <= tool.shallowest_mm <= tool.deepest_mm:
        raise CoreError("bad_tool", None, "The tool's deepest bead lies before its shallowest.")
    if bead.centre_mm > tool.deepest_mm:
        message = (
            f"The tool reaches {tool.deepest_mm:g} mm, the bead is wanted at {bead.centre_mm:g} mm."
        )
        raise Infeasible("bead_out_of_reach", (blocker("bead_out_of_reach", message),))
    depth_mm = float(max(bead.centre_mm, tool.shallowest_mm))
    trim_mm = depth_mm - bead.centre_mm
    before = not tool.enters_after_bend or straight_mm + trim_mm < tool.straight_needed_mm
    free_mm = straight_mm - bead.centre_mm - bead.width_mm / 2
    if before and free_mm < held_mm:
        message = (
            f"The bead must come before the bend and then leaves {free_mm:.1f} mm to hold where "
            f"{held_mm:.1f} mm are needed: lengthen the end, or use another bead tool."
        )
        raise Infeasible("bead_in_the_way", (blocker("bead_in_the_way", message),))
    return BeadSetting(depth_mm - tool.stop_offset_mm, depth_mm, trim_mm, before)


class EndForm(StrEnum):
    """How an end of the pipe is finished."""

    PLAIN = "plain"
    BEAD = "bead"
    FLARE = "flare"


class Work(StrEnum):
    """One thing done at an end."""

    CUT_SQUARE = "cut_square"
    DEBURR = "deburr"
    SLIDE_ON = "slide_on"
    BEAD = "bead"
    FLARE = "flare"
    TRIM = "trim"
    BEND = "bend"


@dataclass(frozen=True, slots=True)
class WorkStep:
    """One thing done, and to what: the loose part slid on, or nothing to name."""

    work: Work
    part: str = ""


def work_at_end(
    *,
    form: EndForm,
    loose: Sequence[str] = (),
    form_before_bending: bool = False,
    loose_before_bending: bool = False,
    spare_mm: float = 0.0,
    trim_after_mm: float = 0.0,
) -> tuple[WorkStep, ...]:
    """Order of work at one end, the bends standing in it as one step.

    Parameters
    ----------
    form : EndForm
        How the end is finished.
    loose : sequence of str, optional
        Nut, sleeve, closed clip: what cannot go on once the end is formed, in order. [-]
    form_before_bending : bool, optional
        From `bead_setting`, or because the flaring tool cannot hold the finished straight.
    loose_before_bending : bool, optional
        Because the straight end is too short for the loose parts to sit on. See
        `loose_before_bend`.
    spare_mm, trim_after_mm : float, optional
        Spare tube cut off after bending; tube cut off behind a bead made too deep. [mm]

    Returns
    -------
    tuple of WorkStep
        Deburred before it is formed, and after every cut.

    Raises
    ------
    OutOfRange
        If a length is negative.
    CoreError
        spare_behind_form, if an end is to be formed first and have spare tube cut off as well.

    Source
    ------
    Common practice: slide on before the last flare, deburr before the bead tool goes in.

    Examples
    --------
    >>> steps = work_at_end(form=EndForm.FLARE, loose=["nut"])
    >>> [str(step.work) for step in steps]
    ['cut_square', 'deburr', 'bend', 'slide_on', 'flare']
    """
    require_not_negative(spare_mm=spare_mm, trim_after_mm=trim_after_mm)
    if form_before_bending and spare_mm > 0:
        message = "An end that is formed before bending cannot have spare tube to cut off."
        raise CoreError("spare_behind_form", None, message)
    on = [WorkStep(Work.SLIDE_ON, part) for part in loose]
    formed = _formed(form, trim_after_mm)
    cut = [WorkStep(Work.CUT_SQUARE), WorkStep(Work.DEBURR)]
    bend = [WorkStep(Work.BEND)]
    off = [WorkStep(Work.TRIM), WorkStep(Work.DEBURR)] if spare_mm > 0 else []
    if form_before_bending:
        return (*cut, *on, *formed, *bend)
    if loose_before_bending:
        return (*cut, *on, *bend, *off, *formed)
    return (*cut, *bend, *off, *on, *formed)


def loose_before_bend(*, straight_mm: float, loose_mm: float, tool_grip_mm: float) -> bool:
    """Whether loose parts must be on the tube before the bend next to the end is made.

    Parameters
    ----------
    straight_mm : float
        Finished straight from end to bend, not negative. [mm]
    loose_mm : float
        Length of all loose parts together, not negative. [mm]
    tool_grip_mm : float
        Straight the flaring or bead tool holds, not negative. [mm]

    Returns
    -------
    bool
        True where parts and tool do not fit on the straight side by side.

    Raises
    ------
    OutOfRange
        If a length is negative.

    Source
    ------
    Common practice.

    Examples
    --------
    >>> loose_before_bend(straight_mm=30, loose_mm=18, tool_grip_mm=15)
    True
    """
    require_not_negative(straight_mm=straight_mm, loose_mm=loose_mm, tool_grip_mm=tool_grip_mm)
    return straight_mm < loose_mm + tool_grip_mm


def _formed(form: EndForm, trim_after_mm: float) -> list[WorkStep]:
    after = [WorkStep(Work.TRIM), WorkStep(Work.DEBURR)] if trim_after_mm > 0 else []
    return {
        EndForm.PLAIN: [],
        EndForm.BEAD: [WorkStep(Work.BEAD), *after],
        EndForm.FLARE: [WorkStep(Work.FLARE)],
    }[form]
