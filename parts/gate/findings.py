"""What the check says about a piece: a warning, how bad it is, and where the rule comes from."""

from collections.abc import Callable
from dataclasses import dataclass
from enum import IntEnum
from typing import TYPE_CHECKING

if TYPE_CHECKING:
    from parts.gate.facts import Facts
    from parts.gate.sending import Sending


class Severity(IntEnum):
    """How bad it is; the worst sorts first."""

    STOP = 0
    CAUTION = 1
    NOTE = 2

    @property
    def word(self) -> str:
        return {0: "Stop", 1: "Caution", 2: "Note"}[self.value]

    @property
    def code(self) -> str:
        return self.name.lower()


@dataclass(frozen=True, slots=True, kw_only=True)
class Fires:
    """That a rule holds: because of what, and what was taken for granted on the way."""

    because: str = ""
    assumed: tuple[str, ...] = ()


@dataclass(frozen=True, slots=True)
class Rule:
    """One row of the tables: when ``when`` answers, ``says`` is said."""

    id: str
    severity: Severity
    when: "Callable[[Facts, Sending], Fires | None]"
    says: str
    source: str
    # A figure or a judgement of ours is in it.
    is_ours: bool = False


@dataclass(frozen=True, slots=True, kw_only=True)
class Finding:
    """A rule that fired. People see everything but ``rule``."""

    rule: str
    severity: Severity
    says: str
    source: str
    because: str = ""
    assumed: tuple[str, ...] = ()
    is_ours: bool = False

    @property
    def stops(self) -> bool:
        return self.severity is Severity.STOP

    @property
    def key(self) -> str:
        """What an owner who sends it anyway has seen: the rule with what it rests on."""
        return f"{self.rule}: {self.because}"


def worst_first(findings: list[Finding]) -> tuple[Finding, ...]:
    return tuple(sorted(findings, key=lambda finding: finding.severity))
