"""A bracket is worked out while it is typed, and saved; its pages suit a phone and a desk."""

import pytest
from playwright.sync_api import expect

from fabrication.models import BracketSheet
from garage.models import Car, Person
from tests.browser.conftest import Visitors
from tests.browser.pages import look_at
from tests.fabrication.bracket_rows import clip, make_bracket_sheet

pytestmark = pytest.mark.browser


def test_a_bracket_is_worked_out_while_it_is_typed_and_saved(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    """20/35/30 of 2 mm at r 3 by DIN 6935 is 76.74; with a first flange of 25 it is 81.74."""
    sheet = make_bracket_sheet(by=owner)
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    expect(page.locator("#answer")).to_contain_text("76.7")
    expect(page.locator(".bracket-flat svg").first).to_be_visible()

    page.locator("[name=f0-length]").fill("25")
    expect(page.locator("#answer")).to_contain_text("81.7")
    page.locator("[name=f1-length]").fill("6")
    expect(page.locator("#says-flange-2")).to_contain_text("overlap")
    page.locator("[name=f1-length]").fill("35")
    expect(page.locator("#says-flange-2")).not_to_contain_text("overlap")
    page.get_by_role("button", name="Save sheet").click()

    expect(page.locator(".overline").first).to_contain_text("revision 2")
    assert BracketSheet.objects.get().inputs["rows"][0]["length"]["mm"] == 25


@pytest.mark.parametrize("kind", ["strip", "clip"])
def test_its_page_suits_a_phone_a_desk_day_and_night(
    visitors: Visitors, owner: Person, car: Car, kind: str
) -> None:
    sheet = make_bracket_sheet(by=owner, bracket=clip() if kind == "clip" else None)
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())

    assert "\n".join(look_at(page)) == ""


@pytest.mark.parametrize(
    "path",
    [
        "/brackets/",
        "/brackets/new/",
        "/brackets/new/?form=half",
        "/sheet/",
        "/sheet/new/",
        "/sheet/choose/?material=steel&thickness=2&width=25&hole=6.6",
    ],
)
def test_the_pages_around_it_as_well(
    visitors: Visitors, owner: Person, car: Car, path: str
) -> None:
    make_bracket_sheet(by=owner)
    make_bracket_sheet(by=owner, thrown_out=True)
    page = visitors(owner)
    page.goto(path)

    assert "\n".join(look_at(page)) == ""
