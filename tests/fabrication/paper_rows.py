"""Printers to test with."""

from typing import Any
from uuid import uuid4

from fabrication.models import Printer
from fabrication.paper.printers import add_printer
from garage.models import Person
from tests.factories import NOW


def make_printer(*, by: Person, **fields: Any) -> Printer:
    usual = {"name": "The one in the office", "bar_x_mm": 99.5, "bar_y_mm": 100.0}
    return add_printer(key=uuid4(), **usual | fields, by=by, now=NOW)
