"""Shelves, boxes and bags: making them, moving them, putting things in them."""

from collections.abc import Iterable
from datetime import datetime
from uuid import UUID, uuid4

from django.db import transaction

from garage.models import Person
from parts.models import Event, Piece, Place
from parts.statuses import IN_THE_GARAGE

NAME_LETTERS, PATH_LETTERS = 40, 200  # as the table of places keeps them


class PlaceRefused(Exception):
    """The place cannot be made or moved like that; says why."""


def find_or_make(path: str) -> Place:
    """The place of a path as typed ("Shelf A / Box 3"), made with its parents where new.

    Raises
    ------
    PlaceRefused
        When there is no name in it, or a place of it would be too long; nothing is made then.
    """
    within: Place | None = None
    with transaction.atomic():
        for name in filter(None, (part.strip() for part in path.split("/"))):
            place = Place.objects.filter(within=within, name__iexact=name).first()
            within = place or _made(name, within)
    if within is None:
        raise PlaceRefused("Give the place a name.")
    return within


def _made(name: str, within: Place | None) -> Place:
    first = name.split(maxsplit=1)[0].casefold()
    kind = first if first in Place.Kind.values else Place.Kind.OTHER
    place = Place(name=name, kind=kind, within=within)
    place.name_path()
    _refuse_too_long(place)
    place.save()
    return place


def _refuse_too_long(place: Place) -> None:
    if len(place.name) > NAME_LETTERS:
        raise PlaceRefused(f"The name of a place has at most {NAME_LETTERS} letters.")
    if len(place.path) > PATH_LETTERS:
        raise PlaceRefused(
            f"That is too many boxes in boxes: the way to it is over {PATH_LETTERS} letters."
        )


def rename(*, place: Place, name: str, within: Place | None) -> Place:
    """The place under its new name or in its new parent, with everything in it.

    Raises
    ------
    PlaceRefused
        When it would stand in itself or beside a place of the same name, or the way to it or to
        something in it would be too long.
    """
    if "/" in name:
        raise PlaceRefused("A name has no / in it: that stands between a shelf and its box.")
    with transaction.atomic():
        place = Place.objects.select_for_update().get(pk=place.pk)
        inside = list(Place.objects.inside(place).order_by("path"))
        if within in inside:
            raise PlaceRefused(f"{place.name} cannot stand in itself.")
        place.name, place.within = name, within
        place.name_path()
        if Place.objects.filter(path__iexact=place.path).exclude(pk=place.pk).exists():
            raise PlaceRefused(f"There is a {place.path} already.")
        _refuse_too_long(place)
        place.save()
        renamed: dict[int | None, Place] = {place.pk: place}
        for below in inside:
            if below.pk != place.pk:
                below.within = renamed[below.within_id]
                below.name_path()
                _refuse_too_long(below)
                below.save()
                renamed[below.pk] = below
    return place


def put(*, pieces: Iterable[Piece], place: Place | None, by: Person, now: datetime) -> UUID:
    """The batch under which the pieces were put in ``place``: one undo takes all of them back.

    What is joined into a piece goes with it.

    Raises
    ------
    PlaceRefused
        When one of them is not in the garage, or goes where another one goes. Nothing is moved.
    """
    batch = uuid4()
    with transaction.atomic():
        chosen = _with_what_is_joined({piece.pk for piece in pieces})
        for piece in chosen:
            _refuse_unless_here(piece, {one.pk for one in chosen})
            if changed := piece.change({"place": place}):
                Event.objects.write(
                    piece=piece,
                    kind="put away",
                    text=str(place) if place else "Nowhere",
                    changes=changed,
                    by=by,
                    at=now,
                    batch=batch,
                )
    return batch


def _with_what_is_joined(numbers: set[int]) -> list[Piece]:
    """The pieces and all that travels with them, locked."""
    rows = Piece.objects.select_for_update(of=("self",)).select_related("part", "place")
    found = list(rows.filter(pk__in=numbers))
    while further := set(
        Piece.objects.filter(joined_into__in=numbers).values_list("pk", flat=True)
    ) - {piece.pk for piece in found}:
        found += rows.filter(pk__in=further)
        numbers = further
    return found


def _refuse_unless_here(piece: Piece, chosen: set[int]) -> None:
    if piece.state not in IN_THE_GARAGE:
        raise PlaceRefused(f"{piece.tag} cannot be put away. {piece.whereabouts}.")
    if piece.joined_into_id and piece.joined_into_id not in chosen:
        raise PlaceRefused(
            f"{piece.tag} travels with {piece.joined_into.tag}: put that away, or take them apart."
        )
