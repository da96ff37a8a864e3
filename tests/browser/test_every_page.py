"""Every page there is, as a person sees it: on a phone and at a desk, by day and by night."""

import re
from collections import Counter

import pytest
from django.test import Client
from playwright.sync_api import Page, expect

from garage.models import Car, Garage, Person
from parts.models import Part
from tests.browser.conftest import Visitors
from tests.browser.pages import by_axe, look_at
from tests.factories import make_piece
from tests.garage.matrix import World, build_world
from tests.garage.walker import address, routes

pytestmark = pytest.mark.browser

LONG = "Bracket, gearbox mounting, right, with the reinforcement welded in by somebody"
UNBROKEN = "HW1600-0437-1969-GEARBOXMOUNTINGBRACKET-RIGHTHAND-REINFORCED"
# Empty or not, these are the pages that list something.
LISTS = (
    "/", "/parts/", "/parts/?q=nothing", "/parts/thrown-out/", "/take-off/", "/bench/", "/out/", "/out/new/",
    "/refit/", "/corners/", "/places/", "/finishers/", "/snags/", "/reminders/", "/day-book/", "/cars/", "/people/",
)


def pages_of(world: World) -> list[str]:
    """The address of each route that answers its owner with a whole page."""
    client = Client()
    client.force_login(world.owner, backend="django.contrib.auth.backends.ModelBackend")
    found = []
    for route in routes():
        url = address(route, world)
        answer = client.get(url)
        if answer.headers["Content-Type"].startswith("text/html") and answer.status_code != 302:
            whole = answer.status_code != 405 and answer.getvalue().lstrip().startswith(b"<!doctype")
            found += [url] if whole else []
    return found


def walk(page: Page, urls: list[str]) -> list[str]:
    """What is wrong, each line with its page; two pages with one title are wrong too."""
    wrong, titles = [], Counter()
    for url in urls:
        page.goto(url)
        wrong += [f"{url} {line}" for line in look_at(page)]
        titles[page.title()] += 1
    return wrong + [f"{count} pages are titled {title}" for title, count in titles.items() if count > 1]


def none_of(wrong: list[str]) -> None:
    __tracebackhide__ = True
    if wrong:
        pytest.fail("\n".join(wrong), pytrace=False)


@pytest.mark.parametrize("half", [0, 1])
def test_every_page_of_a_garage_at_work_is_sound(visitors: Visitors, half: int) -> None:
    world = build_world()
    Part.objects.filter(pk=world.part.pk).update(name=LONG, makers_number=UNBROKEN, notes=UNBROKEN)
    urls = pages_of(world)
    assert len(urls) > 50

    none_of(walk(visitors(world.owner), urls[half::2]))
