"""What held a part, hole by hole."""

from collections.abc import Iterable, Iterator, Sequence
from dataclasses import dataclass
from datetime import datetime
from hashlib import sha256
from typing import Any
from uuid import UUID

from django.db import transaction
from django.urls import reverse
from django.utils.safestring import SafeString

from garage import units
from garage.models import Person
from parts import threads
from parts.models import Event, Hole, Part, StackItem
from parts.stack_drawing import draw
from parts.stack_pile import pile
from parts.stack_words import length_words, write_stack

ITEM_FIELDS = (
    "what", "thread", "length_mm", "length_typed",
    "head", "property_class", "material", "treatment",
)  # fmt: skip
HOLE_FIELDS = (
    "number", "count", "where", "photo_id", "x", "y",
    "torque_nm", "torque_typed", "torque_source", "note",
)  # fmt: skip


class SavedAlready(Exception):
    """The same form was saved before with something else in it."""


class HoleRefused(Exception):
    """The hole cannot be saved or taken out like this; says why."""


class ChangedMeanwhile(Exception):
    """Somebody else saved the hole since it was read; ``hole`` is how it stands now."""

    def __init__(self, hole: Hole) -> None:
        self.hole = hole
        super().__init__(f"Somebody else changed it meanwhile. It now reads: {hole_words(hole)}.")


# ---- holes


def save_hole(
    *,
    part: Part,
    key: UUID,
    fields: dict[str, Any],
    stack: Sequence[StackItem],
    by: Person,
    now: datetime,
    hole: Hole | None = None,
    seen: str = "",
) -> Hole:
    """The hole with its stack, new or changed. Sent twice with the same ``key`` it is one hole.

    ``fields`` are those of ``HOLE_FIELDS`` to set; ``seen`` is the ``mark_of`` the hole that was
    changed.

    Raises
    ------
    SavedAlready
        When ``key`` belongs to a hole with other content.
    HoleRefused
        When the part has another hole of that number.
    ChangedMeanwhile
        When the hole is not as it was ``seen``.
    """
    with transaction.atomic():
        Part.objects.select_for_update().get(pk=part.pk)
        if hole is None and (again := Hole.objects.filter(key=key).first()):
            return _same_hole(again, fields, stack)
        if hole is not None:
            hole = Hole.objects.with_stacks().get(pk=hole.pk)
            if mark_of(hole) != seen:
                raise ChangedMeanwhile(hole)
        others = Hole.objects.filter(part=part).exclude(pk=hole.pk if hole else 0)
        if others.filter(number=fields["number"]).exists():
            raise HoleRefused(
                f"Hole {fields['number']} is written down already. {next_number(part)} is free."
            )
        hole = _write(hole or Hole(part=part, key=key), fields, stack)
        Event.objects.write(part=part, kind="fasteners", text=hole_words(hole), by=by, at=now)
    return hole


def _same_hole(again: Hole, fields: dict[str, Any], stack: Sequence[StackItem]) -> Hole:
    wanted = {
        name: fields.get(name, Hole._meta.get_field(name).get_default()) for name in HOLE_FIELDS
    }
    if _content(again, again.stack.all()) != _content(Hole(**wanted), stack):
        raise SavedAlready(
            f"This form was saved as hole {again.number} already. Save once more for another."
        )
    return again


def _write(hole: Hole, fields: dict[str, Any], stack: Sequence[StackItem]) -> Hole:
    for name, value in fields.items():
        setattr(hole, name, value)
    hole.save()
    hole.stack.all().delete()
    for position, item in enumerate(stack, start=1):
        item.pk, item.hole, item.position = None, hole, position
    StackItem.objects.bulk_create(stack)
    return Hole.objects.with_stacks().get(pk=hole.pk)


def copy_hole(
    *, hole: Hole, key: UUID, by: Person, now: datetime, number: int | None = None
) -> Hole:
    """A further hole of the same part with the same stack and torque, at no place yet.

    Raises
    ------
    SavedAlready, HoleRefused
        As ``save_hole``.
    """
    fields = {name: getattr(hole, name) for name in HOLE_FIELDS}
    fields |= {
        "number": number or next_number(hole.part),
        "where": "",
        "photo_id": None,
        "x": None,
        "y": None,
    }
    return save_hole(
        part=hole.part, key=key, fields=fields, stack=copied(hole.stack.all()), by=by, now=now
    )


def copied(stack: Iterable[StackItem]) -> list[StackItem]:
    """The same things, not saved, belonging to no hole."""
    return [StackItem(**{name: getattr(item, name) for name in ITEM_FIELDS}) for item in stack]


def take_out_hole(*, hole: Hole, by: Person, now: datetime) -> None:
    """No such hole any more. What was in it stands in the history.

    Raises
    ------
    HoleRefused
        When somebody has written down the torque used on it: that is a record.
    """
    with transaction.atomic():
        if hole.used.exists():
            raise HoleRefused(f"Hole {hole.number} has been tightened and written down. It stays.")
        text = f"Taken out: {hole_words(hole)}"
        Event.objects.write(part=hole.part, kind="fasteners", text=text, by=by, at=now)
        hole.delete()


def next_number(part: Part) -> int:
    """The lowest number no hole of the part has."""
    taken = set(Hole.objects.filter(part=part).values_list("number", flat=True))
    return next(number for number in range(1, len(taken) + 2) if number not in taken)


def address(part: Part) -> str:
    """Where the holes of a part are shown."""
    return reverse("holes", args=[part.tag])


def next_address(part: Part) -> str:
    """Where the next hole of a part is written down."""
    return reverse("hole_new", args=[part.tag])


def hole_words(hole: Hole) -> str:
    """ "Hole 1, 4 alike: M8 x 25 mm bolt 8.8, plain washer, nut; 18 N m"."""
    alike = f", {hole.count} alike" if hole.count > 1 else ""
    where = f", {hole.where}" if hole.where else ""
    torque = f"; {hole.torque_typed}" if hole.torque_typed else ""
    stack = write_stack(hole.stack.all()) or "nothing in it"
    return f"Hole {hole.number}{alike}{where}: {stack}{torque}"


def mark_of(hole: Hole) -> str:
    """A short mark of everything written down about a hole: the same only if nothing changed."""
    return sha256(repr(_content(hole, hole.stack.all())).encode()).hexdigest()[:16]


def _content(hole: Hole, stack: Iterable[StackItem]) -> list[Any]:
    own = [getattr(hole, name) for name in HOLE_FIELDS]
    return [own, *[[getattr(item, name) for name in ITEM_FIELDS] for item in stack]]


# ---- holes as a page shows them


@dataclass(frozen=True, slots=True)
class ShownItem:
    """A line of the table: the thing, its size in words, the rest."""

    item: StackItem
    size: str


@dataclass(frozen=True, slots=True)
class ShownHole:
    """A hole with its drawing. ``says`` is what the drawing assumes."""

    hole: Hole
    lines: tuple[ShownItem, ...]
    drawing: SafeString | None
    says: tuple[str, ...]

    @property
    def torque_is_converted(self) -> bool:
        """Whether the torque was typed in another unit than newton metres."""
        return not self.hole.torque_typed.lower().replace(" ", "").replace("·", "").endswith("nm")


@dataclass(frozen=True, slots=True)
class Holes:
    """The holes of a part in order, with what is to be said about all of them."""

    rows: tuple[ShownHole, ...]
    cautions: tuple[str, ...]
    unknown_threads: tuple[str, ...]

    def __iter__(self) -> Iterator[ShownHole]:
        return iter(self.rows)

    def __len__(self) -> int:
        return len(self.rows)

    @property
    def has_torque(self) -> bool:
        return any(row.hole.torque_nm for row in self.rows)


def holes_for(part: Part, *, person: Person | None = None) -> Holes:
    """The holes of one part, in two queries."""
    return holes_of([part], person=person)[part.pk]


def holes_of(parts: Iterable[Part], *, person: Person | None = None) -> dict[int, Holes]:
    """The holes of each part by its pk, in two queries however many parts."""
    mark: units.Mark = person.decimal_mark if person else "."
    found: dict[int, list[Hole]] = {part.pk: [] for part in parts}
    for hole in Hole.objects.filter(part__in=list(found)).with_stacks():
        found[hole.part_id].append(hole)
    return {pk: shown_holes(holes, mark) for pk, holes in found.items()}


def shown_holes(holes: Iterable[Hole], mark: units.Mark) -> Holes:
    """Holes of one part, read with their stacks, as a page shows them."""
    holes = list(holes)
    written = [item.thread for hole in holes for item in hole.stack.all() if item.thread]
    known = [thread for text in written if (thread := threads.find(text))]
    return Holes(
        rows=tuple(shown_hole(hole, mark) for hole in holes),
        cautions=threads.mixed_up(known),
        unknown_threads=tuple(
            dict.fromkeys(text for text in written if threads.find(text) is None)
        ),
    )


def shown_hole(hole: Hole, mark: units.Mark) -> ShownHole:
    """One hole, read with its stack, and its drawing."""
    items = list(hole.stack.all())
    sizes = [size_words(item, mark) for item in items]
    return ShownHole(
        hole=hole,
        lines=tuple(ShownItem(item, size) for item, size in zip(items, sizes, strict=True)),
        drawing=draw(items, title=f"Hole {hole.number}", sizes=sizes) if items else None,
        says=pile(items).says if items else (),
    )


def size_words(item: StackItem, mark: units.Mark = ".") -> str:
    """ "M8 × 25 mm", "0.5 mm", or nothing."""
    return " × ".join(filter(None, [item.thread, length_words(item, decimal_mark=mark)]))
