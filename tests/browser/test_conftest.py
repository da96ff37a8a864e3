"""The windows of these tests see what goes wrong in a page; each kind is planted once."""

import pytest

from garage.models import Person
from tests.browser.conftest import Visitors

pytestmark = pytest.mark.browser


@pytest.mark.parametrize(
    ("planted", "seen"),
    [
        ("console.error('the strip is gone')", "the strip is gone"),
        ("setTimeout(() => { throw new Error('no such stamp') })", "no such stamp"),
        ("document.body.setAttribute('style', 'color: red')", "Content Security Policy"),
        ("fetch('/no-such-page/')", "status of 404"),
    ],
)
def test_a_fault_in_a_page_is_seen(
    visitors: Visitors, owner: Person, planted: str, seen: str
) -> None:
    page = visitors(owner)
    page.goto("/help/")
    assert visitors.problems == []

    page.evaluate(f"() => {{ {planted} }}")
    page.wait_for_timeout(300)

    assert [seen in problem for problem in visitors.problems] == [True]
    visitors.problems.clear()
