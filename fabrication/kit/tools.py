"""Keeping formers, tube and tools: each form saves once, however often it is sent."""

from datetime import datetime
from typing import Any, TypeVar
from uuid import UUID

from django.db import transaction

from fabrication.kit.practice import TAKEN_OVER
from fabrication.models import (
    BeadTest,
    BeadTool,
    Former,
    PipeSheet,
    PracticeBend,
    Tool,
    TubeStock,
)
from garage.models import Person
from parts.models import Part


class OtherUnderThisKey(Exception):
    """Something else was saved from the same form before."""

    def __init__(self, row: Any) -> None:
        super().__init__(
            f"{row} is saved already, from this same form. Save again to add this one."
        )


Kept = TypeVar("Kept", Former, TubeStock, BeadTool, Tool)
Counted = TypeVar("Counted", PracticeBend, BeadTest)


@transaction.atomic
def add_former(*, key: UUID, values: dict[str, Any]) -> Former:
    """The new former, or the one that this form saved before."""
    return _added(Former, key, values)


@transaction.atomic
def add_stock(*, key: UUID, values: dict[str, Any]) -> TubeStock:
    """The new tube, or the one that this form saved before."""
    return _added(TubeStock, key, values)


@transaction.atomic
def add_bead_tool(*, key: UUID, values: dict[str, Any]) -> BeadTool:
    """The new bead tool, or the one that this form saved before."""
    return _added(BeadTool, key, values)


@transaction.atomic
def add_tool(*, key: UUID, values: dict[str, Any]) -> Tool:
    """The new tool, or the one that this form saved before."""
    return _added(Tool, key, values)


@transaction.atomic
def add_practice_bend(
    *, key: UUID, former: Former, values: dict[str, Any], by: Person, now: datetime
) -> PracticeBend:
    """The bend written down, or the one that this form saved before."""
    return _added(PracticeBend, key, {**values, "former": former}, at=now, by=by)


@transaction.atomic
def add_bead_test(
    *, key: UUID, tool: BeadTool, values: dict[str, Any], by: Person, now: datetime
) -> BeadTest:
    """The test piece written down, or the one that this form saved before."""
    return _added(BeadTest, key, {**values, "tool": tool}, at=now, by=by)


@transaction.atomic
def change(*, row: Kept, values: dict[str, Any]) -> Kept:
    """The former, tube or tool with what was typed; what is not typed stays as it is."""
    held: Kept = type(row).objects.select_for_update().get(pk=row.pk)
    for name, value in values.items():
        setattr(held, name, value)
    held.save(update_fields=list(values))
    return held


@transaction.atomic
def change_former(*, former: Former, values: dict[str, Any]) -> Former:
    """The former with what was typed. A radius or start typed anew is from no practice bend."""
    if any(getattr(former, name) != values[name] for name in TAKEN_OVER):
        values = {**values, "measured_from": {}}
    return change(row=former, values=values)


@transaction.atomic
def take_out(*, row: Counted, now: datetime) -> Counted:
    """The bend or test piece, no longer counted; the first time it was taken out stays."""
    return _out(row, now)


@transaction.atomic
def bring_back(*, row: Counted) -> Counted:
    """The bend or test piece, counted again."""
    return _out(row, None)


@transaction.atomic
def serve(*, tool: Tool, sheet: PipeSheet | None = None, part: Part | None = None) -> None:
    """Writes down a job that a tool served; twice is once."""
    if sheet is not None:
        tool.pipe_sheets.add(sheet)
    if part is not None:
        tool.parts.add(part)


@transaction.atomic
def unserve(*, tool: Tool, sheet: PipeSheet | None = None, part: Part | None = None) -> None:
    """Takes a job off a tool's list."""
    if sheet is not None:
        tool.pipe_sheets.remove(sheet)
    if part is not None:
        tool.parts.remove(part)


def _out(row: Counted, now: datetime | None) -> Counted:
    held: Counted = type(row).objects.select_for_update(of=("self",)).get(pk=row.pk)
    held.out_at = (held.out_at or now) if now else None
    held.save(update_fields=["out_at"])
    return held


def _added(model: Any, key: UUID, values: dict[str, Any], **once: Any) -> Any:
    """``values`` are compared with a row under the same key; what is ``once`` said is not."""
    row, is_new = model.objects.get_or_create(key=key, defaults=values | once)
    if not is_new and any(getattr(row, name) != value for name, value in values.items()):
        raise OtherUnderThisKey(row)
    return row
