"""Find a part among many: while typing, by filters in the address, and back again."""

import pytest
from playwright.sync_api import Locator, Page, expect

from garage.models import Car, Person
from tests.browser.conftest import DESK, Visitors
from tests.factories import make_part, make_place, system_of

pytestmark = pytest.mark.browser


def fill(car: Car, owner: Person) -> None:
    """Three parts in Cooling, one in Brakes."""
    cooling, shelf = system_of(car, "Cooling"), make_place("Shelf A / Box 1")
    for name in ("Water pump pulley", "Thermostat housing", "Bypass pipe"):
        make_part(car=car, by=owner, name=name, system=cooling, place=shelf)
    make_part(car=car, by=owner, name="Wheel cylinder", system=system_of(car, "Brakes"))


def names(page: Page) -> Locator:
    return page.locator("#found .part-name a")


def test_the_list_follows_what_is_typed_and_the_box_keeps_the_focus(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    fill(car, owner)
    page = visitors(owner)
    page.goto("/parts/")
    expect(names(page)).to_have_count(4)
    page.evaluate("() => { window.untouched = true }")
    box = page.locator("#find-p")

    box.tap()
    page.keyboard.type("thermo")

    expect(names(page)).to_have_text(["Thermostat housing"])
    expect(box).to_be_focused()
    expect(box).to_have_value("thermo")
    expect(page).to_have_url("/parts/?q=thermo")
    page.keyboard.press("End")
    page.keyboard.type("x")
    expect(page.get_by_role("heading", name="Nothing answers to that")).to_be_visible()
    expect(box).to_be_focused()
    assert page.evaluate("() => window.untouched"), "the page itself was never left"


def test_back_and_forward_give_whole_pages_and_reload_the_same_list(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    fill(car, owner)
    page = visitors(owner)
    page.goto("/parts/")
    page.locator("#find-p").fill("pump")
    expect(names(page)).to_have_text(["Water pump pulley"])
    page.locator("#find-p").fill("pipe")
    expect(names(page)).to_have_text(["Bypass pipe"])

    page.reload()
    expect_whole_page(page, ["Bypass pipe"], "pipe")
    page.go_back()
    expect_whole_page(page, ["Water pump pulley"], "pump")
    names(page).first.tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Water pump pulley")
    page.go_back()
    expect_whole_page(page, ["Water pump pulley"], "pump")
    page.go_back()
    expect(names(page)).to_have_count(4)
    page.go_forward()
    expect_whole_page(page, ["Water pump pulley"], "pump")


def expect_whole_page(page: Page, found: list[str], typed: str) -> None:
    expect(names(page)).to_have_text(found)
    expect(page.locator("#find-p")).to_have_value(typed)
    expect(page.get_by_role("navigation", name="Main")).to_have_count(1)
    expect(page.get_by_role("heading", level=1)).to_have_text("Parts")


def test_each_filter_that_is_on_is_a_link_that_takes_it_off(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    fill(car, owner)
    page = visitors(owner, size=DESK)
    page.goto("/parts/")
    filters = page.get_by_role("navigation", name="Filter").filter(visible=True)
    expect(page.locator("#parts-total")).to_have_text("4 of 4 parts")

    filters.get_by_role("link", name="Cooling 3").click()
    expect(names(page)).to_have_count(3)
    expect(page.locator("#parts-total")).to_have_text("3 of 4 parts")
    page.locator("#find").fill("housing")
    page.keyboard.press("Enter")
    expect(names(page)).to_have_text(["Thermostat housing"])
    page.goto(f"{page.url}&system={system_of(car, 'Brakes').pk}")
    expect(page.get_by_role("heading", name="Nothing answers to that")).to_be_visible()

    slips = page.locator("p.slips a")
    expect(slips).to_have_text(["“housing”, remove this filter", "Brakes, remove this filter"])
    slips.nth(1).click()
    expect(names(page)).to_have_text(["Thermostat housing"])
    slips.first.click()
    expect(names(page)).to_have_count(4)
    expect(slips).to_have_count(0)


def test_thirty_more_are_a_link_away_and_say_where_they_stand(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    system = system_of(car, "Body")
    for number in range(1, 33):
        make_part(car=car, by=owner, name=f"Clip {number:02}", system=system)
    page = visitors(owner)
    page.goto("/parts/?q=clip")
    expect(names(page)).to_have_count(30)
    expect(page.locator(".more")).to_contain_text("1 to 30")

    page.get_by_role("link", name="Show 30 more").tap()

    expect(names(page)).to_have_text(["Clip 02", "Clip 01"])
    expect(page.locator(".more")).to_contain_text("31 to 32")
    expect(page.get_by_role("link", name="Show 30 more")).to_have_count(0)
    page.get_by_role("link", name="Earlier 30").tap()
    expect(names(page)).to_have_count(30)


def test_a_tag_typed_in_full_opens_its_part(visitors: Visitors, owner: Person, car: Car) -> None:
    part = make_part(car=car, by=owner, name="Drop arm")
    page = visitors(owner, java_script_enabled=False)
    page.goto("/parts/")

    page.locator("#find-p").fill(part.tag.lower())
    page.locator("form.find-phone").get_by_role("button", name="Find").tap()

    expect(page.get_by_role("heading", level=1)).to_have_text("Drop arm")
    page.go_back()
    expect(page.get_by_role("heading", level=1)).to_have_text("Parts")
