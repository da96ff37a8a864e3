"""What a list of parts shows: the filters of its address, as links that put on and take off."""

from dataclasses import dataclass, replace
from typing import Any
from urllib.parse import urlencode

from django.db import models
from django.http import QueryDict

from garage.models import Car, System
from parts.models import Kind, Piece, Place, Purpose
from parts.models.piece_sets import PieceQuerySet
from parts.statuses import AWAY_FOR_GOOD, Status

PAGE = 30
TO_BE_JUDGED = "judge"
# A list of these shows every piece, whatever it is for; other lists show what is to be fitted.
WHATEVER_FOR = (*AWAY_FOR_GOOD, Status.PATTERN)
KINDS = {"beside": "Patterns and spares", "bare": "Bare steel", "doubted": "Doubted"}


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
            q=query.get("q", "").strip()[:100].strip(),
            system=_whole(query.get("system")),
            where=_one_of(query.get("where"), Status.values),
            next=_one_of(query.get("next"), [*Kind.values, TO_BE_JUDGED]),
            place=_whole(query.get("place")),
            kind=_one_of(query.get("kind"), [*KINDS]),
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
        pieces = self._narrowed(self.without_filters(car))
        if self.where:
            pieces = pieces.filter(status=self.where)
        return pieces.newest_first()

    def without_filters(self, car: Car) -> PieceQuerySet:
        """Everything this kind of list is about, before system, place, step and words narrow it."""
        kept = Piece.objects.of(car).kept()
        if self.kind == "beside":
            return kept.beside()
        if self.kind == "bare":
            return kept.bare()
        if self.kind == "doubted":
            return kept.doubted().to_fit()
        return kept if self.where in WHATEVER_FOR else kept.to_fit()

    def per_status(self, car: Car) -> PieceQuerySet:
        """What the lists of all statuses together would show, the other filters staying on."""
        if self.kind:
            return self._narrowed(self.without_filters(car))
        of_any = models.Q(purpose=Purpose.TO_FIT) | models.Q(status__in=WHATEVER_FOR)
        return self._narrowed(Piece.objects.of(car).kept().filter(of_any))

    def _narrowed(self, pieces: PieceQuerySet) -> PieceQuerySet:
        """``pieces`` under every filter but that of where they are."""
        if self.system:
            pieces = pieces.filter(part__system=self.system)
        if self.next == TO_BE_JUDGED:
            pieces = pieces.to_be_judged()
        elif self.next:
            pieces = pieces.next_is(self.next)
        if self.place:
            place = Place.objects.filter(pk=self.place).first()
            pieces = pieces.in_place(place) if place else pieces.none()
        if self.q:
            pieces = pieces.matching(self.q)
        return pieces

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
            slips.append((KINDS[self.kind], self.url(kind="")))
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
    told = _counts(wanted, car) if counted else {}

    def facet(word: str, name: str, value: Any) -> Facet:
        count = told[name].get(value, 0) if name in told else None
        return Facet(word, wanted.url(**{name: value}), getattr(wanted, name) == value, count)

    return [
        ("System", [facet(s.name, "system", s.pk) for s in car.systems.all()]),
        ("Where it is", [facet(s.label, "where", s.value) for s in Status]),
        (
            "Next step",
            [
                facet("To be judged", "next", TO_BE_JUDGED),
                *(facet(k.label, "next", k.value) for k in Kind),
            ],
        ),
        ("More", [facet(word, "kind", kind) for kind, word in KINDS.items()]),
    ]


def _counts(wanted: PartFilter, car: Car) -> dict[str, dict[Any, int]]:
    """How many rows each value of a filter would show, the other filters staying on."""
    any_step = replace(wanted, next="").apply(car)
    to_be_judged = replace(wanted, next=TO_BE_JUDGED).apply(car)
    return {
        "system": _by("part__system", replace(wanted, system=None).apply(car)),
        "where": _by("status", wanted.per_status(car)),
        "next": _by("next_step__kind", any_step.next_is(*Kind.values))
        | {TO_BE_JUDGED: to_be_judged.count()},
    }


def _by(field: str, pieces: PieceQuerySet) -> dict[Any, int]:
    rows = pieces.order_by().values(field).annotate(total=models.Count("pk"))
    return dict(rows.values_list(field, "total"))


def _whole(text: str | None) -> int | None:
    """A number as an address names it: from 1, and short enough for any database."""
    is_number = text and text.isascii() and text.isdigit() and len(text) < 10
    return int(text) or None if text and is_number else None


def _one_of(text: str | None, words: list[str]) -> str:
    return text if text in words else ""
