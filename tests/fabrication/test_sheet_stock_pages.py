"""Sheet on the rack, test strips, and which sheet replaces an old bracket."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fabrication.bracket.sheet_choice import OldBracket, ranked
from fabrication.forms.sheet_stock import GRADE_METALS
from fabrication.models import SheetStock, TestStrip
from fabrication.models.bracket import SheetGrade
from tests.fabrication.bracket_rows import make_sheet_stock, make_strip
from tests.fabrication.test_pipe_pages import values_of

SHEET = {
    "material": "steel",
    "grade": "DC01",
    "thickness_mm": "2",
    "coating": "zinc",
    "offcuts": "300 x 120\r\n90 × 18",
    "price": "12.50",
    "supplier": "Fenn Metals",
    "source": "own caliper",
}
STRIP = {
    "tool": "vice and bars",
    "blank_mm": "66.46",
    "leg_a_mm": "40",
    "leg_b_mm": "30",
    "radius_mm": "2",
}


def test_the_sheet_of_the_trade_is_there_with_its_sources(client_of_owner: Client) -> None:
    html = client_of_owner.get("/sheet/").content.decode()

    stock = SheetStock.objects.all()
    steel = {one.thickness_mm for one in stock if one.grade == "DC01"}
    assert {1.0, 1.5, 2.0, 3.0} <= steel
    assert all("from memory" in one.source for one in stock)
    assert "EN 10131, from memory" in html


def test_every_grade_of_the_form_is_a_grade_of_some_metal() -> None:
    assert set(GRADE_METALS) == {value for value in SheetGrade.values if value}


def test_sheet_is_written_down_once_with_its_pieces(client_of_owner: Client) -> None:
    data = {"key": str(uuid4()), **SHEET}

    for _ in range(2):
        answer = client_of_owner.post("/sheet/new/", data, follow=True)

    row = SheetStock.objects.get(key=data["key"])
    assert row.offcuts == [[300.0, 120.0], [90.0, 18.0]]
    assert row.typed["thickness_mm"] == "2"
    html = answer.content.decode()
    assert "300.0 × 120.0" in html and "Fenn Metals" in html


def test_another_sheet_under_the_same_key_is_asked_about(client_of_owner: Client) -> None:
    data = {"key": str(uuid4()), **SHEET}
    client_of_owner.post("/sheet/new/", data)

    answer = client_of_owner.post("/sheet/new/", data | {"thickness_mm": "3"})

    boxes = values_of(answer.content.decode())
    assert answer.status_code == 422
    assert boxes["thickness_mm"] == "3" and boxes["key"] != data["key"]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"thickness_mm": ""}, "Measure the thickness"),
        ({"thickness_mm": "20"}, "12 mm"),
        ({"grade": "1.4301"}, "a grade of another metal"),
        ({"offcuts": "300"}, "length x width"),
        ({"offcuts": "300 x wide"}, "300 x wide"),
        ({"offcuts": "300 x 0"}, "more than 0"),
    ],
)
def test_what_is_wrong_is_said_and_nothing_lost(
    client_of_owner: Client, wrong: dict[str, str], says: str
) -> None:
    data = {"key": str(uuid4()), **SHEET} | wrong

    answer = client_of_owner.post("/sheet/new/", data)

    html = answer.content.decode()
    assert answer.status_code == 422
    assert says in html
    assert values_of(html)["supplier"] == "Fenn Metals"
    assert data["offcuts"].split("\r\n")[0] in html


def test_sheet_is_changed(client_of_owner: Client) -> None:
    row = make_sheet_stock(offcuts=[[300.0, 120.0]], price="9.90")
    path = f"/sheet/{row.pk}/"
    html = client_of_owner.get(path).content.decode()

    answer = client_of_owner.post(path, {"key": str(row.key), **SHEET, "offcuts": "50 x 40"})
    bad = client_of_owner.post(path, {"key": str(row.key), **SHEET, "thickness_mm": "0"})

    row.refresh_from_db()
    assert "300 x 120" in html and values_of(html)["price"] == "9.90"
    assert answer.status_code == 302 and bad.status_code == 422
    assert row.offcuts == [[50.0, 40.0]] and row.coating == "zinc"


# ---- test strips --------------------------------------------------------------------------


def test_a_strip_is_measured_once_and_gives_its_k_factor(client_of_owner: Client) -> None:
    """66.46 for 40 and 30 at r 2, t 2: 0.42; worked."""
    row = make_sheet_stock()
    data = {"key": str(uuid4()), **STRIP}

    for _ in range(2):
        client_of_owner.post(f"/sheet/{row.pk}/strip/", data)

    strip = TestStrip.objects.get()
    html = client_of_owner.get("/sheet/").content.decode()
    assert strip.reading.k_ratio == pytest.approx(0.42, abs=0.001)
    assert strip.angle_deg == 90.0
    assert "vice and bars: K 0.42" in html


def test_another_strip_under_the_same_key_is_asked_about(client_of_owner: Client) -> None:
    row = make_sheet_stock()
    data = {"key": str(uuid4()), **STRIP}
    client_of_owner.post(f"/sheet/{row.pk}/strip/", data)

    answer = client_of_owner.post(f"/sheet/{row.pk}/strip/", data | {"leg_a_mm": "40.1"})

    assert answer.status_code == 422
    assert TestStrip.objects.count() == 1


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"leg_a_mm": "45"}, "These readings cannot be"),
        ({"blank_mm": ""}, "before it is bent"),
        ({"angle_deg": "170"}, "10 to 160 degrees"),
        ({"tool": ""}, "what it was bent on"),
    ],
)
def test_a_strip_that_cannot_be_is_refused(
    client_of_owner: Client, wrong: dict[str, str], says: str
) -> None:
    row = make_sheet_stock()

    answer = client_of_owner.post(f"/sheet/{row.pk}/strip/", {"key": str(uuid4()), **STRIP} | wrong)

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not TestStrip.objects.exists()


def test_a_strip_whose_sheet_was_measured_anew_says_that_it_does_not_fit(
    client_of_owner: Client,
) -> None:
    strip = make_strip()
    strip.stock.thickness_mm = 0.5
    strip.stock.save()

    html = client_of_owner.get("/sheet/").content.decode()

    assert "does not fit this thickness" in html


# ---- which sheet for an old bracket -------------------------------------------------------


def old(**fields: Any) -> OldBracket:
    usual = {
        "material": "steel",
        "thickness_mm": 2.0,
        "width_mm": 25.0,
        "hole_mm": 6.6,
        "new_width_mm": 25.0,
    }
    return OldBracket(**usual | fields)


def unsaved(thickness_mm: float, **fields: Any) -> SheetStock:
    usual = {"material": "steel", "coating": "bare", "thickness_mm": thickness_mm, "offcuts": []}
    return SheetStock(**usual | fields)


def test_the_same_sheet_is_as_stiff_and_has_as_much_beside_the_hole() -> None:
    (same,) = ranked(old(), [unsaved(2.0)])

    assert (same.stiffness_ratio, same.beside_ratio) == pytest.approx((1, 1))
    assert same.width_for_same_mm == pytest.approx(25)
    assert same.beside_mm2 == pytest.approx(18.4 * 2)
    assert same.is_enough


def test_stiffness_goes_by_width_and_the_cube_of_the_thickness() -> None:
    """1.5 mm, 40 wide: 40 x 3.375 / (25 x 8) = 0.675; worked."""
    (thin,) = ranked(old(new_width_mm=40.0), [unsaved(1.5)])

    assert thin.stiffness_ratio == pytest.approx(0.675)
    assert thin.beside_ratio == pytest.approx((40 - 6.6) * 1.5 / (18.4 * 2))
    assert thin.width_for_same_mm == pytest.approx(25 * 8 / 3.375)
    assert not thin.is_enough and not thin.is_far


def test_best_comes_first_and_what_falls_short_last() -> None:
    sheets = [unsaved(t) for t in (1.0, 5.0, 3.0, 1.9, 2.0)]

    order = [one.stock.thickness_mm for one in ranked(old(), sheets)]

    assert order == [2.0, 3.0, 5.0, 1.9, 1.0]


def test_of_two_alike_the_one_at_hand_comes_first() -> None:
    bought, at_hand = unsaved(2.0), unsaved(2.0, offcuts=[[300.0, 24.0], [90.0, 40.0]])

    first, second = ranked(old(), [bought, at_hand])

    assert (first.stock, second.stock) == (at_hand, bought)
    assert first.fitting_offcuts == ((90.0, 40.0),)


def test_the_page_compares_and_warns_of_coatings(client_of_owner: Client) -> None:
    make_sheet_stock(coating="zinc", offcuts=[[300.0, 120.0]])

    empty = client_of_owner.get("/sheet/choose/").content.decode()
    html = client_of_owner.get(
        "/sheet/choose/", {"material": "steel", "thickness": "2", "width": "25", "hole": "6.6"}
    ).content.decode()

    assert "As stiff" not in empty
    first = re.search(r'<tr.*?<th scope="row">(.*?)</tr>', html.split("<tbody>")[1], re.DOTALL)
    assert "strip the zinc before glue or heat" in first[1]
    assert "300.0 × 120.0" in first[1]
    assert "Far weaker" in html


def test_a_bracket_is_begun_from_the_sheet_that_was_chosen(client_of_owner: Client) -> None:
    row = make_sheet_stock()
    asked = {"material": "steel", "thickness": "2", "width": "25"}
    html = client_of_owner.get("/sheet/choose/", asked).content.decode()

    begun = client_of_owner.get(f"/brackets/new/?stock={row.pk}").content.decode()
    unknown = client_of_owner.get("/brackets/new/?stock=x")

    assert f"/brackets/new/?stock={row.pk}" in html
    assert f'<option value="{row.pk}" selected>' in begun
    assert unknown.status_code == 404


@pytest.mark.parametrize(
    ("asked", "says"),
    [
        ({"thickness": "", "width": "25"}, "Measure how thick it is"),
        ({"thickness": "2", "width": "6", "hole": "6.6"}, "The hole is as wide as this."),
        ({"thickness": "2", "width": "25", "hole": "9", "new_width": "8"}, "as wide as this"),
    ],
)
def test_an_old_bracket_that_cannot_be_is_refused(
    client_of_owner: Client, asked: dict[str, str], says: str
) -> None:
    answer = client_of_owner.get("/sheet/choose/", {"material": "steel", **asked})

    assert answer.status_code == 422
    assert says in answer.content.decode()
