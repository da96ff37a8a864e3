"""The list of bends of a tube: rows as typed, bends as placed on the straight tube, and doubts."""

import math
from collections.abc import Iterator, Sequence
from dataclasses import dataclass
from itertools import pairwise

from .errors import Problem, caution

LENGTH_TOLERANCE_MM = 1e-7
"""Lengths that differ by less than this are the same length."""

RETURN_BEND_DEG = 180 - math.degrees(1e-9)
"""From here on the legs beside a bend never meet: no corner point, no setback."""

NEARLY_STRAIGHT_DEG = 0.2
STEEP_DEG = 170.0
DIRECTION_NOISE_DEG = 0.1
ROTATION_DOUBT_LIMIT_DEG = 1.0
"""House defaults: where a bend, a corner point or a twist starts to be doubtful."""


@dataclass(frozen=True, slots=True)
class Bend:
    """One bend, and where it starts and ends on the straight tube, measured from the datum end.

    `node` names the corner point it came from (or the row, for typed rows), counted in the
    input. `setback_mm` is None for a return bend of 180 degrees and more: its legs never meet.
    """

    node: int
    angle_deg: float
    rotation_deg: float
    clock_deg: float
    radius_mm: float
    setback_mm: float | None
    arc_mm: float
    start_mm: float
    end_mm: float

    @property
    def middle_mm(self) -> float:
        """Middle of the arc on the straight tube. [mm]"""
        return self.start_mm + self.arc_mm / 2

    @property
    def gain_mm(self) -> float | None:
        """What the bend gives back: both setbacks less the arc; None for a return bend. [mm]"""
        return None if self.setback_mm is None else 2 * self.setback_mm - self.arc_mm


@dataclass(frozen=True, slots=True)
class BendTable:
    """Straights and bends in order from the datum end; one more straight than bends."""

    straights_mm: tuple[float, ...]
    bends: tuple[Bend, ...]
    length_mm: float
    problems: tuple[Problem, ...] = ()


@dataclass(frozen=True, slots=True)
class BendRow:
    """One row as a person types it: go straight, twist, bend."""

    straight_mm: float
    rotation_deg: float
    angle_deg: float
    radius_mm: float
    node: int | None = None


def setback_mm(angle_deg: float, radius_mm: float) -> float:
    """Distance from corner point to tangent point, R tan(a/2), for a below 180. [mm]"""
    return radius_mm * math.tan(math.radians(angle_deg) / 2)


def wrapped_deg(angle_deg: float) -> float:
    """The same direction told in (-180, 180]; a hair above -180 counts as 180. [deg]

    >>> wrapped_deg(270), wrapped_deg(-180), wrapped_deg(540)
    (-90.0, 180.0, 180.0)
    """
    turned = math.remainder(angle_deg, 360)
    return 180.0 if turned <= -180 + 1e-9 else turned + 0.0


def rotation_doubt_deg(before_deg: float, after_deg: float) -> float:
    """Return how far a twist may be off when leg directions are off by 0.1 degree. [deg]

    The plane of a bend is the less certain the less it bends: s / sin(a) for each of the two.

    >>> round(rotation_doubt_deg(2, 90), 1)
    2.9
    """
    shares = []
    for angle_deg in (before_deg, after_deg):
        # The halves of a return bend have a corner each, and tell its plane well.
        corner_deg = angle_deg if angle_deg < RETURN_BEND_DEG else angle_deg / 2
        shares.append(1 / math.sin(math.radians(corner_deg)))
    return DIRECTION_NOISE_DEG * math.hypot(*shares)


def assemble(
    *,
    rows: Sequence[BendRow],
    last_straight_mm: float,
    od_mm: float | None = None,
    problems: Sequence[Problem] = (),
) -> BendTable:
    """Return the table of sound rows: arcs, marks and clock positions added, doubts named.

    The rows are taken as checked; `problems` are those found while they were made. [mm, deg]
    """
    bends: list[Bend] = []
    reached_mm = clock_deg = 0.0
    for number, row in enumerate(rows, start=1):
        rotation_deg = wrapped_deg(row.rotation_deg)
        clock_deg = wrapped_deg(clock_deg + rotation_deg)
        bends.append(_placed(row, number, clock_deg, reached_mm + row.straight_mm))
        reached_mm = bends[-1].end_mm
    straights = (*(row.straight_mm for row in rows), last_straight_mm)
    length_mm = math.fsum([*straights, *(bend.arc_mm for bend in bends)])
    doubts = [*problems, *_doubts_about_straights(straights), *_doubts_about_bends(bends, od_mm)]
    return BendTable(straights, tuple(bends), length_mm, tuple(doubts))


def rows_of(table: BendTable) -> list[BendRow]:
    """Return the rows a table was made of, the last straight left out."""
    return [
        BendRow(straight_mm, bend.rotation_deg, bend.angle_deg, bend.radius_mm, bend.node)
        for straight_mm, bend in zip(table.straights_mm, table.bends, strict=False)
    ]


def _placed(row: BendRow, number: int, clock_deg: float, start_mm: float) -> Bend:
    arc_mm = row.radius_mm * math.radians(row.angle_deg)
    meets = row.angle_deg < RETURN_BEND_DEG
    return Bend(
        node=number if row.node is None else row.node,
        angle_deg=row.angle_deg,
        rotation_deg=wrapped_deg(row.rotation_deg),
        clock_deg=clock_deg,
        radius_mm=row.radius_mm,
        setback_mm=setback_mm(row.angle_deg, row.radius_mm) if meets else None,
        arc_mm=arc_mm,
        start_mm=start_mm,
        end_mm=start_mm + arc_mm,
    )


def _doubts_about_straights(straights_mm: Sequence[float]) -> Iterator[Problem]:
    last = len(straights_mm) - 1
    for index, straight_mm in enumerate(straights_mm):
        if straight_mm >= LENGTH_TOLERANCE_MM:
            continue
        if index in (0, last):
            end = "A" if index == 0 else "B"
            message = f"End {end} has no straight: add spare tube to hold, and cut it off after."
            yield caution("no_end_straight", message, index)
        else:
            message = (
                f"Bends {index} and {index + 1} touch: no former gets in between unless they are "
                "one bend in one plane."
            )
            yield caution("no_straight_between", message, index)


def _doubts_about_bends(bends: Sequence[Bend], od_mm: float | None) -> Iterator[Problem]:
    for bend in bends:
        if od_mm is not None and bend.radius_mm < od_mm:
            message = f"A radius of {bend.radius_mm:g} mm is less than the tube's own diameter."
            yield caution("tight_radius", message, bend.node)
        if bend.angle_deg < NEARLY_STRAIGHT_DEG:
            message = f"A bend of {bend.angle_deg:.2f} degrees can hardly be told from straight."
            yield caution("nearly_straight", message, bend.node)
        if STEEP_DEG < bend.angle_deg < RETURN_BEND_DEG:
            message = (
                f"At {bend.angle_deg:.1f} degrees the corner point lies far off and small errors "
                "grow: enter this bend as a row."
            )
            yield caution("steep_corner", message, bend.node)
    for before, after in pairwise(bends):
        doubt_deg = rotation_doubt_deg(before.angle_deg, after.angle_deg)
        if doubt_deg > ROTATION_DOUBT_LIMIT_DEG:
            message = (
                f"One of two bends hardly tells its plane: the twist between them is only good to "
                f"{doubt_deg:.0f} degrees when directions are good to {DIRECTION_NOISE_DEG:g}."
            )
            yield caution("shallow_bend", message, after.node)
