"""Pages of bracket sheets: entry, live results, rows, saving, two people, paper and files."""

import re
from datetime import timedelta
from typing import Any
from uuid import uuid4

import ezdxf
import pytest
from django.test import Client

from fabrication.bracket import brackets
from fabrication.models import BracketSheet, SheetStock
from garage.models import Person
from tests import factories
from tests.fabrication.bracket_rows import (
    clip,
    make_bracket_sheet,
    make_sheet_stock,
    make_strip,
)
from tests.fabrication.pipe_rows import make_sheet, make_stock
from tests.fabrication.test_pipe_pages import values_of
from tests.factories import NOW

NEW = "/brackets/new/"
ROWS = (("20", "25", "90", "up"), ("35", "", "90", "down"), ("30", "", "", "up"))


def typed(stock: SheetStock, *, rows: Any = ROWS, **boxes: str) -> dict[str, str]:
    """What a browser posts for a bracket of flanges."""
    data = {
        "key": str(uuid4()),
        "title": "Heater bracket",
        "form": "strip",
        "stock": str(stock.pk),
        "convention": "outside",
        "k_from": "din",
        "radius": "3",
        "flange_rows": str(len(rows)),
        "hole_rows": "1",
        "notch_rows": "0",
        "point_rows": "0",
        "h0-flange": "3",
        "h0-diameter": "6.6",
        "h0-along": "10",
        "h0-end": "right",
    }
    for number, row in enumerate(rows):
        for name, text in zip(("length", "width", "bend", "way"), row, strict=True):
            data[f"f{number}-{name}"] = text
    return data | boxes


def typed_clip(stock: SheetStock, **boxes: str) -> dict[str, str]:
    return {
        "key": str(uuid4()),
        "title": "Clip",
        "form": "clip",
        "stock": str(stock.pk),
        "c-od": "15",
        "c-liner": "1.5",
        "c-ear": "18",
        "c-ear_radius": "2",
        "c-width": "16",
    } | boxes


@pytest.fixture
def stock(db: None) -> SheetStock:
    return make_sheet_stock()


# ---- entry --------------------------------------------------------------------------------


@pytest.mark.parametrize("form", ["strip", "saddle", "clip", "half"])
def test_every_kind_has_its_own_empty_page(client_of_owner: Client, form: str) -> None:
    html = client_of_owner.get(f"{NEW}?form={form}").content.decode()

    assert ('name="f0-length"' in html) is (form == "strip")
    assert ('name="c-ear"' in html) is (form != "strip")


def test_a_bracket_is_typed_and_saved_and_shows_its_blank(
    client_of_owner: Client, stock: SheetStock
) -> None:
    """20/35/30, t 2, r 3, DIN: 76.74, lines 17.94 and 48.81; worked by hand."""
    answer = client_of_owner.post(NEW, typed(stock), follow=True)

    sheet = BracketSheet.objects.get()
    html = answer.content.decode()
    assert answer.redirect_chain[-1][0] == sheet.get_absolute_url()
    assert re.search(r"Length of the blank</dt><dd>76\.7 ", html)
    assert "<b>17.9</b>" in html and "<b>48.8</b>" in html
    assert "Reckoned from both ends: it agrees." in html
    assert sheet.inputs["schema"] == 1
    assert values_of(html)["f1-length"] == "35"


def test_a_clip_is_typed_and_saved(client_of_owner: Client, db: None) -> None:
    """D 15 + 1.5, t 1.2, rb 2, ear 18, DIN: 97.636; worked."""
    answer = client_of_owner.post(NEW, typed_clip(make_sheet_stock(thickness_mm=1.2)), follow=True)

    html = answer.content.decode()
    assert re.search(r"Length of the blank</dt><dd>97\.6 ", html)
    assert BracketSheet.objects.get().inputs["clip"]["ear"] == {"mm": 18.0, "typed": "18"}


def test_a_clip_of_a_pipe_takes_its_outside_diameter(
    client_of_owner: Client, owner: Person
) -> None:
    pipe = make_sheet(by=owner, stock=make_stock(od_mm=15.0))
    stock = make_sheet_stock(thickness_mm=1.2)
    empty = client_of_owner.get(f"{NEW}?form=clip&pipe={pipe.pk}").content.decode()

    answer = client_of_owner.post(
        NEW, typed_clip(stock, **{"c-od": "", "pipe": str(pipe.pk)}), follow=True
    )

    assert f'<option value="{pipe.pk}" selected>' in empty
    assert re.search(r"Length of the blank</dt><dd>97\.6 ", answer.content.decode())


def test_the_same_form_sent_twice_makes_one_sheet(
    client_of_owner: Client, stock: SheetStock
) -> None:
    data = typed(stock)

    first, second = (client_of_owner.post(NEW, data) for _ in range(2))

    assert BracketSheet.objects.count() == 1
    assert first["Location"] == second["Location"]


def test_another_bracket_under_the_same_key_loses_nothing_and_gets_a_fresh_key(
    client_of_owner: Client, stock: SheetStock
) -> None:
    data = typed(stock)
    client_of_owner.post(NEW, data)

    answer = client_of_owner.post(NEW, data | {"f0-length": "21"})

    boxes = values_of(answer.content.decode())
    assert answer.status_code == 422
    assert (boxes["f0-length"], boxes["f1-length"]) == ("21", "35")
    assert boxes["key"] != data["key"]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"f0-bend": "200"}, "less than 180 degrees"),
        ({"f0-bend": ""}, "Write how far it bends"),
        ({"f0-length": ""}, "Write the length of this flange"),
        ({"f0-width": ""}, "Write how wide it is"),
        ({"title": ""}, "Say what it is"),
        ({"stock": ""}, "Choose a sheet"),
        ({"radius": "thin"}, "thin"),
        ({"h0-diameter": ""}, "Write how large the hole is"),
        ({"h0-count": "3"}, "how far the holes stand apart"),
        ({"order": "one"}, "Write the numbers of the bends"),
        ({"e-left_form": "corners"}, "Write the radius of the corners"),
        ({"l-place": "engine"}, "Write what it carries"),
        ({"k_ratio": "0.9"}, "0.01 to 0.5"),
    ],
)
def test_nothing_typed_is_lost_by_an_error(
    client_of_owner: Client, stock: SheetStock, wrong: dict[str, str], says: str
) -> None:
    data = typed(stock) | wrong

    answer = client_of_owner.post(NEW, data)

    html = answer.content.decode()
    boxes = values_of(html)
    assert answer.status_code == 422
    assert says in html
    kept = ("title", "radius", "f0-length", "f1-length", "f1-bend", "f2-length", "h0-along")
    assert {name: boxes[name] for name in kept} == {name: data[name] for name in kept}
    assert not BracketSheet.objects.exists()


def test_a_bracket_without_flanges_is_asked_for_one(
    client_of_owner: Client, stock: SheetStock
) -> None:
    answer = client_of_owner.post(NEW, typed(stock, rows=()))

    assert answer.status_code == 422
    assert "Write the length of the first flange" in answer.content.decode()


# ---- rows, without JavaScript -------------------------------------------------------------


@pytest.mark.parametrize(
    ("button", "lengths"),
    [
        ({"more": "flange"}, ["20", "35", "30", ""]),
        ({"out": "flange-1"}, ["35", "30"]),
        ({"up": "flange-2"}, ["35", "20", "30"]),
        ({"down": "flange-1"}, ["35", "20", "30"]),
        ({"up": "flange-1"}, ["20", "35", "30"]),  # the first cannot go up
        ({"down": "flange-3"}, ["20", "35", "30"]),
        ({"out": "wheel-1"}, ["20", "35", "30"]),
        ({"out": "flange-x"}, ["20", "35", "30"]),
    ],
)
def test_flanges_are_added_taken_out_and_moved(
    client_of_owner: Client, stock: SheetStock, button: dict[str, str], lengths: list[str]
) -> None:
    answer = client_of_owner.post(NEW, typed(stock) | button)

    boxes = values_of(answer.content.decode())
    assert answer.status_code == 200
    assert [boxes[f"f{n}-length"] for n in range(int(boxes["flange_rows"]))] == lengths
    assert boxes["title"] == "Heater bracket" and boxes["h0-along"] == "10"
    assert not BracketSheet.objects.exists()


@pytest.mark.parametrize(
    ("kind", "box"), [("hole", "h1-along"), ("notch", "n0-depth"), ("point", "p0-x")]
)
def test_holes_notches_and_corners_are_added(
    client_of_owner: Client, stock: SheetStock, kind: str, box: str
) -> None:
    answer = client_of_owner.post(NEW, typed(stock) | {"more": kind})

    assert f'name="{box}"' in answer.content.decode()


def test_results_are_looked_at_without_saving(client_of_owner: Client, stock: SheetStock) -> None:
    good = client_of_owner.post(NEW, typed(stock) | {"look": "1"})
    bad = client_of_owner.post(NEW, typed(stock) | {"look": "1", "f0-bend": ""})

    assert good.status_code == 200 and "76.7" in good.content.decode()
    assert bad.status_code == 422
    assert not BracketSheet.objects.exists()


# ---- live results -------------------------------------------------------------------------


def live(client: Client, data: dict[str, str]) -> str:
    answer = client.post("/brackets/work-out/", data, headers={"HX-Request": "true"})
    assert answer.status_code == 200
    return answer.content.decode()


def test_results_come_as_pieces_of_the_page(client_of_owner: Client, stock: SheetStock) -> None:
    html = live(client_of_owner, typed(stock))

    assert "<html" not in html and "<form" not in html
    for piece in ("answer", "views", "lines", "strength", "says-flange-1", "says-hole-1"):
        assert html.count(f'id="{piece}"') == 1
    assert "76.7" in html and "solid-data" in html


def test_a_doubt_stands_at_its_row_though_a_row_before_it_is_empty(
    client_of_owner: Client, stock: SheetStock
) -> None:
    rows = (ROWS[0], ("", "", "", ""), *ROWS[1:])

    html = live(client_of_owner, typed(stock, rows=rows, **{"f2-length": "9"}))

    third = html.split('id="says-flange-3"')[1].split("</div>")[0]
    second = html.split('id="says-flange-2"')[1].split("</div>")[0]
    assert "overlap" in third and "overlap" not in second


def test_what_is_still_missing_is_said(client_of_owner: Client, stock: SheetStock) -> None:
    html = live(client_of_owner, typed(stock, **{"f1-bend": ""}))

    assert "To be worked out when this is written" in html
    assert not BracketSheet.objects.exists()


# ---- saving again -------------------------------------------------------------------------


def boxes_of_page(client: Client, sheet: BracketSheet) -> dict[str, str]:
    html = client.get(sheet.get_absolute_url()).content.decode()
    chosen = re.findall(r'<select name="([^"]+)"[^>]*>.*?</select>', html, re.DOTALL)
    data = values_of(html)
    for name in chosen:
        select = re.search(rf'<select name="{re.escape(name)}".*?</select>', html, re.DOTALL)
        option = re.search(r'<option value="([^"]*)" selected', select[0])
        data[name] = option[1] if option else ""
    for name in ("flush", "along_grain", "q"):
        data.pop(name, None)
    return data


@pytest.mark.parametrize("kind", ["strip", "clip"])
def test_a_page_saved_as_it_is_shown_changes_nothing(
    client_of_owner: Client, owner: Person, kind: str
) -> None:
    sheet = make_bracket_sheet(by=owner, bracket=clip() if kind == "clip" else None)
    data = boxes_of_page(client_of_owner, sheet)

    answer = client_of_owner.post(sheet.get_absolute_url(), data)

    sheet.refresh_from_db()
    assert answer.status_code == 302
    assert sheet.version == 1


def test_two_people_see_both_texts_and_lose_neither(
    client_of_owner: Client, client_of_helper: Client, owner: Person
) -> None:
    sheet = make_bracket_sheet(by=owner)
    mine, theirs = (boxes_of_page(c, sheet) for c in (client_of_owner, client_of_helper))

    client_of_helper.post(sheet.get_absolute_url(), theirs | {"f1-length": "36"})
    answer = client_of_owner.post(sheet.get_absolute_url(), mine | {"f1-length": "37"})

    html = answer.content.decode()
    sheet.refresh_from_db()
    assert answer.status_code == 422
    assert sheet.inputs["rows"][1]["length"]["mm"] == 36
    assert values_of(html)["f1-length"] == "37" and "36 mm" in html
    again = client_of_owner.post(
        sheet.get_absolute_url(), mine | {"f1-length": "37", "seen": values_of(html)["seen"]}
    )
    sheet.refresh_from_db()
    assert again.status_code == 302 and sheet.version == 3


def test_a_sheet_of_a_newer_version_is_not_guessed_at(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_bracket_sheet(by=owner)
    BracketSheet.objects.update(inputs={"schema": 99})

    for path in ("", "paper/", "sheet.pdf", "blank.svg"):
        answer = client_of_owner.get(f"{sheet.get_absolute_url()}{path}")
        assert answer.status_code == 422
        assert "newer Splitpin" in answer.content.decode()


def test_who_only_looks_is_shown_no_buttons(client_of_viewer: Client, owner: Person) -> None:
    sheet = make_bracket_sheet(by=owner)

    html = client_of_viewer.get(sheet.get_absolute_url()).content.decode()

    assert "Save sheet" not in html and "hx-post" not in html
    assert "76.7" in html


# ---- lists, panels ------------------------------------------------------------------------


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_asks_the_database_no_more_for_more_sheets(
    client_of_owner: Client, owner: Person, count: int, django_assert_num_queries: Any
) -> None:
    for _ in range(count):
        make_bracket_sheet(by=owner)
    client_of_owner.get("/brackets/")

    with django_assert_num_queries(5):
        html = client_of_owner.get("/brackets/").content.decode()

    assert html.count("Heater bracket") == count


def test_a_part_and_the_bench_show_its_bracket_sheets(
    client_of_owner: Client, owner: Person
) -> None:
    part = factories.make_part(car=owner.car, by=owner, name="Heater")
    sheet = make_bracket_sheet(by=owner, part=part)

    of_part = client_of_owner.get(part.get_absolute_url()).content.decode()
    bench = client_of_owner.get("/bench/").content.decode()

    assert sheet.get_absolute_url() in of_part
    assert sheet.get_absolute_url() in bench


def test_a_sheet_begun_at_a_part_has_its_name(client_of_owner: Client, owner: Person) -> None:
    part = factories.make_part(car=owner.car, by=owner, name="Heater tap bracket")
    path = f"{NEW}?part={part.tag}"

    html = client_of_owner.get(path).content.decode()
    client_of_owner.post(path, typed(make_sheet_stock()))

    assert values_of(html)["title"] == "Heater tap bracket"
    assert BracketSheet.objects.get().part == part


def test_a_sheet_thrown_out_is_brought_back_as_it_was_and_let_go_after_30_days(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_bracket_sheet(by=owner)
    inputs = sheet.inputs

    client_of_owner.post(f"{sheet.get_absolute_url()}throw-out/")
    binned = client_of_owner.get("/brackets/").content.decode()
    page = client_of_owner.get(sheet.get_absolute_url()).content.decode()
    client_of_owner.post(f"{sheet.get_absolute_url()}bring-back/")

    sheet.refresh_from_db()
    assert f"Bring {sheet} back" in binned and "Bring it back" in page
    assert (sheet.thrown_out_at, sheet.inputs, sheet.version) == (None, inputs, 1)
    brackets.throw_out(sheet=sheet, by=owner, now=NOW)
    assert brackets.let_go(now=NOW + timedelta(days=29)) == 0
    assert brackets.let_go(now=NOW + timedelta(days=31)) == 1
    assert not BracketSheet.objects.exists()


# ---- inches, and the other K's ------------------------------------------------------------


def test_who_reads_inches_sees_the_blank_in_inches(client_of_owner: Client, owner: Person) -> None:
    """76.743 mm is 3.021 in."""
    sheet = make_bracket_sheet(by=owner)
    owner.units = "in"
    owner.save(update_fields=["units"])

    html = client_of_owner.get(sheet.get_absolute_url()).content.decode()

    assert re.search(r"Length of the blank</dt><dd>3\.021 ", html)


def test_a_test_strip_is_chosen_and_said(client_of_owner: Client, db: None) -> None:
    strip = make_strip()

    html = live(
        client_of_owner, typed(strip.stock, k_from="strip", strip=str(strip.pk), radius="2")
    )

    assert f"K-factor from {strip}" in html
    assert "by DIN 6935 the blank is" in html


# ---- files --------------------------------------------------------------------------------


def test_the_dxf_holds_outline_hole_and_bend_lines_in_millimetres(
    client_of_owner: Client, owner: Person, tmp_path: Any
) -> None:
    sheet = make_bracket_sheet(by=owner)
    body = client_of_owner.get(f"{sheet.get_absolute_url()}blank.dxf").content
    file = tmp_path / "blank.dxf"
    file.write_bytes(body)

    space = ezdxf.readfile(file).modelspace()

    circles = [one for one in space if one.dxftype() == "CIRCLE"]
    bends = [one for one in space if one.dxf.layer == "bend"]
    assert [round(one.dxf.radius, 6) for one in circles] == [3.3]
    assert circles[0].dxf.center.x == pytest.approx(76.743 - 10, abs=0.0005)
    assert [round(one.dxf.start.x, 3) for one in bends] == [17.936, 48.808]
    xs = [
        end.x for one in space.query("LINE[layer=='cut']") for end in (one.dxf.start, one.dxf.end)
    ]
    assert max(xs) - min(xs) == pytest.approx(76.743, abs=0.0005)


def test_the_svg_is_of_true_size(client_of_owner: Client, owner: Person) -> None:
    sheet = make_bracket_sheet(by=owner)

    svg = client_of_owner.get(f"{sheet.get_absolute_url()}blank.svg").content.decode()

    # The drawing has a millimetre of room on each side.
    wide = re.search(r'width="([\d.]+)mm"', svg)
    assert float(wide[1]) == pytest.approx(76.743 + 2, abs=0.001)


def test_a_bracket_that_cannot_be_made_has_no_file(client_of_owner: Client, owner: Person) -> None:
    sheet = make_bracket_sheet(by=owner)
    sheet.inputs["rows"][0]["length"]["mm"] = 2.0
    sheet.save()

    svg = client_of_owner.get(f"{sheet.get_absolute_url()}blank.svg")
    pdf = client_of_owner.get(f"{sheet.get_absolute_url()}sheet.pdf")
    choice = client_of_owner.get(f"{sheet.get_absolute_url()}paper/").content.decode()

    assert svg.status_code == 422 and "overlap" in svg.content.decode()
    assert pdf.status_code == 200
    assert "It cannot be made so" in choice
