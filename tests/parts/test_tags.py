"""Tags: short enough to stamp, never given twice, no two characters alike."""

import pytest

from garage.models import Person
from parts import tags
from parts.tags import LONG, SHORT, TagsUsedUp, tag_for


def test_every_tag_comes_once() -> None:
    given = [tag_for(number) for number in range(SHORT + LONG)]

    assert len(set(given)) == SHORT + LONG
    assert {len(tag) for tag in given} == {3, 4}


def test_no_tag_holds_a_character_with_a_look_alike() -> None:
    # Common practice of stamped codes: I L O Q S Z B G U V 0 1 2 5 6 8 are left out.
    used = set("".join(tag_for(number) for number in range(SHORT + LONG)))

    assert used.isdisjoint("ILOQSZBGUV012568")


def test_neighbours_in_time_are_not_neighbours_in_spelling() -> None:
    for number in range(200):
        first, second = tag_for(number), tag_for(number + 1)
        assert sum(a != b for a, b in zip(first, second, strict=True)) >= 2


def test_when_all_are_given_it_says_so() -> None:
    with pytest.raises(TagsUsedUp):
        tag_for(SHORT + LONG)


def test_the_tag_told_before_is_the_tag_given(owner: Person) -> None:
    told = tags.next_tag()

    assert tags.give_tag() == told
    assert tags.give_tag() != told
