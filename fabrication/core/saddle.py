"""Straps that hold a pipe: half saddle, two-ear saddle, and closed clip with its ears together.

Each is a strip told by its straights, so that it is drawn, drilled and unfolded like any bracket:
ear, bend, upright, crown round the pipe, and back. The liner lies between pipe and strap.
"""

import math
from dataclasses import dataclass
from enum import StrEnum

from .din_bend import din_k_ratio
from .errors import (
    CoreError,
    Problem,
    caution,
    require_finite,
    require_not_negative,
    require_positive,
)
from .flat_pattern import NEAR_MM, Convention, FlatPattern, Fold, Way, flat_pattern

NIP_MM = (0.3, 0.8)
"""How much lower than resting the pipe is held, so that the screws clamp. Recalled."""


class Liner(StrEnum):
    """Where the liner lies: all round the pipe, or in the strap alone."""

    ALL_ROUND = "all_round"
    IN_STRAP = "in_strap"


@dataclass(frozen=True, slots=True)
class Strap:
    """What a strap is made from and goes round. [mm]

    `ear_mm` is measured from the outer face of the upright, or of the ear's root on a closed clip.
    """

    pipe_od_mm: float
    liner_mm: float
    thickness_mm: float
    ear_radius_mm: float
    ear_mm: float

    @property
    def inner_mm(self) -> float:
        """Inside radius of the strap round pipe and liner. [mm]"""
        return self.pipe_od_mm / 2 + self.liner_mm


@dataclass(frozen=True, slots=True)
class FormedStrap:
    """A strap laid flat, and what to check on the formed one. [mm, deg]

    `from_middle_mm` is the distance of the outer face of the upright, or on a closed clip of the
    ears' root, from the middle of the pipe; a hole lies so much farther out as it lies from there.
    """

    pattern: FlatPattern
    wrap_deg: float
    ear_bend_deg: float
    from_middle_mm: float
    problems: tuple[Problem, ...] = ()

    @property
    def total_mm(self) -> float:
        return self.pattern.total_mm

    def hole_spacing_mm(self, hole_from_upright_mm: float) -> float:
        """Between the holes of two ears, each so far from its upright. [mm]"""
        return 2 * (self.from_middle_mm + hole_from_upright_mm)


def _checked(strap: Strap) -> None:
    require_positive(
        pipe_od_mm=strap.pipe_od_mm,
        thickness_mm=strap.thickness_mm,
        ear_radius_mm=strap.ear_radius_mm,
    )
    require_positive(ear_mm=strap.ear_mm)
    require_not_negative(liner_mm=strap.liner_mm)


def _k_ratios(
    strap: Strap, wrap_k_ratio: float | None, ear_k_ratio: float | None
) -> tuple[float, float]:
    """K-factors of crown and ear: as given, else by DIN 6935."""
    if wrap_k_ratio is None:
        wrap_k_ratio = din_k_ratio(radius_mm=strap.inner_mm, thickness_mm=strap.thickness_mm)
    if ear_k_ratio is None:
        ear_k_ratio = din_k_ratio(radius_mm=strap.ear_radius_mm, thickness_mm=strap.thickness_mm)
    return wrap_k_ratio, ear_k_ratio


def resting_height_mm(*, strap: Strap, liner: Liner, nip_mm: float = 0.0) -> float:
    """Height of the middle of the pipe above what the strap is screwed to.

    Parameters
    ----------
    strap : Strap
        The pipe and its liner. [mm]
    liner : Liner
        Where the liner lies; in the strap alone the pipe rests on the bare face. [-]
    nip_mm : float, optional
        How much lower it is held, so that the ears stand off and the screws clamp. [mm]

    Returns
    -------
    float
        Height. [mm]

    Raises
    ------
    OutOfRange
        If a length cannot be.

    Source
    ------
    Geometry; the nip is common practice, recalled.

    Examples
    --------
    >>> clip = Strap(22, 1.5, 2, 3, 20)
    >>> resting_height_mm(strap=clip, liner=Liner.ALL_ROUND, nip_mm=0.5)
    12.0
    """
    _checked(strap)
    require_not_negative(nip_mm=nip_mm)
    under_mm = strap.liner_mm if liner is Liner.ALL_ROUND else 0.0
    return strap.pipe_od_mm / 2 + under_mm - nip_mm


def two_ear_saddle(
    *,
    strap: Strap,
    height_mm: float,
    wrap_k_ratio: float | None = None,
    ear_k_ratio: float | None = None,
) -> FormedStrap:
    """A strap over the pipe with an ear on either side.

    Parameters
    ----------
    strap : Strap
        Pipe, liner, sheet and ears. [mm]
    height_mm : float
        Of the middle of the pipe above the mounting face; see `resting_height_mm`. [mm]
    wrap_k_ratio, ear_k_ratio : float, optional
        K-factors of crown and ears; by DIN 6935 where left out. [-]

    Returns
    -------
    FormedStrap
        Ear, bend, upright, crown, upright, bend, ear. Where the pipe lies too low for an upright
        the crown is less than half a turn and runs into the ear bends. [mm, deg]

    Raises
    ------
    CoreError
        ear_too_short; pipe_too_low, where the ears would lie above the middle of the pipe.
    OutOfRange
        If a length cannot be.

    Source
    ------
    Geometry. Checked against an open CAD kernel.

    Examples
    --------
    >>> saddle = two_ear_saddle(strap=Strap(22, 0, 2, 3, 20), height_mm=11)
    >>> round(saddle.total_mm, 3), [round(x, 3) for x in saddle.pattern.lines_mm]
    (95.443, [19.936, 47.721, 75.507])
    """
    _checked(strap)
    require_finite(height_mm=height_mm)
    wrap_k, ear_k = _k_ratios(strap, wrap_k_ratio, ear_k_ratio)
    t, rb = strap.thickness_mm, strap.ear_radius_mm
    outer_mm = strap.inner_mm + t
    upright_mm = height_mm - t - rb
    if upright_mm >= -NEAR_MM:
        wrap_deg, ear_deg, upright_mm = 180.0, 90.0, max(upright_mm, 0.0)
        from_middle_mm, root_mm = outer_mm, outer_mm + rb
    else:
        phi_rad = _low_rad(strap, height_mm)
        wrap_deg, ear_deg = 180 - 2 * math.degrees(phi_rad), 90 - math.degrees(phi_rad)
        upright_mm = 0.0
        root_mm = (outer_mm + rb) * math.cos(phi_rad)
        from_middle_mm = root_mm - rb
    ear_flat_mm = _ear_flat_mm(strap)
    ear = Fold(ear_deg, rb, ear_k, Way.DOWN)
    pattern = flat_pattern(
        lengths_mm=(ear_flat_mm, upright_mm, upright_mm, ear_flat_mm),
        folds=(ear, Fold(wrap_deg, strap.inner_mm, wrap_k, Way.UP), ear),
        thickness_mm=t,
        convention=Convention.TANGENT,
    )
    return FormedStrap(pattern, wrap_deg, ear_deg, from_middle_mm, _liner_problems(strap))


def _low_rad(strap: Strap, height_mm: float) -> float:
    """How far short of a quarter turn the crown stops on each side of a low pipe. [rad]"""
    reach_mm = strap.inner_mm + strap.thickness_mm + strap.ear_radius_mm
    sine = (strap.thickness_mm + strap.ear_radius_mm - height_mm) / reach_mm
    if sine >= 1 - 1e-9:
        says = "The middle of the pipe lies so low that no strap goes over it."
        raise CoreError("pipe_too_low", None, says)
    return math.asin(sine)


def _ear_flat_mm(strap: Strap) -> float:
    flat_mm = strap.ear_mm - strap.ear_radius_mm
    if flat_mm < -NEAR_MM:
        says = (
            f"An ear of {strap.ear_mm:g} mm is shorter than its own bend of radius "
            f"{strap.ear_radius_mm:g} mm."
        )
        raise CoreError("ear_too_short", None, says)
    return max(flat_mm, 0.0)


def half_saddle(
    *,
    strap: Strap,
    height_mm: float,
    wrap_k_ratio: float | None = None,
    ear_k_ratio: float | None = None,
) -> FormedStrap:
    """A strap over half the pipe with one ear: it holds one way, and turns about its screw.

    Parameters
    ----------
    strap : Strap
        Pipe, liner, sheet and ear. [mm]
    height_mm : float
        Of the middle of the pipe above the mounting face. [mm]
    wrap_k_ratio, ear_k_ratio : float, optional
        K-factors of crown and ear; by DIN 6935 where left out. [-]

    Returns
    -------
    FormedStrap
        Ear, bend, upright, crown, and nothing after it; with its caution. [mm, deg]

    Raises
    ------
    CoreError
        As `two_ear_saddle`; pipe_too_low already where no upright is left.
    OutOfRange
        If a length cannot be.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> round(half_saddle(strap=Strap(22, 0, 2, 3, 20), height_mm=11).total_mm, 3)
    66.571
    """
    _checked(strap)
    require_finite(height_mm=height_mm)
    wrap_k, ear_k = _k_ratios(strap, wrap_k_ratio, ear_k_ratio)
    t, rb = strap.thickness_mm, strap.ear_radius_mm
    upright_mm = height_mm - t - rb
    if upright_mm < -NEAR_MM:
        says = "The ear's bend leaves no upright: a smaller radius, or a saddle with two ears."
        raise CoreError("pipe_too_low", None, says)
    pattern = flat_pattern(
        lengths_mm=(_ear_flat_mm(strap), max(upright_mm, 0.0), 0.0),
        folds=(Fold(90, rb, ear_k, Way.DOWN), Fold(180, strap.inner_mm, wrap_k, Way.UP)),
        thickness_mm=t,
        convention=Convention.TANGENT,
    )
    says = (
        "One ear holds the pipe one way only and turns about its screw. For brake, fuel and "
        "shaking pipes take two ears or a closed clip."
    )
    problems = (caution("one_ear", says), *_liner_problems(strap))
    return FormedStrap(pattern, 180.0, 90.0, strap.inner_mm + t, problems)


def closed_clip(
    *,
    strap: Strap,
    wrap_k_ratio: float | None = None,
    ear_k_ratio: float | None = None,
) -> FormedStrap:
    """A strap right round the pipe, its two ears face to face on one screw.

    Parameters
    ----------
    strap : Strap
        Pipe, liner, sheet and ears; `ear_mm` is the flat of each. [mm]
    wrap_k_ratio, ear_k_ratio : float, optional
        K-factors of wrap and ears; by DIN 6935 where left out. [-]

    Returns
    -------
    FormedStrap
        Ear, bend, wrap, bend, ear. [mm, deg]

    Raises
    ------
    OutOfRange
        If a length cannot be.

    Source
    ------
    Geometry. Checked against an open CAD kernel.

    Examples
    --------
    >>> clip = closed_clip(strap=Strap(15, 1.5, 1.2, 2, 18))
    >>> round(clip.total_mm, 3), round(clip.ear_bend_deg, 2)
    (97.636, 74.79)
    """
    _checked(strap)
    wrap_k, ear_k = _k_ratios(strap, wrap_k_ratio, ear_k_ratio)
    t, rb = strap.thickness_mm, strap.ear_radius_mm
    reach_mm = strap.inner_mm + t + rb
    alpha_rad = math.asin((t + rb) / reach_mm)
    ear_deg = 90 - math.degrees(alpha_rad)
    wrap_deg = 360 - 2 * math.degrees(alpha_rad)
    ear = Fold(ear_deg, rb, ear_k, Way.DOWN)
    pattern = flat_pattern(
        lengths_mm=(strap.ear_mm, 0.0, 0.0, strap.ear_mm),
        folds=(ear, Fold(wrap_deg, strap.inner_mm, wrap_k, Way.UP), ear),
        thickness_mm=t,
        convention=Convention.TANGENT,
    )
    root_mm = reach_mm * math.cos(alpha_rad)
    return FormedStrap(pattern, wrap_deg, ear_deg, root_mm, _liner_problems(strap))


def _liner_problems(strap: Strap) -> tuple[Problem, ...]:
    if strap.liner_mm > 0:
        return ()
    says = "Line the clip: bare metal frets through a pipe. Fuel-proof liner on a fuel pipe."
    return (caution("no_liner", says),)
