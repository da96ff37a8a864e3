"""The pages on which people are let in and locked out, and on which things are set."""

import pytest
from django.http import HttpResponse
from django.test import Client
from pytest_django import Settings

from garage.models import Car, Garage, Person, Role
from tests.factories import PASS_PHRASE


def sign_in(client: Client, username: str) -> HttpResponse:
    return client.post("/sign-in/", {"username": username, "password": PASS_PHRASE})


def is_in(client: Client) -> bool:
    return client.get("/help/").status_code == 200


# ---- people -------------------------------------------------------------------------------


def test_an_owner_lets_somebody_in(client_of_owner: Client) -> None:
    form = {"name": "Ade", "username": "Ade", "password": PASS_PHRASE, "role": "helper"}

    answer = client_of_owner.post("/people/", form)

    assert answer.status_code == 302
    assert Person.objects.get(username="ade").role == Role.HELPER
    assert sign_in(Client(), "ade").status_code == 302


@pytest.mark.parametrize("username", ["WREN", "ｗren"])
def test_a_name_is_given_once_in_any_spelling(client_of_owner: Client, username: str) -> None:
    form = {"name": "Wren", "username": username, "password": PASS_PHRASE, "role": "owner"}

    answer = client_of_owner.post("/people/", form)

    assert answer.status_code == 422
    assert "Somebody signs in with that name already" in answer.content.decode()


def test_locking_somebody_out_ends_their_access_and_keeps_it_ended(
    client_of_owner: Client, helper: Person
) -> None:
    phone = Client()
    sign_in(phone, "ade")
    assert is_in(phone)

    client_of_owner.post(f"/people/{helper.pk}/", {"role": "helper"})  # the tick is not sent
    assert not is_in(phone)
    assert sign_in(Client(), "ade").status_code == 422
    client_of_owner.post(f"/people/{helper.pk}/", {"role": "helper", "is_active": "on"})

    assert not is_in(phone)  # the lost phone is not signed in again by itself
    assert sign_in(Client(), "ade").status_code == 302


def test_the_last_owner_cannot_be_locked_out(client_of_owner: Client, owner: Person) -> None:
    answer = client_of_owner.post(f"/people/{owner.pk}/", {"role": "owner"})

    assert answer.status_code == 422
    assert "Somebody must own the garage" in answer.content.decode()
    assert is_in(client_of_owner)


def test_a_role_can_only_be_one_of_the_three(client_of_owner: Client, helper: Person) -> None:
    answer = client_of_owner.post(f"/people/{helper.pk}/", {"role": "admin", "is_active": "on"})

    helper.refresh_from_db()
    assert answer.status_code == 422
    assert helper.role == Role.HELPER


# ---- settings -----------------------------------------------------------------------------


def test_everybody_chooses_their_own_units_and_nobody_their_role(
    client_of_viewer: Client, viewer: Person
) -> None:
    form = {"name": "Mo", "units": "in", "region": "de_DE", "role": "owner", "is_active": ""}

    answer = client_of_viewer.post("/settings/mine/", form)

    viewer.refresh_from_db()
    assert answer.status_code == 302
    assert (viewer.units, viewer.region) == ("in", "de_DE")
    assert (viewer.role, viewer.is_active) == (Role.VIEWER, True)


def test_settings_to_put_right_are_shown_again(client_of_viewer: Client, viewer: Person) -> None:
    answer = client_of_viewer.post("/settings/mine/", {"name": "", "units": "yd", "region": "xx"})

    viewer.refresh_from_db()
    assert answer.status_code == 422
    assert (viewer.name, viewer.units) == ("Mo", "mm")


GARAGE_FORM = {
    "name": "Lock Lane garage",
    "address": "",
    "phone": "",
    "currency": "EUR",
    "paper": "letter",
    "time_zone": "Europe/Berlin",
}


def test_an_owner_changes_the_garage(client_of_owner: Client) -> None:
    assert client_of_owner.post("/settings/", GARAGE_FORM).status_code == 302

    garage = Garage.here()
    assert (garage.name, garage.currency, garage.paper) == ("Lock Lane garage", "EUR", "letter")
    assert garage.time_zone == "Europe/Berlin"


def test_a_helper_does_not(client_of_helper: Client) -> None:
    assert client_of_helper.post("/settings/", GARAGE_FORM).status_code == 403
    assert Garage.here().name == "Our garage"


def test_only_an_owner_is_told_where_the_data_lies(
    client_of_owner: Client, client_of_helper: Client, settings: Settings, car: Car
) -> None:
    folder = str(settings.SPLITPIN_DATA)

    assert folder in client_of_owner.get("/settings/").content.decode()
    assert folder not in client_of_helper.get("/settings/").content.decode()
