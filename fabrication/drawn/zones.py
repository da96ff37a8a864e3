"""What is told apart at the two ends of a pipe in space: bead, hose, and what is guessed."""

from collections.abc import Iterator

from fabrication.drawn.solid import BEAD, HOSE, LOST, Zone
from fabrication.pipe.hoses import hose_of
from fabrication.pipe.inputs import End, PipeInputs
from fabrication.pipe.worked import EndSum, WorkedOut


def zones_of(
    found: WorkedOut, pipe: PipeInputs, *, guessed_mm: tuple[float, float] = (0.0, 0.0)
) -> tuple[Zone, ...]:
    """The zones of both ends; ``guessed_mm`` is how much of ends A and B the old pipe lacks.

    An end without a bead of its own is drawn with a hose only where one was asked for.
    """
    ends = (("A", pipe.end_a, found.end_a), ("B", pipe.end_b, found.end_b))
    return tuple(
        zone
        for (name, end, total), lost_mm in zip(ends, guessed_mm, strict=True)
        for zone in _at_end(name, end, total, lost_mm)
    )


def _at_end(name: str, end: End, total: EndSum | None, lost_mm: float) -> Iterator[Zone]:
    bead = total.bead if total else None
    if bead is not None:
        half_mm = bead.width_mm / 2
        ends_mm = bead.centre_mm + half_mm, bead.centre_mm - half_mm
        yield Zone(BEAD, name, *ends_mm, bead.height_mm)
    if (hose := hose_of(end, bead)) is not None:
        yield Zone(HOSE, name, hose.push_on_mm)
    if lost_mm > 0:
        yield Zone(LOST, name, lost_mm)
