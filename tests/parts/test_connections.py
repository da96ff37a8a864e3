"""Connections: one line, seen from both its ends."""

from typing import Any
from uuid import UUID, uuid4

import pytest
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import connections
from parts.fasteners import SavedAlready
from parts.models import Connection, Event, Part
from tests import factories

NOW = factories.NOW


@pytest.fixture
def pump(car: Car, owner: Person) -> Part:
    return factories.make_part(car=car, by=owner, name="Water pump")


@pytest.fixture
def radiator(car: Car, owner: Person) -> Part:
    return factories.make_part(car=car, by=owner, name="Radiator")


def join(*, part: Part, by: Person, key: UUID | None = None, **fields: Any) -> Connection:
    fields = {
        "carries": "hose",
        "end": "lower tail",
        "port": "bottom outlet",
        "note": "",
        "other_id": None,
    } | fields
    return connections.save_connection(part=part, key=key or uuid4(), fields=fields, by=by, now=NOW)


def test_a_connection_reads_from_each_side(pump: Part, radiator: Part, owner: Person) -> None:
    join(part=pump, by=owner, other_id=radiator.pk)

    here, there = connections.connection_lines(pump)[0], connections.connection_lines(radiator)[0]

    assert (here.end, here.port, here.other) == ("lower tail", "bottom outlet", radiator)
    assert (there.end, there.port, there.other) == ("bottom outlet", "lower tail", pump)


def test_a_part_thrown_out_joins_nothing(pump: Part, radiator: Part, owner: Person) -> None:
    join(part=pump, by=owner, other_id=radiator.pk)
    Part.objects.filter(pk=pump.pk).update(thrown_out_at=NOW)

    assert connections.connection_lines(radiator) == []


def test_the_same_form_sent_twice_is_one_connection(pump: Part, owner: Person) -> None:
    key = uuid4()

    first, second = (join(part=pump, by=owner, key=key) for _ in range(2))

    assert first == second


def test_another_connection_under_a_used_key_is_refused(pump: Part, owner: Person) -> None:
    key = uuid4()
    join(part=pump, by=owner, key=key)

    with pytest.raises(SavedAlready):
        join(part=pump, by=owner, key=key, end="upper tail")


def test_a_connection_taken_out_stands_in_the_history(pump: Part, owner: Person) -> None:
    connection = join(part=pump, by=owner)

    connections.take_out_connection(connection=connection, by=owner, now=NOW)

    assert not Connection.objects.exists()
    assert Event.objects.last().text == "Taken out: Hose, lower tail to bottom outlet"


@pytest.mark.parametrize("joints", [1, 3])
def test_both_directions_take_one_query_each(
    pump: Part,
    radiator: Part,
    owner: Person,
    joints: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for _ in range(joints):
        join(part=pump, by=owner, other_id=radiator.pk)
        join(part=radiator, by=owner, other_id=pump.pk)

    with django_assert_num_queries(2):
        lines = connections.connection_lines(pump)
        assert {line.other.name for line in lines if line.other} == {"Radiator"}

    assert len(lines) == 2 * joints
