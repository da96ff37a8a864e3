"""Saving, throwing out and letting go of pipe sheets."""

from datetime import timedelta
from uuid import uuid4

import pytest

from fabrication.making import bending
from fabrication.models import PipeSheet
from fabrication.pipe import pipes
from fabrication.pipe.inputs import Mirror, Typed, as_typed, document_of
from garage.models import Car, Person
from tests.fabrication.pipe_rows import make_sheet, pipe_of
from tests.factories import NOW

LATER = NOW + timedelta(hours=1)


def head_of(sheet: PipeSheet) -> dict[str, object]:
    return {name: getattr(sheet, name) for name in pipes.HEAD}


def test_every_save_keeps_what_the_sheet_said_before(owner: Person, car: Car) -> None:
    sheet = make_sheet(by=owner)
    before = sheet.inputs

    pipes.save_sheet(
        sheet=sheet,
        seen=1,
        head=head_of(sheet) | {"title": "Bypass pipe"},
        pipe=pipe_of((99, 0, 90), last_mm=50),
        by=owner,
        now=LATER,
    )

    kept = sheet.revisions.get()
    assert (kept.version, kept.title, kept.inputs) == (1, "Bypass water pipe", before)
    assert (kept.at, kept.by) == (NOW, owner)


def test_a_sheet_of_the_first_schema_saved_unchanged_is_no_new_revision(
    owner: Person, car: Car
) -> None:
    pipe = pipe_of((100, 0, 90), last_mm=120)
    sheet = make_sheet(by=owner, pipe=pipe)
    sheet.inputs = {
        "schema": 1,
        "rows": [{"straight": {"mm": 100, "typed": ""}, "twist_deg": 0, "bend_deg": 90}],
        "last": {"mm": 120, "typed": ""},
        "end_a": {"form": "plain", "trim": None},
        "end_b": {"form": "plain", "trim": None},
    }
    sheet.save()

    saved = pipes.save_sheet(
        sheet=sheet, seen=1, head=head_of(sheet), pipe=as_typed(pipe), by=owner, now=LATER
    )

    assert saved.version == 1
    assert not sheet.revisions.exists()


def test_a_sheet_lies_in_the_bin_for_thirty_days_and_is_then_let_go(
    owner: Person, car: Car
) -> None:
    make_sheet(by=owner, thrown_out=True)
    make_sheet(by=owner, title="Kept")

    assert pipes.let_go(now=NOW + timedelta(days=29)) == 0
    assert pipes.let_go(now=NOW + timedelta(days=31)) == 1
    assert PipeSheet.objects.get().title == "Kept"


def test_a_sheet_that_another_mirrors_is_never_let_go(owner: Person, car: Car) -> None:
    other = make_sheet(by=owner, thrown_out=True)
    make_sheet(by=owner, pipe=Typed(way="mirror", mirror=Mirror(other.pk)))

    assert pipes.let_go(now=NOW + timedelta(days=365)) == 0


def test_a_sheet_that_a_pipe_was_bent_from_is_never_let_go(owner: Person, car: Car) -> None:
    sheet = make_sheet(by=owner)
    bending.begin(key=uuid4(), sheet=sheet, by=owner, now=NOW)
    pipes.throw_out(sheet=sheet, by=owner, now=NOW)

    assert pipes.let_go(now=NOW + timedelta(days=365)) == 0


def test_thrown_out_and_brought_back_a_sheet_says_what_it_said(owner: Person, car: Car) -> None:
    sheet = make_sheet(by=owner)

    pipes.throw_out(sheet=sheet, by=owner, now=LATER)
    with pytest.raises(pipes.InTheBin):
        pipes.save_sheet(
            sheet=sheet,
            seen=1,
            head=head_of(sheet),
            pipe=pipe_of((9, 0, 90), last_mm=9),
            by=owner,
            now=LATER,
        )
    pipes.bring_back(sheet=sheet)

    back = PipeSheet.objects.kept().get()
    assert (back.inputs, back.version, back.thrown_out_by) == (
        document_of(pipe_of((100, 0, 90), (80, 90, 60), last_mm=120)),
        1,
        None,
    )
