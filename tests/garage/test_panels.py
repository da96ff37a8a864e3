"""Panels: what one room shows on another room's page."""

import pytest

from garage.panels import Panel, panels_for, register


@pytest.fixture
def shelf() -> str:
    """A kind of page only this test knows; the last panel has nothing to show."""
    page = "a shelf in a test"
    if not panels_for(page, "everything"):
        register(page, Panel("Sheets", "parts/bench.html", lambda subject: [subject]))
        register(
            page,
            Panel("Clocks", "parts/out.html", lambda subject: subject == "everything" and [1, 2]),
        )
        register(page, Panel("Nothing", "parts/out.html", lambda subject: []))
    return page


def test_panels_stand_in_the_order_they_were_registered_with_what_was_found(shelf: str) -> None:
    assert panels_for(shelf, "everything") == [
        {"label": "Sheets", "template": "parts/bench.html", "found": ["everything"]},
        {"label": "Clocks", "template": "parts/out.html", "found": [1, 2]},
    ]


def test_a_panel_with_nothing_to_show_is_left_out(shelf: str) -> None:
    assert [panel["label"] for panel in panels_for(shelf, "a part")] == ["Sheets"]


def test_a_page_nobody_registered_for_has_no_panels() -> None:
    assert panels_for("no such page", None) == []
