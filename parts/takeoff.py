"""Taking a part off: from the car to a tag, a place and a photo."""

from collections.abc import Sequence
from datetime import datetime
from decimal import Decimal
from uuid import UUID

from django.db import transaction
from django.db.models import F

from garage.models import Car, Person, Photo, System
from parts.models import Event, Moment, Part, PartPhoto, Piece, Place, Purpose
from parts.splitting import next_letter
from parts.statuses import Move, Status
from parts.tags import give_tag


class FormUsedAlready(Exception):
    """The same form was saved before with something else in it."""

    def __init__(self, saved: Part | Piece) -> None:
        super().__init__(f"This form was saved as {saved} already.")


def log_part(
    *,
    key: UUID,
    car: Car,
    system: System,
    name: str,
    by: Person,
    now: datetime,
    still_on_car: bool = False,
    place: Place | None = None,
    photos: Sequence[Photo] = (),
    quantity: int = 1,
    piece_fields: dict[str, object] | None = None,
    **part_fields: object,
) -> Part:
    """The part under its new tag, taken off (or still on the car), with its photos.

    Sent twice with the same ``key`` it is one part.

    Raises
    ------
    FormUsedAlready
        When ``key`` belongs to a part with something else written down: somebody went back to a
        saved form.
    """
    piece_fields = {"quantity": quantity, **(piece_fields or {})}
    with transaction.atomic():
        if again := Part.objects.filter(key=key).first():
            said = {"car": car, "system": system, "name": name, **part_fields}
            if not (_holds(again, said) and _holds(again.pieces.get(letter=""), piece_fields)):
                raise FormUsedAlready(again)
            return again
        part = Part(
            key=key,
            car=car,
            system=system,
            tag=give_tag(),
            name=name,
            created_at=now,
            created_by=by,
            **part_fields,
        )
        part.fold_search_text()
        part.save()
        piece = Piece.objects.create(part=part, **piece_fields)
        if still_on_car:
            Event.objects.write(
                piece=piece, kind="listed", text=name, after=Status.ON_CAR, by=by, at=now
            )
        else:
            take_off(piece=piece, place=place, by=by, now=now)
            part.refresh_from_db(fields=["removal_order"])
        moment = Moment.IN_PLACE if still_on_car else Moment.OFF
        for photo in photos:
            add_photo(piece=piece, photo=photo, moment=moment, by=by, now=now)
    return part


def _holds(row: Part | Piece, fields: dict[str, object]) -> bool:
    return all(getattr(row, name) == value for name, value in fields.items())


def take_off(
    *, piece: Piece, place: Place | None, by: Person, now: datetime, note: str = ""
) -> Event:
    """Takes a piece off the car and puts it away; the first time it also gets its turn."""
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=piece.part_id)
        if part.removal_order is None:
            Car.objects.filter(pk=part.car_id).update(parts_taken_off=F("parts_taken_off") + 1)
            part.removal_order = Car.objects.get(pk=part.car_id).parts_taken_off
            part.save(update_fields=["removal_order"])
        event = piece.move(Move.TAKE_OFF, by=by, now=now, note=note, place=place)
    return event


def add_photo(
    *, piece: Piece, photo: Photo, moment: str, by: Person, now: datetime, caption: str = ""
) -> PartPhoto:
    """The photo, now belonging to the part; the newest one stands for the piece in lists."""
    with transaction.atomic():
        shot, made = PartPhoto.objects.get_or_create(
            photo=photo,
            defaults={
                "part": piece.part,
                "piece": piece,
                "moment": moment,
                "caption": caption,
                "at": now,
            },
        )
        if made:
            Photo.objects.filter(pk=photo.pk).update(in_use=True)
            if moment != Moment.IN_PLACE or piece.cover_id is None:
                piece.cover = photo
                piece.save(update_fields=["cover"])
            Event.objects.write(
                piece=piece, kind="photo", text=shot.get_moment_display(), by=by, at=now
            )
    return shot


def add_piece(
    *,
    part: Part,
    purpose: str,
    by: Person,
    now: datetime,
    key: UUID | None = None,
    cost: Decimal | None = None,
    **fields: object,
) -> Piece:
    """A further piece of a part: the new pipe beside the old one, a spare, a bought one.

    When it is the one to be fitted, the piece that was to be fitted becomes the pattern. Sent
    twice with the same ``key`` it is one piece.

    Raises
    ------
    FormUsedAlready
        When ``key`` belongs to a piece with something else written down.
    parts.splitting.SplitRefused
        When the letters are used up.
    """
    said = Purpose(purpose).label
    with transaction.atomic():
        pieces = list(part.pieces.select_for_update())
        if key and (event := Event.objects.filter(key=key).first()):
            same = (event.part_id, event.text, event.cost) == (part.pk, said, cost)
            if not (event.piece and same and _holds(event.piece, fields)):
                raise FormUsedAlready(event.piece or event.part)
            return event.piece
        letter = next_letter(part)
        for old in pieces:
            if old.is_to_fit and purpose == Purpose.TO_FIT:
                old.change({"purpose": Purpose.PATTERN})
        piece = Piece.objects.create(
            part=part, letter=letter, purpose=purpose, status=Status.OFF, off_at=now, **fields
        )
        Event.objects.write(
            key=key,
            piece=piece,
            kind="piece added",
            text=said,
            after=Status.OFF,
            cost=cost,
            by=by,
            at=now,
        )
    return piece


def describe_photo(
    *, shot: PartPhoto, moment: str, caption: str, by: Person, now: datetime
) -> None:
    """Sets the moment and the caption of a photo."""
    if (shot.moment, shot.caption) == (moment, caption):
        return
    with transaction.atomic():
        shot.moment, shot.caption = moment, caption
        shot.save(update_fields=["moment", "caption"])
        said = ": ".join(filter(None, [shot.get_moment_display(), caption]))
        Event.objects.write(part=shot.part, kind="photo described", text=said, by=by, at=now)


def throw_out_photo(*, shot: PartPhoto, by: Person, now: datetime) -> None:
    """Takes a photo off the part's page. Its file is kept with the record, for it is proof."""
    with transaction.atomic():
        shot.thrown_out_at = now
        shot.save(update_fields=["thrown_out_at"])
        for piece in Piece.objects.filter(cover=shot.photo_id):
            newest = shot.part.photos.kept().filter(piece=piece).order_by("-at").first()
            piece.cover = newest.photo if newest else None
            piece.save(update_fields=["cover"])
        Event.objects.write(part=shot.part, kind="photo thrown out", text=str(shot), by=by, at=now)
