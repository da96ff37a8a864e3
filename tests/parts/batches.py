"""Drop-offs to test with: judged pieces, batches being built, out, and counts of their lines."""

from datetime import date, timedelta
from typing import Any
from uuid import uuid4

from garage.models import Car, Person
from parts import countback, dropoff, plan
from parts.models import Count, DropOff, Finisher, Hole, Line, Piece, StackItem
from tests import factories
from tests.factories import NOW

OUT_ON, DUE_ON = NOW.date(), date(2026, 12, 11)
COUNT_URL = "http://splitpin.test/count/1/"


def make_waiting(
    *,
    car: Car,
    by: Person,
    name: str = "Radiator bracket",
    work: str = "blast,powder",
    route: str = "send_out",
    **fields: Any,
) -> Piece:
    """A piece in a box whose plan says: send out, prepare, refit."""
    fields.setdefault("place", factories.make_place("Shelf A / Box 1"))
    piece = factories.make_piece(car=car, by=by, name=name, **fields)
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE[route], work=work, by=by, now=NOW)
    piece.refresh_from_db()
    return piece


def make_building(
    *, car: Car, by: Person, pieces: list[Piece], finisher: Finisher | None = None, **terms: Any
) -> DropOff:
    finisher = finisher or Finisher.objects.first() or factories.make_finisher()
    return dropoff.start(
        key=uuid4(), car=car, finisher=finisher, pieces=pieces, by=by, now=NOW, **terms
    )


def send(one: DropOff, *, by: Person, now: Any = NOW) -> DropOff:
    return dropoff.hand_over(
        dropoff=one, on=OUT_ON, due_on=DUE_ON, count_url=COUNT_URL, by=by, now=now
    )


def make_out(*, car: Car, by: Person, pieces: list[Piece], **terms: Any) -> DropOff:
    return send(make_building(car=car, by=by, pieces=pieces, **terms), by=by)


def tally(line: Line, **numbers: Any) -> countback.Tally:
    return countback.Tally(line=line, key=numbers.pop("key", None) or uuid4(), **numbers)


def count_line(
    line: Line, *, by: Person, place: Any = None, days: int = 5, **numbers: Any
) -> list[Count]:
    return countback.count(
        dropoff=line.dropoff,
        tallies=[tally(line, **numbers)],
        place=place,
        by=by,
        now=NOW + timedelta(days=days),
    )


def bolt(piece: Piece, *, number: int = 1, count: int = 4, nut: bool = False, **item: Any) -> Hole:
    """A hole of the piece's part with a bolt in it, and a nut when asked."""
    hole = Hole.objects.create(key=uuid4(), part=piece.part, number=number, count=count)
    item.setdefault("thread", "M8")
    StackItem.objects.create(hole=hole, position=1, what="bolt", **item)
    if nut:
        StackItem.objects.create(hole=hole, position=2, what="nut", thread=item["thread"])
    return hole


def change(line: Line, *, by: Person, masks: Any = None, **wanted: Any) -> Line:
    changes = {name: (getattr(line, name), value) for name, value in wanted.items()}
    return dropoff.change_line(line=line, changes=changes, masks=masks, by=by, now=NOW)
