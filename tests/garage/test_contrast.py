"""Contrast of the colours, from the stylesheet itself, against WCAG 2.2.

Text that is read: 7:1, 1.4.6 Contrast (Enhanced). Red pencil: 4.5:1, 1.4.3 Contrast (Minimum).
Edges of boxes, rules and tags, and the focus ring: 3:1, 1.4.11 Non-text Contrast.
"""

from collections.abc import Iterator
from itertools import product
from pathlib import Path
from typing import Any

import pytest
import tinycss2
import tinycss2.color4

from garage import settings

CSS = Path(settings.__file__).parent / "static" / "garage" / "css"
TEXT, RED, EDGE = 7.0, 4.5, 3.0
# (what is drawn, on what, the least ratio). --feint rules ledgers, --fill grounds the main button.
PAIRS = [
    ("ink", "paper", TEXT),
    ("ink", "sheet", TEXT),
    ("ink-2", "paper", TEXT),
    ("ink-2", "sheet", TEXT),
    ("on-ink", "fill", TEXT),
    ("tag-ink", "manila", TEXT),
    ("red", "paper", RED),
    ("red", "sheet", RED),
    ("on-red", "red", RED),
    ("rule", "paper", EDGE),
    ("rule", "sheet", EDGE),
    ("feint", "paper", EDGE),
    ("feint", "sheet", EDGE),
    ("tag-edge", "manila", EDGE),
    ("focus", "paper", EDGE),
    ("focus", "sheet", EDGE),
]
# (the system's scheme, whether more contrast is asked for, the theme a person set)
LIGHT, DARK = "light", "dark"
PAGES = {
    "light": (LIGHT, False, ""),
    "dark": (DARK, False, ""),
    "more contrast, light": (LIGHT, True, ""),
    "more contrast, dark": (DARK, True, ""),
    "light although the system is dark": (DARK, False, LIGHT),
    "dark although the system is light": (LIGHT, False, DARK),
}


def relative_luminance(colour: str) -> float:
    """The relative luminance of ``colour``, 0 to 1.

    Source: WCAG 2.2, definition of relative luminance (with the sRGB threshold 0.04045).
    """
    parsed = tinycss2.color4.parse_color(colour)
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in parsed[:3]]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def contrast(one: str, other: str) -> float:
    """The contrast ratio of two colours, 1 to 21. Source: WCAG 2.2, contrast ratio."""
    darker, lighter = sorted((relative_luminance(one), relative_luminance(other)))
    return (lighter + 0.05) / (darker + 0.05)


def colours(scheme: str, more: bool, theme: str) -> dict[str, str]:
    """Every token of tokens.css as a page with these wishes has it, by the cascade's order."""
    asked = {f"(prefers-color-scheme: {scheme})"} | (
        {"(prefers-contrast: more)"} if more else set()
    )
    selectors = {":root": 1, f':root[data-theme="{theme}"]': 2}
    if theme != LIGHT:
        selectors[':root:not([data-theme="light"])'] = 2
    sheet = tinycss2.parse_stylesheet((CSS / "tokens.css").read_text(), True, True)
    found = sorted(_declared(sheet, asked, selectors), key=lambda one: one[0])
    return {name: value for _, name, value in found}


def _declared(
    rules: list[Any], asked: set[str], selectors: dict[str, int]
) -> Iterator[tuple[int, str, str]]:
    """(specificity in pseudo-classes, token, value) of each rule that holds, in their order."""
    for rule in rules:
        prelude = tinycss2.serialize(rule.prelude).strip()
        if rule.type == "at-rule" and rule.content is not None:
            if rule.lower_at_keyword == "layer" or prelude in asked:
                inner = tinycss2.parse_rule_list(rule.content, True, True)
                yield from _declared(inner, asked, selectors)
        elif rule.type == "qualified-rule" and prelude in selectors:
            for line in tinycss2.parse_blocks_contents(rule.content, True, True):
                if line.type == "declaration" and line.name.startswith("--"):
                    value = tinycss2.serialize(line.value).strip()
                    yield selectors[prelude], line.name.removeprefix("--"), value


@pytest.mark.parametrize(
    ("one", "other", "ratio"),
    [
        # The ends of the scale by the definition itself.
        ("#000", "#fff", 21.0),
        ("#fff", "#fff", 1.0),
        # The lightest grey that passes on white, and the next that does not; widely published
        # values, here from memory.
        ("#767676", "#fff", 4.54),
        ("#777777", "#fff", 4.48),
        # Pure red on white, from memory of the same tables.
        ("#f00", "#fff", 4.0),
    ],
)
def test_the_ratio_is_the_published_one(one: str, other: str, ratio: float) -> None:
    assert contrast(one, other) == pytest.approx(ratio, abs=0.005)


@pytest.mark.parametrize(("page", "pair"), list(product(PAGES, PAIRS)), ids=str)
def test_what_is_drawn_stands_out(page: str, pair: tuple[str, str, float]) -> None:
    drawn, ground, least = pair
    tokens = colours(*PAGES[page])

    assert contrast(tokens[drawn], tokens[ground]) >= least


@pytest.mark.parametrize("page", PAGES)
def test_a_tag_stands_out_from_the_page_by_its_edge_or_by_itself(page: str) -> None:
    tokens = colours(*PAGES[page])

    edge = contrast(tokens["tag-edge"], tokens["paper"])
    itself = contrast(tokens["manila"], tokens["paper"])
    assert max(edge, itself) >= EDGE


def test_a_theme_that_was_set_is_the_theme_of_a_system_that_asks_for_it() -> None:
    for theme in (LIGHT, DARK):
        for system in (LIGHT, DARK):
            assert colours(system, False, theme) == colours(theme, False, "")


def test_more_contrast_never_gives_less() -> None:
    for scheme in (LIGHT, DARK):
        usual, more = colours(scheme, False, ""), colours(scheme, True, "")
        for drawn, ground, _ in PAIRS:
            before = contrast(usual[drawn], usual[ground])
            assert contrast(more[drawn], more[ground]) >= before, (scheme, drawn, ground)


@pytest.mark.parametrize("name", ["base.css", "components.css", "screens.css"])
def test_no_colour_is_written_anywhere_but_in_the_tokens(name: str) -> None:
    """A colour written elsewhere would be one that is not looked at here."""
    sheet = tinycss2.parse_component_value_list((CSS / name).read_text(), True)

    assert [value for value in _values(sheet) if _is_colour(value)] == []


def _values(tokens: list[Any]) -> Iterator[str]:
    for token in tokens:
        yield from _values(getattr(token, "content", None) or [])
        if token.type == "hash":
            yield f"#{token.value}"
        elif token.type == "function":
            yield from _values(token.arguments)
            yield tinycss2.serialize([token])


def _is_colour(text: str) -> bool:
    return tinycss2.color4.parse_color(text) is not None
