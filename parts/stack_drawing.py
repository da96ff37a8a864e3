"""The stack of a hole as a drawing: standing, head on top, true proportions, every thing labelled.

Plain SVG in one ink (``currentColor``), without a style attribute, so that it stands on a screen
in either light and on a printed sheet.
"""

import re
from collections.abc import Sequence

from django.utils.html import format_html, format_html_join
from django.utils.safestring import SafeString

from parts.models import StackItem
from parts.stack_ink import Pen, ink_shank, ink_solid
from parts.stack_pile import Pile, pile

What = StackItem.What

WIDTH_PX = 320
COLUMN_PX = 128
MIDDLE_PX = 66
LABELS_PX = 154
LINE_PX = 20
MARGIN_PX = 8
TALLEST_PX = 300
LARGEST_PX_PER_MM = 8.0

FRACTION = re.compile(r"(\b[0-9]+/[0-9]+\b)")
SHORT = {What.THE_PART: "The part", What.PIN: "Pin", What.LOCK_WASHER: "Lock or tab washer"}


def draw(items: Sequence[StackItem], *, title: str, sizes: Sequence[str]) -> SafeString:
    """The drawing; ``sizes`` holds for each thing what is written under its name, or nothing.

    Raises
    ------
    ValueError
        When there is nothing in the stack.
    """
    stood = pile(items)
    tall_px = TALLEST_PX / stood.height_mm
    px_per_mm = min(LARGEST_PX_PER_MM, tall_px, (COLUMN_PX - 4) / stood.width_mm)
    rows = [1 + bool(size) for size in sizes]
    down_px, tops = _room(stood, rows, px_per_mm)
    pen = Pen(px_per_mm=px_per_mm, middle_px=MIDDLE_PX, down_px=down_px)
    for solid in stood.solids:
        ink_solid(pen, solid, stood.shank)
    if stood.shank:
        ink_shank(pen, stood.shank, stood)
    foot = max(down_px + stood.height_mm * px_per_mm, tops[-1] + rows[-1] * LINE_PX) + MARGIN_PX
    return format_html(
        '<svg class="stack" viewBox="0 0 {w} {h}" width="{w}" height="{h}" role="img"'
        ' aria-label="{title}"><g fill="none" stroke="currentColor" stroke-linejoin="round">'
        '<path d="{thick}" stroke-width="2"/><path d="{thin}" stroke-width="1"/>'
        '<path d="{filled}" fill="currentColor"/>{labels}</g></svg>',
        w=WIDTH_PX,
        h=round(foot),
        title=read_out(items, title=title, sizes=sizes),
        thick="".join(pen.thick),
        thin="".join(pen.thin),
        filled="".join(pen.filled),
        labels=_labels(stood, sizes, tops, pen),
    )


def read_out(items: Sequence[StackItem], *, title: str, sizes: Sequence[str]) -> str:
    """ "Hole 1, from the head: bolt M8 × 25 mm, plain washer, nut M8." """
    things = [
        f"{name_of(item).lower()} {size}".strip() for item, size in zip(items, sizes, strict=True)
    ]
    return f"{title}, from the head: {', '.join(things)}."


def name_of(item: StackItem) -> str:
    return SHORT.get(What(item.what), item.get_what_display())


def _room(stood: Pile, rows: Sequence[int], px_per_mm: float) -> tuple[float, list[float]]:
    """Where the drawing begins, and where each label begins, so that no label covers another."""
    down_px = float(MARGIN_PX)
    tops = _spread(stood, rows, px_per_mm, down_px)
    over_px = tops[-1] + rows[-1] * LINE_PX - (down_px + stood.height_mm * px_per_mm)
    if over_px > 0:
        down_px += over_px / 2
        tops = _spread(stood, rows, px_per_mm, down_px)
    return down_px, tops


def _spread(stood: Pile, rows: Sequence[int], px_per_mm: float, down_px: float) -> list[float]:
    tops: list[float] = []
    free_px = 2.0
    for solid, lines in zip(stood.solids, rows, strict=True):
        wanted_px = down_px + solid.middle_mm * px_per_mm - LINE_PX / 2
        tops.append(max(wanted_px, free_px))
        free_px = tops[-1] + lines * LINE_PX
    return tops


def _labels(stood: Pile, sizes: Sequence[str], tops: Sequence[float], pen: Pen) -> SafeString:
    """Each thing's name and size beside it, with a fine line to a dot on its edge."""
    lines = []
    for solid, size, top_px in zip(stood.solids, sizes, tops, strict=True):
        y_px = pen.down_px + solid.middle_mm * pen.px_per_mm
        edge_px = MIDDLE_PX + solid.width_mm / 2 * pen.px_per_mm - 3
        text_px = top_px + LINE_PX / 2
        leader = (
            f"M{edge_px:.1f} {y_px:.1f}L{COLUMN_PX + 6} {y_px:.1f}L{LABELS_PX - 6} {text_px:.1f}"
        )
        words = _text(name_of(solid.item), text_px + 5.5, ' font-weight="700"')
        if size:
            words += _text(size, text_px + 3.5 + LINE_PX)
        lines.append((leader, f"{edge_px:.1f}", f"{y_px:.1f}", words))
    return format_html_join(
        "",
        '<path d="{}" stroke-width="1"/><circle cx="{}" cy="{}" r="2" fill="currentColor"/>{}',
        lines,
    )


def with_fractions(text: str, element: str = "span") -> SafeString:
    """Text whose fractions are set as fractions: 5/16 with a slanted bar."""
    pieces = FRACTION.split(text)
    return format_html_join(
        "",
        "{}",
        (
            (
                format_html('<{0} class="frac">{1}</{0}>', SafeString(element), piece)
                if at % 2
                else piece,
            )
            for at, piece in enumerate(pieces)
        ),
    )


def _text(words: str, down_px: float, weight: str = "") -> SafeString:
    return format_html(
        '<text x="{}" y="{}" font-size="16"{} fill="currentColor" stroke="none">{}</text>',
        LABELS_PX,
        f"{down_px:.1f}",
        SafeString(weight),
        with_fractions(words, "tspan"),
    )
