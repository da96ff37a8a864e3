"""The drop-off sheet: what it says, and the PDF of it."""

from dataclasses import dataclass
from datetime import datetime
from pathlib import Path
from typing import Any

import segno
from django.utils.safestring import SafeString

from garage import paper
from garage.models import Garage, Person, Photo
from garage.photos import store
from parts.checking import check_lines
from parts.models import DropOff, Line, Material, Process
from parts.models.finisher import HEATS, LEAVES_BARE, as_words
from parts.sheet_warnings import warnings_of

ALUMINIUM = (Material.ALUMINIUM, Material.ALUMINIUM_CAST)
# Lines for the finisher: common practice; for sand, the ban on free silica (COSHH, Schedule 2).
RING = "Ring before any change of work, colour or temperature."
TAGS = "Leave the wired metal tags on, through blasting and oven."
COUNT = "Count the pieces with us at hand-over and on return."
NO_SAND = "No sand: nothing with free silica in it."
THIN = "Thin sheet warps: low pressure, or plastic or soda."
ALLOY = "No steel grit on aluminium, nor grit used on steel."
BLOW_OUT = "Blow out hollow and box sections before the oven."
BARE = "Comes back bare: keep it dry, and ring the day it is done."
RUBBER = "Rubber, plastic or sealer left in: take it out or ring. Do not bake it."


@dataclass(frozen=True, slots=True)
class Caution:
    word: str
    says: str


def dropoff_sheet(
    dropoff: DropOff, *, count_url: str, by: Person, now: datetime, paper_size: str = ""
) -> bytes:
    """The PDF of a drop-off as it stands; its code opens ``count_url``.

    Raises
    ------
    garage.paper.PaperNotPossible
        When this machine cannot make a PDF.
    """
    garage = Garage.here()
    context, pictures = sheet_context(dropoff, garage=garage, count_url=count_url, by=by, now=now)
    return paper.render(
        "print/dropoff.html",
        context,
        paper=paper_size or garage.paper,
        name=f"{dropoff}, {dropoff.finisher}",
        pictures=pictures,
    )


def sheet_context(
    dropoff: DropOff, *, garage: Garage, count_url: str, by: Person, now: datetime
) -> tuple[dict[str, Any], dict[str, Path]]:
    """What the template needs, and the files it may show by their address."""
    checked = check_lines(dropoff, dropoff.lines.for_sheet(), now=now)
    lines = [one.line for one in checked if not one.is_held]
    services = {service.process: service for service in dropoff.finisher.services.all()}
    works = {process for line in lines for process in line.processes}
    pictures = _pictures(dropoff, lines)
    context = {
        "dropoff": dropoff,
        "garage": garage,
        "by": by,
        "now": now,
        "region": by.region,
        "rows": [_row(line, pictures) for line in lines],
        "pieces": sum(line.count for line in lines),
        "weight_g": sum(line.weight_g or 0 for line in lines),
        "places": sum(mask.count for line in lines for mask in line.masks.all()),
        "work": _work_of(lines),
        "heat": [
            service for code, service in services.items() if code in works and service.heat_in_words
        ],
        "requests": requests_of(lines),
        "cautions": cautions_of(lines),
        "warnings": warnings_of(checked),
        "laid_out": _shown(dropoff.laid_out, pictures),
        "code": qr_svg(count_url),
    }
    return context, pictures


def _work_of(lines: list[Line]) -> str:
    """The work of the whole sheet: in its order where every line wants the same, else a list."""
    wanted = {line.processes for line in lines}
    if len(wanted) == 1:
        return as_words(wanted.pop())
    works = {process for one in wanted for process in one}
    return ", ".join(process.label for process in Process if process in works).capitalize()


def _row(line: Line, pictures: dict[str, Path]) -> dict[str, Any]:
    return {
        "line": line,
        "photo": _shown(line.picture, pictures),
        "masks": list(line.masks.all()),
        "contents": line.contents,
    }


def address(photo: Photo) -> str:
    return f"app-photo:{photo.key}"


def _pictures(dropoff: DropOff, lines: list[Line]) -> dict[str, Path]:
    """{address: file} of the photos; a lost file leaves the sheet without it."""
    wanted = [(line.picture, 320) for line in lines if line.picture]
    if dropoff.laid_out:
        wanted.append((dropoff.laid_out, 1600))
    found = {address(photo): store.rendition_path(photo, size) for photo, size in wanted}
    return {url: path for url, path in found.items() if path and path.is_file()}


def _shown(photo: Photo | None, pictures: dict[str, Path]) -> str:
    return address(photo) if photo and address(photo) in pictures else ""


def qr_svg(text: str) -> SafeString:
    """A code a phone reads, as inline SVG: level M, quiet zone of four modules (ISO/IEC 18004)."""
    return SafeString(segno.make(text, error="m", micro=False).svg_inline(border=4, omitsize=True))


def requests_of(lines: list[Line]) -> list[str]:
    """What the finisher is asked to do or leave, as far as it bears on these lines."""
    works = {process for line in lines for process in line.processes}
    blasted = [line for line in lines if set(line.processes) & set(LEAVES_BARE)]
    materials = {line.piece.material for line in blasted if line.piece}
    said = [RING]
    if any(line.piece and line.tag_stays for line in lines):
        said.append(TAGS)
    if Process.BLAST in works:
        said += [NO_SAND, THIN]
        if materials & set(ALUMINIUM) or "" in materials:
            said.append(ALLOY)
    if works & set(HEATS):
        said += [BLOW_OUT, RUBBER]
    if any(line.comes_back_bare for line in lines):
        said.append(BARE)
    return [*said, COUNT]


def cautions_of(lines: list[Line]) -> list[Caution]:
    """Dangers that travel with the pieces. Common practice; on lead in old paint the HSE."""
    works = {process for line in lines for process in line.processes}
    found = []
    if works & {Process.BLAST, Process.STRIP, Process.WELD, Process.MACHINE}:
        found.append(Caution("Old paint", "may hold lead. Wet methods, no burning, bag the dust."))
    if works & set(HEATS):
        found.append(
            Caution(
                "Closed hollows",
                "burst in an oven or a bath. If you find one without a vent, ring before heating.",
            )
        )
    return found
