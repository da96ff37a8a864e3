"""Two people write on one part: no text is lost, and both are shown where they meet."""

import pytest
from playwright.sync_api import Page, expect

from garage.models import Car, Person
from parts.models import Draft, Part
from tests.browser.conftest import Visitors
from tests.factories import make_part

pytestmark = pytest.mark.browser


@pytest.fixture
def two(visitors: Visitors, owner: Person, helper: Person, car: Car) -> tuple[Page, Page, Part]:
    """Wren and Ade, each with the same part open to change it."""
    helper.car = car
    helper.save(update_fields=["car"])
    part = make_part(car=car, by=owner, name="Water pump", notes="As it came off")
    wren, ade = visitors(owner), visitors(helper)
    for page in (wren, ade):
        page.goto(f"/parts/{part.tag}/change/")
    return wren, ade, part


def write(page: Page, **fields: str) -> None:
    for label, text in fields.items():
        page.get_by_label(label, exact=True).fill(text)
    page.get_by_role("button", name="Save the changes").tap()


def test_two_texts_on_one_line_are_both_shown_and_both_can_be_kept(
    two: tuple[Page, Page, Part],
) -> None:
    wren, ade, part = two
    write(wren, Notes="Impeller worn")
    expect(wren.get_by_role("status")).to_contain_text("is changed")

    write(ade, Notes="Shaft has play")

    expect(ade.get_by_role("heading", level=1)).to_have_text("Two changes met")
    notes = ade.get_by_role("region", name="Notes")
    expect(notes.locator("dd")).to_have_text(["Impeller worn", "Shaft has play"])
    part.refresh_from_db()
    assert part.notes == "Impeller worn"
    notes.get_by_label("Keep both").tap()
    ade.get_by_role("button", name="Settle it").tap()

    expect(ade.get_by_role("status")).to_contain_text("is settled")
    expect(ade.locator(".notes-text")).to_have_text("Impeller wornShaft has play")
    part.refresh_from_db()
    assert part.notes == "Impeller worn\nShaft has play"
    assert Draft.objects.get().settled_at


def test_changes_of_different_lines_are_both_saved(two: tuple[Page, Page, Part]) -> None:
    wren, ade, part = two
    write(wren, Notes="Impeller worn")
    expect(wren.get_by_role("status")).to_contain_text("is changed")

    write(ade, **{"Where it sat": "Front of the block"})

    expect(ade.get_by_role("status")).to_contain_text("Somebody else's changes are kept as well")
    part.refresh_from_db()
    assert (part.notes, part.position) == ("Impeller worn", "Front of the block")
