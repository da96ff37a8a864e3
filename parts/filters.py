"""What a list of parts shows: the filters of its address, as links that put on and take off."""

from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from django.db import models
from django.http import QueryDict

from garage.models import Car, System
from parts.models import Kind, Piece, Place
from parts.models.piece import PieceQuerySet
from parts.statuses import AWAY_FOR_GOOD, Status

PAGE = 30
TO_BE_JUDGED = "judge"


@dataclass(frozen=True, slots=True)
class PartFilter:
    """The filters of one list. Every value that the address cannot mean is simply not there."""

    q: str = ""
    system: int | None = None
    where: str = ""
    next: str = ""
    place: int | None = None
    kind: str = ""
    page: int = 1

    @classmethod
    def read(cls, query: QueryDict) -> "PartFilter":
        return cls(
            q=query.get("q", "").strip()[:100],
            system=_whole(query.get("system")),
            where=_one_of(query.get("where"), Status.values),
            next=_one_of(query.get("next"), [*Kind.values, TO_BE_JUDGED]),
            place=_whole(query.get("place")),
            kind=_one_of(query.get("kind"), ["beside", "bare"]),
            page=min(_whole(query.get("page")) or 1, 10_000),
        )

    def url(self, **changes: Any) -> str:
        """The query of the same list with some filters changed, on its first page."""
        changed = (
            replace(self, page=1, **changes) if "page" not in changes else replace(self, **changes)
        )
        pairs = {
            name: getattr(changed, name)
            for name in self.__slots__
            if getattr(changed, name) and not (name == "page" and changed.page == 1)
        }
        return f"?{urlencode(pairs)}"

    def apply(self, car: Car) -> PieceQuerySet:
        """The pieces of ``car`` under these filters, newest first."""
        pieces = Piece.objects.of(car).kept()
        if self.kind == "beside":
            pieces = pieces.beside()
        elif self.kind == "bare":
            pieces = pieces.bare()
        elif self.where not in (*AWAY_FOR_GOOD, Status.PATTERN):
            pieces = pieces.to_fit()
        if self.system:
            pieces = pieces.filter(part__system=self.system)
        if self.where:
            pieces = pieces.filter(status=self.where)
        if self.next == TO_BE_JUDGED:
            pieces = pieces.to_be_judged()
        elif self.next:
            pieces = pieces.next_is(self.next)
        if self.place and (place := Place.objects.filter(pk=self.place).first()):
            pieces = pieces.in_place(place)
        if self.q:
            pieces = pieces.matching(self.q)
        return pieces.newest_first()

    def rows(self, car: Car) -> tuple[list[Piece], bool]:
        """The rows of this page, and whether there are more behind it.

        One row too many is asked for instead of a count, so that a list of ten thousand parts
        costs what a list of fifty costs.
        """
        first = (self.page - 1) * PAGE
        found = list(self.apply(car).for_rows()[first : first + PAGE + 1])
        return found[:PAGE], len(found) > PAGE

    def slips(self, car: Car) -> list[tuple[str, str]]:
        """What is on, each with the address of the list without it."""
        slips = []
        if self.q:
            slips.append((f"“{self.q}”", self.url(q="")))
        if self.system:
            system = System.objects.filter(pk=self.system, car=car).first()
            slips.append((system.name if system else "a system", self.url(system=None)))
        if self.where:
            slips.append((Status(self.where).label, self.url(where="")))
        if self.next:
            word = (
                "To be judged"
                if self.next == TO_BE_JUDGED
                else f"Next: {Kind(self.next).label.lower()}"
            )
            slips.append((word, self.url(next="")))
        if self.place:
            place = Place.objects.filter(pk=self.place).first()
            slips.append((str(place) if place else "a place", self.url(place=None)))
        if self.kind:
            word = "Patterns and spares" if self.kind == "beside" else "Bare steel"
            slips.append((word, self.url(kind="")))
        return slips


@dataclass(frozen=True, slots=True)
class Facet:
    """One link of the filter list."""

    word: str
    url: str
    is_on: bool
    count: int | None = None


def facets(wanted: PartFilter, car: Car, *, counted: bool) -> list[tuple[str, list[Facet]]]:
    """The filter list by heading; with counts when asked, without when the page must be quick."""
    per_system = _counts(wanted, car, "part__system", "system") if counted else {}
    per_status = _counts(wanted, car, "status", "where") if counted else {}
    per_step = _counts(wanted, car, "next_step__kind", "next") if counted else {}
    judged = replace(wanted, next=TO_BE_JUDGED, page=1).apply(car).count() if counted else None
    return [
        (
            "System",
            [
                Facet(
                    s.name,
                    wanted.url(system=s.pk),
                    wanted.system == s.pk,
                    per_system.get(s.pk, 0) if counted else None,
                )
                for s in car.systems.all()
            ],
        ),
        (
            "Where it is",
            [
                Facet(
                    s.label,
                    wanted.url(where=s.value),
                    wanted.where == s.value,
                    per_status.get(s.value, 0) if counted else None,
                )
                for s in Status
            ],
        ),
        (
            "Next step",
            [
                Facet(
                    "To be judged",
                    wanted.url(next=TO_BE_JUDGED),
                    wanted.next == TO_BE_JUDGED,
                    judged,
                ),
                *(
                    Facet(
                        k.label,
                        wanted.url(next=k.value),
                        wanted.next == k.value,
                        per_step.get(k.value, 0) if counted else None,
                    )
                    for k in Kind
                ),
            ],
        ),
        (
            "More",
            [
                Facet("Patterns and spares", wanted.url(kind="beside"), wanted.kind == "beside"),
                Facet("Bare steel", wanted.url(kind="bare"), wanted.kind == "bare"),
            ],
        ),
    ]


def _counts(wanted: PartFilter, car: Car, by: str, own: str) -> dict[Any, int]:
    """How many rows each value of one filter would leave, the other filters staying on."""
    others = replace(wanted, **{own: None if own == "system" else ""})
    rows = (
        others.apply(car)
        .order_by()
        .values(by)
        .annotate(total=models.Count("pk"))
        .values_list(by, "total")
    )
    return dict(rows)


def _whole(text: str | None) -> int | None:
    return int(text) if text and text.isascii() and text.isdigit() and len(text) < 10 else None


def _one_of(text: str | None, words: list[str]) -> str:
    return text if text in words else ""
