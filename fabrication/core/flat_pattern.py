"""A bent strip of sheet, flange by flange, to the flat it is cut from.

A part is read from its left end: flange, fold, flange, fold, … flange. Everything in the flat is
measured from the left end, x; the fold lines lie across. A fold turns up or down seen on one side
of the sheet, its *front*: up closes towards the front. Which way a fold turns changes the drawing
and never the length.

How a length is told is a convention, the same for the whole part: over the outside to the corner,
to the inside corner, the straight alone from tangent to tangent, or as DIN 6935 draws it: outside
to the corner up to a right angle, and to the outer tangent plane of the bend beyond.
"""

from collections.abc import Sequence
from dataclasses import dataclass, replace
from enum import StrEnum

from .bend_allowance import STEEP_FROM_DEG, bend_allowance_mm, require_k_ratio, setback_ratio
from .errors import (
    CoreError,
    OutOfRange,
    Problem,
    caution,
    require_between,
    require_not_negative,
    require_positive,
)

NEAR_MM = 1e-7


class Way(StrEnum):
    """Which way a fold closes, seen on the front of the sheet lying flat."""

    UP = "up"
    DOWN = "down"

    @property
    def other(self) -> "Way":
        return Way.DOWN if self is Way.UP else Way.UP


class Convention(StrEnum):
    """How the length of a flange is told."""

    OUTSIDE = "outside"
    INSIDE = "inside"
    TANGENT = "tangent"
    DIN = "din"


@dataclass(frozen=True, slots=True)
class Fold:
    """One bend of sheet: how far it turns, which way, its inside radius and K-factor. [deg, mm]"""

    angle_deg: float
    radius_mm: float
    k_ratio: float
    way: Way = Way.UP


@dataclass(frozen=True, slots=True)
class Flat:
    """The flat metal of one flange, between the bends beside it. [mm]"""

    start_mm: float
    end_mm: float

    @property
    def length_mm(self) -> float:
        return self.end_mm - self.start_mm


@dataclass(frozen=True, slots=True)
class Zone:
    """One bend in the flat: its two tangent lines, and what it takes and takes off. [mm]"""

    fold: Fold
    start_mm: float
    end_mm: float
    setback_mm: float

    @property
    def allowance_mm(self) -> float:
        return self.end_mm - self.start_mm

    @property
    def line_mm(self) -> float:
        """The bend line: the middle between the tangent lines."""
        return (self.start_mm + self.end_mm) / 2

    @property
    def deduction_mm(self) -> float:
        """What the bend takes off the sum of the two lengths beside it, as they are told."""
        return 2 * self.setback_mm - self.allowance_mm


@dataclass(frozen=True, slots=True)
class FlatPattern:
    """A part laid flat: flats and bends in turn from the left end, and doubts about them. [mm]"""

    lengths_mm: tuple[float, ...]
    thickness_mm: float
    convention: Convention
    flats: tuple[Flat, ...]
    zones: tuple[Zone, ...]
    problems: tuple[Problem, ...] = ()

    @property
    def total_mm(self) -> float:
        return self.flats[-1].end_mm

    @property
    def lines_mm(self) -> tuple[float, ...]:
        """The bend lines from the left end."""
        return tuple(zone.line_mm for zone in self.zones)

    @property
    def lines_from_right_mm(self) -> tuple[float, ...]:
        return tuple(self.total_mm - zone.line_mm for zone in self.zones)


def setback_mm(*, fold: Fold, thickness_mm: float, convention: Convention) -> float:
    """What a bend takes off each length beside it before the flat metal begins.

    Parameters
    ----------
    fold : Fold
        The bend. [deg, mm]
    thickness_mm : float
        Of the sheet. [mm]
    convention : Convention
        How lengths are told. [-]

    Returns
    -------
    float
        Nothing where straights are told. [mm]

    Raises
    ------
    OutOfRange
        If the angle is not above 0 and below 180; below 360 where straights are told, for there
        is no corner to measure to.

    Source
    ------
    Geometry; for lengths to the tangent plane, DIN 6935.

    Examples
    --------
    >>> fold = Fold(135, 3, 0.4)
    >>> round(setback_mm(fold=fold, thickness_mm=1.5, convention=Convention.OUTSIDE), 3)
    10.864
    >>> setback_mm(fold=fold, thickness_mm=1.5, convention=Convention.DIN)
    4.5
    """
    require_between(0, 360 if convention is Convention.TANGENT else 180, angle_deg=fold.angle_deg)
    require_positive(radius_mm=fold.radius_mm, thickness_mm=thickness_mm)
    if convention is Convention.TANGENT:
        return 0.0
    if convention is Convention.INSIDE:
        return setback_ratio(angle_deg=fold.angle_deg) * fold.radius_mm
    outer_mm = fold.radius_mm + thickness_mm
    if convention is Convention.DIN and fold.angle_deg > 90:
        return outer_mm
    return setback_ratio(angle_deg=fold.angle_deg) * outer_mm


def flat_pattern(
    *,
    lengths_mm: Sequence[float],
    folds: Sequence[Fold],
    thickness_mm: float,
    convention: Convention = Convention.OUTSIDE,
) -> FlatPattern:
    """The flat of a bent strip: where each flange and each bend lies in it.

    Parameters
    ----------
    lengths_mm : sequence of float
        Of the flanges from the left end, as the convention tells them. [mm]
    folds : sequence of Fold
        The bends between them, one fewer. [deg, mm]
    thickness_mm : float
        Of the sheet. [mm]
    convention : Convention, optional
        How lengths are told. [-]

    Returns
    -------
    FlatPattern
        From the left end. A steep corner is doubted where lengths run to it. [mm]

    Raises
    ------
    CoreError
        fold_count; flange_negative (index: the flange), where two bends would overlap;
        bad_fold (index: the fold), where an angle, radius or K-factor cannot be.
    OutOfRange
        If the thickness or a length cannot be.

    Source
    ------
    Geometry; the walk of FAA-H-8083-31, chapter 4. Checked against an open CAD kernel.

    Examples
    --------
    >>> joggle = flat_pattern(lengths_mm=(20, 35, 30), thickness_mm=2, folds=(
    ...     Fold(90, 3, 0.369, Way.UP), Fold(90, 3, 0.369, Way.DOWN)))
    >>> round(joggle.total_mm, 2), [round(x, 2) for x in joggle.lines_mm]
    (76.74, [17.94, 48.81])
    """
    require_positive(thickness_mm=thickness_mm)
    if not lengths_mm or len(folds) != len(lengths_mm) - 1:
        says = "Between two flanges there is one bend."
        raise CoreError("fold_count", None, says)
    require_not_negative(**{f"length_{n}_mm": mm for n, mm in enumerate(lengths_mm, start=1)})
    setbacks = [_setback(n, fold, thickness_mm, convention) for n, fold in enumerate(folds)]
    at_mm = 0.0
    flats: list[Flat] = []
    zones: list[Zone] = []
    for number, length_mm in enumerate(lengths_mm):
        before_mm = setbacks[number - 1] if number else 0.0
        after_mm = setbacks[number] if number < len(folds) else 0.0
        flat_mm = _flat_mm(number, length_mm, before_mm + after_mm)
        flats.append(Flat(at_mm, at_mm + flat_mm))
        at_mm += flat_mm
        if number < len(folds):
            fold = folds[number]
            end_mm = at_mm + bend_allowance_mm(
                angle_deg=fold.angle_deg,
                radius_mm=fold.radius_mm,
                thickness_mm=thickness_mm,
                k_ratio=fold.k_ratio,
            )
            zones.append(Zone(fold, at_mm, end_mm, setbacks[number]))
            at_mm = end_mm
    return FlatPattern(
        tuple(lengths_mm),
        thickness_mm,
        convention,
        tuple(flats),
        tuple(zones),
        _steep_corners(folds, convention),
    )


def _setback(number: int, fold: Fold, thickness_mm: float, convention: Convention) -> float:
    try:
        require_k_ratio(fold.k_ratio)
        return setback_mm(fold=fold, thickness_mm=thickness_mm, convention=convention)
    except OutOfRange as refused:
        raise CoreError("bad_fold", number, f"Bend {number + 1}: {refused.message}") from refused


def _flat_mm(number: int, length_mm: float, taken_mm: float) -> float:
    left_mm = length_mm - taken_mm
    if left_mm < -NEAR_MM:
        says = (
            f"Flange {number + 1} is {length_mm:.4g} mm long and its bends take {taken_mm:.4g} mm: "
            f"they overlap by {-left_mm:.3g} mm. Longer, or a smaller radius."
        )
        raise CoreError("flange_negative", number, says)
    return max(left_mm, 0.0)


def _steep_corners(folds: Sequence[Fold], convention: Convention) -> tuple[Problem, ...]:
    if convention in (Convention.TANGENT, Convention.DIN):
        return ()
    says = "So steep a bend has its corner far outside: a degree moves it by millimetres."
    return tuple(
        caution("steep_corner", says, number)
        for number, fold in enumerate(folds)
        if fold.angle_deg >= STEEP_FROM_DEG
    )


def reversed_pattern(pattern: FlatPattern) -> FlatPattern:
    """The same part read from its right end, seen on the same side, worked out anew.

    Parameters
    ----------
    pattern : FlatPattern
        As it lies. [mm]

    Returns
    -------
    FlatPattern
        Its total is the same, and its bend lines are total less x. [mm]

    Raises
    ------
    CoreError
        As `flat_pattern`; never for a pattern that came from there.

    Source
    ------
    Geometry.

    Examples
    --------
    >>> there = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    >>> round(reversed_pattern(there).lines_mm[0] + there.lines_mm[0], 6)
    66.461062
    """
    return flat_pattern(
        lengths_mm=pattern.lengths_mm[::-1],
        folds=[zone.fold for zone in reversed(pattern.zones)],
        thickness_mm=pattern.thickness_mm,
        convention=pattern.convention,
    )


def agrees_from_both_ends(pattern: FlatPattern) -> bool:
    """Whether the total and every bend line come out alike when reckoned from the right end.

    Parameters
    ----------
    pattern : FlatPattern
        As it lies. [mm]

    Returns
    -------
    bool
        To within a ten-millionth of a millimetre. [-]

    Raises
    ------
    CoreError
        As `flat_pattern`.

    Source
    ------
    A self-test of the sums, and of a pattern that was kept and read again.

    Examples
    --------
    >>> there = flat_pattern(lengths_mm=(40, 30), folds=(Fold(90, 2, 0.42),), thickness_mm=2)
    >>> agrees_from_both_ends(there)
    True
    """
    back = reversed_pattern(pattern)
    pairs = zip(back.lines_mm, reversed(pattern.lines_from_right_mm), strict=True)
    same_lines = all(abs(there - here) < NEAR_MM for there, here in pairs)
    return same_lines and abs(back.total_mm - pattern.total_mm) < NEAR_MM


def mirrored_folds(folds: Sequence[Fold]) -> tuple[Fold, ...]:
    """Return the bends of the mirrored part: each turns the other way."""
    return tuple(replace(fold, way=fold.way.other) for fold in folds)
