"""Beginning and saving a make-up sheet."""

from datetime import datetime
from typing import Any
from uuid import UUID

from django.db import transaction

from fabrication.inputs import PipeInputs, document_of
from fabrication.models import PipeSheet
from garage.models import Car, Person
from parts.models import Part


class OtherUnderThisKey(Exception):
    """Something else was saved from the same form before."""

    def __init__(self, sheet: PipeSheet) -> None:
        super().__init__(
            f"{sheet} is saved already, from this same form. Save again to begin another sheet."
        )


class Stale(Exception):
    """Somebody saved the sheet after this form was shown."""

    def __init__(self, sheet: PipeSheet) -> None:
        who = sheet.changed_by.name if sheet.changed_by else "Somebody"
        super().__init__(
            f"{who} saved revision {sheet.version} while you typed. Yours stands in the boxes, "
            "theirs under them. Save again to put yours in its place."
        )
        self.sheet = sheet


@transaction.atomic
def begin_sheet(
    *,
    key: UUID,
    car: Car | None,
    part: Part | None,
    head: dict[str, Any],
    pipe: PipeInputs,
    by: Person,
    now: datetime,
) -> PipeSheet:
    """The new sheet, or the one that this form saved before.

    Raises
    ------
    OtherUnderThisKey
        When that one says something else.
    """
    values = {**head, "inputs": document_of(pipe)}
    sheet, is_new = PipeSheet.objects.get_or_create(
        key=key,
        defaults={
            **values,
            "car": part.car if part else car,
            "part": part,
            "created_at": now,
            "created_by": by,
            "changed_at": now,
            "changed_by": by,
        },
    )
    if not is_new and not _says(sheet, values):
        raise OtherUnderThisKey(sheet)
    return sheet


@transaction.atomic
def save_sheet(
    *,
    sheet: PipeSheet,
    seen: int | None,
    head: dict[str, Any],
    pipe: PipeInputs,
    by: Person,
    now: datetime,
) -> PipeSheet:
    """The sheet with what was typed; a save that changes nothing makes no revision.

    Raises
    ------
    Stale
        When it is no longer the revision ``seen``.
    """
    held = PipeSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    values = {**head, "inputs": document_of(pipe)}
    if _says(held, values):
        return held
    if held.version != seen:
        raise Stale(held)
    for name, value in values.items():
        setattr(held, name, value)
    held.version += 1
    held.changed_at, held.changed_by = now, by
    held.save(update_fields=[*values, "version", "changed_at", "changed_by"])
    return held


def _says(sheet: PipeSheet, values: dict[str, Any]) -> bool:
    return all(getattr(sheet, name) == value for name, value in values.items())
