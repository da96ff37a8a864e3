"""Sheets of paper at true size: drawings laid on them, two measuring bars on each.

A printer that stretches is answered by stretching the other way: the drawing and its bars are
scaled by the printer's two factors, and room is kept for the largest there can be.
"""

from collections.abc import Callable, Iterator, Sequence
from dataclasses import dataclass

from fabrication.core.clipping import clipped
from fabrication.core.drawing import Box, Figure, Line, Polyline, Shape, Text
from fabrication.core.errors import CoreError
from fabrication.core.tiling import Tiling, best_turns_deg, crosses_figure, tiled
from fabrication.drawn.previews import field_svg
from fabrication.models import Printer

# What a leaf shows at most, bars and all: the page less its margins, less 16 mm of words,
# over 1.031 for a printer that is 3 % short.
FIELDS_MM = {"a4": (180.0, 244.0), "letter": (186.0, 228.0)}
BARS_MM = 10.0  # kept free for them below and at the right
BAR_MM = 100.0
EDGE_MM = 0.5  # so that a line at the edge of a drawing is not cut off by half
MAP_MM = (120.0, 92.0)
NARROW_MM = 118.0
GAP_MM = 8.0
MANY_SHAPES = 60  # from here on only the likeliest turns are tried


@dataclass(frozen=True, slots=True)
class Leaf:
    """One sheet of paper: what stands above the drawing, and the drawing on its field."""

    words: str
    figure: Figure
    width_mm: float
    height_mm: float
    says: str

    @property
    def is_narrow(self) -> bool:
        """Whether a table has room beside the drawing."""
        return self.width_mm < NARROW_MM

    def svg(self, printer: Printer | None = None) -> str:
        """The field at true size on this printer, or on one that prints true."""
        across, up = (printer.factor_x, printer.factor_y) if printer else (1.0, 1.0)
        whole = self.figure + bars(self.width_mm)
        return field_svg(
            whole,
            says=self.says,
            field_mm=(self.width_mm, self.height_mm),
            size_mm=(self.width_mm * across, self.height_mm * up),
        )


def window_mm(paper: str) -> tuple[float, float]:
    """What of a field is left for a drawing."""
    width_mm, height_mm = FIELDS_MM[paper]
    return width_mm - BARS_MM, height_mm - BARS_MM - EDGE_MM


def leaf(paper: str, figure: Figure, *, words: str, says: str) -> Leaf:
    """A sheet with a drawing whose corner stands at (0, 0) of its window."""
    width_mm, height_mm = FIELDS_MM[paper]
    return Leaf(words, figure.moved(EDGE_MM, BARS_MM), width_mm, height_mm, says)


def short_leaf(
    figure: Figure, *, words: str, says: str, width_mm: float, least_mm: float = BAR_MM
) -> Leaf:
    """A sheet whose field is only as high as its drawing and the bars ask, for a table below."""
    box = figure.bounds
    high_mm = max(box.height_mm, least_mm) + 6.0
    placed = figure.moved(EDGE_MM - box.left_mm, BARS_MM + high_mm - 2.0 - box.top_mm)
    return Leaf(words, placed, width_mm, BARS_MM + high_mm, says)


def bars(width_mm: float) -> Figure:
    """A level bar at the foot of a field and an upright one at its right, both of 100 mm."""
    x = width_mm - 2.0
    shapes: list[Shape] = [
        Line((EDGE_MM, 2.0), (EDGE_MM + BAR_MM, 2.0), "note"),
        Line((x, BARS_MM), (x, BARS_MM + BAR_MM), "note"),
    ]
    for tenth in range(11):
        tall = 3.5 if tenth in (0, 10) else 2.6 if tenth == 5 else 1.6
        at = tenth * BAR_MM / 10
        shapes.append(Line((EDGE_MM + at, 2.0), (EDGE_MM + at, 2.0 + tall), "note"))
        shapes.append(Line((x, BARS_MM + at), (x - tall, BARS_MM + at), "note"))
    shapes.append(Text((3.0 + BAR_MM, 2.0), "100 mm", 2.4))
    shapes.append(Text((x - 2.4, BARS_MM + BAR_MM / 2 + 2.0), "100 mm", 2.4, 90.0))
    return Figure(tuple(shapes))


# ---- drawings that fit --------------------------------------------------------------------


@dataclass(frozen=True, slots=True)
class Fitted:
    """A drawing laid so that it takes the least height of a window; or too large for it."""

    figure: Figure
    fits: bool


def laid(
    at_turn: Callable[[float], Figure], *, width_mm: float, height_mm: float, step_deg: int
) -> Fitted:
    """The drawing, turned so that it fits a window and takes the least of its height.

    ``at_turn`` makes it at a turn in degrees. What fits at no turn is given as it lies.
    """
    turned = [at_turn(float(turn_deg)) for turn_deg in range(0, 180, step_deg)]
    fitting = [
        figure
        for figure in turned
        if figure.bounds.width_mm <= width_mm and figure.bounds.height_mm <= height_mm
    ]
    if not fitting:
        return Fitted(turned[0], False)
    return Fitted(min(fitting, key=lambda figure: figure.bounds.height_mm), True)


def packed(figures: Sequence[Figure], *, width_mm: float, height_mm: float) -> Iterator[Figure]:
    """Sheets of drawings that each fit: beside each other, then below, in their order."""
    sheet, right_mm, low_mm, row_mm = Figure(), 0.0, height_mm, 0.0
    for figure in figures:
        box = figure.bounds
        if right_mm and right_mm + box.width_mm > width_mm:
            right_mm, low_mm, row_mm = 0.0, low_mm - row_mm - GAP_MM, 0.0
        if sheet.shapes and low_mm - box.height_mm < 0:
            yield sheet
            sheet, right_mm, low_mm, row_mm = Figure(), 0.0, height_mm, 0.0
        sheet += figure.moved(right_mm - box.left_mm, low_mm - box.top_mm)
        right_mm += box.width_mm + GAP_MM
        row_mm = max(row_mm, box.height_mm)
    if sheet.shapes:
        yield sheet


# ---- drawings that do not -----------------------------------------------------------------


def fewest(
    at_turn: Callable[[float], Figure], *, width_mm: float, height_mm: float, step_deg: int
) -> tuple[Figure, Tiling]:
    """The drawing turned so that it takes the fewest sheets, and those sheets.

    Raises
    ------
    fabrication.core.errors.CoreError
        When it takes too many however it is turned.
    """
    window = {"width_mm": width_mm, "height_mm": height_mm}
    lying = at_turn(0.0)
    turns = best_turns_deg(lying, **window, step_deg=step_deg)
    if len(lying.shapes) > MANY_SHAPES:
        turns = turns[:3]
    found: list[tuple[Figure, Tiling]] = []
    refused = None
    for turn_deg in turns:
        figure = at_turn(float(turn_deg))
        try:
            found.append((figure, tiled(figure, **window)))
        except CoreError as too_many:
            refused = too_many
    if refused is not None and not found:
        raise refused
    return min(found, key=lambda one: len(one[1].tiles))


def tiles(figure: Figure, tiling: Tiling) -> Iterator[tuple[str, Figure]]:
    """Each sheet by its name: the drawing cut off at its edge, its crosses, and its frame."""
    whole = figure + crosses_figure(tiling.crosses)
    for tile in tiling.tiles:
        box = tile.window
        shown = clipped(whole, box).moved(-box.left_mm, -box.bottom_mm)
        yield tile.name, shown + Figure((_rectangle(Box(0, 0, box.width_mm, box.height_mm)),))


def grid_map(figure: Figure, tiling: Tiling) -> Figure:
    """The sheets and what is on them, small, to lay them out by; its corner at (0, 0)."""
    windows = [tile.window for tile in tiling.tiles]
    left, bottom = min(w.left_mm for w in windows), min(w.bottom_mm for w in windows)
    wide = max(w.right_mm for w in windows) - left
    high = max(w.top_mm for w in windows) - bottom
    factor = min(MAP_MM[0] / wide, MAP_MM[1] / high, 0.5)
    lines = Figure(tuple(shape for shape in figure if not isinstance(shape, Text)))
    frames: list[Shape] = []
    for tile in tiling.tiles:
        box = tile.window
        frames.append(_rectangle(box))
        at = (box.left_mm + 6.0 / factor * 0.3, box.top_mm - 6.0 / factor * 0.7)
        frames.append(Text(at, tile.name, 2.8 / factor))
    return (lines + Figure(tuple(frames))).moved(-left, -bottom).scaled(factor)


def _rectangle(box: Box) -> Polyline:
    corners = (
        (box.left_mm, box.bottom_mm),
        (box.right_mm, box.bottom_mm),
        (box.right_mm, box.top_mm),
        (box.left_mm, box.top_mm),
    )
    return Polyline(corners, closed=True, pen="dash")
