"""From what a hand can measure on an old pipe to its list of bends, and how far it closes.

Hardly anything on a bent pipe can be measured to a corner point, which lies in the air. Each
reading is therefore told with what it was taken to, and brought to the tangent point or the
corner by the geometry of the bend. Angles are deflections from straight throughout.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from enum import StrEnum

from .errors import CoreError, Problem, caution, require_between, require_positive
from .tube_path import BendRow, BendTable, nodes_from_table, setback_mm, table_from_rows

CLOSING_LIMIT_MM = 3.0
"""House default: a check measure further off than this means that some reading is wrong."""


class To(StrEnum):
    """What a length along a leg was measured to, at one of its two ends."""

    END = "end"
    TANGENT = "tangent"
    CENTRE = "centre"
    HEEL = "heel"
    THROAT = "throat"
    BACK = "back"


@dataclass(frozen=True, slots=True)
class LegReading:
    """One length along a leg, and what it was taken to at its near and far end. [mm]

    `lost` marks an end that rusted away: its length is a guess, to be trimmed at the car.
    """

    reading_mm: float
    near: To
    far: To
    lost: bool = False


@dataclass(frozen=True, slots=True)
class BendReading:
    """One bend: twist against the bend before, deflection, centre-line radius. [deg, mm]"""

    rotation_deg: float
    angle_deg: float
    radius_mm: float


@dataclass(frozen=True, slots=True)
class MeasuredPipe:
    """The list of bends, which ends are guessed, and how far the check measure is off.

    `misfit_mm` is computed less measured, end to end; None when nothing was measured twice.
    """

    table: BendTable
    lost_datum_end: bool
    lost_far_end: bool
    misfit_mm: float | None
    problems: tuple[Problem, ...]


def measured_pipe(
    *,
    legs: Sequence[LegReading],
    bends: Sequence[BendReading],
    od_mm: float,
    wall_mm: float | None = None,
    end_to_end_mm: float | None = None,
) -> MeasuredPipe:
    """List of bends of a pipe as measured leg by leg, checked by one measure across.

    Parameters
    ----------
    legs : sequence of LegReading
        One more than bends; only the first and last reach an end, or may be lost. [mm]
    bends : sequence of BendReading
        In order from the datum end. [deg, mm]
    od_mm, wall_mm : float
        Outside diameter, and wall if it is known. [mm]
    end_to_end_mm : float, optional
        Straight from centre to centre of the two ends. [mm]

    Returns
    -------
    MeasuredPipe
        With a caution where it does not close to 3 mm, or where no check was measured. [mm]

    Raises
    ------
    OutOfRange
        If a reading is not above zero, or not possible at its bend.
    CoreError
        leg_count; end_not_at_end; lost_inside; and those of `table_from_rows`.

    Source
    ------
    Derived; the limit for closing is a house default.

    Examples
    --------
    >>> pipe = measured_pipe(legs=[LegReading(206.3509, To.END, To.HEEL),
    ...     LegReading(200, To.CENTRE, To.END)], bends=[BendReading(0, 60, 66)], od_mm=22)
    >>> [round(straight, 4) for straight in pipe.table.straights_mm], pipe.problems[0].kind
    ([161.8949, 161.8949], 'no_check_measure')
    """
    _refuse_bad_legs(legs, len(bends))
    around: list[BendReading | None] = [None, *bends, None]
    straights = [
        straight_mm(reading=leg, before=around[i], after=around[i + 1], od_mm=od_mm)
        for i, leg in enumerate(legs)
    ]
    rows = [
        BendRow(straights[i], bend.rotation_deg, bend.angle_deg, bend.radius_mm)
        for i, bend in enumerate(bends)
    ]
    table = table_from_rows(rows=rows, last_straight_mm=straights[-1], od_mm=od_mm, wall_mm=wall_mm)
    misfit_mm = None
    if end_to_end_mm is not None:
        misfit_mm = closing_misfit_mm(table=table, end_to_end_mm=end_to_end_mm)
    problems = (*table.problems, *_doubts(misfit_mm, legs))
    return MeasuredPipe(table, legs[0].lost, legs[-1].lost, misfit_mm, problems)


def straight_mm(
    *, reading: LegReading, before: BendReading | None, after: BendReading | None, od_mm: float
) -> float:
    """Straight part of a leg, from whatever its length was measured to.

    Parameters
    ----------
    reading : LegReading
        The length and what it was taken to at either end. [mm]
    before, after : BendReading or None
        The bend at the near and far end of the leg, None at an end of the pipe. [deg, mm]
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Tangent point to tangent point; negative if the readings contradict each other. [mm]

    Raises
    ------
    OutOfRange
        If a length is not above zero, a corner is asked of a bend of 180 and more, or the back
        of a bend under 90.
    CoreError
        end_not_at_end, if an end of the pipe is told where there is a bend, or the reverse.

    Source
    ------
    Derived; heel and throat apex lie r tan(a/2) beyond and before the corner, r half the
    diameter. A square touches the back of a bend of 90 and more one radius and r past tangent.

    Examples
    --------
    >>> bend = BendReading(rotation_deg=0, angle_deg=90, radius_mm=66)
    >>> back = LegReading(reading_mm=200, near=To.END, far=To.BACK)
    >>> straight_mm(reading=back, before=None, after=bend, od_mm=22)
    123.0
    """
    require_positive(reading_mm=reading.reading_mm, od_mm=od_mm)
    near_mm = _past_tangent_mm(reading.near, before, od_mm)
    return reading.reading_mm - near_mm - _past_tangent_mm(reading.far, after, od_mm)


def leg_mm(
    *, reading: LegReading, before: BendReading | None, after: BendReading | None, od_mm: float
) -> float:
    """Length of a leg from corner point to corner point, or from the end of the pipe.

    Parameters
    ----------
    reading : LegReading
        The length and what it was taken to at either end. [mm]
    before, after : BendReading or None
        The bend at the near and far end of the leg, None at an end of the pipe. [deg, mm]
    od_mm : float
        Outside diameter, above zero. [mm]

    Returns
    -------
    float
        Straight plus the setbacks beside it. [mm]

    Raises
    ------
    OutOfRange
        As `straight_mm`; and for a bend of 180 degrees and more, which has no corner.
    CoreError
        end_not_at_end.

    Source
    ------
    Derived; see `straight_mm`.

    Examples
    --------
    >>> bend = BendReading(rotation_deg=0, angle_deg=60, radius_mm=66)
    >>> throat = LegReading(reading_mm=193.6491, near=To.END, far=To.THROAT)
    >>> round(leg_mm(reading=throat, before=None, after=bend, od_mm=22), 4)
    200.0
    """
    straight = straight_mm(reading=reading, before=before, after=after, od_mm=od_mm)
    return straight + sum(_corner_setback_mm(bend) for bend in (before, after) if bend is not None)


def closing_misfit_mm(*, table: BendTable, end_to_end_mm: float) -> float:
    """How far the computed pipe and a measure straight across its ends disagree.

    Parameters
    ----------
    table : BendTable
        The pipe as computed from the other readings. [mm, deg]
    end_to_end_mm : float
        Straight from centre to centre of the two ends, above zero. [mm]

    Returns
    -------
    float
        Computed less measured. [mm]

    Raises
    ------
    OutOfRange
        If the measure is not above zero.

    Source
    ------
    Derived.

    Examples
    --------
    >>> table = table_from_rows(rows=[BendRow(40, 0, 90, 20)], last_straight_mm=60)
    >>> closing_misfit_mm(table=table, end_to_end_mm=99)
    1.0
    """
    require_positive(end_to_end_mm=end_to_end_mm)
    nodes = nodes_from_table(table)
    return nodes[0].distance_to(nodes[-1]) - end_to_end_mm


def _past_tangent_mm(to: To, bend: BendReading | None, od_mm: float) -> float:
    """Return how far beyond the tangent point a reading was taken. [mm]"""
    if (to is To.END) != (bend is None):
        message = "Only the first and the last straight reach an end of the pipe."
        raise CoreError("end_not_at_end", None, message)
    if bend is None or to is To.TANGENT:
        return 0.0
    half_mm = od_mm / 2
    if to is To.BACK:
        require_between(90 - 1e-9, 360, angle_deg=bend.angle_deg)
        return bend.radius_mm + half_mm
    beyond_mm = {To.CENTRE: 0.0, To.HEEL: half_mm, To.THROAT: -half_mm}[to]
    return _corner_setback_mm(bend) + setback_mm(bend.angle_deg, beyond_mm)


def _corner_setback_mm(bend: BendReading) -> float:
    require_between(0, 180, angle_deg=bend.angle_deg)
    return setback_mm(bend.angle_deg, bend.radius_mm)


def _refuse_bad_legs(legs: Sequence[LegReading], bends: int) -> None:
    if len(legs) != bends + 1:
        message = f"{bends} bends have {bends + 1} straights between and beside them."
        raise CoreError("leg_count", None, message)
    for index, leg in enumerate(legs[1:-1], start=1):
        if leg.lost:
            message = f"Straight {index + 1} lies between two bends: only an end can be lost."
            raise CoreError("lost_inside", index, message)


def _doubts(misfit_mm: float | None, legs: Sequence[LegReading]) -> list[Problem]:
    found = []
    if misfit_mm is None:
        message = "Nothing is measured twice: take the distance from end to end as a check."
        found.append(caution("no_check_measure", message))
    elif abs(misfit_mm) > CLOSING_LIMIT_MM:
        message = f"The readings do not close by {abs(misfit_mm):.1f} mm: one of them is wrong."
        found.append(caution("does_not_close", message))
    for index in sorted({0, len(legs) - 1}):
        if legs[index].lost:
            message = "This end is lost and its length guessed: leave it long, trim at the car."
            found.append(caution("lost_guessed", message, index))
    return found
