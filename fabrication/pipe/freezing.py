"""Holding a sheet to the figures of its tools that its first print or bend was made with.

A former that is measured again, or one more test piece of a bead, would move marks that are on
paper or on the tube already. So they stay, the page says by how much they would move, and new
figures are taken on purpose.
"""

from dataclasses import dataclass, replace
from datetime import datetime
from uuid import UUID

from django.db import transaction

from fabrication.kit.beads import ToolFigures, has_bead
from fabrication.models import Former, Making, PipeSheet, SheetFreeze, TubeStock
from fabrication.pipe.frozen import Frozen, as_document, from_document, to_keep
from fabrication.pipe.pipes import Stale, next_revision
from fabrication.pipe.ways import of_sheet
from fabrication.pipe.worked import WorkedOut
from garage.models import Person

MOVES_MM, MOVES_DEG = 0.05, 0.05
"""Our figures: marks and pulls that move by less have not moved."""


class BeingBent(Exception):
    """A pipe is being bent from the sheet: its marks are on the tube."""

    def __init__(self, making: Making) -> None:
        who = making.begun_by.name if making.begun_by else "Somebody"
        super().__init__(
            f"{who} is bending a pipe from revision {making.revision}: its marks are on the tube. "
            "Take the new figures when that pipe is done or scrapped."
        )
        self.making = making


@dataclass(frozen=True, slots=True)
class Moved:
    """By how much a sheet would change with the figures as they are now. [mm, deg]"""

    marks_mm: float
    cut_mm: float
    pulls_deg: float
    other_order: bool = False
    no_longer: bool = False

    @property
    def pulls_move(self) -> bool:
        return self.pulls_deg >= MOVES_DEG

    @property
    def matters(self) -> bool:
        moves = max(self.marks_mm, self.cut_mm) >= MOVES_MM or self.pulls_move
        return moves or self.other_order or self.no_longer


@dataclass(frozen=True, slots=True)
class Held:
    """What a sheet is held to, since when, and what new figures would change."""

    freeze: SheetFreeze
    figures: Frozen
    now: Frozen
    moved: Moved | None

    @property
    def is_moved(self) -> bool:
        return self.moved is not None and self.moved.matters


@dataclass(frozen=True, slots=True)
class FigureLine:
    """One figure, as kept and as it is now: a length in millimetres, or a text."""

    name: str
    kept: float | str
    now: float | str

    @property
    def is_length(self) -> bool:
        return not isinstance(self.kept, str)

    @property
    def differs(self) -> bool:
        return self.kept != self.now


def lines_of(held: Held) -> list[FigureLine]:
    """Every figure a sheet is held to, beside what it is now."""
    lengths = {
        "Radius": "radius_mm",
        "Start beyond the mark": "start_offset_mm",
        "Straight the hook needs": "hook_mm",
        "Straight the guide needs": "guide_mm",
        "Outside diameter": "od_mm",
        "Wall": "wall_mm",
    }
    lines = [
        FigureLine(name, getattr(held.figures, field), getattr(held.now, field))
        for name, field in lengths.items()
    ]
    lines.append(FigureLine("Springback", _springback(held.figures), _springback(held.now)))
    lines.append(FigureLine("Temper", held.figures.temper or "-", held.now.temper or "-"))
    lines += _bead_lines(held)
    versions = held.figures.core_version, held.now.core_version
    return [*lines, FigureLine("Version of the sums", *versions)]


def _bead_lines(held: Held) -> list[FigureLine]:
    """One line for each bead tool that is kept or there now."""
    kept, now = (
        {tool.pk: tool for tool in figures.bead_tools or ()} for figures in (held.figures, held.now)
    )
    return [
        FigureLine(f"Bead with {tool}", _bead(kept.get(pk)), _bead(now.get(pk)))
        for pk, tool in (now | kept).items()
    ]


def _bead(tool: ToolFigures | None) -> str:
    """What decides marks and stop, in millimetres."""
    if tool is None:
        return "-"
    said = tool.learnt
    offset_mm = tool.stop_offset_mm if said.stop_offset_mm is None else said.stop_offset_mm
    eaten = "reckoned" if said.eaten_mm is None else f"{said.eaten_mm:.2f}"
    return (
        f"stop {offset_mm:+.2f}, reach {tool.shallowest_mm:g} to {tool.deepest_mm:g}, eats {eaten}"
    )


def _springback(figures: Frozen) -> str:
    """The pull for an angle, as a sum."""
    learnt = figures.springback
    if learnt is None:
        return "No practice bend"
    fixed = f" + {learnt.fixed_deg:.1f}°" if learnt.fixed_deg else ""
    return f"{learnt.factor:.3f} × angle{fixed}"


def figures_of(sheet: PipeSheet) -> Frozen | None:
    """The figures a sheet is held to, or None while it has none."""
    freeze = SheetFreeze.objects.holding(sheet)
    return from_document(freeze.figures) if freeze else None


def figures_under(key: UUID, *, former: Former, stock: TubeStock) -> Frozen | None:
    """The figures that the sheet of this key is held to for a former and a tube, or None."""
    freeze = SheetFreeze.objects.under(key, former, stock)
    return from_document(freeze.figures) if freeze else None


def held_of(sheet: PipeSheet) -> Held | None:
    """What a sheet is held to, with what its former and tube say today."""
    freeze = SheetFreeze.objects.holding(sheet)
    if freeze is None:
        return None
    kept = from_document(freeze.figures)
    now = to_keep(sheet.former, sheet.stock, sheet.bead_tool)
    if kept.bead_tools is None or not has_bead(sheet):
        kept, now = replace(kept, bead_tools=None), replace(now, bead_tools=None)
    if kept.former_od_mm is None:
        kept = replace(kept, former_od_mm=now.former_od_mm)
    # Another version of the sums is no other measurement: it cannot be worked out both ways.
    same = replace(kept, core_version=now.core_version) == now
    return Held(freeze, kept, now, None if same else moved_by(sheet, kept, now))


def moved_by(sheet: PipeSheet, kept: Frozen, now: Frozen) -> Moved:
    """By how much marks, cut length and pulls differ between two sets of figures."""
    before, after = (of_sheet(sheet, frozen=figures).found for figures in (kept, now))
    if before.cut_mm is None or after.cut_mm is None:
        return Moved(0.0, 0.0, 0.0, no_longer=after.cut_mm is None)
    return Moved(
        marks_mm=_most(before, after, "line_up_mm"),
        cut_mm=abs(after.cut_mm - before.cut_mm),
        pulls_deg=_most(before, after, "pull_deg"),
        other_order=_order(before) != _order(after),
    )


def _most(before: WorkedOut, after: WorkedOut, name: str) -> float:
    """The largest difference of one figure of the marks."""
    pairs = zip(before.marks, after.marks, strict=True)
    return max((abs(getattr(b, name) - getattr(a, name)) for a, b in pairs), default=0.0)


def _order(found: WorkedOut) -> list[tuple[int, str]]:
    return [(mark.bend, mark.hook_at) for mark in found.in_order]


@transaction.atomic
def freeze(*, sheet: PipeSheet, why: str, by: Person, now: datetime) -> SheetFreeze:
    """What the sheet is held to: as before, or from now on as former and tube say now."""
    held = PipeSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    kept = SheetFreeze.objects.holding(held)
    return kept or _kept(held, why=why, by=by, now=now)


@transaction.atomic
def take_new_figures(
    *, sheet: PipeSheet, seen: int | None, by: Person, now: datetime
) -> SheetFreeze:
    """The sheet's next revision, held to what its former and tube say now.

    Raises
    ------
    BeingBent
        While a pipe is being bent from it.
    fabrication.pipe.pipes.Stale
        When it is no longer the revision ``seen``.
    """
    held = PipeSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    making = Making.objects.of_sheet(held).under_way().for_page().first()
    if making:
        raise BeingBent(making)
    if held.version != seen:
        raise Stale(held)
    next_revision(sheet=held, by=by, now=now)
    return _kept(held, why=SheetFreeze.Why.TAKEN, by=by, now=now)


def _kept(sheet: PipeSheet, *, why: str, by: Person, now: datetime) -> SheetFreeze:
    return SheetFreeze.objects.create(
        sheet=sheet,
        former=sheet.former,
        stock=sheet.stock,
        revision=sheet.version,
        figures=as_document(to_keep(sheet.former, sheet.stock, sheet.bead_tool)),
        why=why,
        at=now,
        by=by,
    )
