"""Beginning and saving a make-up sheet, throwing it out and bringing it back."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from fabrication.models import PipeRevision, PipeSheet
from fabrication.pipe.inputs import PipeInputs, Typed, document_of, read
from garage.models import Car, Person
from parts.models import Part

BIN_KEEPS = timedelta(days=30)
"""How long a sheet lies in the bin before it is let go, as long as a part does."""

HEAD = ("title", "duty", "former", "stock", "bead_tool")


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


class InTheBin(Exception):
    """The sheet was thrown out; nothing is saved to it there."""

    def __init__(self, sheet: PipeSheet) -> None:
        super().__init__(f"{sheet} was thrown out. Bring it back, then save what stands here.")
        self.sheet = sheet


@transaction.atomic
def begin_sheet(
    *,
    key: UUID,
    car: Car | None,
    part: Part | None,
    head: dict[str, Any],
    pipe: Typed | PipeInputs,
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
    pipe: Typed | PipeInputs,
    by: Person,
    now: datetime,
) -> PipeSheet:
    """The sheet with what was typed; a save that changes nothing makes no revision.

    What it said before is kept as a revision.

    Raises
    ------
    InTheBin
        When it was thrown out.
    Stale
        When it is no longer the revision ``seen``.
    """
    held = PipeSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    values = {**head, "inputs": document_of(pipe)}
    if _says(held, values):
        return held
    if held.thrown_out_at is not None:
        raise InTheBin(held)
    if held.version != seen:
        raise Stale(held)
    _keep_revision(held)
    for name, value in values.items():
        setattr(held, name, value)
    held.version += 1
    held.changed_at, held.changed_by = now, by
    held.save(update_fields=[*values, "version", "changed_at", "changed_by"])
    return held


@transaction.atomic
def throw_out(*, sheet: PipeSheet, by: Person, now: datetime) -> None:
    """Puts a sheet into the bin; it can be brought back for 30 days."""
    held = PipeSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if held.thrown_out_at is None:
        held.thrown_out_at, held.thrown_out_by = now, by
        held.save(update_fields=["thrown_out_at", "thrown_out_by"])


@transaction.atomic
def bring_back(*, sheet: PipeSheet) -> None:
    """Takes a sheet out of the bin, as it was."""
    held = PipeSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if held.thrown_out_at is not None:
        held.thrown_out_at = held.thrown_out_by = None
        held.save(update_fields=["thrown_out_at", "thrown_out_by"])


def let_go(*, now: datetime) -> int:
    """How many sheets were let go for good because they lay in the bin for 30 days.

    A sheet that a pipe was bent from stays, for the record of that pipe names it; so does one
    that a kept sheet mirrors.
    """
    with transaction.atomic():
        lying = PipeSheet.objects.thrown_out().filter(
            thrown_out_at__lt=now - BIN_KEEPS, makings=None
        )
        mirrored = PipeSheet.objects.kept().filter(inputs__way="mirror")
        wanted = {
            document["mirror"]["sheet"] for document in mirrored.values_list("inputs", flat=True)
        }
        numbers = [pk for pk in lying.values_list("pk", flat=True) if pk not in wanted]
        PipeSheet.objects.filter(pk__in=numbers).delete()
    return len(numbers)


def next_revision(*, sheet: PipeSheet, by: Person, now: datetime) -> None:
    """Goes one revision on with a sheet that the caller has locked; what it said is kept."""
    _keep_revision(sheet)
    sheet.version += 1
    sheet.changed_at, sheet.changed_by = now, by
    sheet.save(update_fields=["version", "changed_at", "changed_by"])


def _keep_revision(sheet: PipeSheet) -> None:
    PipeRevision.objects.create(
        sheet=sheet,
        version=sheet.version,
        inputs=sheet.inputs,
        at=sheet.changed_at,
        by=sheet.changed_by,
        **{name: getattr(sheet, name) for name in HEAD},
    )


def _says(sheet: PipeSheet, values: dict[str, Any]) -> bool:
    """Whether a sheet says this already, in whatever schema it was written."""
    kept = {name: getattr(sheet, name) for name in values}
    return {**kept, "inputs": document_of(read(sheet.inputs))} == values
