"""A batch goes to the finisher with a sheet, and comes home in two goes."""

from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import Page, expect

from garage.models import Car, Person
from parts.models import Count, DropOff, Kind, Piece, Progress
from parts.statuses import Status
from tests.browser.conftest import Visitors
from tests.factories import make_finisher
from tests.parts.batches import make_waiting

pytestmark = pytest.mark.browser
BOTH_WAYS = pytest.mark.parametrize("javascript", [True, False])


def three_brackets_and_a_lid(car: Car, owner: Person) -> tuple[Piece, Piece]:
    make_finisher(name="Scarrow Coatings")
    brackets = make_waiting(car=car, by=owner, name="Radiator bracket", quantity=3)
    return brackets, make_waiting(car=car, by=owner, name="Air cleaner lid")


def open_sheet(page: Page) -> bytes:
    """The PDF behind "See the sheet", asked for with the browser's own cookies."""
    url = page.get_by_role("link", name="See the sheet").get_attribute("href")
    answer = page.request.get(url)
    assert answer.headers["content-type"] == "application/pdf"
    return answer.body()


@BOTH_WAYS
def test_a_batch_goes_out_and_comes_back_in_two_goes(
    visitors: Visitors, owner: Person, car: Car, javascript: bool
) -> None:
    brackets, lid = three_brackets_and_a_lid(car, owner)
    page = visitors(owner, java_script_enabled=javascript)
    page.goto("/out/")

    expect(page.get_by_role("heading", name="Blast then powder coat")).to_be_visible()
    page.get_by_role("button", name="New drop-off to Scarrow Coatings").tap()
    say_no_to_everything(page, alike="Air cleaner lid")
    expect(page.get_by_role("heading", level=1)).to_have_text("Scarrow Coatings")
    dropoff = DropOff.objects.get()
    assert dropoff.lines.count() == 2

    mask_a_thread(page, "Radiator bracket")
    assert open_sheet(page).startswith(b"%PDF")
    hand_over(page)
    for piece in (brackets, lid):
        piece.refresh_from_db()
        assert piece.state is Status.AT_FINISHER
    page.goto("/")
    out = page.get_by_role("region", name="Out").get_by_role("row", name="Scarrow Coatings")
    expect(out).to_contain_text("4")

    out.get_by_role("link").tap()
    count_two_good_and_one_to_be_redone(page)
    expect(page.locator(".still-out")).to_contain_text("1 of 4 pieces still out")
    assert DropOff.objects.get().state == DropOff.State.OUT

    page.get_by_role("button", name="All 1 are good").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Scarrow Coatings")
    expect(page.get_by_text("runs in the primer")).to_be_visible()
    dropoff.refresh_from_db()
    assert dropoff.state == DropOff.State.CLOSED
    assert_they_are_where_they_belong(brackets, lid)


def say_no_to_everything(page: Page, *, alike: str) -> None:
    expect(page.get_by_role("heading", level=1)).to_contain_text("What is on it?")
    for question in page.get_by_role("group").filter(has_text="Don't know").all():
        question.get_by_label("No", exact=True).check()
    page.get_by_label(alike).check()
    page.get_by_role("button", name="Put it on", exact=True).tap()


def mask_a_thread(page: Page, line: str) -> None:
    page.get_by_role("link", name=f"Change {line}").tap()
    page.get_by_label("Keep bare", exact=True).first.select_option("Threaded hole")
    page.get_by_label("How many", exact=True).nth(1).fill("4")
    page.get_by_label("Thread or size").first.fill("M6")
    page.get_by_role("button", name="Save line").tap()
    masks = page.locator(".masks")
    expect(masks).to_contain_text("Keep bare")
    expect(masks).to_contain_text("M6")


def hand_over(page: Page) -> None:
    page.get_by_role("link", name="Hand over").tap()
    due = timezone.localdate() + timedelta(days=10)
    expect(page.get_by_label("Due back")).to_have_value(due.isoformat())
    page.get_by_role("button", name="Print and hand over").tap()
    expect(page.get_by_role("status")).to_contain_text("is handed over")
    assert open_sheet(page) == open_sheet(page), "the sheet that was handed over is kept"


def count_two_good_and_one_to_be_redone(page: Page) -> None:
    line = page.get_by_role("listitem").filter(has_text="Radiator bracket")
    line.get_by_label("Good", exact=True).fill("2")
    line.get_by_label("To be redone").fill("1")
    line.locator("summary", has_text="Something is wrong").tap()
    line.get_by_label("What is wrong?").fill("runs in the primer")
    page.get_by_role("button", name="Write down the count").tap()


def assert_they_are_where_they_belong(brackets: Piece, lid: Piece) -> None:
    """Two brackets and the lid are to be prepared; the third bracket is to go out again."""
    lid.refresh_from_db()
    assert (lid.state, lid.next_step.kind) == (Status.OFF, Kind.PREPARE)
    kinds = {}
    for piece in Piece.objects.filter(part=brackets.part):
        assert piece.state is Status.OFF
        kinds[piece.next_step.kind] = kinds.get(piece.next_step.kind, 0) + piece.quantity
    assert kinds == {Kind.PREPARE: 2, Kind.SEND_OUT: 1}
    assert lid.steps.get(kind=Kind.SEND_OUT).progress == Progress.DONE


def test_a_note_without_a_figure_is_asked_about_and_not_lost(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    three_brackets_and_a_lid(car, owner)
    page = visitors(owner)
    page.goto("/out/")
    page.get_by_role("button", name="New drop-off to Scarrow Coatings").tap()
    for _ in range(2):
        page.get_by_role("button", name="Answer later").tap()
    hand_over(page)
    page.get_by_role("link", name="Count back").tap()
    line = page.get_by_role("listitem").filter(has_text="Radiator bracket")
    line.locator("summary", has_text="Something is wrong").tap()
    line.get_by_label("What is wrong?").fill("runs in the primer")

    page.get_by_role("button", name="Write down the count").tap()

    expect(page.get_by_role("alert")).to_contain_text("say what came back as well")
    expect(line.get_by_label("What is wrong?")).to_have_value("runs in the primer")
    assert not Count.objects.exists()
