"""The constants of former, tube and bead tools that a sheet is worked out with, to be kept with it.

A former that is measured again moves every mark. A sheet that is being bent from keeps these.
"""

from dataclasses import asdict, dataclass, replace
from typing import Any

from fabrication.core import VERSION
from fabrication.core.errors import Problem, Severity
from fabrication.core.springback import Fit, Springback
from fabrication.kit import beads, practice
from fabrication.kit.handle import Scale
from fabrication.models import BeadTool, Former, TubeStock


@dataclass(frozen=True, slots=True)
class Frozen:
    """What a sheet takes from its former, its tube and the bead tools for it.

    ``radius_from`` is where the radius is from. ``former_od_mm`` is the tube the former was made
    for. Both it and ``bead_tools`` are None in documents that were kept before there were any;
    bead tools count as they are now then.
    """

    radius_mm: float
    start_offset_mm: float
    hook_mm: float
    guide_mm: float
    od_mm: float
    wall_mm: float
    springback: Springback | None = None
    core_version: str = VERSION
    temper: str = ""
    scale: Scale | None = None
    radius_from: str = "stamped"  # or "measured", or "practice"
    former_od_mm: float | None = None
    bead_tools: tuple[beads.ToolFigures, ...] | None = None

    @property
    def is_measured(self) -> bool:
        return self.radius_from != "stamped"


def frozen_of(former: Former, stock: TubeStock) -> Frozen:
    """The constants as they stand now; practice bends with this very tube go before all else."""
    said = practice.practised(former, stock)
    measured = said.measured
    return Frozen(
        radius_mm=measured.radius_mm if measured else former.radius_mm,
        start_offset_mm=measured.start_offset_mm if measured else former.start_offset_mm,
        hook_mm=former.hook_mm,
        guide_mm=former.guide_mm,
        od_mm=stock.od_mm,
        wall_mm=stock.wall_mm,
        springback=said.springback,
        temper=stock.temper,
        scale=former.scale,
        radius_from="practice" if measured else "measured" if former.is_measured else "stamped",
        former_od_mm=former.tube_od_mm,
    )


def to_keep(former: Former, stock: TubeStock, tool: BeadTool | None = None) -> Frozen:
    """The constants to be kept: with the bead tools, since a later test piece would move marks."""
    return replace(frozen_of(former, stock), bead_tools=beads.figures_for(stock, tool))


def as_document(frozen: Frozen) -> dict[str, Any]:
    """The constants as a document of plain values, for a JSON column."""
    return asdict(frozen)


def from_document(document: dict[str, Any]) -> Frozen:
    """The constants of a document; a name this version does not know is passed over."""
    names = Frozen.__dataclass_fields__
    values = {name: value for name, value in document.items() if name in names}
    if values.get("springback"):
        values["springback"] = _springback(values["springback"])
    if values.get("scale"):
        values["scale"] = Scale(**values["scale"])
    if values.get("bead_tools") is not None:
        values["bead_tools"] = tuple(_bead_tool(one) for one in values["bead_tools"])
    return Frozen(**values)


def _bead_tool(kept: dict[str, Any]) -> beads.ToolFigures:
    return beads.ToolFigures(**{**kept, "learnt": beads.Learnt(**kept["learnt"])})


def _springback(kept: dict[str, Any]) -> Springback:
    problems = tuple(
        Problem(one["kind"], Severity(one["severity"]), one["message"], one["index"])
        for one in kept["problems"]
    )
    return Springback(**{**kept, "fit": Fit(kept["fit"]), "problems": problems})
