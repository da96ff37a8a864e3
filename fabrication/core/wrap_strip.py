"""Strips of paper to wind round a tube: clock positions, and the line to cut a saddle along.

Wound with the print outside and its lower edge towards end A (or, on a saddle, towards the tube
it is to sit on), a place to the right on the strip lies clockwise round the tube as it is seen
from that lower edge, along the tube.
"""

import math
from collections.abc import Sequence

from .drawing import Figure, Line, Polyline, Shape, Text
from .errors import require_positive
from .fishmouth import WrapPoint

STRIP_MM = 32.0
FLAP_MM = 10.0
HOURS = 12
WORD_MM = 2.6
# Numbers of ticks that stand close together are written one above the other.
LEVELS, LEVEL_MM = 4, 5.2


def clock_strip(*, od_mm: float, clocks_deg: Sequence[float], labels: Sequence[str]) -> Figure:
    """Strip as long as the tube is round, with a tick for each clock position.

    Parameters
    ----------
    od_mm : float
        Outside diameter, above zero. [mm]
    clocks_deg : sequence of float
        Clock positions, clockwise seen from end A, any turn. [deg]
    labels : sequence of str
        The words at each tick, one for one. [-]

    Returns
    -------
    Figure
        From x = 0 to x = pi OD, end A below; a flap to stick it down lies beyond. [mm]

    Raises
    ------
    OutOfRange
        If the diameter is not above zero.

    Source
    ------
    Circumference of a circle; the thickness of the paper, about 0.1 mm, is left out.

    Examples
    --------
    >>> strip = clock_strip(od_mm=22, clocks_deg=[0, 90], labels=["1", "2"])
    >>> ticks = [shape for shape in strip if shape.pen == "bend"]
    >>> [round(tick.start[0], 3) for tick in ticks]
    [0.0, 17.279]
    """
    require_positive(od_mm=od_mm)
    round_mm = math.pi * od_mm
    shapes: list[Shape] = [_frame(round_mm, STRIP_MM), *_flap(round_mm, STRIP_MM, foot="A")]
    for hour in range(HOURS):
        at_mm = round_mm * hour / HOURS
        tall_mm = 3.0 if hour % 3 == 0 else 1.8
        shapes.append(Line((at_mm, STRIP_MM - tall_mm), (at_mm, STRIP_MM), "note"))
        if hour % 3 == 0:
            shapes.append(Text((at_mm + 0.6, STRIP_MM - 5.4), f"{hour or 12}", 1.8))
    places = sorted(zip((clock_deg % 360 for clock_deg in clocks_deg), labels, strict=True))
    for number, (clock_deg, label) in enumerate(places):
        at_mm = round_mm * clock_deg / 360
        shapes.append(Line((at_mm, 0.0), (at_mm, STRIP_MM - 7.0), "bend"))
        high_mm = 1.5 + LEVEL_MM * (number % LEVELS)
        if at_mm + WORD_MM * len(label) < round_mm:
            shapes.append(Text((at_mm + 0.6, high_mm), label, WORD_MM))
        else:
            shapes.append(Text((at_mm - 0.6, high_mm), label, WORD_MM, anchor="end"))
    return Figure(tuple(shapes))


def saddle_strip(
    points: Sequence[WrapPoint], *, labels: Sequence[str] = (), spare_mm: float = 25.0
) -> Figure:
    """Strip with the cut line of a saddle; what lies below the line is cut away.

    Parameters
    ----------
    points : sequence of WrapPoint
        Cut line once round, from `saddle_template`. [mm]
    labels : sequence of str, optional
        Words at the start of the strip and at each quarter of it. [-]
    spare_mm : float, optional
        Paper kept above the highest point of the line, above zero. [mm]

    Returns
    -------
    Figure
        Height 0 is the point of the branch axis nearest the other tube's axis, so that heights
        are those of the points. Lines at every quarter; a flap lies beyond the end. [mm]

    Raises
    ------
    OutOfRange
        If nothing is kept above the line.

    Source
    ------
    Heights as of `saddle_template`.

    Examples
    --------
    >>> from .fishmouth import saddle_template
    >>> points = saddle_template(branch_od_mm=22, header_od_mm=22, angle_deg=90, points=361)
    >>> box = saddle_strip(points).bounds
    >>> round(box.height_mm, 6)
    36.0
    """
    require_positive(spare_mm=spare_mm)
    round_mm = points[-1].paper_mm
    top_mm = max(point.height_mm for point in points) + spare_mm
    line = tuple((point.paper_mm, point.height_mm) for point in points)
    edge = (line[-1], (round_mm, top_mm), (0.0, top_mm), line[0])
    shapes: list[Shape] = [Polyline(line), Polyline(edge)]
    for quarter in range(1, 4):
        at = points[round(quarter * (len(points) - 1) / 4)]
        shapes.append(Line((at.paper_mm, at.height_mm), (at.paper_mm, top_mm), "centre"))
    for quarter, label in enumerate(labels):
        first = round(quarter * (len(points) - 1) / 4)
        right_mm = points[first].paper_mm + 3.6
        # Words start above the line wherever they stand over it.
        high_mm = max(p.height_mm for p in points[first:] if p.paper_mm <= right_mm) + 2.0
        shapes.append(Text((right_mm - 0.4, high_mm), label, 2.2, 90.0))
    low_mm = line[-1][1]
    flap = Figure(tuple(_flap(round_mm, top_mm - low_mm, foot=""))).moved(0.0, low_mm)
    return Figure((*shapes, *flap))


def _frame(long_mm: float, high_mm: float) -> Polyline:
    corners = ((0.0, 0.0), (long_mm, 0.0), (long_mm, high_mm), (0.0, high_mm))
    return Polyline(corners, closed=True)


def _flap(from_mm: float, high_mm: float, *, foot: str) -> list[Shape]:
    """The flap to stick down, with an arrow towards the end that its foot names."""
    slant_mm, middle_mm = min(4.0, high_mm / 4), from_mm + FLAP_MM / 2
    corners = (
        (from_mm, 0.0),
        (from_mm + FLAP_MM, slant_mm),
        (from_mm + FLAP_MM, high_mm - slant_mm),
        (from_mm, high_mm),
    )
    edge = Polyline(corners, pen="dash")
    if not foot:
        return [edge]
    head = ((middle_mm - 1.2, 6.0), (middle_mm, 3.5), (middle_mm + 1.2, 6.0))
    return [
        edge,
        Line((middle_mm, 3.5), (middle_mm, 13.0), "note"),
        Polyline(head, pen="note"),
        Text((middle_mm, 15.0), foot, 4.0, anchor="middle"),
    ]
