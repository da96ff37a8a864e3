"""Holes and their stacks: saved once, changed without losing words, shown in few queries."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import fasteners
from parts.models import Event, Hole, Part, StackItem, TorqueUsed
from tests import factories

NOW = factories.NOW
What = StackItem.What


@pytest.fixture
def part(car: Car, owner: Person) -> Part:
    return factories.make_part(car=car, by=owner)


def bolt(thread: str = "M8", length_mm: float | None = 25.0) -> StackItem:
    typed = f"{length_mm:g}" if length_mm else ""
    return StackItem(what=What.BOLT, thread=thread, length_mm=length_mm, length_typed=typed)


def save(
    *,
    part: Part,
    by: Person,
    stack: list[StackItem] | None = None,
    key: UUID | None = None,
    hole: Hole | None = None,
    seen: str = "",
    **fields: Any,
) -> Hole:
    fields = {"number": 1} | fields
    stack = [bolt(), StackItem(what=What.NUT, thread="M8")] if stack is None else stack
    return fasteners.save_hole(
        part=part,
        key=key or uuid4(),
        fields=fields,
        stack=stack,
        by=by,
        now=NOW,
        hole=hole,
        seen=seen,
    )


def test_a_hole_is_saved_with_its_stack_in_order(part: Part, owner: Person) -> None:
    hole = save(part=part, by=owner, count=4, torque_nm=18.0, torque_typed="18 N m")

    assert [(item.position, item.what) for item in hole.stack.all()] == [(1, "bolt"), (2, "nut")]
    assert Event.objects.get(kind="fasteners").text == (
        "Hole 1, 4 alike: M8 x 25 mm bolt, M8 nut; 18 N m"
    )


def test_the_same_form_sent_twice_is_one_hole(part: Part, owner: Person) -> None:
    key = uuid4()

    first, second = (save(part=part, by=owner, key=key, where="top") for _ in range(2))

    assert first == second
    assert StackItem.objects.count() == 2


def test_another_hole_under_a_used_key_is_refused(part: Part, owner: Person) -> None:
    key = uuid4()
    save(part=part, by=owner, key=key)

    with pytest.raises(fasteners.SavedAlready, match="hole 1"):
        save(part=part, by=owner, key=key, stack=[bolt("M10")])


def test_a_number_is_given_once_and_a_free_one_is_named(part: Part, owner: Person) -> None:
    save(part=part, by=owner, number=1)
    save(part=part, by=owner, number=2)

    with pytest.raises(fasteners.HoleRefused, match="3 is free"):
        save(part=part, by=owner, number=2)


def test_the_next_number_fills_a_gap(part: Part, owner: Person) -> None:
    for number in (1, 3):
        save(part=part, by=owner, number=number)

    assert fasteners.next_number(part) == 2


def test_a_changed_hole_has_its_new_stack_only(part: Part, owner: Person) -> None:
    hole = save(part=part, by=owner)

    save(part=part, by=owner, hole=hole, seen=fasteners.mark_of(hole), stack=[bolt("M10")])

    assert [item.thread for item in StackItem.objects.all()] == ["M10"]


def test_a_change_over_a_newer_one_is_refused_and_says_what_stands(
    part: Part, owner: Person
) -> None:
    hole = save(part=part, by=owner)
    seen = fasteners.mark_of(hole)
    save(part=part, by=owner, hole=hole, seen=seen, stack=[bolt("M10", 30.0)])

    with pytest.raises(fasteners.ChangedMeanwhile, match="M10 x 30 mm bolt"):
        save(part=part, by=owner, hole=hole, seen=seen, note="mine")

    assert StackItem.objects.get().thread == "M10"


def test_a_copy_has_the_stack_and_torque_but_not_the_place(part: Part, owner: Person) -> None:
    hole = save(part=part, by=owner, where="top", torque_nm=18.0, torque_typed="18 N m")

    copy = fasteners.copy_hole(hole=hole, key=uuid4(), by=owner, now=NOW)

    assert (copy.number, copy.where, copy.torque_nm) == (2, "", 18.0)
    assert [item.thread for item in copy.stack.all()] == ["M8", "M8"]
    assert hole.stack.count() == 2


def test_a_hole_taken_out_stands_in_the_history(part: Part, owner: Person) -> None:
    hole = save(part=part, by=owner)

    fasteners.take_out_hole(hole=hole, by=owner, now=NOW)

    assert not Hole.objects.exists()
    assert Event.objects.last().text == "Taken out: Hole 1: M8 x 25 mm bolt, M8 nut"


def test_a_hole_with_a_torque_used_stays(part: Part, owner: Person) -> None:
    hole = save(part=part, by=owner)
    TorqueUsed.objects.create(hole=hole, piece=part.pieces.get(), torque_nm=18.0, at=NOW, by=owner)

    with pytest.raises(fasteners.HoleRefused, match="stays"):
        fasteners.take_out_hole(hole=hole, by=owner, now=NOW)

    assert Hole.objects.exists()


def test_look_alike_threads_of_one_part_are_cautioned(part: Part, owner: Person) -> None:
    """Common practice: 5/16 UNC is 7.94 mm by 1.41 mm and starts in M8 by 1.25 mm, then binds."""
    save(part=part, by=owner, number=1)
    save(part=part, by=owner, number=2, stack=[bolt("5/16 UNC", 31.75)])

    assert fasteners.holes_for(part).cautions == (
        "5/16 UNC starts in an M8 thread and then binds.",
    )


def test_threads_of_one_kind_are_not_cautioned(part: Part, owner: Person) -> None:
    save(part=part, by=owner, number=1)
    save(part=part, by=owner, number=2, stack=[bolt("M6")])

    assert fasteners.holes_for(part).cautions == ()


def test_a_thread_that_is_not_in_the_table_is_kept_and_named(part: Part, owner: Person) -> None:
    save(part=part, by=owner, stack=[bolt("7/8 UNS", None)])

    shown = fasteners.holes_for(part)

    assert shown.unknown_threads == ("7/8 UNS",)
    assert "7/8 UNS" in shown.rows[0].lines[0].size


def test_a_length_keeps_the_unit_it_was_measured_in(part: Part, owner: Person) -> None:
    item = StackItem(what=What.BOLT, thread="5/16 UNC", length_mm=31.75, length_typed="1 1/4")
    save(part=part, by=owner, stack=[item])

    assert fasteners.holes_for(part).rows[0].lines[0].size == "5/16 UNC × 1 1/4 in"


@pytest.mark.parametrize("holes", [1, 3])
def test_the_holes_of_parts_take_two_queries(
    car: Car, owner: Person, holes: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    parts = [factories.make_part(car=car, by=owner) for _ in range(holes)]
    for part in parts:
        for number in range(1, holes + 1):
            save(part=part, by=owner, number=number)

    with django_assert_num_queries(2):
        shown = fasteners.holes_of(parts)

    assert [len(shown[part.pk]) for part in parts] == [holes] * holes
