"""Fit to send? The rules asked one after the other. Pure: no rows, no clock."""

from parts.gate.facts import Facts
from parts.gate.findings import Finding, worst_first
from parts.gate.rules import RULES
from parts.gate.sending import Sending


def fit_to_send(facts: Facts, sending: Sending) -> tuple[Finding, ...]:
    """Every rule that fires for this piece in this work, the worst first; empty when none does.

    Nothing here forbids anything: a stop is for the owner to overrule, in writing.
    """
    found = [
        Finding(
            rule=rule.id,
            severity=rule.severity,
            says=rule.says,
            source=rule.source,
            because=fires.because,
            assumed=fires.assumed,
            is_ours=rule.is_ours,
        )
        for rule in RULES
        if (fires := rule.when(facts, sending))
    ]
    return worst_first(found)
