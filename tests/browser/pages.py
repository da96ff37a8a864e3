"""Looks at one page as it stands in the browser, and says in sentences what is wrong with it."""

import json
from collections.abc import Iterator
from pathlib import Path
from typing import Any

from axe_playwright_python.base import AXE_SCRIPT
from playwright.sync_api import Page

MEASURES = (Path(__file__).parent / "measures.js").read_text()
# CSS pixels. Controls by the project's own rule; links in a sentence by WCAG 2.2, 2.5.8 Target
# Size (Minimum); the ring by the look.
LEAST = {"control": 48, "inline": 24, "tag": 32, "text": 16, "ring": 3}
# WCAG 2.2, 1.4.10 Reflow: no sideways scroll at 320 px.
WIDTHS = (360, 320)
# Everything axe knows of WCAG 2.0 to 2.2 A and AA and its best practices; it leaves the target
# size of 2.5.8 off unless asked.
AXE = {"resultTypes": ["violations"], "rules": {"target-size": {"enabled": True}}}


def look_at(page: Page) -> list[str]:
    """What is wrong with the page at a phone's and a desk's width, by day and by night."""
    page.wait_for_function("() => !document.querySelector('.htmx-request')")
    page.evaluate(AXE_SCRIPT)
    found = [*measured(page), *by_axe(page, "360 light")]
    found += [line for width in WIDTHS for line in sideways(page, width)]
    page.set_viewport_size({"width": 1280, "height": 900})
    found += sideways(page, 1280)
    page.emulate_media(color_scheme="dark")
    found += [*by_axe(page, "1280 dark"), *sideways(page, 1280)]
    page.set_viewport_size({"width": 360, "height": 740})
    found += sideways(page, 360)
    page.emulate_media(color_scheme="light")
    return found


def measured(page: Page) -> Iterator[str]:
    """Heights, sizes, rings and heads at the width the page now has."""
    page.keyboard.press("Tab")  # rings are for the keyboard, which has to be in use
    answer: dict[str, list[str]] = page.evaluate(MEASURES, {"least": LEAST})
    for lines in answer.values():
        yield from lines


def sideways(page: Page, width_px: int) -> list[str]:
    """Whether the page is wider than its window, with what sticks out of it."""
    page.set_viewport_size({"width": width_px, "height": 740})
    over = page.evaluate(
        """() => {
          const root = document.documentElement, wide = root.clientWidth;
          if (root.scrollWidth <= wide) return "";
          const right = (el) => el.getBoundingClientRect().right;
          const named = (el) => `${el.localName} class=${el.getAttribute("class")}`;
          const out = [...document.body.querySelectorAll("*")].filter((el) => right(el) > wide + 1);
          return out.slice(0, 3).map(named).join(", ") || "something";
        }"""
    )
    return [f"scrolls sideways at {width_px}: {over}"] if over else []


def by_axe(page: Page, seen_at: str) -> list[str]:
    """The violations axe finds, one line a rule."""
    found: list[dict[str, Any]] = page.evaluate(
        f"() => axe.run(document, {json.dumps(AXE)}).then((found) => found.violations)"
    )
    return [
        f"axe at {seen_at}: {one['id']}: {one['help']}: {one['nodes'][0]['html'][:160]}"
        for one in found
    ]
