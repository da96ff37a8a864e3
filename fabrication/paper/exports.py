"""Drawings as files for other programs: SVG and DXF in true millimetres, tables as CSV.

A layer of a DXF, and a group of an SVG, is a pen of the drawing, by its name. Coordinates are
those of the drawing; SVG counts y downward, so there their sign is changed.
"""

import csv
import io
import math
from collections.abc import Iterable, Sequence
from dataclasses import dataclass
from typing import TYPE_CHECKING, Any
from xml.sax.saxutils import escape, quoteattr

from fabrication.core.drawing import PENS, Arc, Circle, Figure, Line, Pen, Polyline, Text

if TYPE_CHECKING:
    from ezdxf.document import Drawing
    from ezdxf.layouts import Modelspace

EDGE_MM = 1.0  # round the drawing, so that no line is cut by half its width
# A program draws an arc as one cubic curve or a few; over 30 degrees one is good to 1e-7 of R.
ARC_STEP_DEG = 30.0
CAPITAL_SHARE = 0.716  # height of a capital letter to the size of a font: Helvetica and its kin


@dataclass(frozen=True, slots=True)
class Look:
    """How a pen is drawn: width on paper, dashes, and layer colour and line type of a DXF."""

    width_mm: float
    dashes: str
    colour: int
    linetype: str


LOOKS: dict[Pen, Look] = {
    "cut": Look(0.35, "", 7, "CONTINUOUS"),
    "bend": Look(0.25, "6 1.5 1 1.5 1 1.5", 5, "DIVIDE"),
    "centre": Look(0.18, "8 1.5 1 1.5", 1, "CENTER"),
    "dash": Look(0.18, "2 1.2", 8, "DASHED"),
    "note": Look(0.18, "", 3, "CONTINUOUS"),
}


# ---- SVG ----------------------------------------------------------------------------------


def svg_of(figure: Figure, *, title: str) -> str:
    """The drawing as an SVG document of its true size.

    Raises
    ------
    fabrication.core.errors.CoreError
        When there is nothing on the drawing.
    """
    box = figure.bounds
    wide, high = _plain(box.width_mm + 2 * EDGE_MM), _plain(box.height_mm + 2 * EDGE_MM)
    corner = f"{_plain(box.left_mm - EDGE_MM)} {_plain(-box.top_mm - EDGE_MM)}"
    return (
        f'<svg xmlns="http://www.w3.org/2000/svg" width="{wide}mm" height="{high}mm" '
        f'viewBox="{corner} {wide} {high}" role="img" aria-label={quoteattr(title)}>'
        f"<title>{escape(title)}</title>{marks_of(figure)}</svg>\n"
    )


def marks_of(figure: Figure) -> str:
    """What stands inside an SVG of the drawing: a group a pen, then the words."""
    return "".join(_group(figure, pen) for pen in PENS)


def _group(figure: Figure, pen: Pen) -> str:
    drawn = [shape for shape in figure if shape.pen == pen]
    if not drawn:
        return ""
    look = LOOKS[pen]
    dashes = f' stroke-dasharray="{look.dashes}"' if look.dashes else ""
    drawn_with = f'fill="none" stroke="#000" stroke-width="{look.width_mm}"{dashes}'
    lines = "".join(_svg_shape(shape) for shape in drawn if not isinstance(shape, Text))
    words = "".join(_svg_words(shape) for shape in drawn if isinstance(shape, Text))
    return (f'<g class="pen-{pen}" {drawn_with}>{lines}</g>' if lines else "") + (
        f'<g class="words-{pen}" font-family="Splitpin Sheet,sans-serif">{words}</g>'
        if words
        else ""
    )


def _svg_shape(shape: Any) -> str:
    match shape:
        case Line(start=(x1, y1), end=(x2, y2)):
            ends = f'x1="{_plain(x1)}" y1="{_plain(-y1)}" x2="{_plain(x2)}" y2="{_plain(-y2)}"'
            return f"<line {ends}/>"
        case Circle(centre=(x, y), radius_mm=radius):
            return f'<circle cx="{_plain(x)}" cy="{_plain(-y)}" r="{_plain(radius)}"/>'
        case Polyline(points=points, closed=closed):
            kind = "polygon" if closed else "polyline"
            listed = " ".join(f"{_plain(x)},{_plain(-y)}" for x, y in points)
            return f'<{kind} points="{listed}"/>'
    return f'<path d="{_arc_path(shape)}"/>'


def _arc_path(arc: Arc) -> str:
    steps = max(1, math.ceil(arc.angle_deg / ARC_STEP_DEG - 1e-9))
    stops = [arc.at(arc.start_deg + arc.angle_deg * step / steps) for step in range(steps + 1)]
    radius = _plain(arc.radius_mm)
    # Anticlockwise with y upward is anticlockwise to the eye: sweep 0.
    turns = "".join(f"A{radius} {radius} 0 0 0 {_plain(x)} {_plain(-y)}" for x, y in stops[1:])
    return f"M{_plain(stops[0][0])} {_plain(-stops[0][1])}{turns}"


def _svg_words(words: Text) -> str:
    x, y = _plain(words.at[0]), _plain(-words.at[1])
    turn = f' transform="rotate({_plain(-words.turn_deg)} {x} {y})"' if words.turn_deg else ""
    anchor = "" if words.anchor == "start" else f' text-anchor="{words.anchor}"'
    size = _plain(words.height_mm / CAPITAL_SHARE)
    return f'<text x="{x}" y="{y}" font-size="{size}"{anchor}{turn}>{escape(words.text)}</text>'


def _plain(value: float) -> str:
    """A number to a hundred-thousandth of a millimetre, without an exponent or a minus nought."""
    return f"{round(value, 5) + 0.0:.5f}".rstrip("0").rstrip(".")


# ---- DXF ----------------------------------------------------------------------------------


def dxf_of(figure: Figure) -> bytes:
    """The drawing as a DXF of release 2010, in millimetres, a layer a pen."""
    import ezdxf  # noqa: PLC0415  a third of a second, for a file that is asked for seldom
    from ezdxf import units  # noqa: PLC0415  as above

    document = ezdxf.new("R2010", setup=["linetypes"], units=units.MM)
    document.header["$LTSCALE"] = 4.0  # a chain line of 8 mm, where the table has 2
    for pen, look in LOOKS.items():
        hundredths_mm = round(look.width_mm * 100)
        layer = document.layers.add(pen, color=look.colour, linetype=look.linetype)
        layer.dxf.lineweight = hundredths_mm
    space = document.modelspace()
    for shape in figure:
        _put(space, shape)
    return _bytes_of(document)


def _put(space: "Modelspace", shape: Any) -> None:
    layer = {"layer": shape.pen}
    match shape:
        case Line():
            space.add_line(shape.start, shape.end, dxfattribs=layer)
        case Polyline():
            space.add_lwpolyline(shape.points, close=shape.closed, dxfattribs=layer)
        case Circle():
            space.add_circle(shape.centre, shape.radius_mm, dxfattribs=layer)
        case Arc() if shape.angle_deg == 360:
            space.add_circle(shape.centre, shape.radius_mm, dxfattribs=layer)
        case Arc():
            space.add_arc(
                shape.centre, shape.radius_mm, shape.start_deg, shape.end_deg, dxfattribs=layer
            )
        case Text():
            _put_words(space, shape)


def _put_words(space: "Modelspace", words: Text) -> None:
    from ezdxf.enums import TextEntityAlignment  # noqa: PLC0415  see dxf_of

    aligned = {
        "start": TextEntityAlignment.LEFT,
        "middle": TextEntityAlignment.CENTER,
        "end": TextEntityAlignment.RIGHT,
    }
    entity = space.add_text(
        words.text,
        height=words.height_mm,
        rotation=words.turn_deg,
        dxfattribs={"layer": words.pen},
    )
    entity.set_placement(words.at, align=aligned[words.anchor])


def _bytes_of(document: "Drawing") -> bytes:
    text = io.StringIO()
    document.write(text)
    return document.encode(text.getvalue())


# ---- CSV ----------------------------------------------------------------------------------


def csv_of(head: Sequence[str], rows: Iterable[Sequence[object]]) -> bytes:
    """A table as CSV after RFC 4180: commas, a point in figures, UTF-8 with its mark for Excel.

    A cell of words that a spreadsheet would take for a formula gets an apostrophe before it.
    """
    text = io.StringIO()
    writer = csv.writer(text)
    writer.writerow(head)
    writer.writerows([_cell(value) for value in row] for row in rows)
    return text.getvalue().encode("utf-8-sig")


def _cell(value: object) -> object:
    if isinstance(value, float):
        return _plain(value)
    if isinstance(value, str) and value.startswith(("=", "+", "-", "@", "\t", "\r")):
        return f"'{value}"
    return value
