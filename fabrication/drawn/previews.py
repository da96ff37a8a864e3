"""Drawings as they stand in a page: as wide as it, or as wide as a sheet of paper asks."""

from django.utils.html import format_html
from django.utils.safestring import SafeString

from fabrication.core.drawing import Figure, Text
from fabrication.paper.exports import CAPITAL_SHARE, EDGE_MM, marks_of

LEAST_PX = 16.5  # a hair above the smallest type of a page


def drawn(figure: Figure) -> SafeString:
    """What stands inside an SVG of the drawing; `marks_of` escapes its words."""
    return SafeString(marks_of(figure))


def preview(figure: Figure, *, says: str, words: bool = True) -> SafeString:
    """The drawing to look at; without its words where they would be too small to read."""
    shown = figure if words else Figure(tuple(s for s in figure if not isinstance(s, Text)))
    return _svg(shown, says, "")


def readable(figure: Figure, *, says: str) -> SafeString:
    """The drawing to look at, as large as its smallest words ask, however wide that makes it."""
    words_mm = [shape.height_mm for shape in figure if isinstance(shape, Text)]
    if not words_mm:
        return _svg(figure, says, "")
    px_a_mm = LEAST_PX * CAPITAL_SHARE / min(words_mm)
    box = figure.bounds
    wide, high = box.width_mm + 2 * EDGE_MM, box.height_mm + 2 * EDGE_MM
    return _svg(figure, says, f"{wide * px_a_mm:.1f} {high * px_a_mm:.1f}")


def on_sheet(figure: Figure, *, says: str) -> SafeString:
    """The drawing on a sheet of paper, in its own millimetres."""
    box = figure.bounds
    wide, high = box.width_mm + 2 * EDGE_MM, box.height_mm + 2 * EDGE_MM
    return _svg(figure, says, f"{wide:.4f}mm {high:.4f}mm")


def field_svg(
    figure: Figure, *, says: str, field_mm: tuple[float, float], size_mm: tuple[float, float]
) -> SafeString:
    """A field with its corner at (0, 0), laid on paper in the size said: stretched to fill it."""
    (wide, high), (across, up) = field_mm, size_mm
    return format_html(
        '<svg class="true-size" width="{}mm" height="{}mm" preserveAspectRatio="none" '
        'viewBox="{}" role="img" aria-label="{}">{}</svg>',
        f"{across:.6f}",
        f"{up:.6f}",
        f"0 {-high:.6f} {wide:.6f} {high:.6f}",
        says,
        drawn(figure),
    )


def _svg(figure: Figure, says: str, size: str) -> SafeString:
    box = figure.bounds
    wide, high = box.width_mm + 2 * EDGE_MM, box.height_mm + 2 * EDGE_MM
    view = f"{box.left_mm - EDGE_MM:.4f} {-box.top_mm - EDGE_MM:.4f} {wide:.4f} {high:.4f}"
    held = format_html(' width="{}" height="{}"', *size.split()) if size else ""
    return format_html(
        '<svg class="figure"{} viewBox="{}" role="img" aria-label="{}">{}</svg>',
        held,
        view,
        says,
        drawn(figure),
    )
