"""Two people, one part: a save names the fields it changes, and no text is lost."""

from dataclasses import dataclass
from datetime import datetime
from typing import Any

from django.db import models, transaction

from garage.models import Person
from parts.models import Draft, Event, Part, Piece

PART_NAMES = {field.name for field in Part._meta.fields}


@dataclass(frozen=True, slots=True)
class Change:
    """One field as the person saw it (``base``) and as they want it (``mine``)."""

    name: str
    label: str
    base: Any
    mine: Any


class Clash(Exception):
    """Somebody else saved the same field meanwhile. ``draft`` keeps what was refused."""

    def __init__(self, draft: Draft) -> None:
        self.draft = draft
        super().__init__("Somebody else changed the same line meanwhile.")


def save(
    *, piece: Piece, changes: list[Change], base_version: int, by: Person, now: datetime
) -> bool:
    """Whether other changes had been saved meanwhile, after saving just the fields that changed.

    Raises
    ------
    Clash
        When one of the fields was changed by somebody else since ``base_version``. Nothing is
        saved then, and the whole refused text stands in the clash's draft.
    """
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=piece.part_id)
        piece = Piece.objects.select_for_update().get(pk=piece.pk)
        stale = part.version != base_version
        if not (stale and _touched(part, piece, changes)):
            if changes:
                _write(part, piece, changes, by, now)
            return stale
    draft = Draft.objects.create(
        part=piece.part,
        piece=piece,
        by=by,
        at=now,
        base_version=base_version,
        fields={
            change.name: {
                "label": change.label,
                "base": as_text(change.base),
                "mine": as_text(change.mine),
            }
            for change in changes
        },
    )
    raise Clash(draft)


def _touched(part: Part, piece: Piece, changes: list[Change]) -> bool:
    """Whether a field this save wants to change no longer holds what the person saw."""
    return any(
        as_text(current(part, piece, change.name))
        not in (as_text(change.base), as_text(change.mine))
        for change in changes
    )


def current(part: Part, piece: Piece, name: str) -> Any:
    """The value of a field of the part or, failing that, of the piece."""
    owner = _owner(part, piece, name)
    return getattr(owner, owner._meta.get_field(name).attname)


def _owner(part: Part, piece: Piece, name: str) -> Part | Piece:
    return part if name in PART_NAMES else piece


def _write(part: Part, piece: Piece, changes: list[Change], by: Person, now: datetime) -> None:
    lines = []
    touched: dict[models.Model, list[str]] = {part: ["version", "search_text"], piece: []}
    for change in changes:
        owner = _owner(part, piece, change.name)
        field = owner._meta.get_field(change.name)
        mine = change.mine.pk if isinstance(change.mine, models.Model) else change.mine
        setattr(owner, field.attname, mine or None if field.is_relation else mine)
        touched[owner].append(change.name)
        lines.append(_told(change))
    part.version += 1
    part.fold_search_text()
    for row, names in touched.items():
        if names:
            row.save(update_fields=names)
    Event.objects.write(piece=piece, kind="change", text="; ".join(lines), by=by, at=now)


def _told(change: Change) -> str:
    """The change as history keeps it: what it says now and what it said before."""
    now, was = (in_words(change.name, value) for value in (change.mine, change.base))
    return f"{change.label}: {now} (was: {was})"


def as_text(value: Any) -> str:
    """A value as the form shows it, so that a form's text and a stored value can be compared."""
    if isinstance(value, models.Model):
        return str(value.pk)
    return "" if value is None else str(value).replace("\r\n", "\n").strip()


def in_words(name: str, value: Any) -> str:
    """A value of a field as a person reads it: a system's name, "Worn", or "nothing"."""
    owner = Part if name in PART_NAMES else Piece
    field = owner._meta.get_field(name)
    text = as_text(value)
    if field.is_relation and text.isdecimal():
        text = str(field.related_model.objects.filter(pk=text).first() or "")
    return str(dict(field.flatchoices or ()).get(text, text)) if text else "nothing"


@dataclass(frozen=True, slots=True)
class Side:
    """One field of a clash: what stands now, what was refused, what both had seen."""

    name: str
    label: str
    theirs: str
    mine: str
    base: str
    can_be_joined: bool

    @property
    def differ(self) -> bool:
        return self.theirs != self.mine

    @property
    def theirs_in_words(self) -> str:
        return in_words(self.name, self.theirs)

    @property
    def mine_in_words(self) -> str:
        return in_words(self.name, self.mine)


TEXTS = ("notes", "found_earlier", "condition_note", "still_attached")


def sides(draft: Draft) -> list[Side]:
    """Both texts of every field of a refused save."""
    part, piece = draft.part, draft.piece
    return [
        Side(
            name=name,
            label=entry["label"],
            theirs=as_text(current(part, piece, name)),
            mine=entry["mine"],
            base=entry["base"],
            can_be_joined=name in TEXTS,
        )
        for name, entry in draft.fields.items()
    ]


def settle(*, draft: Draft, choices: dict[str, str], by: Person, now: datetime) -> None:
    """Saves what was chosen for each field: "theirs", "mine" or "both"; the draft is then over.

    Nothing happens to a draft that was settled before: the button was pressed twice.
    """
    with transaction.atomic():
        part = Part.objects.select_for_update().get(pk=draft.part_id)
        piece = Piece.objects.select_for_update().get(pk=draft.piece_id)
        draft = Draft.objects.select_related("part", "piece").get(pk=draft.pk)
        if draft.settled_at:
            return
        changes = []
        for side in sides(draft):
            choice = choices.get(side.name, "theirs")
            if choice == "theirs" or not side.differ:
                continue
            text = (
                f"{side.theirs}\n{side.mine}"
                if choice == "both" and side.can_be_joined
                else side.mine
            )
            value = (
                _owner(part, piece, side.name)._meta.get_field(side.name).to_python(text or None)
            )
            changes.append(
                Change(side.name, side.label, side.theirs, "" if value is None else value)
            )
        if changes:
            _write(part, piece, changes, by, now)
        draft.settled_at = now
        draft.save(update_fields=["settled_at"])
