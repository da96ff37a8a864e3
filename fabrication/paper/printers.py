"""Printers: each measured by the bars it printed, and whose usual one it is."""

from datetime import datetime
from uuid import UUID

from django.db import transaction

from fabrication.models import Printer, UsualPrinter
from fabrication.models.printer import BAR_MM
from garage.models import Person

MOST_OFF_MM = 3.0  # of 100; a printer further off is not set to 100 %, and no factor mends that


class OtherPrinterUnderThisKey(Exception):
    """Another printer was saved from the same form before."""

    def __init__(self, printer: Printer) -> None:
        super().__init__(
            f"{printer} is saved already, from this same form. Save again to add this one."
        )


@transaction.atomic
def add_printer(
    *, key: UUID, name: str, bar_x_mm: float, bar_y_mm: float, by: Person, now: datetime
) -> Printer:
    """The new printer, or the one that this form saved before.

    It becomes the usual one of a person who has none.
    """
    wanted = {"name": name, **_factors(bar_x_mm, bar_y_mm)}
    printer, is_new = Printer.objects.get_or_create(
        key=key, defaults=wanted | {"measured_at": now, "measured_by": by}
    )
    if any(getattr(printer, field) != value for field, value in wanted.items()):
        raise OtherPrinterUnderThisKey(printer)
    if is_new:
        UsualPrinter.objects.get_or_create(person=by, defaults={"printer": printer})
    return printer


@transaction.atomic
def measure(
    *,
    printer: Printer,
    name: str,
    bar_x_mm: float,
    bar_y_mm: float,
    by: Person,
    now: datetime,
) -> Printer:
    """The printer with what its bars measure now."""
    found = Printer.objects.select_for_update(of=("self",)).get(pk=printer.pk)
    changed = {"name": name, **_factors(bar_x_mm, bar_y_mm), "measured_at": now, "measured_by": by}
    for field, value in changed.items():
        setattr(found, field, value)
    found.save(update_fields=list(changed))
    return found


@transaction.atomic
def choose(*, printer: Printer | None, by: Person) -> None:
    """Makes a printer the usual one of a person; None is none of them."""
    if printer is None:
        UsualPrinter.objects.filter(person=by).delete()
    else:
        UsualPrinter.objects.update_or_create(person=by, defaults={"printer": printer})


def _factors(bar_x_mm: float, bar_y_mm: float) -> dict[str, float]:
    return {"factor_x": BAR_MM / bar_x_mm, "factor_y": BAR_MM / bar_y_mm}
