"""Fit to send? What heat, grit and acid would do to a piece, before it goes out.

``facts`` is what is known about a piece, ``sending`` the work it is to go through, ``rules_*`` the
tables with a source in each row, ``check`` asks them. Those are pure. ``reading`` fills facts and
sending from the rows, ``questions`` is what a person is asked.
"""

from parts.gate.check import fit_to_send
from parts.gate.facts import Facts, JointFact, Thing
from parts.gate.findings import Finding, Severity
from parts.gate.sending import Sending

__all__ = ["Facts", "Finding", "JointFact", "Sending", "Severity", "Thing", "fit_to_send"]
