"""Rows of the tables of what stands how much heat: one more, and one changed."""

from typing import Any
from uuid import UUID

from django.db import transaction

from parts.models import Adhesive, Alloy, Limit

Row = Adhesive | Alloy | Limit


class OtherUnderThisKey(Exception):
    """The same form was saved before with something else in it; says what."""


def add_row(*, model: type[Row], key: UUID, values: dict[str, Any]) -> Row:
    """The new row; the same ``key`` with the same values is one row.

    Raises
    ------
    OtherUnderThisKey
        When ``key`` made a row that says something else.
    """
    with transaction.atomic():
        row, made = model.objects.get_or_create(key=key, defaults=values)
    if not made and any(getattr(row, name) != value for name, value in values.items()):
        raise OtherUnderThisKey(f"This form was used already, for {row}.")
    return row


def change_row(*, row: Row, values: dict[str, Any]) -> Row:
    """The row with these values. Every check made from now on uses them."""
    with transaction.atomic():
        fresh = type(row).objects.select_for_update().get(pk=row.pk)
        for name, value in values.items():
            setattr(fresh, name, value)
        fresh.save(update_fields=list(values))
    return fresh
