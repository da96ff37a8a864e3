"""What the view in space is told: plain dictionaries of millimetres, ready for JSON.

Two kinds of solid. Points and directions are ``[x, y, z]``, lengths millimetres, angles degrees,
in the frame of the drawing, z up. Both kinds share ::

    {"kind": "tube" or "sheet",
     "says": "The pipe in space, with its 3 bends numbered",
     "places": [{"name": "1", "at": point, "lean": direction}, ...]}

A place is a balloon: its foot lies at ``at`` and the balloon leans towards ``lean``.

A tube, from `solid_of` ::

    {"kind": "tube", "od_mm": 15.0, "wall_mm": 1.0 or null,
     "line": [stretch, ...],
     "beads": [{"at", "ahead", "height_mm", "width_mm"}, ...],
     "sleeves": [{"kind": "hose", "end": "A", "over_mm": 3.0, "line": [stretch, ...]}, ...],
     "zones": ["bead", "hose", "lost"]}

A stretch is one straight or one arc of the centre line ::

    {"at": point, "ahead": direction, "inward": direction, "heel": direction,
     "length_mm": 40.0, "angle_deg": 0.0, "radius_mm": 0.0, "bend": null, "lost": false}

``inward`` points to the centre of the arc; ``heel`` to the line scribed along the tube at the heel
of bend 1 (12:00). ``bend`` is the number in the balloon, null on a straight. A lost stretch is
drawn dashed: that much of the old pipe is gone and its length is guessed. ``zones`` names what the
key below the view has to explain.

Folded or flat sheet metal, from `sheet_solid_of` ::

    {"kind": "sheet", "thickness_mm": 2.0,
     "faces": [{"name": "Flange 1", "bend": null, "triangles": [[point, point, point], ...]}, ...],
     "edges": [[point, point, ...], ...],
     "bend_lines": [[point, point, ...], ...]}

Faces are what is seen: both skins and the rims, each a flat or a bent patch cut into triangles,
corners anticlockwise seen from outside. ``bend`` is the number of the bend a patch belongs to,
null on a flat one. Edges are the polylines inked as outlines: rims, rims of holes, and never the
seams between triangles. Bend lines are inked thin.
"""

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from fabrication.core.centre_line import Piece, pieces
from fabrication.core.tube_table import BendTable
from fabrication.core.vectors import CANONICAL, Frame, Vec3
from fabrication.drawn.centre_chunks import between
from fabrication.drawn.spots import Place, places_of

BEAD, HOSE, LOST = "bead", "hose", "lost"
HOSE_WALL_MM = 3.5  # how thick a sleeve is drawn; a common wall of coolant hose, from memory


@dataclass(frozen=True, slots=True)
class Zone:
    """A stretch of one end, from the finished end inward along the tube.

    ``kind`` is BEAD, HOSE or LOST; only a bead has a height.
    """

    kind: str
    end: str
    to_mm: float
    from_mm: float = 0.0
    height_mm: float = 0.0


@dataclass(frozen=True, slots=True)
class SheetFace:
    """One flat or bent patch of sheet metal as triangles, corners anticlockwise from outside."""

    name: str
    triangles: Sequence[tuple[Vec3, Vec3, Vec3]]
    bend: int | None = None


def solid_of(
    table: BendTable,
    *,
    od_mm: float,
    numbers: Sequence[int],
    zones: Sequence[Zone] = (),
    wall_mm: float | None = None,
    first_clock_deg: float = 0.0,
    start: Frame = CANONICAL,
) -> dict[str, Any]:
    """A tube for the view in space.

    Parameters
    ----------
    table : BendTable
        The pipe as it is to be seen, whole or half bent. [mm, deg]
    od_mm, wall_mm : float
        Outside diameter, and the wall where it is known. [mm]
    numbers : sequence of int
        The numbers of the table's bends, for their balloons.
    zones : sequence of Zone, optional
        Beads, hoses and lost ends. [mm]
    first_clock_deg : float, optional
        Clock position of the table's first bend on the finished pipe; 0 when it is bend 1. [deg]
    start : Frame, optional
        How the pipe lies, as its drawing has it. [mm]

    Returns
    -------
    dict
        As told at the head of this module.
    """
    line = pieces(table, start=start)
    clocks = _clocks(table, first_clock_deg)
    lost_a, lost_b = (_reach(zones, LOST, end) for end in "AB")
    kept_to_mm = table.length_mm - lost_b

    def stretches(from_mm: float, to_mm: float, *, lost: bool = False) -> list[dict[str, Any]]:
        return [
            _stretch(piece, clocks[number], numbers, lost=lost)
            for number, piece in between(line, from_mm, to_mm)
        ]

    lost_from = min(lost_a, kept_to_mm)
    return {
        "kind": "tube",
        "says": _says(numbers),
        "od_mm": od_mm,
        "wall_mm": wall_mm,
        "line": [
            *stretches(0.0, lost_from, lost=True),
            *stretches(lost_from, kept_to_mm),
            *stretches(kept_to_mm, table.length_mm, lost=True),
        ],
        "beads": [_bead(line, table.length_mm, zone) for zone in zones if zone.kind == BEAD],
        "sleeves": [
            {
                "kind": zone.kind,
                "end": zone.end,
                "over_mm": HOSE_WALL_MM,
                "line": stretches(*_from_a(zone, table.length_mm)),
            }
            for zone in zones
            if zone.kind == HOSE
        ],
        "places": [_place(one) for one in places_of(table, numbers, start=start)],
        "zones": [kind for kind in (BEAD, HOSE, LOST) if _reach_any(zones, kind)],
    }


def sheet_solid_of(
    *,
    faces: Sequence[SheetFace],
    edges: Sequence[Sequence[Vec3]],
    thickness_mm: float,
    says: str,
    bend_lines: Sequence[Sequence[Vec3]] = (),
    places: Sequence[Place] = (),
) -> dict[str, Any]:
    """Folded or flat sheet metal for the view in space, as told at the head of this module."""
    return {
        "kind": "sheet",
        "says": says,
        "thickness_mm": thickness_mm,
        "faces": [
            {
                "name": face.name,
                "bend": face.bend,
                "triangles": [[_point(corner) for corner in three] for three in face.triangles],
            }
            for face in faces
        ],
        "edges": [[_point(point) for point in edge] for edge in edges],
        "bend_lines": [[_point(point) for point in line] for line in bend_lines],
        "places": [_place(place) for place in places],
        "zones": [],
    }


# ---- pieces of a tube -------------------------------------------------------------------------


def _clocks(table: BendTable, first_clock_deg: float) -> list[float]:
    """How far the frame of each piece is rolled from the scribed line."""
    found = [first_clock_deg]
    for bend in table.bends:
        found += [first_clock_deg + bend.clock_deg] * 2
    return found


def _stretch(
    piece: Piece, clock_deg: float, numbers: Sequence[int], *, lost: bool
) -> dict[str, Any]:
    start = piece.start
    return {
        "at": _point(start.at),
        "ahead": _direction(start.ahead),
        "inward": _direction(start.inward),
        "heel": _direction(start.rolled(-clock_deg).inward * -1),
        "length_mm": round(piece.length_mm, 4),
        "angle_deg": round(piece.angle_deg, 6),
        "radius_mm": piece.radius_mm,
        "bend": None if piece.bend is None else numbers[piece.bend],
        "lost": lost,
    }


def _bead(line: Sequence[Piece], length_mm: float, zone: Zone) -> dict[str, Any]:
    from_mm, to_mm = _from_a(zone, length_mm)
    _, piece = between(line, (from_mm + to_mm) / 2, length_mm)[0]
    return {
        "at": _point(piece.start.at),
        "ahead": _direction(piece.start.ahead),
        "height_mm": zone.height_mm,
        "width_mm": to_mm - from_mm,
    }


def _from_a(zone: Zone, length_mm: float) -> tuple[float, float]:
    """Where a zone starts and stops, told from end A; no zone is longer than its tube."""
    from_mm, to_mm = min(zone.from_mm, length_mm), min(zone.to_mm, length_mm)
    return (from_mm, to_mm) if zone.end == "A" else (length_mm - to_mm, length_mm - from_mm)


def _reach(zones: Sequence[Zone], kind: str, end: str) -> float:
    return max((zone.to_mm for zone in zones if (zone.kind, zone.end) == (kind, end)), default=0.0)


def _reach_any(zones: Sequence[Zone], kind: str) -> bool:
    return any(zone.kind == kind and zone.to_mm > 0 for zone in zones)


def _says(numbers: Sequence[int]) -> str:
    if not numbers:
        return "The straight tube in space"
    bends = "its bend" if len(numbers) == 1 else f"its {len(numbers)} bends numbered"
    return f"The pipe in space with {bends}"


def _place(place: Place) -> dict[str, Any]:
    return {"name": place.name, "at": _point(place.at), "lean": _direction(place.lean)}


def _point(point: Vec3) -> list[float]:
    return [round(value, 4) + 0.0 for value in point]


def _direction(direction: Vec3) -> list[float]:
    return [round(value, 7) + 0.0 for value in direction]
