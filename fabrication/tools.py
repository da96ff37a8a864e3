"""Keeping formers and tube: each form saves once, however often it is sent."""

from typing import Any, TypeVar
from uuid import UUID

from django.db import transaction

from fabrication.models import Former, TubeStock


class OtherUnderThisKey(Exception):
    """Something else was saved from the same form before."""

    def __init__(self, row: Former | TubeStock) -> None:
        super().__init__(
            f"{row} is saved already, from this same form. Save again to add this one."
        )


@transaction.atomic
def add_former(*, key: UUID, values: dict[str, Any]) -> Former:
    """The new former, or the one that this form saved before."""
    return _added(Former, key, values)


@transaction.atomic
def add_stock(*, key: UUID, values: dict[str, Any]) -> TubeStock:
    """The new tube, or the one that this form saved before."""
    return _added(TubeStock, key, values)


@transaction.atomic
def change_former(*, former: Former, values: dict[str, Any]) -> Former:
    for name, value in values.items():
        setattr(former, name, value)
    former.save(update_fields=list(values))
    return former


Row = TypeVar("Row", Former, TubeStock)


def _added(model: type[Row], key: UUID, values: dict[str, Any]) -> Row:
    row, is_new = model.objects.get_or_create(key=key, defaults=values)
    if not is_new and any(getattr(row, name) != value for name, value in values.items()):
        raise OtherUnderThisKey(row)
    return row
