"""The centre line of a tube in space, piece by piece: for drawings, for the view, for clearance."""

import math
from dataclasses import dataclass

from .errors import require_positive
from .tube_table import BendTable
from .vectors import CANONICAL, Frame, Vec3


@dataclass(frozen=True, slots=True)
class Piece:
    """One straight or one arc of the centre line, with the frame in which it starts.

    `bend` counts the bends from zero and is None on a straight, whose angle and radius are 0.
    """

    start: Frame
    length_mm: float
    bend: int | None = None
    angle_deg: float = 0.0
    radius_mm: float = 0.0

    def frame_at(self, share: float) -> Frame:
        """Return the frame a share of the way along, 0 at the start and 1 at the end."""
        if self.bend is None:
            return self.start.forward(self.length_mm * share)
        return self.start.along_bend(self.angle_deg * share, self.radius_mm)


def pieces(table: BendTable, *, start: Frame = CANONICAL) -> tuple[Piece, ...]:
    """Straights and arcs of a tube in order from the datum end.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]
    start : Frame, optional
        Frame at the datum end, the canonical one if left out. [mm]

    Returns
    -------
    tuple of Piece
        Straight, arc, straight, ..., straight; straights of no length included. [mm, deg]

    Source
    ------
    Derived: a frame carried along the tube.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> table = table_from_rows(rows=[BendRow(10, 0, 90, 20)], last_straight_mm=5)
    >>> [tuple(round(x, 9) for x in piece.frame_at(1).at) for piece in pieces(table)]
    [(10.0, 0.0, 0.0), (30.0, 20.0, 0.0), (30.0, 25.0, 0.0)]
    """
    frame, found = start, []
    for number, (straight_mm, bend) in enumerate(
        zip(table.straights_mm, table.bends, strict=False)
    ):
        found.append(Piece(frame, straight_mm))
        frame = frame.forward(straight_mm).rolled(bend.rotation_deg)
        found.append(Piece(frame, bend.arc_mm, number, bend.angle_deg, bend.radius_mm))
        frame = frame.along_bend(bend.angle_deg, bend.radius_mm)
    return (*found, Piece(frame, table.straights_mm[-1]))


def polyline(table: BendTable, *, sagitta_mm: float, start: Frame = CANONICAL) -> tuple[Vec3, ...]:
    """Points of the centre line such that no chord strays from it by more than a sagitta.

    Parameters
    ----------
    table : BendTable
        Any table. [mm, deg]
    sagitta_mm : float
        Largest distance from a chord to its arc, above zero. [mm]
    start : Frame, optional
        Frame at the datum end, the canonical one if left out. [mm]

    Returns
    -------
    tuple of Vec3
        The first is the datum end, the last the far end; all lie on the centre line. [mm]

    Raises
    ------
    OutOfRange
        If the sagitta is not above zero.

    Source
    ------
    Circle: a chord over an angle 2b lies R (1 - cos b) inside its arc.

    Examples
    --------
    >>> from .tube_path import BendRow, table_from_rows
    >>> table = table_from_rows(rows=[BendRow(10, 0, 90, 20)], last_straight_mm=5)
    >>> len(polyline(table, sagitta_mm=0.5))
    7
    """
    require_positive(sagitta_mm=sagitta_mm)
    points = [start.at]
    for piece in pieces(table, start=start):
        chords = chord_count(piece.angle_deg, piece.radius_mm, sagitta_mm)
        points += [piece.frame_at(step / chords).at for step in range(1, chords + 1)]
    return tuple(points)


def chord_count(angle_deg: float, radius_mm: float, sagitta_mm: float) -> int:
    """Return how many equal chords follow an arc to within a sagitta; one for a straight."""
    if sagitta_mm >= radius_mm:
        return max(1, math.ceil(angle_deg / 90))
    half = math.sqrt(sagitta_mm / (2 * radius_mm))
    step_rad = 4 * math.atan2(half, math.sqrt(1 - half * half))
    return max(1, math.ceil(math.radians(angle_deg) / step_rad - 1e-9))
