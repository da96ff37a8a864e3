"""A sound steel bracket about which everything was asked, and work to send it through."""

from typing import Any

from parts.gate import Facts, Finding, JointFact, Sending, Thing, fit_to_send
from parts.gate.questions import QUESTIONS

ALL_NO = {question.code: "no" for question in QUESTIONS}


def facts(*, materials: tuple[str, ...] = ("steel",), **fields: Any) -> Facts:
    """A piece of which everything was asked and nothing is the matter; ``says`` changes answers."""
    answers = ALL_NO | fields.pop("says", {})
    return Facts(
        materials=frozenset(materials),
        answers={code: says for code, says in answers.items() if says is not None},
        masks=frozenset(fields.pop("masks", ())),
        **fields,
    )


def sending(*processes: str, **fields: Any) -> Sending:
    return Sending(processes=processes, **fields)


def oven(peak_c: float | None = 190.0, minutes: float | None = 12.0, **fields: Any) -> Sending:
    """Powder coat, the metal at ``peak_c``. [C, min]"""
    return sending("powder", heat={"powder": (peak_c, minutes)}, **fields)


def solder(solidus_c: float | None = 183.0, name: str = "Tin-lead 60/40") -> JointFact:
    return JointFact(how="solder", with_what=name, solidus_c=solidus_c)


def glue(adhesive: str = "steel_epoxy", **fields: Any) -> JointFact:
    return JointFact(how="glue", with_what="Bracket epoxy", adhesive=adhesive, **fields)


def thing(sort: str, limit_c: float, name: str = "A thing", **fields: Any) -> Thing:
    return Thing(name=name, sort=sort, limit_c=limit_c, **fields)


def fired(found: tuple[Finding, ...], rule: str) -> list[Finding]:
    return [finding for finding in found if finding.rule == rule]


def rules_of(of: Facts, work: Sending) -> set[str]:
    return {finding.rule for finding in fit_to_send(of, work)}
