"""The whole job without a pointer, and nothing that moves for who asked it not to."""

import pytest
from playwright.sync_api import Page, expect

from garage.models import Car, Person
from parts.models import Part
from tests.browser.conftest import DESK, PHONE, Visitors
from tests.factories import make_piece

pytestmark = pytest.mark.browser

# {what has the focus, in words, and whether something lies over it}: WCAG 2.2, 2.4.11 Focus Not
# Obscured (Minimum) asks that it is not hidden whole; here its middle must be free.
FOCUSED = """() => {
  const el = document.activeElement;
  if (el === document.body) return null;
  const target = el.closest("label") || el, box = target.getBoundingClientRect();
  const top = document.elementFromPoint(box.left + box.width / 2, box.top + box.height / 2);
  const said = `${el.tagName} ${el.id || el.name || ""} ${el.innerText || el.value || ""}`;
  return [said.trim(), Boolean(top && target.contains(top))];
}"""


def tour(page: Page, *, most: int = 200) -> list[str]:
    """What Tab leads to, from where the focus is until it leaves the page."""
    stops: list[str] = []
    for _ in range(most):
        page.keyboard.press("Tab")
        focused = page.evaluate(FOCUSED)
        if focused is None:
            return stops
        name, free = focused
        assert free, f"{name} has the focus and lies under something"
        stops.append(name)
    raise AssertionError(f"the focus never leaves the page: {stops[-5:]}")


def test_a_part_is_taken_off_by_keyboard_alone(visitors: Visitors, owner: Person, car: Car) -> None:
    page = visitors(owner, size=DESK)
    page.goto("/take-off/")

    page.keyboard.press("Tab")
    expect(page.get_by_role("link", name="Skip to the page")).to_be_focused()
    page.keyboard.press("Enter")
    for _ in range(3):  # two ways to a photo, then the name
        page.keyboard.press("Tab")
    expect(page.get_by_label("What is it?")).to_be_focused()
    page.keyboard.type("Water pump")
    while not page.evaluate("() => document.activeElement.innerText === 'Save part'"):
        page.keyboard.press("Tab")
        assert page.evaluate("() => document.activeElement !== document.body"), "no way to Save"
    page.keyboard.press("Enter")

    expect(page.get_by_role("heading", level=1)).to_have_text("Water pump")
    assert Part.objects.count() == 1


@pytest.mark.parametrize("size", [PHONE, DESK])
def test_tab_goes_through_every_page_of_a_job_and_is_never_caught_or_covered(
    visitors: Visitors, owner: Person, car: Car, size: tuple[int, int]
) -> None:
    piece = make_piece(car=car, by=owner, name="Water pump")
    page = visitors(owner, size=size)

    for url in ("/take-off/", "/parts/", piece.get_absolute_url(), f"/pieces/{piece.pk}/judge/"):
        page.goto(url)
        stops = tour(page)
        assert stops[0].endswith("Skip to the page")
        assert len(stops) > 10


def test_a_fold_opens_and_shuts_by_keyboard(visitors: Visitors, owner: Person, car: Car) -> None:
    page = visitors(owner)
    page.goto("/take-off/")
    fold = page.locator("summary", has_text="Put away")

    fold.focus()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Put away in")).to_be_visible()
    page.keyboard.press("Enter")
    expect(page.get_by_label("Put away in")).to_be_hidden()


@pytest.mark.parametrize(("motion", "most_ms"), [("reduce", 0), ("no-preference", 200)])
def test_nothing_moves_for_who_asked_it_not_to(
    visitors: Visitors, owner: Person, car: Car, motion: str, most_ms: int
) -> None:
    """WCAG 2.2, 2.3.3 Animation from Interactions; 200 ms at most for the rest is our own rule."""
    page = visitors(owner, reduced_motion=motion)
    page.goto("/take-off/")

    moves = page.evaluate(
        """() => {
          const ms = (time) => parseFloat(time) * (time.endsWith("ms") ? 1 : 1000);
          const times = (style) => `${style.transitionDuration}, ${style.animationDuration}`;
          const longest = (style) => Math.max(...times(style).split(", ").map(ms));
          return [...document.querySelectorAll("*")].flatMap((el) =>
            [undefined, "::before", "::after"].map((part) => longest(getComputedStyle(el, part))));
        }"""
    )
    assert max(moves) <= most_ms
    assert (max(moves) > 0) == (motion == "no-preference"), "the tick is drawn in, unless asked"
