"""The finisher's invoice, shared out evenly over the pieces that went."""

from datetime import datetime
from decimal import ROUND_HALF_UP, Decimal

from garage.models import Person
from parts.models import DropOff, Event, Line, Progress, Step

CENT = Decimal("0.01")


def share(*, dropoff: DropOff, by: Person, now: datetime) -> None:
    """Writes each piece's even share of the invoice on its step, once the step is done.

    A step that went out twice carries its share of both invoices. Lots of loose fasteners have no
    step: their share stays with the drop-off.
    """
    if dropoff.invoiced is None:
        return
    for line in dropoff.lines.exclude(step=None).select_related("step__piece__part"):
        step = line.step
        cost = _cost_of(step)
        before = step.cost or Decimal()
        if step.progress != Progress.DONE or cost == before:
            continue
        step.cost = cost
        step.save(update_fields=["cost"])
        Event.objects.write(
            piece=step.piece,
            kind="invoice",
            text=f"Share of the invoice, {str(dropoff).lower()}",
            cost=cost - before,
            by=by,
            at=now,
        )


def _cost_of(step: Step) -> Decimal:
    lines = step.lines.exclude(dropoff__invoiced=None).select_related("dropoff")
    return sum((shares(line.dropoff)[line.pk] for line in lines), Decimal())


def shares(dropoff: DropOff) -> dict[int, Decimal]:
    """{line: its share}: as even as cents allow, and together exactly the invoice."""
    lines: list[Line] = list(dropoff.lines.all())
    pieces = sum(line.count for line in lines)
    shared: dict[int, Decimal] = {}
    given, counted = Decimal(), 0
    for line in lines:
        counted += line.count
        until = (dropoff.invoiced * counted / pieces).quantize(CENT, ROUND_HALF_UP)
        shared[line.pk] = until - given
        given = until
    return shared
