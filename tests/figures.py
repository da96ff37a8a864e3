"""Figures that tests measure, kept for ``manage.py release_check`` to print.

A test tells its figure whether it passes or not; where the machine cannot measure it, that is
told too, and counts as failed in the release check.
"""

import json
import os
from pathlib import Path

import pytest

KEPT_IN = "SPLITPIN_FIGURES"


def tell(figure: str, what: str, value: float, *, target: str, holds: bool) -> None:
    """Keeps a figure: what was measured, how much it is, what it should be, whether it is that."""
    _keep(figure=figure, what=what, value=value, target=target, holds=holds)


def not_measured(figure: str, what: str, because: str) -> None:
    """Keeps that this machine cannot measure a figure, and ends the test there as not run."""
    _keep(figure=figure, what=what, value=None, target=because, holds=False)
    pytest.skip(f"not measured: {because}")


def _keep(**figure: object) -> None:
    if kept_in := os.environ.get(KEPT_IN):
        with Path(kept_in).open("a", encoding="utf-8") as file:
            file.write(json.dumps(figure) + "\n")
