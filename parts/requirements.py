"""What must be on the car before what: said by a person, and never in a circle."""

from collections import defaultdict, deque
from collections.abc import Iterable
from datetime import datetime

from django.db import transaction

from garage.models import Car, Person
from parts.models import Event, Part, Requirement
from parts.search import search_words
from parts.tags import spoken


class RequirementRefused(Exception):
    """The one part cannot be made to wait for the other; says why."""


class Circle(RequirementRefused):
    """The parts would wait for each other. ``tags`` is the ring, its first tag again at the end."""

    def __init__(self, tags: list[str]) -> None:
        self.tags = tags
        ring = " before ".join(tags)
        super().__init__(
            f"That would be a circle: {ring}. Nothing of it could ever go on. "
            "Take one of these off the list first."
        )


def require(*, first: Part, then: Part, by: Person, now: datetime) -> Event | None:
    """The event of saying that ``first`` must go on before ``then``; None if it was said already.

    Raises
    ------
    Circle
        When ``then`` must go on before ``first`` already, straight or by way of other parts.
    RequirementRefused
        When the parts are of two cars.
    """
    if first.car_id != then.car_id:
        raise RequirementRefused(f"{first.tag} belongs to another car.")
    if first.pk == then.pk:
        raise Circle([first.tag, then.tag])
    with transaction.atomic():
        # Two people at once could each close half a circle: they take turns at the car.
        Car.objects.select_for_update().get(pk=first.car_id)
        if Requirement.objects.filter(first=first, then=then).exists():
            return None
        if ring := way(_said(first.car_id), start=then.pk, goal=first.pk):
            tags = Part.objects.in_bulk(ring)
            raise Circle([first.tag, *(tags[pk].tag for pk in ring)])
        row = Requirement.objects.create(first=first, then=then)
        return Event.objects.write(
            part=then,
            kind="must go on after",
            text=str(first),
            changes={f"requirement {row.pk}": [None, first.tag]},
            by=by,
            at=now,
        )


def drop_requirement(*, requirement: Requirement, by: Person, now: datetime) -> None:
    """Takes "must go on before" back, whether or not somebody else just did."""
    with transaction.atomic():
        gone, _ = Requirement.objects.filter(pk=requirement.pk).delete()
        if gone:
            text = f"No longer waits for {requirement.first}"
            Event.objects.write(part=requirement.then, kind="order", text=text, by=by, at=now)


def before(part: Part) -> list[Requirement]:
    """What must be on before the part, with the piece of each."""
    rows = part.goes_on_after.filter(first__thrown_out_at=None).select_related("first")
    return list(rows.prefetch_related("first__pieces").order_by("first__tag"))


def after(part: Part) -> list[Requirement]:
    """What goes on after the part."""
    rows = part.goes_on_before.filter(then__thrown_out_at=None).select_related("then")
    return list(rows.prefetch_related("then__pieces").order_by("then__tag"))


def parts_called(part: Part, text: str) -> list[Part]:
    """The part of the same car with that tag, or else up to twelve that hold every word."""
    here = Part.objects.kept().of(part.car)
    if exact := here.filter(tag=spoken(text)).first():
        return [exact]
    for word in search_words(text):
        here = here.filter(search_text__contains=word)
    return list(here.exclude(pk=part.pk).order_by("name", "pk")[:12])


def way(pairs: Iterable[tuple[int, int]], *, start: int, goal: int) -> list[int]:
    """The shortest way from ``start`` to ``goal`` along the pairs, both ends named; [] if none.

    >>> way([(1, 2), (2, 3), (1, 4)], start=1, goal=3)
    [1, 2, 3]
    """
    onward: dict[int, list[int]] = defaultdict(list)
    for first, then in pairs:
        onward[first].append(then)
    came_from: dict[int, int | None] = {start: None}
    to_visit = deque([start])
    while to_visit:
        here = to_visit.popleft()
        if here == goal:
            return _back_to_start(came_from, goal)
        for there in onward[here]:
            if there not in came_from:
                came_from[there] = here
                to_visit.append(there)
    return []


def _back_to_start(came_from: dict[int, int | None], goal: int) -> list[int]:
    steps: list[int] = []
    here: int | None = goal
    while here is not None:
        steps.append(here)
        here = came_from[here]
    return steps[::-1]


def _said(car_id: int) -> list[tuple[int, int]]:
    """Every requirement of the car. Thrown-out parts count: they can be brought back."""
    return list(Requirement.objects.filter(first__car=car_id).values_list("first_id", "then_id"))
