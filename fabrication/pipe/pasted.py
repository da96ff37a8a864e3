"""Corner points out of a spreadsheet: what was pasted, or a CSV file, to rows of text.

Cells stand apart by tabs, semicolons, commas or spaces, whichever the text uses; figures may have
a decimal comma where the cells stand apart by something else. A heading line, empty lines and a
column that only counts or names the points are passed over. Nothing is guessed: a line that could
be read in two ways is told by its number.
"""

import csv
import io
import re
from dataclasses import dataclass

from garage import units
from garage.models import Person

LINES_MOST = 200
BYTES_MOST = 200_000
NAMES = ("x", "y", "z", "radius")


class BadPaste(ValueError):
    """Text that is no list of points; says which line is wrong."""


@dataclass(frozen=True, slots=True)
class _Line:
    number: int
    cells: list[str]


def points_in(text: str, *, person: Person, most: int) -> list[dict[str, str]]:
    """The boxes of each point: x, y, z, and a radius where there is one.

    Raises
    ------
    BadPaste
        When a line is no point; its number counts from one.
    """
    lines = _cells(text)
    if lines and _is_heading(lines[0].cells):
        lines = lines[1:]
    if not lines:
        raise BadPaste("There is no point in it: each line holds x, y and z.")
    lines = _without_counting(lines)
    if len(lines) > most:
        raise BadPaste(f"{len(lines)} points are more than a sheet holds, which is {most}.")
    return [_point(line, _mark(lines, person), person) for line in lines]


def text_of(raw: bytes) -> str:
    """The text of a file as spreadsheets write it.

    Raises
    ------
    BadPaste
        When it is no text, or too long.
    """
    if len(raw) > BYTES_MOST:
        raise BadPaste("The file is too long for a list of points.")
    if raw[:4] == b"PK\x03\x04":
        raise BadPaste("This is a workbook. Save it as CSV, or copy the cells and paste them.")
    for encoding in (
        ("utf-16",) if raw[:2] in (b"\xff\xfe", b"\xfe\xff") else ("utf-8-sig", "cp1252")
    ):
        try:
            return raw.decode(encoding)
        except UnicodeDecodeError:
            continue
    raise BadPaste("The file is no text. Save it as CSV.")


def _cells(text: str) -> list[_Line]:
    said = text.lstrip("\ufeff").replace("\xa0", " ")
    lines = [(number, line) for number, line in enumerate(said.splitlines(), start=1)]
    lines = [(number, line) for number, line in lines if line.strip(" \t,;")]
    if len(lines) > LINES_MOST:
        raise BadPaste(f"{len(lines)} lines are more than a pipe has points.")
    divider = _divider([line for _, line in lines])
    return [_Line(number, _divided(line, divider)) for number, line in lines]


def _divider(lines: list[str]) -> str:
    """What stands between two cells; a space where nothing better does."""
    for divider in "\t;":
        if any(divider in line for line in lines):
            return divider
    # A comma may be a decimal mark: then the cells stand apart by spaces.
    figures = [re.split(r"\s+", line.strip()) for line in lines]
    if all(len(cells) >= 3 and not any(cell.endswith(",") for cell in cells) for cells in figures):
        return " "
    return "," if any("," in line for line in lines) else " "


def _divided(line: str, divider: str) -> list[str]:
    if divider == " ":
        return re.split(r"\s+", line.strip())
    cells = [cell.strip() for cell in next(csv.reader(io.StringIO(line), delimiter=divider))]
    while len(cells) > 3 and not cells[-1]:
        cells.pop()
    return cells


def _is_heading(cells: list[str]) -> bool:
    return not any(re.search(r"\d", cell) for cell in cells)


def _without_counting(lines: list[_Line]) -> list[_Line]:
    """The lines without a first column that names or counts the points."""
    firsts = [line.cells[0] for line in lines]
    if any(len(line.cells) < 4 for line in lines):
        return lines
    counts = [str(n) for n in range(len(lines))], [str(n) for n in range(1, len(lines) + 1)]
    named = all(re.match(r"[^\W\d_]", cell) for cell in firsts)
    if named or (len(lines) > 1 and firsts in counts):
        return [_Line(line.number, line.cells[1:]) for line in lines]
    return lines


def _mark(lines: list[_Line], person: Person) -> units.Mark:
    """The decimal mark of the text: the one it uses, the reader's own where it uses none."""
    marked = [cell for line in lines for cell in line.cells if "," in cell or "." in cell]
    commas, points = (any(mark in cell for cell in marked) for mark in ",.")
    # Three places after every mark may be thousands as well: then the reader is asked.
    if commas == points or all(re.fullmatch(r"-?\d{1,3}[.,]\d{3}", cell) for cell in marked):
        return person.decimal_mark
    return "," if commas else "."


def _point(line: _Line, mark: units.Mark, person: Person) -> dict[str, str]:
    count = len(line.cells)
    if count not in (3, 4):
        divide = " With decimal commas, let tabs or semicolons stand between the figures."
        hint = divide if count > 4 else ""
        wanted = "x, y and z, and a radius where it has its own"
        raise BadPaste(f"Line {line.number} has {count} figures; a point has {wanted}.{hint}")
    return {
        name: _boxed(cell, name, line, mark, person)
        for name, cell in zip(NAMES, line.cells, strict=False)
    }


def _boxed(cell: str, name: str, line: _Line, mark: units.Mark, person: Person) -> str:
    """The text for a box of this person's, whose decimal mark may be another."""
    if name == "radius" and not cell:
        return ""
    try:
        found = units.parse_length(cell, default_unit=person.units, decimal_mark=mark)
    except units.AmbiguousFigure as either:
        first, second = either.offers
        raise BadPaste(f"Line {line.number}, {name}: is “{cell}” {first} or {second}?") from None
    except units.BadFigure as bad:
        what = f"“{cell}”" if cell else "nothing"
        raise BadPaste(f"Line {line.number}, {name} is {what}. {bad.message}") from None
    if mark == person.decimal_mark:
        return cell
    return found.typed.replace(mark, person.decimal_mark)
