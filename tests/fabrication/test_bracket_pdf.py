"""The bracket sheet read back from its PDF: template true to 0.02 mm, lists, notes, both papers."""

import io
from typing import Any

import pdfplumber
import pytest
from django.test import Client

from fabrication.models import BracketSheet
from garage.models import Person
from tests.fabrication.bracket_rows import clip, joggle, make_bracket_sheet, make_sheet_stock, mm
from tests.fabrication.paper_rows import make_printer

PT_PER_MM = 72 / 25.4  # a point is 1/72 inch: ISO 32000-1, 8.3.2.3
TRUE_MM = 0.02


def pages_of(client: Client, sheet: BracketSheet, **asked: Any) -> list[Any]:
    answer = client.get(f"{sheet.get_absolute_url()}sheet.pdf", asked)
    assert answer.status_code == 200, answer.content
    return pdfplumber.open(io.BytesIO(answer.content)).pages


def lines_mm(page: Any) -> list[tuple[float, float]]:
    """Width and height of every straight line of a page. [mm]"""
    found = []
    for line in page.lines:
        (ax, ay), (bx, by) = line["pts"]
        found.append((abs(bx - ax) / PT_PER_MM, abs(by - ay) / PT_PER_MM))
    return found


@pytest.mark.parametrize("paper", ["a4", "letter"])
def test_template_and_both_bars_are_of_true_size(
    client_of_owner: Client, owner: Person, paper: str
) -> None:
    """The joggle is 76.743 x 25, worked by hand; bars are 100 mm each way."""
    sheet = make_bracket_sheet(by=owner)

    _, page = pages_of(client_of_owner, sheet, paper=paper)

    lines = lines_mm(page)
    level = sorted(wide for wide, high in lines if high < 0.01)
    upright = sorted(high for wide, high in lines if wide < 0.01)
    assert any(abs(wide - 76.743) < TRUE_MM for wide in level)
    assert any(abs(high - 25) < TRUE_MM for high in upright)
    assert level[-1] == pytest.approx(100, abs=TRUE_MM)
    assert upright[-1] == pytest.approx(100, abs=TRUE_MM)


def test_a_stretched_printer_is_answered(client_of_owner: Client, owner: Person) -> None:
    sheet = make_bracket_sheet(by=owner)
    printer = make_printer(by=owner, name="Old one", bar_x_mm=99.0, bar_y_mm=100.5)

    _, page = pages_of(client_of_owner, sheet, printer=printer.pk)

    level = sorted(wide for wide, high in lines_mm(page) if high < 0.01)
    assert level[-1] == pytest.approx(100 / 0.99, abs=TRUE_MM)
    assert "Corrected for Old one" in page.extract_text()


def test_the_first_page_lists_bends_holes_and_how_to_work(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_bracket_sheet(by=owner, stock=make_sheet_stock(coating="zinc"))

    first, _ = pages_of(client_of_owner, sheet)

    text = first.extract_text()
    for said in (
        "Heater bracket",
        "76.7 mm",
        "up 90.0",
        "down 90.0",
        "in pencil, never with a scriber",
        "ask a qualified person",
        "white fume",
        "K-factor by DIN 6935",
    ):
        assert said in text
    assert "17.9" in text and "58.8" in text


def test_a_clip_says_what_to_check_on_the_formed_one(
    client_of_owner: Client, owner: Person
) -> None:
    bracket = clip("saddle", od=mm(22), ear=mm(20), ear_radius=mm(3), hole_from_upright=mm(11))
    sheet = make_bracket_sheet(by=owner, bracket=bracket)

    first, _ = pages_of(client_of_owner, sheet)

    text = first.extract_text()
    assert "Between the holes, formed: 51.0 mm" in text
    assert "12.5 mm" in text


def test_a_bracket_that_cannot_be_made_prints_why(client_of_owner: Client, owner: Person) -> None:
    rows = joggle().rows
    short = joggle(rows=(rows[0], rows[1].__class__(mm(4), None, 90.0), rows[2]))
    sheet = make_bracket_sheet(by=owner, bracket=short)

    (only,) = pages_of(client_of_owner, sheet)

    text = only.extract_text()
    assert "Not to be made" in text and "overlap" in text


def test_a_template_that_takes_too_much_paper_says_so(
    client_of_owner: Client, owner: Person
) -> None:
    rows = joggle().rows
    huge = joggle(rows=(rows[0].__class__(mm(3000), mm(1200), 90.0), rows[2]), holes=())
    sheet = make_bracket_sheet(by=owner, bracket=huge)

    (only,) = pages_of(client_of_owner, sheet)

    assert "NO TEMPLATE" in only.extract_text().upper()
