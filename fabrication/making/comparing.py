"""A made pipe beside the one that was wanted: what differs, how far off it ends up, what to do."""

import math
from collections.abc import Sequence
from dataclasses import dataclass, replace
from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from fabrication.core.as_made import Deviation, Hold, compare
from fabrication.core.bender import Side
from fabrication.core.corrections import Closing, Corrections, corrections
from fabrication.core.errors import CoreError
from fabrication.core.table_forms import part_bent
from fabrication.core.tube_path import bend_table, table_from_rows
from fabrication.core.tube_table import BendRow, BendTable, assemble, rows_of
from fabrication.making.measured import ANGLES, CORNERS, Measured, document_of
from fabrication.models import Comparison, Making, PipeSheet
from fabrication.pipe.worked import WorkedOut
from garage.models import Person

ANGLE_DEG, TWIST_DEG, STRAIGHT_MM, PLACE_MM = 0.25, 0.5, 0.5, 0.05
"""Our figures: what differs by less than this is told as right; a gauge and a rule show no more."""

NO_SIDE_MM = 0.25

_STRAIGHTS = {"short_straight", "long_straight"}  # kinds of the core's reasons


class OtherUnderThisKey(Exception):
    """The same form wrote down another comparison before."""

    def __init__(self, kept: Comparison) -> None:
        super().__init__(
            "This form was saved already with other figures. Save again to keep these beside them."
        )
        self.kept = kept


@transaction.atomic
def write_down(
    *,
    key: UUID,
    sheet: PipeSheet,
    making: Making | None,
    wanted: dict[str, Any],
    measured: Measured,
    by: Person,
    now: datetime,
) -> Comparison:
    """The comparison kept, or the one that this form kept before.

    ``wanted`` is what it is compared with: ``revision``, ``inputs`` and ``figures``.

    Raises
    ------
    OtherUnderThisKey
        When that one says something else.
    """
    document = document_of(measured)
    kept, is_new = Comparison.objects.get_or_create(
        key=key,
        defaults={
            "sheet": sheet,
            "making": making,
            "measured": document,
            "at": now,
            "by": by,
            **wanted,
        },
    )
    if not is_new and (kept.sheet_id, kept.measured) != (sheet.pk, document):
        raise OtherUnderThisKey(kept)
    return kept


@transaction.atomic
def take_out(*, comparison: Comparison, now: datetime) -> None:
    """Takes a comparison out of the list; the row stays."""
    Comparison.objects.standing().filter(pk=comparison.pk).update(out_at=now)


def needs_order(measured: Measured) -> bool:
    """Whether the two pipes can be laid side by side only when the order of bending is known.

    It says how much spare is on the ends, and on which side of a short bend its tube is left over.
    """
    return measured.spare_on or measured.way == ANGLES


# ---- the two tables -----------------------------------------------------------------------


def wanted_table(found: WorkedOut, measured: Measured) -> BendTable:
    """The pipe as wanted where it was measured: with the bends made by then, spare ends or not.

    Raises
    ------
    CoreError
        When the sheet has no such bend.
    """
    if found.table is None:
        raise CoreError("no_table", None, "The sheet cannot be worked out as it stands.")
    table = part_bent(found.table, made=[bend - 1 for bend in measured.made])
    if not measured.spare_on or found.end_a is None or found.end_b is None:
        return table
    rows = rows_of(table)
    more_a, more_b = (end.spare_mm + end.tube.extra_mm for end in (found.end_a, found.end_b))
    last_mm = table.straights_mm[-1] + more_b
    if not rows:
        return assemble(rows=[], last_straight_mm=last_mm + more_a)
    rows[0] = replace(rows[0], straight_mm=rows[0].straight_mm + more_a)
    return assemble(rows=rows, last_straight_mm=last_mm)


def made_table(
    measured: Measured, wanted: BendTable, *, radius_mm: float, hooks: Sequence[Side]
) -> BendTable:
    """The pipe as measured. The radius is taken as the former's: nobody measures it on a pipe.

    Raises
    ------
    CoreError
        When what was measured cannot be a pipe; ``index`` names the bend, straight or corner.
    """
    if measured.way == CORNERS:
        nodes = [(x.mm, y.mm, z.mm) for x, y, z in measured.corners]
        return bend_table(nodes_mm=nodes, radii_mm=[radius_mm] * (len(nodes) - 2))
    if measured.way == ANGLES:
        return _with_angles(wanted, measured.angles_deg, hooks)
    rows = [
        BendRow(row.straight.mm, row.twist_deg if number else 0.0, row.bend_deg, radius_mm)
        for number, row in enumerate(measured.rows)
    ]
    if measured.last is None:
        raise CoreError("no_last_straight", None, "Write the straight up to end B.")
    return table_from_rows(rows=rows, last_straight_mm=measured.last.mm)


def _with_angles(
    wanted: BendTable, angles_deg: Sequence[float], hooks: Sequence[Side]
) -> BendTable:
    """The wanted pipe with other angles: what a short arc leaves over lies beyond it.

    The arc begins where the hook held it, so the straight on the guide's side grows or shrinks.
    """
    if len(angles_deg) != len(wanted.bends):
        message = f"{len(angles_deg)} bends are measured and {len(wanted.bends)} wanted."
        raise CoreError("bend_count", None, message)
    rows, straights = rows_of(wanted), list(wanted.straights_mm)
    for number, (row, angle_deg) in enumerate(zip(rows, angles_deg, strict=True)):
        beyond = number + 1 if hooks[number] is Side.DATUM else number
        straights[beyond] -= row.radius_mm * math.radians(angle_deg - row.angle_deg)
    return table_from_rows(
        rows=[
            replace(row, straight_mm=straight_mm, angle_deg=angle_deg)
            for row, straight_mm, angle_deg in zip(rows, straights, angles_deg, strict=False)
        ],
        last_straight_mm=straights[-1],
    )


# ---- what is said of them -----------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class BendLine:
    """One bend and the straight before it, as measured and how far from what was wanted.

    Where only bends were measured it is not ``is_whole``, and its straight only follows.
    """

    number: int
    straight_mm: float
    twist_deg: float
    angle_deg: float
    straight_off_mm: float
    twist_off_deg: float
    angle_off_deg: float
    is_whole: bool = True

    @property
    def straight_is_off(self) -> bool:
        return self.is_whole and abs(self.straight_off_mm) >= STRAIGHT_MM

    @property
    def twist_is_off(self) -> bool:
        return abs(self.twist_off_deg) >= TWIST_DEG

    @property
    def angle_is_off(self) -> bool:
        return abs(self.angle_off_deg) >= ANGLE_DEG


@dataclass(frozen=True, slots=True)
class Station:
    """Where an end or a corner lies from where it is wanted.

    Told as seen from end A along the pipe there, with the line at the heel of bend 1 on top.
    """

    name: str
    off_mm: float
    along_mm: float
    across_mm: float
    clock_deg: float

    @property
    def is_off(self) -> bool:
        return self.off_mm >= PLACE_MM

    @property
    def high_mm(self) -> float:
        """How far up, towards the line; below nothing is low."""
        return _nothing_if_small(self.across_mm * math.cos(math.radians(self.clock_deg)))

    @property
    def right_mm(self) -> float:
        return _nothing_if_small(self.across_mm * math.sin(math.radians(self.clock_deg)))

    @property
    def beyond_mm(self) -> float:
        """How far beyond its place along the pipe; below nothing it stops short."""
        return _nothing_if_small(self.along_mm)

    @property
    def hour(self) -> int:
        """The nearest hour of the clock, 12 on top."""
        return round(self.clock_deg / 30) % 12 or 12

    @property
    def has_side(self) -> bool:
        return self.across_mm >= NO_SIDE_MM

    @property
    def arrow(self) -> str:
        """An arrow that points the way, up being the line."""
        return "↑↗→↘↓↙←↖"[round(self.clock_deg / 45) % 8] if self.has_side else ""


def _nothing_if_small(mm: float) -> float:
    return mm if abs(mm) >= NO_SIDE_MM else 0.0


@dataclass(frozen=True, slots=True)
class Close:
    """One bend to close further."""

    number: int
    by_deg: float


@dataclass(frozen=True, slots=True)
class Compared:
    """All that is said of a made pipe; ``advice`` only where it was asked for."""

    made: BendTable
    wanted: BendTable
    numbers: tuple[int, ...]
    bends: tuple[BendLine, ...]
    last_mm: float
    last_off_mm: float
    stations: tuple[Station, ...]
    direction_b_deg: float
    worst_mm: float
    doubts: tuple[str, ...]
    is_whole: bool = True
    advice: Corrections | None = None
    close: tuple[Close, ...] = ()

    @property
    def last_is_off(self) -> bool:
        return self.is_whole and abs(self.last_off_mm) >= STRAIGHT_MM

    @property
    def is_right(self) -> bool:
        """Whether no bend, twist or straight differs by more than a bench can tell."""
        told = [
            flag
            for line in self.bends
            for flag in (line.straight_is_off, line.twist_is_off, line.angle_is_off)
        ]
        return not any([*told, self.last_is_off])

    @property
    def end_b_then_mm(self) -> float:
        """How far off end B is when everything is closed as advised."""
        return self.advice.then.stations[-1].distance_mm if self.advice else 0.0

    @property
    def reasons(self) -> list[str]:
        """Why it has to be made again; straights that only follow from a bend are no reason."""
        said = self.advice.problems if self.advice else ()
        causes = [one for one in said if self.is_whole or one.kind not in _STRAIGHTS]
        return [problem.message for problem in causes or said]


def compared(
    measured: Measured,
    found: WorkedOut,
    *,
    hold: Hold = Hold.DATUM_END,
    closing: Closing = Closing.ON_FORMER,
    advised: bool = True,
) -> Compared:
    """The made pipe beside the wanted one.

    With ``advised=False`` what can be done about it is not looked for, which is what takes long.

    Raises
    ------
    CoreError
        When what was measured cannot be a pipe, or has not as many bends as the one wanted.
    """
    wanted = wanted_table(found, measured)
    hooks = _hooks(found, measured)
    radius_mm = wanted.bends[0].radius_mm if wanted.bends else 1.0
    made = made_table(measured, wanted, radius_mm=radius_mm, hooks=hooks)
    advice = None
    if advised:
        advice = corrections(
            made,
            wanted,
            closing=closing,
            hold=hold,
            tolerance_mm=measured.will_do.mm,
            hooks=hooks,
            gauge_deg=ANGLE_DEG,
        )
    now = advice.now if advice else compare(made, wanted, hold=hold)
    is_whole = measured.way != ANGLES
    return Compared(
        made=made,
        wanted=wanted,
        numbers=measured.made,
        bends=tuple(
            BendLine(
                number=number,
                straight_mm=made.straights_mm[at],
                twist_deg=made.bends[at].rotation_deg,
                angle_deg=made.bends[at].angle_deg,
                straight_off_mm=now.straights_mm[at],
                twist_off_deg=now.bends[at].rotation_deg,
                angle_off_deg=now.bends[at].angle_deg,
                is_whole=is_whole,
            )
            for at, number in enumerate(measured.made)
        ),
        last_mm=made.straights_mm[-1],
        last_off_mm=now.straights_mm[-1],
        stations=_stations(now.stations, measured.made),
        direction_b_deg=now.far_direction_deg,
        worst_mm=now.worst_mm,
        doubts=tuple(problem.message for problem in now.problems),
        is_whole=is_whole,
        advice=advice,
        close=tuple(
            Close(number, by_deg)
            for number, by_deg in zip(measured.made, advice.close_deg, strict=True)
            if by_deg > 0
        )
        if advice
        else (),
    )


def _hooks(found: WorkedOut, measured: Measured) -> tuple[Side, ...]:
    """The end hooked at each bend made, along the pipe; end A where the sheet has no order."""
    at = {mark.bend: mark.hook_at for mark in found.marks}
    return tuple(Side.FAR if at.get(bend) == "B" else Side.DATUM for bend in measured.made)


def _stations(found: Sequence[Deviation], numbers: Sequence[int]) -> tuple[Station, ...]:
    names = ["End A", *(f"Bend {number}" for number in numbers), "End B"]
    return tuple(
        Station(name, one.distance_mm, one.along_mm, one.across_mm, one.clock_deg)
        for name, one in zip(names, found, strict=True)
    )
