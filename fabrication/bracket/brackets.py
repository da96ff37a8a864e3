"""Beginning and saving a bracket sheet; sheet stock and test strips written down."""

from datetime import datetime, timedelta
from typing import Any
from uuid import UUID

from django.db import transaction

from fabrication.bracket.bracket_inputs import BracketInputs, document_of
from fabrication.models import BracketSheet, SheetStock, TestStrip
from garage.models import Car, Person
from parts.models import Part

BIN_KEEPS = timedelta(days=30)


class OtherUnderThisKey(Exception):
    """Something else was saved from the same form before."""

    def __init__(self, row: BracketSheet | SheetStock | TestStrip) -> None:
        super().__init__(f"{row} is saved already, from this same form. Save again to add another.")


class Stale(Exception):
    """Somebody saved the sheet after this form was shown."""

    def __init__(self, sheet: BracketSheet) -> None:
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
    bracket: BracketInputs,
    by: Person,
    now: datetime,
) -> BracketSheet:
    """The new sheet, or the one that this form saved before.

    Raises
    ------
    OtherUnderThisKey
        When that one says something else.
    """
    values = {**head, "inputs": document_of(bracket)}
    sheet, is_new = BracketSheet.objects.get_or_create(
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
    sheet: BracketSheet,
    seen: int | None,
    head: dict[str, Any],
    bracket: BracketInputs,
    by: Person,
    now: datetime,
) -> BracketSheet:
    """The sheet with what was typed; a save that changes nothing makes no revision.

    Raises
    ------
    Stale
        When it is no longer the revision ``seen``.
    """
    held = BracketSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    values = {**head, "inputs": document_of(bracket)}
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


@transaction.atomic
def throw_out(*, sheet: BracketSheet, by: Person, now: datetime) -> None:
    """Puts a sheet into the bin; it can be brought back for 30 days."""
    held = BracketSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if held.thrown_out_at is None:
        held.thrown_out_at, held.thrown_out_by = now, by
        held.save(update_fields=["thrown_out_at", "thrown_out_by"])


@transaction.atomic
def bring_back(*, sheet: BracketSheet) -> None:
    """Takes a sheet out of the bin, as it was."""
    held = BracketSheet.objects.select_for_update(of=("self",)).get(pk=sheet.pk)
    if held.thrown_out_at is not None:
        held.thrown_out_at = held.thrown_out_by = None
        held.save(update_fields=["thrown_out_at", "thrown_out_by"])


@transaction.atomic
def let_go(*, now: datetime) -> int:
    """How many sheets were let go for good because they lay in the bin for 30 days."""
    lying = BracketSheet.objects.lying_since(now - BIN_KEEPS)
    numbers = list(lying.values_list("pk", flat=True))
    BracketSheet.objects.filter(pk__in=numbers).delete()
    return len(numbers)


@transaction.atomic
def add_sheet_stock(*, key: UUID, values: dict[str, Any]) -> SheetStock:
    """The new sheet, or the one that this form saved before.

    Raises
    ------
    OtherUnderThisKey
        When that one says something else.
    """
    row, is_new = SheetStock.objects.get_or_create(key=key, defaults=values)
    if not is_new and not _says(row, values):
        raise OtherUnderThisKey(row)
    return row


@transaction.atomic
def change_sheet_stock(*, stock: SheetStock, values: dict[str, Any]) -> SheetStock:
    """The sheet with what was typed."""
    for name, value in values.items():
        setattr(stock, name, value)
    stock.save(update_fields=list(values))
    return stock


@transaction.atomic
def add_strip(
    *, key: UUID, stock: SheetStock, values: dict[str, Any], by: Person, now: datetime
) -> TestStrip:
    """The new test strip, or the one that this form saved before.

    Raises
    ------
    OtherUnderThisKey
        When that one says something else.
    """
    row, is_new = TestStrip.objects.get_or_create(
        key=key, defaults={**values, "stock": stock, "made_by": by, "made_at": now}
    )
    if not is_new and not _says(row, {**values, "stock": stock}):
        raise OtherUnderThisKey(row)
    return row


def _says(row: Any, values: dict[str, Any]) -> bool:
    return all(getattr(row, name) == value for name, value in values.items())
