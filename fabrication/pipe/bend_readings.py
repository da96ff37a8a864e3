"""From the readings of an old pipe, row by row, to its straights, twists and bends.

The arithmetic is the core's; here each refusal and each misfit finds the row it belongs to, and
is said in words instead of names. Rows count from one as typed; the row after the last bend is
the last straight.
"""

import math
from collections.abc import Callable, Iterator
from dataclasses import dataclass, replace
from typing import ParamSpec, TypeVar

from fabrication.core import measured, measured_angles
from fabrication.core.errors import CoreError, OutOfRange
from fabrication.core.tube_path import table_from_rows
from fabrication.core.tube_table import BendRow, wrapped_deg
from fabrication.pipe import inputs
from fabrication.pipe.inputs import BendRead, Bends, Leg, Length, Misfit, Noted, PipeInputs, Row

P = ParamSpec("P")
T = TypeVar("T")

ARM_MM = 100.0
"""House default: how far up each leg the two marks of a rule-only reading stand."""

BEND_LIMIT_DEG = 1.0
"""House default: two readings of a bend that differ by more do not tell one bend."""

_WORDS = {
    "slope_deg": "The slope",
    "angle_deg": "The bend",
    "angle_before_deg": "The bend before",
    "angle_after_deg": "The bend",
    "included_deg": "The angle between the legs",
    "gap_mm": "The gap",
    "arm_mm": "The arm up to a mark",
    "reading_mm": "The reading",
    "height_mm": "The height",
    "across_mm": "The distance across",
    "end_to_end_mm": "The distance from end to end",
    "leg_before_mm": "The leg before",
    "leg_between_mm": "The leg between",
    "leg_after_mm": "The leg after",
    "clip_width_mm": "The clip's width",
    "width_mm": "The bead's width",
    "od_mm": "The tube's outside",
}


class WayError(Exception):
    """What was typed makes no pipe; ``noted`` says why, each at its row."""

    def __init__(self, *noted: Noted) -> None:
        super().__init__(" ".join(one.text for one in noted))
        self.noted = noted


def said_of(error: CoreError) -> str:
    """The sentence of a refusal, with the bench's words for what is out of its limits."""
    if not isinstance(error, OutOfRange):
        return error.message
    unit = "mm" if error.field.endswith("_mm") else "degrees"
    low = max(error.low, 0.0) if unit == "mm" else error.low
    says = f"{_WORDS.get(error.field, 'A figure')} is {error.value:g} {unit}; it must "
    if error.high == math.inf:
        return f"{says}be more than {low:g} {unit}."
    says += f"lie between {low:g} {unit} and {error.high:g} {unit}."
    return says if "limits" in error.why else f"{says} {error.why}".rstrip()


@dataclass(frozen=True, slots=True)
class _Pipe:
    """Bends as typed, the tube they are bent from, and what is found on the way."""

    bends: Bends
    radius_mm: float
    od_mm: float
    noted: list[Noted]
    misfits: list[Misfit]

    @property
    def last_row(self) -> int:
        return len(self.bends.rows) + 1


def pipe_from(
    bends: Bends, *, ends: tuple[inputs.End, inputs.End], radius_mm: float, od_mm: float
) -> PipeInputs:
    """The pipe from end A, whichever end it was read from.

    Raises
    ------
    WayError
        When a reading is not possible at its bend, or two contradict each other.
    """
    pipe = _Pipe(bends, radius_mm, od_mm, [], [])
    angles = [_at(row, bend_deg, one.bend) for row, one in enumerate(bends.rows, start=1)]
    radii = [one.radius.mm if one.radius else None for one in bends.rows]
    flat = [
        measured.BendReading(0.0, angle, own or radius_mm)
        for angle, own in zip(angles, radii, strict=True)
    ]
    straights = [_straight(pipe, row, leg, flat) for row, leg in enumerate(_legs(bends), start=1)]
    twists = [_twist(pipe, row, straights, flat) for row in range(1, len(flat) + 1)]
    _second_readings(pipe, angles, straights, flat)
    _across(pipe, flat, straights, twists)
    rows = [
        Row(Length(straight, _own_text(one.leg, straight)), twist, angle, own)
        for one, straight, twist, angle, own in zip(
            bends.rows, straights, twists, angles, radii, strict=False
        )
    ]
    last = Length(straights[-1], _own_text(bends.last, straights[-1]))
    found = PipeInputs(
        tuple(rows), last, *ends, noted=tuple(pipe.noted), misfits=tuple(pipe.misfits)
    )
    return turned_round(found) if bends.from_end == inputs.END_B else found


def turned_round(pipe: PipeInputs) -> PipeInputs:
    """The rows of a pipe read from the other end: lists reversed, every twist keeps its sign."""
    straights = [*(row.straight for row in pipe.rows), pipe.last][::-1]
    twists = [0.0, *(row.twist_deg for row in pipe.rows[:0:-1])]
    rows = [
        replace(row, straight=straight, twist_deg=twist)
        for row, straight, twist in zip(pipe.rows[::-1], straights, twists, strict=False)
    ]
    count = len(pipe.rows)
    return replace(
        pipe,
        rows=tuple(rows),
        last=straights[-1],
        bend_rows=tuple(range(count, 0, -1)),
        straight_rows=tuple(range(count + 1, 0, -1)),
    )


def bend_deg(bend: BendRead) -> float:
    """The bend, told from straight.

    Raises
    ------
    fabrication.core.errors.OutOfRange
        When a gap or an angle is not possible.
    """
    arm_mm = bend.arm.mm if bend.arm else ARM_MM
    gap_mm = bend.gap.mm if bend.gap else 0.0
    if bend.how == inputs.INCLUDED:
        return measured_angles.deflection_from_included_deg(included_deg=bend.deg)
    if bend.how == inputs.MARKS:
        return measured_angles.deflection_from_marks_deg(gap_mm=gap_mm, arm_mm=arm_mm)
    if bend.how == inputs.PRODUCED:
        return measured_angles.deflection_from_produced_leg_deg(gap_mm=gap_mm, arm_mm=arm_mm)
    return bend.deg


def _legs(bends: Bends) -> list[Leg]:
    return [*(row.leg for row in bends.rows), bends.last]


def _at(row: int, work: Callable[P, T], *args: P.args, **kwargs: P.kwargs) -> T:
    """What the core answers; its refusal stands at the row."""
    try:
        return work(*args, **kwargs)
    except CoreError as refused:
        raise WayError(Noted(row, said_of(refused), stops=True)) from None


def _around(
    row: int, flat: list[measured.BendReading]
) -> tuple[measured.BendReading | None, measured.BendReading | None]:
    """The bends before and after the straight of a row."""
    around = [None, *flat, None]
    return around[row - 1], around[row]


def _reading(leg: Leg, row: int, count: int) -> measured.LegReading:
    near = measured.To.END if row == 1 else measured.To(leg.near)
    far = measured.To.END if row == count + 1 else measured.To(leg.far)
    return measured.LegReading(leg.reading.mm, near, far)


def _straight(pipe: _Pipe, row: int, leg: Leg, flat: list[measured.BendReading]) -> float:
    reading = _reading(leg, row, len(flat))
    # Told from where a bend starts, a straight of nothing is legal: two bends touch.
    if {reading.near, reading.far} <= {measured.To.END, measured.To.TANGENT}:
        return leg.reading.mm
    before, after = _around(row, flat)
    _refuse_edges(row, reading, before, after)
    found = _at(
        row,
        measured.straight_mm,
        reading=reading,
        before=before,
        after=after,
        od_mm=pipe.od_mm,
    )
    if found < -1e-7:
        says = (
            f"The bends beside it take {-found:.1f} mm more than this reading leaves. Look again "
            "at what it was measured to, and at the radius of the former."
        )
        raise WayError(Noted(row, says, stops=True))
    return found


def _refuse_edges(
    row: int,
    reading: measured.LegReading,
    before: measured.BendReading | None,
    after: measured.BendReading | None,
) -> None:
    """Refuses an edge that a bend does not have, in words instead of limits."""
    for to, bend in ((reading.near, before), (reading.far, after)):
        if bend is None or to is measured.To.TANGENT:
            continue
        if to is measured.To.BACK and bend.angle_deg < 90 - 1e-9:
            says = (
                f"A bend of {bend.angle_deg:g} degrees has no back to lay a square on: that takes "
                "90 and more. Measure to its heel."
            )
            raise WayError(Noted(row, says, stops=True))
        if to is not measured.To.BACK and bend.angle_deg >= 180:
            says = (
                f"A return bend of {bend.angle_deg:g} degrees has no corner: measure to where it "
                "starts, or to its back."
            )
            raise WayError(Noted(row, says, stops=True))


def _twist(
    pipe: _Pipe, row: int, straights: list[float], flat: list[measured.BendReading]
) -> float:
    read = pipe.bends.rows[row - 1].twist
    if row == 1:
        return 0.0
    if read.how == inputs.TWIST:
        return read.deg
    if read.how == inputs.SLOPE:
        found = _at(
            row,
            measured_angles.twist_from_slope,
            slope_deg=read.deg,
            angle_deg=flat[row - 1].angle_deg,
            third_leg=measured_angles.ThirdLeg(read.side),
        )
    else:
        found = _at(row, _from_heights, pipe, row, straights, flat)
        pipe.misfits.append(_misfit(row, "height and distance", found.misfit_mm))
    pipe.noted.extend(Noted(row, one.message) for one in found.problems)
    return found.rotation_deg


def _from_heights(
    pipe: _Pipe, row: int, straights: list[float], flat: list[measured.BendReading]
) -> measured_angles.Twist:
    read = pipe.bends.rows[row - 1].twist
    legs = [_corner_to_corner(number, straights, flat) for number in (row - 1, row, row + 1)]
    height_mm = measured_angles.centre_height_mm(
        reading_mm=read.height.mm if read.height else 0.0,
        gauge_at=measured_angles.GaugeAt(read.gauge_at),
        od_mm=pipe.od_mm,
    )
    return measured_angles.twist_from_heights(
        leg_before_mm=legs[0],
        leg_between_mm=legs[1],
        leg_after_mm=legs[2],
        angle_before_deg=flat[row - 2].angle_deg,
        angle_after_deg=flat[row - 1].angle_deg,
        height_mm=-height_mm if read.falls else height_mm,
        across_mm=read.across.mm if read.across else 0.0,
    )


def _corner_to_corner(row: int, straights: list[float], flat: list[measured.BendReading]) -> float:
    before, after = _around(row, flat)
    near = measured.To.END if before is None else measured.To.TANGENT
    far = measured.To.END if after is None else measured.To.TANGENT
    reading = measured.LegReading(straights[row - 1], near, far)
    return measured.leg_mm(reading=reading, before=before, after=after, od_mm=1.0)


def _second_readings(
    pipe: _Pipe, angles: list[float], straights: list[float], flat: list[measured.BendReading]
) -> None:
    """What was read twice, beside what the first reading gave."""
    legs = [*(row.leg_again for row in pipe.bends.rows), pipe.bends.last_again]
    for row, leg in enumerate(legs, start=1):
        if leg is not None:
            second = _straight(replace(pipe, noted=[], misfits=[]), row, leg, flat)
            pipe.misfits.append(_misfit(row, "straight", straights[row - 1] - second))
    for row, one in enumerate(pipe.bends.rows, start=1):
        if one.bend_again is not None:
            off_deg = angles[row - 1] - _at(row, bend_deg, one.bend_again)
            large = abs(off_deg) > BEND_LIMIT_DEG
            pipe.misfits.append(Misfit(row, "bend", deg=off_deg, is_large=large))


def _across(
    pipe: _Pipe, flat: list[measured.BendReading], straights: list[float], twists: list[float]
) -> None:
    if pipe.bends.across is None:
        return
    row = pipe.last_row
    rows = [
        BendRow(straight, wrapped_deg(twist), one.angle_deg, one.radius_mm)
        for straight, twist, one in zip(straights, twists, flat, strict=False)
    ]
    table = _at(row, table_from_rows, rows=rows, last_straight_mm=straights[-1])
    found = _at(row, measured.closing_misfit_mm, table=table, end_to_end_mm=pipe.bends.across.mm)
    pipe.misfits.append(_misfit(row, "end to end", found))


def _misfit(row: int, what: str, off_mm: float | None) -> Misfit:
    large = off_mm is not None and abs(off_mm) > measured.CLOSING_LIMIT_MM
    return Misfit(row, what, mm=off_mm, is_large=large)


def _own_text(leg: Leg, straight_mm: float) -> str:
    """What was typed, where the straight itself was typed."""
    return leg.reading.typed if leg.reading.mm == straight_mm else ""


def guessed_mm(end: inputs.End, straight_mm: float) -> float:
    """How much of the tube at an end is a guess."""
    if not end.lost:
        return 0.0
    return end.guessed.mm if end.guessed else straight_mm


def doubts_of_ends(pipe: PipeInputs) -> Iterator[Noted]:
    """What is said of an end that is gone, at the row of its straight."""
    rows = pipe.straight_rows or tuple(range(1, len(pipe.rows) + 2))
    for name, end, row in (("A", pipe.end_a, rows[0]), ("B", pipe.end_b, rows[-1])):
        if end.lost:
            says = f"End {name} is lost and its length guessed: leave it long, trim at the car."
            if not end.trim or not end.trim.mm:
                says += " Write what to leave under To cut off after: nothing is added yet."
            yield Noted(row, says)
