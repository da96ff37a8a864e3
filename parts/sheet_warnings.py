"""What the check found, as the drop-off sheet says it: each warning once, with its tags."""

from collections import defaultdict
from collections.abc import Iterable
from dataclasses import dataclass

from parts.checking import Checked
from parts.gate import Finding
from parts.models import Line


@dataclass(frozen=True, slots=True)
class Warned:
    """One warning and the lines it holds for."""

    finding: Finding
    of: str


@dataclass(frozen=True, slots=True)
class Anyway:
    """A line that goes in spite of a stop, and the owner's reason."""

    of: str
    reason: str
    by: str
    stops: tuple[Finding, ...]


@dataclass(frozen=True, slots=True)
class SheetWarnings:
    warned: list[Warned]
    anyway: list[Anyway]
    # "K7M: closed hollow, glue", for what nobody knew.
    not_known: list[str]
    # Lines that stay off the sheet.
    held: list[str]

    def __bool__(self) -> bool:
        return bool(self.warned or self.anyway or self.not_known or self.held)


def warnings_of(checked: Iterable[Checked]) -> SheetWarnings:
    """Everything to be printed about these lines; a held line is named and nothing more."""
    checked = list(checked)
    sent = [one for one in checked if not one.is_held]
    tags: dict[Finding, list[str]] = defaultdict(list)
    for one in sent:
        for finding in one.findings:
            if not finding.stops:
                tags[finding].append(name_of(one.line))
    return SheetWarnings(
        warned=[Warned(finding, ", ".join(of)) for finding, of in tags.items()],
        anyway=[_anyway(one) for one in sent if one.overruled],
        not_known=[
            f"{name_of(one.line)}: {', '.join(one.not_known).lower()}"
            for one in sent
            if one.not_known
        ],
        held=[name_of(one.line) for one in checked if one.is_held],
    )


def _anyway(one: Checked) -> Anyway:
    word = one.sent_anyway
    return Anyway(
        of=name_of(one.line),
        reason=word.reason,
        by=word.by.name if word.by else "",
        stops=tuple(finding for finding in one.findings if finding.stops),
    )


def name_of(line: Line) -> str:
    """How a line is called in a list: its tag, or what is in the lot."""
    return line.piece.tag if line.piece else line.lot
