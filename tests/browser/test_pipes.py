"""A pipe sheet while it is typed: results follow beside the boxes, folds open, tabs carry along."""

import pytest
from playwright.sync_api import expect

from fabrication.models import PipeSheet
from garage.models import Car, Person
from tests.browser.conftest import Visitors
from tests.browser.pages import look_at
from tests.fabrication.bending_rows import make_comparison, make_making
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.fabrication.told import bend, leg, measured, points, row

pytestmark = pytest.mark.browser

STAGES = """() => [...document.querySelectorAll(".stages button")].map((one) => {
  const { x, y, width, height } = one.getBoundingClientRect();
  return [x, y + scrollY, width, height];
})"""


@pytest.fixture
def sheet(car: Car, owner: Person) -> PipeSheet:
    typed = measured(
        row(leg(100), bend(90), leg_again=leg(103.2)), row(leg(80), bend(60), 90), last=leg(120)
    )
    return make_sheet(by=owner, pipe=typed)


def test_results_follow_what_is_typed_and_the_box_keeps_the_focus(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    """By hand: 100 + 80 + 120 straight, 150 degrees of arc on 45 mm; then ten more."""
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    expect(page.locator("#answer")).to_contain_text("418.0")
    page.evaluate("() => { window.untouched = true }")

    page.locator("[name=r1-straight]").fill("90")

    expect(page.locator("#answer .results")).to_contain_text("428.0")
    expect(page.locator("#marks")).to_contain_text("Line up")
    expect(page.locator("[name=r1-straight]")).to_be_focused()
    page.locator("[name=r1-straight]").fill("5")
    expect(page.locator("#says-2")).to_contain_text("too short")
    assert page.evaluate("() => window.untouched")


def test_only_the_boxes_of_the_chosen_reading_stand_in_the_fold(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    fold = page.get_by_text("How row 2 was read")
    expect(fold).to_be_hidden()
    expect(page.get_by_text("How row 1 was read")).to_be_visible()  # measured twice
    page.get_by_text("Show how each was read").tap()
    fold.tap()
    height = page.get_by_label("Height over the plate")
    expect(height).to_be_hidden()

    page.locator("[name=r1-twist_how]").select_option("heights")

    expect(height).to_be_visible()
    expect(page.get_by_label("Next straight lies on")).to_be_hidden()


def test_the_page_is_in_order_with_its_folds_open_on_every_tab(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    page.get_by_text("Show how each was read").tap()
    for fold in ("How row 1 was read", "How row 2 was read", "What a straight is measured to"):
        page.get_by_text(fold).tap()
    found = look_at(page)

    page.get_by_role("button", name="Corner points").tap()
    expect(page.locator(".told")).to_be_visible()
    found += look_at(page)
    page.get_by_role("button", name="Mirror of a sheet").tap()
    expect(page.locator("[name=mirror]")).to_be_visible()
    found += look_at(page)

    assert found == []


def test_the_page_of_corner_points_is_in_order(visitors: Visitors, owner: Person, car: Car) -> None:
    told = points((0, 0, 0), (200, 0, 0), (200, 150, 40), (320, 150, 160))
    sheet = make_sheet(by=owner, pipe=told, former=make_former(), stock=make_stock())
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    page.get_by_text("Paste from a spreadsheet").tap()
    page.locator("#id_paste").fill("0,0,0\n1,2")

    page.get_by_role("button", name="Put these in the rows").tap()

    expect(page.locator("#paste_error")).to_contain_text("Line 2 has 2 figures")
    assert look_at(page) == []


def test_on_a_phone_a_small_copy_of_the_drawing_stays_beside_the_rows_and_follows(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    box, copy = page.locator("[name=last]"), page.locator(".glance svg")
    box.scroll_into_view_if_needed()
    expect(copy).to_be_in_viewport()
    before = copy.inner_html()

    box.fill("300")

    expect(page.locator("#answer .results")).to_contain_text("598.0")
    expect(copy).to_be_in_viewport()
    assert copy.inner_html() != before
    page.locator(".glance").tap()
    expect(page.locator("#views > .drawing")).to_be_in_viewport()


def test_the_bead_tool_is_asked_for_where_an_end_has_a_bead(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    tool = page.get_by_label("Bead tool")
    expect(tool).to_be_hidden()

    page.locator("[name=b-form]").select_option("bead")

    expect(tool).to_be_visible()


def test_half_bent_follows_what_is_typed_and_the_row_of_stages_stays(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner)
    page.goto(sheet.get_absolute_url())
    before = page.evaluate(STAGES)

    page.locator("[name=last]").fill("130")
    expect(page.locator("#answer .results")).to_contain_text("428.0")
    after = page.evaluate(STAGES)
    page.get_by_role("button", name="After bend").tap()

    expect(page.get_by_role("img", name="Three views of the pipe with its bend")).to_be_visible()
    assert len(before) == 2 and before == after
    assert page.locator("[name=last]").input_value() == "130"


@pytest.mark.parametrize("has_script", [True, False])
def test_what_can_be_done_about_a_made_pipe_follows_by_itself(
    visitors: Visitors, owner: Person, car: Car, has_script: bool
) -> None:
    pipe = pipe_of((100, 0, 90), last_mm=100)
    row = make_comparison(make_making(by=owner, pipe=pipe), 94.0)
    page = visitors(owner, java_script_enabled=has_script)

    page.goto(row.get_absolute_url())

    expect(page.get_by_role("heading", level=1)).to_have_text("Make it again")
    expect(page.get_by_text("cannot open")).to_be_visible()
