"""Pages of connections, without JavaScript."""

from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import connections
from parts.models import Connection, Part
from tests import factories


@pytest.fixture
def pump(car: Car, owner: Person) -> Part:
    return factories.make_part(car=car, by=owner, name="Water pump")


@pytest.fixture
def radiator(car: Car, owner: Person) -> Part:
    return factories.make_part(car=car, by=owner, name="Radiator")


def filled(**fields: str) -> dict[str, str]:
    return {
        "key": str(uuid4()),
        "carries": "hose",
        "end": "lower tail",
        "port": "bottom outlet",
    } | fields


def make(part: Part, by: Person, other: Part | None = None) -> Connection:
    fields = {
        "carries": "hose",
        "end": "lower tail",
        "port": "outlet",
        "note": "",
        "other_id": other and other.pk,
    }
    return connections.save_connection(
        part=part, key=uuid4(), fields=fields, by=by, now=factories.NOW
    )


def test_the_page_without_connections_teaches(client_of_owner: Client, pump: Part) -> None:
    assert (
        "Nothing is joined to it yet" in client_of_owner.get(f"/parts/{pump.tag}/connections/").text
    )


def test_a_connection_shows_on_both_parts(
    client_of_owner: Client, pump: Part, radiator: Part
) -> None:
    posted = filled(other=radiator.tag.lower())

    answer = client_of_owner.post(f"/parts/{pump.tag}/connections/new/", posted)

    assert answer.status_code == 302
    here = client_of_owner.get(f"/parts/{pump.tag}/connections/").text
    there = client_of_owner.get(f"/parts/{radiator.tag}/connections/").text
    assert '<th scope="row">lower tail</th>' in here
    assert '<th scope="row">bottom outlet</th>' in there
    assert "Water pump" in there


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"end": ""}, "Name this end"),
        ({"port": ""}, "Name where it goes"),
        ({"carries": ""}, "Say what it is"),
        ({"other": "ZZZ"}, "No part of this car has the tag ZZZ"),
    ],
)
def test_a_wrong_box_is_named_and_nothing_typed_is_lost(
    client_of_owner: Client, pump: Part, wrong: dict[str, str], said: str
) -> None:
    answer = client_of_owner.post(
        f"/parts/{pump.tag}/connections/new/", filled(note="clip every hand") | wrong
    )

    assert answer.status_code == 422
    assert said in answer.text
    assert 'value="clip every hand"' in answer.text
    assert not Connection.objects.exists()


def test_a_part_is_not_joined_to_itself(client_of_owner: Client, pump: Part) -> None:
    answer = client_of_owner.post(f"/parts/{pump.tag}/connections/new/", filled(other=pump.tag))

    assert answer.status_code == 422
    assert "is this part" in answer.text


def test_the_form_sent_twice_saves_one(client_of_owner: Client, pump: Part) -> None:
    posted = filled()

    for _ in range(2):
        assert (
            client_of_owner.post(f"/parts/{pump.tag}/connections/new/", posted).status_code == 302
        )

    assert Connection.objects.count() == 1


def test_a_saved_form_gone_back_to_gets_a_fresh_key(client_of_owner: Client, pump: Part) -> None:
    posted = filled()
    client_of_owner.post(f"/parts/{pump.tag}/connections/new/", posted)

    answer = client_of_owner.post(
        f"/parts/{pump.tag}/connections/new/", posted | {"end": "upper tail"}
    )

    assert answer.status_code == 422
    assert answer.context["form"]["key"].value() != posted["key"]
    assert 'value="upper tail"' in answer.text


def test_a_connection_is_changed_and_taken_out(
    client_of_helper: Client, pump: Part, radiator: Part, owner: Person
) -> None:
    connection = make(pump, owner, radiator)
    shown = client_of_helper.get(f"/connections/{connection.pk}/").text
    assert f'value="{radiator.tag}"' in shown

    client_of_helper.post(f"/connections/{connection.pk}/", filled(carries="pipe"))
    connection.refresh_from_db()
    assert (connection.carries, connection.other) == ("pipe", None)

    client_of_helper.post(f"/connections/{connection.pk}/", {"take_out": "1"})
    assert not Connection.objects.exists()


def test_a_viewer_cannot_change_a_connection(
    client_of_viewer: Client, pump: Part, owner: Person
) -> None:
    connection = make(pump, owner)

    assert client_of_viewer.get(f"/parts/{pump.tag}/connections/").status_code == 200
    assert (
        client_of_viewer.post(f"/connections/{connection.pk}/", {"take_out": "1"}).status_code
        == 403
    )
    assert client_of_viewer.post(f"/parts/{pump.tag}/connections/new/", filled()).status_code == 403


@pytest.mark.parametrize("joints", [1, 3])
def test_the_page_keeps_its_queries(
    client_of_owner: Client,
    pump: Part,
    radiator: Part,
    owner: Person,
    joints: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for _ in range(joints):
        make(pump, owner, radiator)
        make(radiator, owner, pump)
    url = f"/parts/{pump.tag}/connections/"
    client_of_owner.get(url)

    with django_assert_num_queries(7):
        client_of_owner.get(url)
