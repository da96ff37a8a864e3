"""What most tests start from: an owner, a car, and a client who has signed in."""

import pytest
from django.test import Client

from garage.models import Car, Person, Role
from tests import factories


@pytest.fixture
def owner(db: None) -> Person:
    return factories.make_person(username="wren", role=Role.OWNER)


@pytest.fixture
def helper(db: None) -> Person:
    return factories.make_person(username="ade", role=Role.HELPER)


@pytest.fixture
def viewer(db: None) -> Person:
    return factories.make_person(username="mo", role=Role.VIEWER)


@pytest.fixture
def car(owner: Person) -> Car:
    car = factories.make_car()
    owner.car = car
    owner.save(update_fields=["car"])
    return car


def _signed_in(person: Person) -> Client:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.fixture
def client_of_owner(owner: Person, car: Car) -> Client:
    return _signed_in(owner)


@pytest.fixture
def client_of_helper(helper: Person, car: Car) -> Client:
    helper.car = car
    helper.save(update_fields=["car"])
    return _signed_in(helper)


@pytest.fixture
def client_of_viewer(viewer: Person, car: Car) -> Client:
    viewer.car = car
    viewer.save(update_fields=["car"])
    return _signed_in(viewer)
