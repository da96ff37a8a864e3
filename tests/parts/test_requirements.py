"""What must be on before what: never a circle, and the circle that is refused is named."""

import itertools

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from garage.models import Car, Person
from parts.models import Event, Part, Requirement
from parts.requirements import (
    Circle,
    RequirementRefused,
    drop_requirement,
    parts_called,
    require,
    way,
)
from parts.undo import undo
from tests.factories import NOW, make_car, make_part

SIX = range(6)
PAIRS = st.lists(st.tuples(st.sampled_from(SIX), st.sampled_from(SIX)), max_size=18)


def goes_round(pairs: set[tuple[int, int]]) -> bool:
    """Brute force: some order of all six puts every first before its then, or there is a circle."""
    return not any(
        all(order.index(first) < order.index(then) for first, then in pairs)
        for order in itertools.permutations(SIX)
    )


@pytest.fixture
def parts(car: Car, owner: Person) -> list[Part]:
    return [make_part(car=car, by=owner, name=f"Part {number}") for number in SIX]


def test_a_part_waits_for_another(parts: list[Part], owner: Person) -> None:
    event = require(first=parts[0], then=parts[1], by=owner, now=NOW)

    assert event is not None
    assert list(parts[1].goes_on_after.values_list("first", flat=True)) == [parts[0].pk]
    assert event.part == parts[1]


def test_said_twice_it_is_said_once(parts: list[Part], owner: Person) -> None:
    require(first=parts[0], then=parts[1], by=owner, now=NOW)

    assert require(first=parts[0], then=parts[1], by=owner, now=NOW) is None
    assert Requirement.objects.count() == 1


def test_a_part_does_not_wait_for_itself(parts: list[Part], owner: Person) -> None:
    with pytest.raises(Circle) as refused:
        require(first=parts[0], then=parts[0], by=owner, now=NOW)

    assert refused.value.tags == [parts[0].tag, parts[0].tag]


def test_a_circle_is_refused_and_named_tag_by_tag(parts: list[Part], owner: Person) -> None:
    one, two, three = parts[:3]
    require(first=one, then=two, by=owner, now=NOW)
    require(first=two, then=three, by=owner, now=NOW)

    with pytest.raises(Circle) as refused:
        require(first=three, then=one, by=owner, now=NOW)

    ring = f"{three.tag} before {one.tag} before {two.tag} before {three.tag}"
    assert ring in str(refused.value)
    assert Requirement.objects.count() == 2


def test_the_shortest_circle_is_named(parts: list[Part], owner: Person) -> None:
    one, two, three, four = parts[:4]
    for first, then in [(one, two), (two, three), (three, four), (one, four)]:
        require(first=first, then=then, by=owner, now=NOW)

    with pytest.raises(Circle) as refused:
        require(first=four, then=one, by=owner, now=NOW)

    assert refused.value.tags == [four.tag, one.tag, four.tag]


def test_a_part_of_another_car_is_refused(parts: list[Part], owner: Person) -> None:
    stranger = make_part(car=make_car(model="Wanderer"), by=owner)

    with pytest.raises(RequirementRefused, match="another car"):
        require(first=stranger, then=parts[0], by=owner, now=NOW)


def test_a_thrown_out_part_still_closes_a_circle(parts: list[Part], owner: Person) -> None:
    one, two, three = parts[:3]
    require(first=one, then=two, by=owner, now=NOW)
    require(first=two, then=three, by=owner, now=NOW)
    Part.objects.filter(pk=two.pk).update(thrown_out_at=NOW)

    with pytest.raises(Circle):
        require(first=three, then=one, by=owner, now=NOW)


def test_dropped_it_holds_nothing_up_and_may_go_round_the_other_way(
    parts: list[Part], owner: Person
) -> None:
    require(first=parts[0], then=parts[1], by=owner, now=NOW)
    row = Requirement.objects.get()

    drop_requirement(requirement=row, by=owner, now=NOW)
    drop_requirement(requirement=row, by=owner, now=NOW)

    assert require(first=parts[1], then=parts[0], by=owner, now=NOW) is not None
    assert Event.objects.filter(kind="order").count() == 1


def test_it_can_be_taken_back(parts: list[Part], owner: Person) -> None:
    event = require(first=parts[0], then=parts[1], by=owner, now=NOW)
    assert event is not None

    undo(key=event.key, by=owner, now=NOW)

    assert not Requirement.objects.exists()


@settings(
    max_examples=60, deadline=None, suppress_health_check=[HealthCheck.function_scoped_fixture]
)
@given(pairs=PAIRS)
def test_whatever_is_said_in_whatever_order_no_circle_is_let_in(
    parts: list[Part], owner: Person, pairs: list[tuple[int, int]]
) -> None:
    Requirement.objects.all().delete()
    said: set[tuple[int, int]] = set()
    for first, then in pairs:
        closes = first == then or goes_round(said | {(first, then)})
        try:
            require(first=parts[first], then=parts[then], by=owner, now=NOW)
            said.add((first, then))
            assert not closes, f"{first} before {then} closes a circle of {said}"
        except Circle as circle:
            assert closes, f"{first} before {then} closes no circle of {said}"
            assert circle.tags[0] == circle.tags[-1] == parts[first].tag

    of = {part.pk: number for number, part in enumerate(parts)}
    stored = {(of[row.first_id], of[row.then_id]) for row in Requirement.objects.all()}
    assert stored == said


@settings(max_examples=200)
@given(pairs=PAIRS, start=st.sampled_from(SIX), goal=st.sampled_from(SIX))
def test_a_way_is_found_when_there_is_one_and_is_as_short_as_can_be(
    pairs: list[tuple[int, int]], start: int, goal: int
) -> None:
    # Brute force: after n rounds `within[n]` holds all that n steps reach.
    within = [{start}]
    for _ in SIX:
        within.append(within[-1] | {b for a, b in pairs if a in within[-1]})
    steps = next((n for n, reached in enumerate(within) if goal in reached), None)

    found = way(pairs, start=start, goal=goal)

    assert len(found) - 1 == (-1 if steps is None else steps)
    assert all(step in pairs for step in itertools.pairwise(found))
    assert steps is None or (found[0], found[-1]) == (start, goal)


def test_a_tag_names_one_part_and_words_name_those_that_hold_them_all(
    car: Car, owner: Person
) -> None:
    bracket = make_part(car=car, by=owner, name="Radiator bracket, left")
    other = make_part(car=car, by=owner, name="Radiator bracket, right")
    asking = make_part(car=car, by=owner, name="Radiator")

    assert parts_called(asking, bracket.tag.lower()) == [bracket]
    assert parts_called(asking, "bracket radiator") == [bracket, other]
    assert parts_called(asking, "radiator right") == [other]
    assert parts_called(asking, "gearbox") == []
