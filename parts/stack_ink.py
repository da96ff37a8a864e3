"""The single things of a stack in ink: outlines thick, hatching and thread roots fine.

By drawing-office custom bolts, nuts and washers are shown whole, and what they hold is cut
through and hatched, so the shank is seen inside it.
"""

from collections.abc import Sequence

from parts.models import StackItem
from parts.stack_pile import CUT_THROUGH, NUTS, Pile, Shank, Solid

What = StackItem.What


class Pen:
    """Collects path data; takes millimetres from the middle line and the top of the stack."""

    def __init__(self, *, px_per_mm: float, middle_px: float, down_px: float) -> None:
        self.px_per_mm = px_per_mm
        self.middle_px = middle_px
        self.down_px = down_px
        self.thick: list[str] = []
        self.thin: list[str] = []
        self.filled: list[str] = []

    def at(self, x_mm: float, y_mm: float) -> str:
        x_px = self.middle_px + x_mm * self.px_per_mm
        return f"{x_px:.1f} {self.down_px + y_mm * self.px_per_mm:.1f}"

    def path(self, *points_mm: tuple[float, float], close: bool = False) -> str:
        return "M" + "L".join(self.at(*point) for point in points_mm) + ("Z" if close else "")

    def line(self, *points_mm: tuple[float, float]) -> None:
        self.thick.append(self.path(*points_mm))

    def fine(self, *points_mm: tuple[float, float]) -> None:
        self.thin.append(self.path(*points_mm))

    def box(self, half_mm: float, top_mm: float, bottom_mm: float) -> None:
        top = ((-half_mm, top_mm), (half_mm, top_mm))
        foot = ((half_mm, bottom_mm), (-half_mm, bottom_mm))
        self.thick.append(self.path(*top, *foot, close=True))


def ink_solid(pen: Pen, solid: Solid, shank: Shank | None) -> None:
    """One thing of the stack."""
    what = What(solid.item.what)
    half = solid.width_mm / 2
    if what in (What.BOLT, What.SCREW):
        _head(pen, solid)
    elif what in NUTS:
        _hexagon(pen, solid)
        if what == What.LOCK_NUT:
            ring = solid.bottom_mm - solid.height_mm / 5
            pen.line((-half, ring), (half, ring))
    elif what in CUT_THROUGH:
        _section(pen, solid, shank.diameter_mm / 2 if shank else solid.diameter_mm / 2)
    elif what == What.SHIM:
        pen.box(half, solid.top_mm, solid.bottom_mm)
        pen.filled.append(pen.thick[-1])
    elif what == What.RIVET:
        _dome(pen, half, solid.top_mm, solid.bottom_mm)
    elif what == What.PIN:
        _pin(pen, solid)
    elif what != What.STUD:
        pen.box(half, solid.top_mm, solid.bottom_mm)
        _washer_marks(pen, solid)


def _washer_marks(pen: Pen, solid: Solid) -> None:
    """The slit of a spring washer, the lifted tab of a lock washer."""
    half, height = solid.width_mm / 2, solid.height_mm
    if solid.item.what == What.SPRING_WASHER:
        pen.line((-height, solid.bottom_mm), (height * 0.2, solid.top_mm))
        pen.line((-height * 0.2, solid.bottom_mm), (height, solid.top_mm))
    elif solid.item.what == What.LOCK_WASHER:
        pen.line((-half, solid.top_mm), (-half, solid.top_mm - solid.diameter_mm / 3))
        pen.line((half, solid.bottom_mm), (half, solid.bottom_mm + solid.diameter_mm / 3))


def _head(pen: Pen, solid: Solid) -> None:
    """A hexagon unless the head is said to be another."""
    said = solid.item.head.lower()
    top, bottom, d = solid.top_mm, solid.bottom_mm, solid.diameter_mm
    if any(word in said for word in ("countersunk", "csk")):
        pen.line((-d, top), (d, top), (d / 2, bottom), (-d / 2, bottom), (-d, top))
        pen.fine((-d / 6, top), (-d / 6, top + d / 4), (d / 6, top + d / 4), (d / 6, top))
    elif any(word in said for word in ("cap", "socket", "cheese", "square")):
        pen.box(0.75 * d, top, bottom)
        for step in (-0.45, -0.15, 0.15, 0.45):
            pen.fine((step * d, top), (step * d, bottom))
    elif any(word in said for word in ("pan", "round", "dome", "button", "coach")):
        _dome(pen, d, top, bottom)
    else:
        _hexagon(pen, solid)


def _dome(pen: Pen, half: float, top: float, bottom: float) -> None:
    """A round head, in flats."""
    low = top + (bottom - top) / 3
    left = ((-half, bottom), (-0.8 * half, low), (-0.4 * half, top))
    right = ((0.4 * half, top), (0.8 * half, low), (half, bottom))
    pen.thick.append(pen.path(*left, *right, close=True))


def _hexagon(pen: Pen, solid: Solid) -> None:
    """A hexagon seen on three faces."""
    half = solid.width_mm / 2
    pen.box(half, solid.top_mm, solid.bottom_mm)
    for side in (-half / 2, half / 2):
        pen.line((side, solid.top_mm), (side, solid.bottom_mm))


def _section(pen: Pen, solid: Solid, bore: float) -> None:
    """Cut through: hatched on both sides of the bore; the part itself is broken off outside."""
    half, top, bottom = solid.width_mm / 2, solid.top_mm, solid.bottom_mm
    for side in (-1, 1):
        out, inside = side * half, side * bore
        pen.line((out, top), (inside, top), (inside, bottom), (out, bottom))
        if solid.item.what == What.THE_PART:
            third = (bottom - top) / 3
            tooth = side * min(half - bore, 6 / pen.px_per_mm) / 2
            teeth = ((out - tooth, top + third), (out + tooth / 2, top + 2 * third))
            pen.fine((out, top), *teeth, (out, bottom))
        else:
            pen.line((out, top), (out, bottom))
        _hatch(pen, sorted((inside, out)), top, bottom, 7 / pen.px_per_mm)


def _hatch(pen: Pen, across: Sequence[float], top: float, bottom: float, step: float) -> None:
    """Lines at 45 degrees, cut off at the edges of a box."""
    left, right = across
    start = left + step / 2
    while start - (bottom - top) < right:
        low_x, high_x = start - (bottom - top), start
        x0, x1 = max(left, low_x), min(right, high_x)
        if x1 > x0:
            pen.fine((x0, top + (high_x - x0)), (x1, top + (high_x - x1)))
        start += step


def _pin(pen: Pen, solid: Solid) -> None:
    """A split pin through the end: its eye on one side, its legs bent on the other."""
    half, middle, thick = solid.width_mm / 2, solid.middle_mm, solid.height_mm / 4
    for side in (-1, 1):
        edge = middle + side * thick
        pen.line((-half, edge), (half, edge), (half + thick, middle + 3 * side * thick))
        pen.line(
            (-half, edge),
            (-half - 2 * thick, middle + 1.5 * side * thick),
            (-half - 3 * thick, middle),
        )


def ink_shank(pen: Pen, shank: Shank, stood: Pile) -> None:
    """Where it is not hidden: thick at the outside, thin at the root of its thread."""
    half, root = shank.diameter_mm / 2, shank.core_mm / 2
    hidden = [s for s in stood.solids if s.item.what not in (*CUT_THROUGH, What.STUD, What.PIN)]
    for top, bottom in _visible(shank, hidden):
        for side in (-1, 1):
            pen.line((side * half, top), (side * half, bottom))
            for begin, end in shank.threaded_mm:
                if max(begin, top) < min(end, bottom):
                    pen.fine((side * root, max(begin, top)), (side * root, min(end, bottom)))
        for begin, _ in shank.threaded_mm:
            if top < begin < bottom:
                pen.line((-half, begin), (half, begin))
        if bottom == shank.bottom_mm:
            _tip(pen, half, root, bottom)
        if top == shank.top_mm and stood.solids[0].item.what == What.STUD:
            pen.line((-half, top), (half, top))


def _tip(pen: Pen, half: float, root: float, bottom: float) -> None:
    chamfer = half - root
    end = ((-root, bottom + chamfer), (root, bottom + chamfer))
    pen.thick.append(pen.path((-half, bottom), *end, (half, bottom), close=True))


def _visible(shank: Shank, hidden: Sequence[Solid]) -> list[tuple[float, float]]:
    """The runs of the shank that nothing covers."""
    runs = []
    top = shank.top_mm
    for solid in hidden:
        if solid.top_mm > top:
            runs.append((top, min(solid.top_mm, shank.bottom_mm)))
        top = max(top, solid.bottom_mm)
    if top < shank.bottom_mm:
        runs.append((top, shank.bottom_mm))
    return [(begin, end) for begin, end in runs if end > begin]
