"""The demo garage as it grows: who works, on which car, on which day what was done."""

from dataclasses import dataclass, field
from datetime import datetime, timedelta

from garage.demo import wayfarer
from garage.demo.wayfarer import Row
from garage.models import Car, Person, Photo
from parts import plan, takeoff
from parts.models import Piece

WEEKS = 38
CAME_BACK = ("prepare", "ready", "loose", "tight", "redo")


@dataclass(slots=True)
class Demo:
    """The garage as it grows: who works, on which car, which part is which."""

    now: datetime
    car: Car
    wren: Person
    ade: Person
    pieces: dict[str, Piece] = field(default_factory=dict)
    photos: dict[tuple[str, str], Photo] = field(default_factory=dict)

    def ago(self, *, days: float) -> datetime:
        return self.now - timedelta(days=days)

    def piece(self, name: str) -> Piece:
        """The piece to be fitted of the part of that name, fresh."""
        return Piece.objects.get(part__car=self.car, part__name=name, purpose="to_fit")

    def named(self, *fates: str) -> list[Row]:
        return [row for row in wayfarer.PARTS if row.fate in fates]


def off_at(demo: Demo, turn: int) -> datetime:
    """An evening between the first week and a month ago, in the order of the table."""
    share = turn / len(wayfarer.PARTS)
    return demo.ago(days=WEEKS * 7 - share * (WEEKS * 7 - 40)).replace(hour=19, minute=turn % 60)


def show(demo: Demo, row: Row, moment: str, at: datetime, caption: str = "") -> None:
    if photo := demo.photos.get((row.name, moment)):
        takeoff.add_photo(
            piece=demo.piece(row.name),
            photo=photo,
            moment=moment,
            caption=caption,
            by=demo.wren,
            now=at,
        )


def decide(demo: Demo, row: Row, route: str, work: str, at: datetime) -> Piece:
    plan.judge(
        piece=demo.piece(row.name),
        route=plan.ROUTE_BY_CODE[route],
        work=row.more.get("work", work),
        what=row.more.get("what", ""),
        why=row.more.get("note", ""),
        by=demo.wren,
        now=at,
    )
    return demo.piece(row.name)
