"""Pages of the bench's tools: formers, practice bends, bead tools, other tools, tube."""

from decimal import Decimal
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client

from fabrication.models import BeadTest, BeadTool, Former, PracticeBend, Tool, TubeStock
from fabrication.pipe.inputs import BEAD, End
from garage.models import Car, Person
from tests import factories
from tests.fabrication.page_parts import cells, main_of, values_of
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.fabrication.tool_rows import (
    make_bead_test,
    make_bead_tool,
    make_practice_bend,
    make_tool,
)

FRAME = 3  # who is signed in, their session, the garage

FORMER = {
    "name": "F2",
    "tube_od_mm": "16",
    "stamped_radius_mm": "48",
    "measured_radius_mm": "48.6",
    "hook_mm": "40",
    "guide_mm": "62",
    "start_offset_mm": "-1.5",
    "scale_rim_mm": "250",
    "scale_step_deg": "45",
    "price": "68",
    "supplier": "Autojumble, Tarnbeck",
    "bought_on": "2026-03-14",
}


def send(client: Client, path: str, **data: Any) -> Any:
    return client.post(path, {"key": str(uuid4())} | data)


# ---- formers ----------------------------------------------------------------------------------


def test_a_former_is_written_down_with_its_scale_and_price(client_of_owner: Client) -> None:
    send(client_of_owner, "/formers/new/", **FORMER)

    former = Former.objects.get()
    assert former.scale is not None
    assert former.scale.reading(46.375).words == "45 mark + 6 mm"
    assert (former.price, former.supplier) == (Decimal("68.00"), "Autojumble, Tarnbeck")
    assert str(former.bought_on) == "2026-03-14"


def test_a_former_is_changed_and_keeps_what_was_typed(client_of_owner: Client) -> None:
    send(client_of_owner, "/formers/new/", **FORMER)
    former = Former.objects.get()

    answer = send(
        client_of_owner,
        f"/formers/{former.pk}/change/",
        **FORMER | {"measured_radius_mm": "49", "price": ""},
    )

    former.refresh_from_db()
    assert answer.status_code == 302
    assert (former.radius_mm, former.start_offset_mm, former.hook_mm) == (49, -1.5, 40)
    assert (former.typed["measured_radius_mm"], former.price) == ("49", None)


def test_the_form_of_a_former_shows_what_stands_there(client_of_owner: Client) -> None:
    send(client_of_owner, "/formers/new/", **FORMER)
    former = Former.objects.get()

    html = client_of_owner.get(f"/formers/{former.pk}/change/").content.decode()

    boxes = values_of(html)
    assert {name: boxes[name] for name in FORMER} == FORMER | {"price": "68.00"}


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"stamped_radius_mm": "8"}, "turns it inside out"),
        ({"hook_mm": "-1"}, "0 to 500 mm"),
        ({"tube_od_mm": "0"}, "more than 0"),
        ({"name": ""}, "Give the former a name"),
        ({"scale_rim_mm": ""}, "Measure from the pivot"),
        ({"scale_step_deg": ""}, "how many degrees lie between two marks"),
        ({"scale_step_deg": "0"}, "between 0 and 180 degrees apart"),
        ({"scale_zero_deg": "200"}, "within half a turn"),
    ],
)
def test_a_former_that_cannot_be_is_refused_with_all_that_was_typed(
    client_of_owner: Client, wrong: dict[str, str], says: str
) -> None:
    data = {"key": str(uuid4()), **FORMER} | wrong

    answer = client_of_owner.post("/formers/new/", data)

    html = answer.content.decode()
    assert answer.status_code == 422
    assert says in html
    assert {name: values_of(html)[name] for name in data} == data
    assert not Former.objects.exists()


def test_the_same_form_twice_is_one_former_and_another_text_is_asked_about(
    client_of_owner: Client,
) -> None:
    data = {"key": str(uuid4()), **FORMER}
    for _ in range(2):
        client_of_owner.post("/formers/new/", data)

    other = client_of_owner.post("/formers/new/", data | {"hook_mm": "41"})

    assert Former.objects.count() == 1
    assert other.status_code == 422 and "saved already" in other.content.decode()


# ---- practice bends ---------------------------------------------------------------------------


def test_a_practice_bend_teaches_the_former_how_far_to_pull(client_of_owner: Client) -> None:
    """By hand: 94 for 90 is 4.4 per cent more; 15 wants 15.7, 180 wants 188."""
    former, stock = make_former(scale_rim_mm=250.0, scale_step_deg=45.0), make_stock()

    answer = send(
        client_of_owner,
        f"/formers/{former.pk}/practice/",
        stock=stock.pk,
        pulled_deg="94",
        came_to_deg="90",
        from_straight="on",
    )

    html = client_of_owner.get(former.get_absolute_url()).content.decode()
    assert answer.url == f"/formers/{former.pk}/#tube-{stock.pk}"
    assert "Pull 4.4 % more than the angle" in html
    assert "One bend shows no scatter" in html
    assert cells(html, "How far to pull")["90°"] == ["94.0", "4.0", "90 mark + 17.5 mm"]
    assert cells(html, "How far to pull")["180° untried"][0] == "188.0"


def test_legs_measured_to_the_outer_edge_are_those_of_the_makers_manual(
    client_of_owner: Client,
) -> None:
    """A bender maker's manual, p. 15, in inches: 36 piece, 1-1/2 tube, mark 12, outsides 20 and
    20-1/2. It prints a radius of 6.990 in, and 0.260 in from mark to start."""
    former, stock = make_former(), make_stock(od_mm=38.1, wall_mm=1.5)

    send(
        client_of_owner,
        f"/formers/{former.pk}/practice/",
        stock=stock.pk,
        pulled_deg="90",
        came_to_deg="90",
        from_straight="on",
        mark_mm="12 in",
        piece_mm="36 in",
        measured_to="outside",
        centre_a_mm="20 in",
        centre_b_mm="20 1/2 in",
    )

    row = PracticeBend.objects.get()
    html = client_of_owner.get(former.get_absolute_url()).content.decode()
    assert (row.centre_a_mm, row.centre_b_mm) == pytest.approx((19.25 * 25.4, 19.75 * 25.4))
    assert "Radius 177.5 mm, start offset 6.6 mm" in html  # 6.990 in and 0.260 in


BEND = {"pulled_deg": "94", "came_to_deg": "90", "from_straight": "on"}
LEGS = {"mark_mm": "100", "piece_mm": "400", "centre_a_mm": "220", "centre_b_mm": "200"}


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"stock": ""}, "Choose the tube you bent"),
        ({"pulled_deg": ""}, "Write how far you pulled"),
        ({"came_to_deg": "0"}, "between 0 and 270"),
        ({"came_to_deg": "100"}, "more than it was pulled to"),
        (LEGS | {"centre_b_mm": ""}, "Measure this too"),
        (LEGS | {"mark_mm": ""}, "Measure this too"),
        (LEGS | {"pulled_deg": "170", "came_to_deg": "165"}, "Beyond 150 degrees"),
        ({"width_mm": "105", "back_mm": "150", "mark_mm": "90"}, "only at 178 to 182"),
        # By hand: legs of 190 and 200 are no longer together than the piece of 400.
        (LEGS | {"centre_a_mm": "190"}, "no longer than the piece was"),
    ],
)
def test_a_practice_bend_that_cannot_be_is_refused_with_all_that_was_typed(
    client_of_owner: Client, wrong: dict[str, str], says: str
) -> None:
    former, stock = make_former(), make_stock()
    data = {"key": str(uuid4()), "stock": str(stock.pk)} | BEND | wrong

    answer = client_of_owner.post(f"/formers/{former.pk}/practice/", data)

    html = answer.content.decode()
    assert answer.status_code == 422
    assert says in html
    lengths = [name for name in data if name.endswith("_mm")]
    assert {name: values_of(html)[name] for name in lengths} == {
        name: data[name] for name in lengths
    }
    assert not PracticeBend.objects.exists()


def test_the_same_practice_bend_sent_twice_counts_once(client_of_owner: Client) -> None:
    former, stock = make_former(), make_stock()
    data = {"key": str(uuid4()), "stock": str(stock.pk), "measured_to": "outside"} | BEND | LEGS

    for _ in range(2):
        client_of_owner.post(f"/formers/{former.pk}/practice/", data)

    assert PracticeBend.objects.count() == 1


def test_a_practice_bend_is_taken_out_and_brought_back(client_of_owner: Client) -> None:
    former, stock = make_former(), make_stock()
    row = make_practice_bend(former, stock)

    client_of_owner.post(f"/practice/{row.pk}/out/")
    without = client_of_owner.get(former.get_absolute_url()).content.decode()
    client_of_owner.post(f"/practice/{row.pk}/back/")
    again = client_of_owner.get(former.get_absolute_url()).content.decode()

    assert "All its practice bends are taken out" in without
    assert "more than the angle" not in without
    assert f"/practice/{row.pk}/back/" in without
    assert "Pull 4.4 % more than the angle" in again


def test_measured_figures_are_taken_over_and_put_back(client_of_owner: Client) -> None:
    """By hand for tube of 15: (107 - 15) / 2 = 46; 153.5 - 46 - 7.5 - 100 = 0."""
    former, stock = make_former(measured_radius_mm=None), make_stock()
    lengths = {"width_mm": 107.0, "back_mm": 153.5, "mark_mm": 100.0}
    make_practice_bend(former, stock, pulled_deg=186, came_to_deg=180, **lengths)

    client_of_owner.post(f"/formers/{former.pk}/measured/{stock.pk}/")
    taken = Former.objects.get()
    html = client_of_owner.get(former.get_absolute_url()).content.decode()
    client_of_owner.post(f"/formers/{former.pk}/put-back/")

    assert taken.radius_mm == 46
    assert "are from 1 practice bend in Steel" in html
    assert "Before: radius as stamped" in html
    assert Former.objects.get().measured_radius_mm is None


def test_a_plot_stands_beside_its_table(client_of_owner: Client) -> None:
    former, stock = make_former(), make_stock()
    for pulled, came in ((30, 28), (60, 57.2), (90, 86.3), (120, 115.6)):
        make_practice_bend(former, stock, pulled_deg=pulled, came_to_deg=came)

    html = client_of_owner.get(former.get_absolute_url()).content.decode()

    assert html.count('class="dot"') == 4
    # Least squares of these four, by hand: 1.2334 and 1.027748, which pulls 93.73 for 90.
    assert "Pull 1.2° and 2.8 % more than the angle" in html
    assert "93.7° for 90" in html


@pytest.mark.parametrize("bends", [1, 3])
def test_a_formers_page_asks_the_same_few_questions_however_many_bends(
    client_of_owner: Client, django_assert_num_queries: Any, bends: int
) -> None:
    former, stock = make_former(), make_stock()
    for number in range(bends):
        make_practice_bend(former, stock, came_to_deg=90.0 - number)
    client_of_owner.get(former.get_absolute_url())

    with django_assert_num_queries(FRAME + 3):  # the former, its bends, its sheets
        client_of_owner.get(former.get_absolute_url())


# ---- bead tools -------------------------------------------------------------------------------

BEAD_TOOL = {
    "name": "Home-made",
    "tube_od_least_mm": "28",
    "shallowest_mm": "12",
    "deepest_mm": "20",
    "straight_mm": "30",
    "after_bend": "on",
    "price": "4.50",
}


def test_a_bead_tool_is_written_down_and_says_what_its_test_pieces_taught(
    client_of_owner: Client,
) -> None:
    """By hand: beads lay 2.0 and 2.4 deeper than the stop read: 2.2."""
    stock = make_stock(od_mm=28.0, wall_mm=1.2)
    send(client_of_owner, "/bead-tools/new/", **BEAD_TOOL)
    tool = BeadTool.objects.get()
    sizes = {"stock": stock.pk, "width_mm": "6"}
    for stop, centre, height, eaten in (("12", "14", "1.4", "1"), ("15", "17.4", "1.6", "1.4")):
        read = {"stop_mm": stop, "centre_mm": centre, "height_mm": height, "eaten_mm": eaten}
        send(client_of_owner, f"/bead-tools/{tool.pk}/test/", **sizes, **read)

    html = client_of_owner.get(tool.get_absolute_url()).content.decode()
    assert (tool.tube_od_most_mm, tool.after_bend, tool.needs_reaming) == (28, True, False)
    assert "Set the stop to the bead centre less 2.2 mm" in html
    assert "stands 1.5 high and 6.0 wide and eats 1.2 mm" in html


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"name": ""}, "Give the bead tool a name"),
        ({"tube_od_most_mm": "22"}, "less than the smallest tube"),
        ({"deepest_mm": "11"}, "nearer to the end than its nearest bead"),
        ({"straight_mm": ""}, "Measure the straight it needs"),
    ],
)
def test_a_bead_tool_that_cannot_be_is_refused_with_all_that_was_typed(
    client_of_owner: Client, wrong: dict[str, str], says: str
) -> None:
    data = {"key": str(uuid4()), **BEAD_TOOL, **wrong}

    answer = client_of_owner.post("/bead-tools/new/", data)

    html = answer.content.decode()
    assert answer.status_code == 422
    assert says in html
    assert values_of(html)["deepest_mm"] == data["deepest_mm"]


def test_a_bead_higher_than_half_its_width_is_no_bead(client_of_owner: Client) -> None:
    stock, tool = make_stock(od_mm=28.0), make_bead_tool()
    read = {"stop_mm": "12", "centre_mm": "14", "height_mm": "3.1", "width_mm": "6"}

    answer = send(client_of_owner, f"/bead-tools/{tool.pk}/test/", stock=stock.pk, **read)

    assert answer.status_code == 422
    assert "at most half as high as it is wide" in answer.content.decode()


def test_a_test_piece_is_of_tube_that_the_tool_takes(client_of_owner: Client) -> None:
    thin, tool = make_stock(od_mm=22.0), make_bead_tool()
    read = {"stop_mm": "12", "centre_mm": "14", "height_mm": "1", "width_mm": "6"}

    answer = send(client_of_owner, f"/bead-tools/{tool.pk}/test/", stock=thin.pk, **read)

    assert answer.status_code == 422
    assert not BeadTest.objects.exists()


def test_a_test_piece_is_taken_out_and_brought_back(client_of_owner: Client) -> None:
    tool = make_bead_tool()
    row = make_bead_test(tool, make_stock(od_mm=28.0))

    client_of_owner.post(f"/bead-tests/{row.pk}/out/")
    without = client_of_owner.get(tool.get_absolute_url()).content.decode()
    client_of_owner.post(f"/bead-tests/{row.pk}/back/")
    again = client_of_owner.get(tool.get_absolute_url()).content.decode()

    assert "No test piece yet" in without and "Bring back" in without
    assert "Set the stop to the bead centre less 2.0 mm" in again


def test_a_bead_tool_lists_the_sheets_with_a_bead_on_tube_that_it_takes(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    tool, stock = make_bead_tool(), make_stock(od_mm=28.0)
    beaded = pipe_of((100, 0, 90), last_mm=100, end_b=End(form=BEAD))
    make_sheet(by=owner, title="Top hose stub", pipe=beaded, stock=stock)
    make_sheet(by=owner, title="Plain return", stock=stock)
    make_sheet(by=owner, title="Thin with bead", pipe=beaded, stock=make_stock(od_mm=22.0))

    html = client_of_owner.get(tool.get_absolute_url()).content.decode()

    assert "Top hose stub" in html
    assert "Plain return" not in html and "Thin with bead" not in html


# ---- other tools ------------------------------------------------------------------------------


def test_a_tool_is_written_down_changed_and_listed_with_its_price(client_of_owner: Client) -> None:
    data = {"name": "Reamer", "what_for": "Bores", "price": "11.20", "supplier": "Tool stall"}
    send(client_of_owner, "/tools/new/", **data)
    tool = Tool.objects.get()
    send(client_of_owner, f"/tools/{tool.pk}/change/", **data | {"price": "12.20"})

    html = client_of_owner.get("/tools/").content.decode()

    assert all(word in html for word in ("Reamer", "Bores", "£12.20", "Tool stall"))


def test_a_tool_says_which_jobs_it_served(client_of_owner: Client, owner: Person, car: Car) -> None:
    tool, sheet = make_tool(), make_sheet(by=owner, title="Bypass water pipe")
    part = factories.make_part(car=car, by=owner, name="Heater tap")

    for job in ({"sheet": sheet.pk}, {"part": part.tag.lower()}, {"sheet": sheet.pk}):
        client_of_owner.post(tool.get_absolute_url(), job)
    served = client_of_owner.get(tool.get_absolute_url()).content.decode()
    client_of_owner.post(f"/tools/{tool.pk}/job-off/", {"sheet": sheet.pk})
    without = list(tool.pipe_sheets.all())

    assert served.count("Bypass water pipe</b>") == 1
    assert "Heater tap" in served
    assert without == [] and list(tool.parts.all()) == [part]


@pytest.mark.parametrize(
    ("job", "says"),
    [({}, "Choose a pipe sheet, or write the tag"), ({"part": "zz9"}, "No part has the tag ZZ9")],
)
def test_a_job_that_is_none_is_refused(
    client_of_owner: Client, job: dict[str, str], says: str
) -> None:
    tool = make_tool()

    answer = client_of_owner.post(tool.get_absolute_url(), job)

    assert answer.status_code == 422
    assert says in answer.content.decode()


# ---- tube -------------------------------------------------------------------------------------


def test_starter_tube_is_there_with_its_sources(client_of_owner: Client) -> None:
    """EN 1057 sizes in trade; brake tube of 4.75 by 0.7 to DIN 74234, as a lift-truck maker's
    service manual prints it; the rest from memory, and it says so."""
    html = client_of_owner.get("/tube/").content.decode()

    stock = TubeStock.objects.all()
    copper = {(tube.od_mm, tube.wall_mm) for tube in stock if tube.material == "copper"}
    assert copper >= {(12, 0.6), (15, 0.7), (22, 0.9), (28, 1.2), (35, 1.5), (42, 1.5), (54, 2.0)}
    assert any(t.od_mm == 4.75 and t.wall_mm == 0.7 and "DIN 74234" in t.source for t in stock)
    assert any(t.material == "cuni" and "from memory" in t.source for t in stock)
    assert all(tube.source for tube in stock)
    assert "EN 1057, as printed by a UK tube maker" in html


def test_tube_is_added_once_and_a_wall_without_a_bore_is_refused(client_of_owner: Client) -> None:
    before = TubeStock.objects.count()
    data = {"key": str(uuid4()), "material": "brass", "od_mm": "10", "wall_mm": "5"}

    refused = client_of_owner.post("/tube/new/", data)
    for _ in range(2):
        client_of_owner.post("/tube/new/", data | {"wall_mm": "1", "price": "12.50"})

    assert refused.status_code == 422 and "no bore" in refused.content.decode()
    assert TubeStock.objects.count() == before + 1


def test_tube_gets_its_price_and_supplier_and_keeps_its_size(client_of_owner: Client) -> None:
    tube = TubeStock.objects.get(material="copper", od_mm=15, wall_mm=0.7)
    boxes = values_of(client_of_owner.get(f"/tube/{tube.pk}/").content.decode())
    said = {"material": "copper", "temper": tube.temper, "price": "9.80", "supplier": "Ilse & Co"}

    answer = client_of_owner.post(f"/tube/{tube.pk}/", boxes | said)

    tube.refresh_from_db()
    tools = client_of_owner.get("/tools/").content.decode()
    assert answer.status_code == 302
    assert (tube.od_mm, tube.wall_mm, tube.bar_length_mm) == (15, 0.7, 3000)
    assert (tube.price, tube.supplier) == (Decimal("9.80"), "Ilse & Co")
    assert "£9.80" in tools


def test_a_viewer_reads_and_is_offered_no_button(client_of_viewer: Client) -> None:
    former, stock = make_former(), make_stock(od_mm=28.0)
    make_practice_bend(former, stock)
    tool = make_bead_tool()
    make_bead_test(tool, stock)
    pages = ["/tools/", former.get_absolute_url(), tool.get_absolute_url(), "/tube/"]

    for path in [*pages, make_tool().get_absolute_url()]:
        main = main_of(client_of_viewer.get(path).content.decode())

        assert "<button" not in main and 'class="button' not in main
