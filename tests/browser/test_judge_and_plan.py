"""A part is judged; its route card is worked off at the bench until only refit is left."""

from decimal import Decimal

import pytest
from playwright.sync_api import Page, expect

from garage.models import Car, Person
from parts.models import Kind, Progress
from parts.statuses import Status
from tests.browser.conftest import Visitors
from tests.factories import make_piece

pytestmark = pytest.mark.browser


def stamp(page: Page) -> str:
    return page.locator(".swing .stamp").inner_text()


def test_a_part_is_judged_mended_and_ready(visitors: Visitors, owner: Person, car: Car) -> None:
    piece = make_piece(car=car, by=owner, name="Thermostat housing")
    page = visitors(owner)
    page.goto(piece.get_absolute_url())
    assert stamp(page).upper() == "TO BE JUDGED"

    page.get_by_role("link", name="Decide what is to be done").tap()
    page.get_by_role("radio", name="Mend it here, then put it back on.").tap()
    page.get_by_label("What exactly").fill("Drill out the snapped stud")
    page.get_by_label("Why", exact=True).fill("No new ones to be had")
    page.get_by_role("button", name="Write the route card").tap()

    card = page.locator("ol.plan")
    expect(card.get_by_role("heading")).to_have_text(["Repair", "Refit"])
    expect(card.locator("li").first).to_contain_text("You are here")
    expect(card.locator("li").first).to_contain_text("Drill out the snapped stud")

    page.get_by_role("link", name="Repair: begin or done").tap()
    page.get_by_role("button", name="Begin it").tap()
    expect(card.locator("li").first).to_contain_text("Doing")
    assert stamp(page).upper() == "AT BENCH"

    page.get_by_role("link", name="Repair: begin or done").tap()
    page.get_by_label("What was done").fill("Thread insert M8")
    page.get_by_label("Time spent").fill("1 h 25")
    page.get_by_label("Cost").fill("12.50")
    page.get_by_role("button", name="Write down as done").tap()

    expect(page.get_by_role("link", name="Fit it")).to_be_visible()
    assert stamp(page).upper() == "READY"
    expect(card.locator("li").first).to_contain_text("1 h 25")
    expect(card.locator("li").first).to_contain_text("12.50")
    piece.refresh_from_db()
    step = piece.steps.get(kind=Kind.REPAIR)
    assert (piece.state, step.progress) == (Status.READY, Progress.DONE)
    assert (step.minutes, step.cost) == (85, Decimal("12.50"))


def test_a_time_that_cannot_be_read_is_asked_for_again(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    piece = make_piece(car=car, by=owner, name="Thermostat housing")
    page = visitors(owner)
    page.goto(f"/pieces/{piece.pk}/judge/")

    page.get_by_role("button", name="Write the route card").tap()
    expect(page.get_by_role("alert")).to_contain_text("Choose what is to be done")
    page.get_by_role("radio", name="Mend it here, then put it back on.").tap()
    page.get_by_role("button", name="Write the route card").tap()
    page.get_by_role("link", name="Repair: begin or done").tap()
    page.get_by_label("What was done").fill("Thread insert M8")
    page.get_by_label("Time spent").fill("a good while")
    page.get_by_role("button", name="Write down as done").tap()

    expect(page.get_by_role("alert")).to_be_focused()
    expect(page.get_by_label("Time spent")).to_have_value("a good while")
    expect(page.get_by_label("What was done")).to_have_value("Thread insert M8")
    assert piece.steps.get(kind=Kind.REPAIR).progress == Progress.OPEN
