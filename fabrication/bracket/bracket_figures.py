"""A bracket drawn: its flat with bend lines and holes, and its section folded up.

The flat lies with its left end at x = 0 and its front up. Each bend line carries three numbers on
paper: from the left end, from the right end, and which way and how far it turns.
"""

import math

from fabrication.bench_figures import BenchFigures
from fabrication.bracket.bracket_inputs import BracketInputs
from fabrication.bracket.bracket_worked import BendLine, BracketWorked, HoleSpot
from fabrication.core.drawing import Arc, Circle, Figure, Line, Point, Shape, Text
from fabrication.core.flat_pattern import FlatPattern, Way
from fabrication.core.formed import centre_of, formed, section_edges
from fabrication.core.outline import Outline, span_at

PAPER_TEXT_MM = 2.4
CROSS_MM = 2.5  # how far the cross of a hole reaches past its edge
NAME_CLEAR_MM = 0.6  # between a hole's name and the lines round it
LETTER_SHARE = 0.8  # the width of a letter to the height of a capital, a little more than it is


def flat_figure(
    found: BracketWorked, *, says: BenchFigures, text_mm: float = PAPER_TEXT_MM, full: bool = True
) -> Figure:
    """The flat at true size; ``full`` writes all three numbers on each bend line."""
    pattern, outline = found.pattern, found.outline
    if pattern is None or outline is None:
        return Figure()
    shapes: list[Shape] = list(outline.edges)
    for spot in found.holes:
        shapes += [*_hole(spot), _hole_name(spot, pattern, outline, text_mm)]
    for line in found.lines:
        shapes += _bend(line, pattern, outline, says, text_mm, full=full)
    return Figure(tuple(shapes)) + _ends(outline, text_mm)


def cut_figure(found: BracketWorked) -> Figure:
    """The flat for another program or a cutter: outline, holes, bend lines, no words."""
    figure = flat_figure(found, says=BenchFigures())
    return Figure(
        tuple(one for one in figure if one.pen in ("cut", "bend") and not isinstance(one, Text))
    )


def _hole(spot: HoleSpot) -> list[Shape]:
    flat = spot.flat
    (ax, ay), (bx, by) = flat.centres
    r = flat.radius_mm
    shapes: list[Shape] = []
    if math.dist((ax, ay), (bx, by)) < 1e-9:
        shapes.append(Circle((ax, ay), r))
    elif flat.hole.slot_across:
        shapes += [Arc((ax, ay), r, 180, 360), Arc((bx, by), r, 0, 180)]
        shapes += [Line((ax - r, ay), (bx - r, by)), Line((ax + r, ay), (bx + r, by))]
    else:
        shapes += [Arc((ax, ay), r, 90, 270), Arc((bx, by), r, -90, 90)]
        shapes += [Line((ax, ay - r), (bx, by - r)), Line((ax, ay + r), (bx, by + r))]
    for x, y in {(ax, ay), (bx, by)}:
        reach = r + CROSS_MM
        shapes.append(Line((x - reach, y), (x + reach, y), "centre"))
        shapes.append(Line((x, y - reach), (x, y + reach), "centre"))
    return shapes


def _hole_name(spot: HoleSpot, pattern: FlatPattern, outline: Outline, text_mm: float) -> Text:
    """The name of a hole: below it, or beside it where the strap is too narrow for that."""
    name, flat = f"H{spot.number}", spot.flat
    xs, ys = zip(*flat.centres, strict=True)
    reach = flat.radius_mm + CROSS_MM
    low = min(ys) - reach - text_mm
    edge = span_at(outline, flat.x_mm)
    if edge is None or edge[0] < low - NAME_CLEAR_MM:
        return Text((flat.x_mm, low), name, text_mm, anchor="middle")
    level = sum(ys) / 2 - text_mm / 2
    right = max(xs) + reach + NAME_CLEAR_MM
    left = min(xs) - reach - NAME_CLEAR_MM
    long_mm = len(name) * text_mm * LETTER_SHARE
    lines = [x for zone in pattern.zones for x in (zone.start_mm, zone.end_mm)]
    lines += [min(x for x, _ in outline.ring), max(x for x, _ in outline.ring)]
    if any(flat.x_mm < x < right + long_mm for x in lines) and not any(
        left - long_mm < x < flat.x_mm for x in lines
    ):
        return Text((left, level), name, text_mm, anchor="end")
    return Text((right, level), name, text_mm)


def _bend(
    line: BendLine,
    pattern: FlatPattern,
    outline: Outline,
    says: BenchFigures,
    text_mm: float,
    *,
    full: bool,
) -> list[Shape]:
    zone = pattern.zones[line.number - 1]
    shapes: list[Shape] = []
    for x, pen in ((zone.start_mm, "dash"), (zone.line_mm, "bend"), (zone.end_mm, "dash")):
        span = span_at(outline, x)
        if span is not None and span[1] - span[0] > 1e-6:
            shapes.append(Line((x, span[0]), (x, span[1]), "bend" if pen == "bend" else "dash"))
    _, top = _heights(outline)
    words = f"{line.number} {line.way} {says.angle(line.angle_deg)}"
    if full:
        words += (
            f"   L {says.bare(line.from_left_mm, 0.1)}   R {says.bare(line.from_right_mm, 0.1)}"
        )
    at = (line.from_left_mm + text_mm / 2, top + text_mm * 0.8)
    return [*shapes, Text(at, words, text_mm, 90.0)]


def _heights(outline: Outline) -> tuple[float, float]:
    ys = [y for _, y in outline.ring]
    return min(ys), max(ys)


def _ends(outline: Outline, text_mm: float) -> Figure:
    """The names of the ends, and which side is up."""
    low, _ = _heights(outline)
    xs = [x for x, _ in outline.ring]
    y = low - 2 * text_mm
    return Figure(
        (
            Text((min(xs), y), "Left end", text_mm),
            Text(((min(xs) + max(xs)) / 2, y), "front up", text_mm, anchor="middle"),
            Text((max(xs), y), "Right end", text_mm, anchor="end"),
        )
    )


# ---- folded -------------------------------------------------------------------------------


def folded_figure(
    found: BracketWorked, bracket: BracketInputs, *, text_mm: float = PAPER_TEXT_MM
) -> Figure:
    """The section folded up, seen from the right-hand edge; a clip with its pipe, ears below."""
    pattern = found.pattern
    if pattern is None:
        return Figure()
    folded = formed(pattern)
    shapes: list[Shape] = list(section_edges(folded))
    if found.clip is not None:
        zone_at = 1
        middle = centre_of(
            folded.starts[2 * zone_at + 1], pattern.zones[zone_at], pattern.thickness_mm
        )
        shapes.append(Circle(middle, found.clip.od_mm / 2, "centre"))
        inner_mm = pattern.zones[zone_at].fold.radius_mm
        if inner_mm > found.clip.od_mm / 2 + 1e-6:
            shapes.append(Circle(middle, inner_mm, "dash"))
    figure = Figure(tuple(shapes))
    if bracket.is_clip:
        figure = figure.turned(180).mirrored()
    return figure + _numbers(found, is_clip=bracket.is_clip, text_mm=text_mm)


def _numbers(found: BracketWorked, *, is_clip: bool, text_mm: float) -> Figure:
    """Each bend's number on its outside, upright."""
    pattern = found.pattern
    if pattern is None:
        return Figure()
    folded = formed(pattern)
    words: list[Shape] = []
    for number, zone in enumerate(pattern.zones, start=1):
        middle = folded.at(zone.line_mm)
        up = zone.fold.way is Way.UP
        outer, inner = (middle.back, middle.front) if up else (middle.front, middle.back)
        x, y = _beyond(outer, inner, 1.5 * text_mm)
        y = -y if is_clip else y
        words.append(Text((x, y - text_mm / 2), str(number), text_mm, anchor="middle"))
    if not is_clip:
        words.append(Text((-text_mm * 0.6, 0.0), "L", text_mm, anchor="end"))
    return Figure(tuple(words))


def _beyond(outer: Point, inner: Point, distance_mm: float) -> Point:
    long_mm = math.dist(outer, inner)
    share = distance_mm / long_mm
    return outer[0] + (outer[0] - inner[0]) * share, outer[1] + (outer[1] - inner[1]) * share


def screen_text_mm(found: BracketWorked) -> float:
    """A height of words that can be read on a page, whatever the length of the blank."""
    if found.blank_mm is None:
        return PAPER_TEXT_MM
    return max(2.0, min(max(found.blank_mm) / 24, 10.0))
