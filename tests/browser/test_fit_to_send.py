"""A glued pipe on its way to the coater: asked about, held back, looked at, handed over."""

import pytest
from playwright.sync_api import Page, expect

from garage.models import Car, Person
from parts.models import Answer, DropOff, SentAnyway
from parts.statuses import Status
from tests import factories
from tests.browser.conftest import Visitors
from tests.browser.test_dropoff import hand_over, open_sheet
from tests.parts.batches import make_waiting

pytestmark = pytest.mark.browser


def answer_all(page: Page, **says: str) -> None:
    """Every question with "No", except those whose text holds a word of ``says``."""
    expect(page.get_by_role("heading", level=1)).to_contain_text("What is on it?")
    for question in page.get_by_role("group").filter(has_text="Don't know").all():
        text = question.inner_text()
        word = next((word for part, word in says.items() if part in text), "No")
        question.get_by_label(word, exact=True).check()


def test_a_glued_pipe_is_held_back_until_somebody_looked(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    factories.sow_heat()
    factories.make_finisher(name="Scarrow Coatings")
    pipe = make_waiting(car=car, by=owner, name="Coolant pipe")
    factories.make_joint(piece=pipe, by=owner, note="bracket to pipe")
    page = visitors(owner)
    page.goto("/out/")

    page.get_by_role("button", name="New drop-off to Scarrow Coatings").tap()
    answer_all(page, glued="Yes")
    page.get_by_label("Coolant pipe", exact=True).check()
    page.get_by_role("button", name="Put it on", exact=True).tap()

    line = page.get_by_role("listitem").filter(has_text="Coolant pipe").first
    expect(line).to_contain_text("The glue has not finished curing")
    expect(page.get_by_text("1 held back")).to_be_visible()
    page.get_by_role("link", name="Hand over").tap()
    page.get_by_role("button", name="Print and hand over").tap()
    expect(page.get_by_role("alert")).to_contain_text("The glue has not finished curing")

    page.goto(pipe.get_absolute_url())
    page.get_by_role("button", name="I looked, it is hard").tap()
    expect(page.get_by_text("Hard: Wren looked")).to_be_visible()
    page.goto("/out/1/")
    expect(line).not_to_contain_text("The glue has not finished curing")
    expect(line).to_contain_text("The cure is close to the adhesive's limit")
    assert open_sheet(page).startswith(b"%PDF")
    hand_over(page)
    pipe.refresh_from_db()
    assert pipe.state is Status.AT_FINISHER


def test_the_owner_sends_it_anyway_and_a_helper_cannot(
    visitors: Visitors, owner: Person, helper: Person, car: Car
) -> None:
    factories.make_finisher(name="Scarrow Coatings")
    tank = make_waiting(car=car, by=owner, name="Header tank")
    helper.car = car
    helper.save(update_fields=["car"])
    page = visitors(helper)
    page.goto("/out/")
    page.get_by_role("button", name="New drop-off to Scarrow Coatings").tap()
    answer_all(page, hollow="Don't know")
    page.get_by_role("button", name="Put it on", exact=True).tap()

    expect(page.get_by_text("or the owner says why it goes anyway")).to_be_visible()
    assert Answer.objects.get(piece=tank, question="hollow").says == "unknown"
    expect(page.get_by_text("Held back: send anyway?")).to_have_count(0)

    page = visitors(owner)
    page.goto("/out/1/")
    page.get_by_text("Held back: send anyway?").tap()
    page.get_by_label("Send anyway, because").fill("Both hose stubs are open, looked through it.")
    page.get_by_role("button", name="Send it anyway").tap()

    expect(page.locator(".drop-line")).to_contain_text("Sent anyway, because")
    assert SentAnyway.objects.get().by == owner
    assert DropOff.objects.get().is_being_built
