"""What looks at every page is no blind one: each fault it knows is planted once, and found."""

import pytest
from playwright.sync_api import expect

from garage.models import Person
from tests.browser.conftest import Visitors
from tests.browser.pages import look_at

pytestmark = pytest.mark.browser

# (what a careless hand does to the page, what is said of it)
FAULTS = {
    "a button too low": (
        "b.textContent = 'Low'; b.className = ''; b.style.height = '47px'",
        "“Low” is 47.0 px high, not 48",
    ),
    "a link alone on its line": (
        "p.innerHTML = '<a href=\"/\">Alone</a>'",
        "a “Alone” is 28.4 px high, not 48",
    ),
    "a link in a sentence too low": (
        "p.innerHTML = 'Go <a href=\"/\">home</a>';"
        " p.firstElementChild.style.cssText = 'padding: 0; font-size: 16px'",
        "a “home” is 20.0 px high, not 24",
    ),
    "small print": ("p.textContent = 'Small'; p.style.fontSize = '15px'", "“Small” is 15.0 px"),
    "no ring": (
        "b.textContent = 'Plain'; b.style.outline = 'none'; b.style.height = '48px'",
        "“Plain” shows no ring",
    ),
    "two heads": ("p.innerHTML = '<h1>Second</h1>'", "2 h1"),
    "a wide thing": (
        "p.textContent = 'Wide'; p.style.width = p.style.maxWidth = '1300px'",
        "scrolls sideways at 1280: p class",
    ),
    "a thing too wide for a small phone": (
        "p.textContent = 'Wide'; p.style.width = p.style.maxWidth = '330px'",
        "scrolls sideways at 320: p class",
    ),
    "a box without a name": ("p.innerHTML = '<input>'", "axe at 360 light: label: "),
    "pale words by night": (
        "p.textContent = 'Pale'; p.style.color = 'light-dark(black, #333)'",
        "axe at 1280 dark: color-contrast: ",
    ),
}


@pytest.mark.parametrize("fault", FAULTS)
def test_a_fault_on_a_page_is_found(visitors: Visitors, owner: Person, fault: str) -> None:
    planted, said = FAULTS[fault]
    page = visitors(owner)
    page.goto("/help/")
    expect(page.get_by_role("heading", level=1)).to_have_text("Help")

    page.evaluate(
        "() => { const p = document.createElement('p'), b = document.createElement('button');"
        " document.querySelector('main').append(p, b);"
        f" b.textContent = 'Fine'; b.className = 'button'; {planted} }}"
    )

    found = look_at(page)
    assert [line for line in found if said in line], found
