"""Every page there is, as a person sees it: on a phone and at a desk, by day and by night."""

from collections import Counter

import pytest
from django.http import HttpResponseBase
from django.test import Client
from playwright.sync_api import Page, expect

from garage.models import Car, Garage, Person
from parts.models import Part
from tests.browser.conftest import DESK, Visitors
from tests.browser.pages import look_at
from tests.factories import make_person, make_piece
from tests.garage.matrix import World, build_world
from tests.garage.walker import address, routes
from tests.parts.batches import make_waiting

pytestmark = pytest.mark.browser

LONG = "Bracket, gearbox mounting, right, with the reinforcement welded in by somebody"
UNBROKEN = "HW1600-0437-1969-GEARBOXMOUNTINGBRACKET-RIGHTHAND-REINFORCED"
# Pages that list something; each teaches while there is nothing to list. The last few always
# have something: one person, one car, the first line of the day book.
TEACHES = (
    "/",
    "/parts/",
    "/parts/?q=nothing",
    "/parts/thrown-out/",
    "/bench/",
    "/bonds/",
    "/clocks/",
    "/out/",
    "/out/new/",
    "/refit/",
    "/corners/",
    "/places/",
    "/finishers/",
    "/snags/",
    "/reminders/",
    "/day-book/",
)
LISTS = (*TEACHES, "/take-off/", "/cars/", "/people/", "/settings/", "/help/")


def pages_of(world: World) -> list[str]:
    """The address of each route that answers its owner with a whole page."""
    client = Client()
    client.force_login(world.owner, backend="django.contrib.auth.backends.ModelBackend")
    found = []
    for route in routes():
        url = address(route, world)
        answer = client.get(url)
        # 409 is the page that shows two texts; 404 and 405 are no pages of this address.
        if answer.status_code in (200, 409) and is_whole_page(answer):
            found.append(url)
    return found


def is_whole_page(answer: HttpResponseBase) -> bool:
    """Whether it is a page, and no picture, sheet or piece of a page."""
    is_html = answer.headers["Content-Type"].startswith("text/html")
    return is_html and answer.getvalue().startswith(b"<!doctype html>")


def walk(page: Page, urls: list[str]) -> list[str]:
    """What is wrong, each line with its page; two pages with one title are wrong too."""
    wrong, titles = [], Counter()
    for url in urls:
        page.goto(url)
        wrong += [f"{url} {line}" for line in look_at(page)]
        titles[page.title()] += 1
    return wrong + [
        f"{count} pages are titled {title}" for title, count in titles.items() if count > 1
    ]


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


def test_every_list_of_a_garage_with_nothing_in_it_teaches_and_is_sound(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    page = visitors(owner)

    none_of(walk(page, list(LISTS)))
    for url in TEACHES:
        page.goto(url)
        expect(page.locator(".blank").first).to_be_visible()


def test_a_garage_without_a_car_or_an_owner_is_sound(visitors: Visitors) -> None:
    nobody = visitors(None)
    Garage.here()
    none_of(walk(nobody, ["/setup/"]))

    owner = make_person()
    none_of(walk(nobody, ["/sign-in/"]))
    page = visitors(owner)
    none_of(walk(page, ["/cars/"]))
    expect(page.get_by_role("heading", name="No car yet")).to_be_visible()


def test_what_is_not_there_and_what_one_may_not_do_are_pages_too(
    visitors: Visitors, viewer: Person
) -> None:
    visitors.meant = frozenset({403, 404})
    page = visitors(viewer)

    none_of(walk(page, ["/no-such-page/", "/people/"]))
    expect(page.get_by_role("heading", level=1)).to_have_text("Not for you to change")


def test_what_a_viewer_sees_is_sound(visitors: Visitors) -> None:
    world = build_world()
    part, out = world.part.get_absolute_url(), world.out.get_absolute_url()
    urls = [
        "/",
        part,
        f"/steps/{world.step.pk}/",
        out,
        f"/count/{world.out.number}/",
        "/refit/",
        f"/refit/{world.ready.pk}/",
    ]

    none_of(walk(visitors(world.viewer), urls))


@pytest.mark.parametrize(
    ("url", "button"),
    [
        ("/take-off/", "Save part"),
        ("/pieces/{pk}/judge/", "Write the route card"),
        ("/finishers/new/", "Save finisher"),
        ("/steps/{step}/", "Leave it"),
        ("/places/", "Make the place"),
    ],
)
def test_a_form_with_faults_is_sound_and_leads_to_each_of_them(
    visitors: Visitors, owner: Person, car: Car, url: str, button: str
) -> None:
    piece = make_waiting(car=car, by=owner)
    page = visitors(owner)
    page.goto(url.format(pk=piece.pk, step=piece.next_step_id))

    page.get_by_role("button", name=button).tap()

    summary = page.get_by_role("alert")
    expect(summary).to_be_focused()
    assert page.title().startswith("Error: ")
    links = summary.get_by_role("link").all()
    assert links
    for link in links:
        words = link.inner_text()
        link.focus()
        page.keyboard.press("Enter")
        focused = page.evaluate("() => document.activeElement.id")
        expect(page.locator(f"#{focused}_error")).to_have_text(words)
    none_of(look_at(page))


def test_a_part_on_paper_has_no_frame_and_no_buttons(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    piece = make_piece(car=car, by=owner, name="Water pump pulley")
    page = visitors(owner, size=DESK)
    page.goto(piece.get_absolute_url())
    expect(page.get_by_role("navigation", name="Main")).to_be_visible()

    page.emulate_media(media="print")

    expect(page.get_by_role("heading", level=1)).to_be_visible()
    expect(page.get_by_role("navigation").filter(visible=True)).to_have_count(0)
    expect(page.get_by_role("button").filter(visible=True)).to_have_count(0)
    expect(page.locator("input, footer, header.top").filter(visible=True)).to_have_count(0)
