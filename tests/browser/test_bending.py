"""A pipe is bent with the phone on the bench: begun, read, advised, and nothing lost on the way."""

from uuid import uuid4

import pytest
from playwright.sync_api import Page, expect

from fabrication.making import bending
from fabrication.making.bench import bench_of
from fabrication.models import Making, Reading
from garage.models import Car, Person
from tests.browser.conftest import Finger, Visitors
from tests.browser.pages import look_at
from tests.fabrication.bending_rows import make_making
from tests.fabrication.pipe_rows import make_sheet, pipe_of
from tests.factories import NOW

pytestmark = pytest.mark.browser

ONE_BEND = pipe_of((100, 0, 90), last_mm=120)


def step(page: Page) -> str:
    return page.get_by_role("heading", level=1).inner_text()


def write_down(page: Page, came: str) -> None:
    page.get_by_label("Came to").fill(came)
    page.get_by_role("button", name="Write it down").tap()


def at_the_first_pull(by: Person) -> Making:
    """A pipe of one bend, everything before its first pull done."""
    making = make_making(by=by, sheet=make_sheet(by=by, pipe=ONE_BEND))
    for one in bench_of(making).steps:
        if one.what == "pull":
            return making
        bending.tick(making=making, key=uuid4(), code=one.code, by=by, now=NOW)
    raise AssertionError("no bend")


def test_a_pipe_is_bent_step_by_step_and_a_reload_stays_on_the_step(
    visitors: Visitors, owner: Person, car: Car, finger: Finger
) -> None:
    """Pulled to 88 for 90 it came to 83.81, a ratio of 1.05: 0.8 x 1.05 x 6.19 more makes 93."""
    sheet = make_sheet(by=owner, pipe=ONE_BEND)
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())

    finger.tap(page.get_by_role("link", name="Bend it"))
    finger.tap(page.get_by_role("button", name="Begin a pipe"))
    expect(page.get_by_role("heading", level=1)).to_have_text("Cut to length")
    for head in (
        "Square both ends, deburr",
        "Slide on first",
        "Scribe a line along the tube",
        "Mark for bend 1",
        "Bend 1: line up",
        "Bend 1",
    ):
        finger.tap(page.get_by_role("button", name="Done, next"))
        expect(page.get_by_role("heading", level=1)).to_have_text(head)
    expect(page.get_by_label("Pulled to")).to_have_value("88")
    write_down(page, "83.81")
    expect(page.get_by_role("heading", level=1)).to_have_text("Bend 1: pull again")
    expect(page.locator(".bench-numbers")).to_contain_text("93.0°")

    page.reload()
    assert step(page) == "Bend 1: pull again"
    assert page.url.endswith(Making.objects.get().get_absolute_url())
    write_down(page, "89.6")
    finger.tap(page.get_by_role("button", name="Bend 1 is done"))

    expect(page.get_by_role("heading", level=1)).to_have_text("Compare it")
    assert [one.came_to_deg for one in Reading.objects.order_by("pk")] == [83.81, 89.6]


def test_a_reading_the_server_did_not_get_is_kept_on_the_phone_and_sent_later(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    making = at_the_first_pull(owner)
    page = visitors(owner)
    page.goto(making.get_absolute_url())
    page.route("**/reading/", lambda route: route.fulfill(status=503))

    write_down(page, "84.5")
    expect(page.locator("#kept")).to_contain_text("Kept on this phone, waiting to be sent")
    expect(page.get_by_label("Came to")).to_have_value("84.5")
    assert not Reading.objects.exists()
    # htmx and the browser each say that the server was away; nothing else may be wrong.
    assert len(visitors.problems) == 2
    assert all("503" in said for said in visitors.problems), visitors.problems
    visitors.problems.clear()
    page.unroute("**/reading/")
    # The phone dies, is charged, and opens the page again.
    page.reload()

    expect(page.get_by_role("heading", level=1)).to_have_text("Bend 1: pull again")
    expect(page.locator("#kept")).to_be_hidden()
    page.reload()
    assert Reading.objects.get().came_to_deg == 84.5


def test_a_step_the_server_did_not_get_is_not_shown_as_done(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    making = make_making(by=owner, sheet=make_sheet(by=owner, pipe=ONE_BEND))
    page = visitors(owner)
    page.goto(making.get_absolute_url())
    page.route("**/step/", lambda route: route.fulfill(status=503))

    page.get_by_role("button", name="Done, next").tap()

    expect(page.locator("#kept")).to_contain_text("not written down yet")
    assert step(page) == "Cut to length"
    assert all("503" in said for said in visitors.problems), visitors.problems
    visitors.problems.clear()
    page.unroute("**/step/")
    page.get_by_role("button", name="Done, next").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Square both ends, deburr")
    expect(page.locator("#kept")).to_be_hidden()


def test_what_is_typed_and_not_sent_stands_there_after_the_phone_died(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    making = at_the_first_pull(owner)
    page = visitors(owner)
    page.goto(making.get_absolute_url())

    page.get_by_label("Came to").fill("85.5")
    page.reload()

    expect(page.get_by_label("Came to")).to_have_value("85.5")
    assert not Reading.objects.exists()


def test_the_page_says_whether_the_screen_stays_awake(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    making = at_the_first_pull(owner)
    with_lock, without = visitors(owner), visitors(owner)
    lock = """() => Object.defineProperty(navigator, "wakeLock", { value: { request: async () => {
      const held = new EventTarget();
      held.release = async () => held.dispatchEvent(new Event("release"));
      return held;
    } } })"""
    with_lock.add_init_script(f"({lock})()")
    without.add_init_script("delete Navigator.prototype.wakeLock")

    with_lock.goto(making.get_absolute_url())
    without.goto(making.get_absolute_url())

    wake = with_lock.locator("[data-wake]")
    expect(wake).to_contain_text("The screen stays awake.")
    wake.get_by_role("button", name="Let it go dark").tap()
    expect(wake).to_contain_text("The screen may go dark.")
    expect(without.locator("[data-wake]")).to_contain_text("cannot keep the screen awake")
    expect(without.locator("[data-wake]").get_by_role("button")).to_have_count(0)


def test_a_phone_that_is_picked_up_again_shows_where_the_other_one_stands(
    visitors: Visitors, owner: Person, helper: Person, car: Car
) -> None:
    making = make_making(by=owner, sheet=make_sheet(by=owner, pipe=ONE_BEND))
    page = visitors(owner)
    page.goto(making.get_absolute_url())
    bending.tick(making=making, key=uuid4(), code="cut", by=helper, now=NOW)

    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")

    expect(page.get_by_role("heading", level=1)).to_have_text("Square both ends, deburr")


def test_without_script_a_reading_is_written_down_all_the_same(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    making = at_the_first_pull(owner)
    page = visitors(owner, java_script_enabled=False)
    page.goto(making.get_absolute_url())

    write_down(page, "84.5")

    expect(page.get_by_role("heading", level=1)).to_have_text("Bend 1: pull again")
    assert Reading.objects.count() == 1


def test_the_pull_is_read_from_the_vice_and_the_page_is_sound(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    """By the look: figures of 72 px and more, buttons 56 px high under the thumb."""
    making = at_the_first_pull(owner)
    page = visitors(owner)
    page.goto(making.get_absolute_url())

    size = page.locator(".bench-numbers .is-main dd").evaluate("e => getComputedStyle(e).fontSize")
    box = page.get_by_role("button", name="Write it down").bounding_box()

    assert float(size.removesuffix("px")) >= 72
    assert box
    assert round(box["height"]) >= 56
    assert 740 - 170 <= box["y"] <= 740 - box["height"]
    assert look_at(page) == []
