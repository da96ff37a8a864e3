"""What most tests start from: an owner, a car, and a client who has signed in."""

from collections.abc import Iterator

import pytest
from django.conf import settings
from django.test import Client
from hypothesis import HealthCheck
from hypothesis import settings as chances

from garage.health import clock, trouble
from garage.models import Car, Person, Role
from tests import factories

# How busy the machine is, is no property of what is tested.
chances.register_profile("any machine", deadline=None, suppress_health_check=[HealthCheck.too_slow])
chances.load_profile("any machine")


@pytest.fixture(autouse=True)
def _a_garage_as_at_a_start() -> Iterator[None]:
    """No clock was seen yet, for some tests live in other years; and none leaves it closed."""
    clock.mark_of(settings.SPLITPIN_DATA).unlink(missing_ok=True)
    yield
    left = trouble.noted()
    trouble.forget()
    assert left is None, "a test left the garage closed for writing"


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
