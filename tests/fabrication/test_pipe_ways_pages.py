"""The three ways in on the page: tabs, readings, pasting, mirror, working from another way."""

import html as entities
import re
from typing import Any

import pytest
from django.core.files.uploadedfile import SimpleUploadedFile
from django.test import Client
from django.urls import reverse

from fabrication.models import Duty, PipeSheet
from fabrication.pipe.inputs import Mirror, Typed, read
from garage.models import Car, Person
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.fabrication.test_pipe_pages import NEW, TWO, typed, values_of
from tests.fabrication.told import points


@pytest.fixture
def tools(db: None) -> dict[str, Any]:
    return {"former": make_former(), "stock": make_stock()}


SQUARE = (("0", "0", "0"), ("200", "0", "0"), ("200", "200", "0"))


def typed_points(*rows: tuple[str, ...], tools: dict[str, Any], **boxes: str) -> dict[str, str]:
    """What a browser posts for a pipe told by corner points."""
    data = typed(**tools, last="") | {"way": "corners", "tab": "corners", "corners": str(len(rows))}
    for number, row in enumerate(rows):
        for name, text in zip(("x", "y", "z", "radius"), row, strict=False):
            data[f"c{number}-{name}"] = text
    return data | boxes


def text_of(answer: Any) -> str:
    return entities.unescape(answer.content.decode())


def chosen(html: str, name: str) -> str:
    """The choice of a select on a page."""
    box = re.search(rf'<select name="{name}".*?</select>', html, re.S)
    assert box
    found = re.search(r'value="([^"]*)" selected', box[0])
    return found[1] if found else ""


# ---- readings -----------------------------------------------------------------------------


def test_a_row_read_to_the_heel_by_two_marks_is_saved_with_its_readings(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    """Tube of 15 on a radius of 45: heel 7.5 beyond the corner, arc 45 before it."""
    data = typed(("152.5", "", "141.421"), **tools)
    data |= {"r0-straight_far": "heel", "r0-bend_how": "marks", "last_near": "throat"}

    client_of_owner.post(NEW, data)

    sheet = PipeSheet.objects.get()
    bends = read(sheet.inputs).bends
    html = text_of(client_of_owner.get(sheet.get_absolute_url()))
    assert bends is not None
    assert (bends.rows[0].leg.far, bends.rows[0].bend.how) == ("heel", "marks")
    assert bends.rows[0].bend.gap is not None and bends.rows[0].bend.gap.typed == "141.421"
    # 100 straight, a quarter of 45 is 70.686, and 120 + 7.5 - 45 from the throat.
    assert re.search(r"Finished</dt><dd>253.0 ", html)
    assert values_of(html)["r0-bend"] == "141.421"
    assert chosen(html, "r0-straight_far") == "heel"
    assert "to heel, bend by two marks" in html


def test_a_misfit_stands_at_its_row(client_of_owner: Client, tools: dict[str, Any]) -> None:
    data = typed(*TWO, **tools) | {"r1-again": "83.2", "r1-again_near": "tangent"}
    data |= {"r1-again_far": "tangent", "end_to_end": "250", "look": "1"}

    html = text_of(client_of_owner.post(NEW, data))

    assert "Straight does not close by 3.2 mm" in html.split('id="says-2"')[1].split("</div>")[0]
    assert "End to end does not close by" in html.split('id="says-3"')[1].split("</div>")[0]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"r1-bend_how": "marks", "r1-bend": "oops"}, "oops"),
        ({"r1-bend_how": "included", "r1-bend": "190"}, "between 0 and 180"),
        ({"r1-twist_how": "heights"}, "Write the height"),
        ({"r1-again": "soon"}, "soon"),
        ({"r1-bend_again": "soon"}, "soon"),
        ({"end_to_end": "soon"}, "soon"),
        ({"a-guessed": "soon"}, "soon"),
        ({"b-clip_width": "900"}, "to 60 mm"),
    ],
)
def test_a_reading_that_cannot_be_read_loses_nothing(
    client_of_owner: Client, tools: dict[str, Any], wrong: dict[str, str], says: str
) -> None:
    more = {"r0-straight_far": "throat", "r1-side": "other_side", "a-slid_on": "nut, sleeve"}
    data = typed(*TWO, **tools) | more | wrong

    answer = client_of_owner.post(NEW, data)

    html = text_of(answer)
    boxes = values_of(html)
    assert answer.status_code == 422
    assert says in html
    kept = {name: data[name] for name in data if name in boxes and name != "csrfmiddlewaretoken"}
    assert {name: boxes[name] for name in kept} == kept
    assert {"r1-bend", "r0-straight", "a-slid_on"} <= kept.keys()
    assert chosen(html, "r0-straight_far") == "throat"


def test_the_list_is_turned_round_and_stays_the_same_pipe(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    rows = (("100", "", "90"), ("80", "30", "60"), ("70", "-20", "45"))
    data = typed(*rows, **tools) | {"r2-straight_far": "heel"}

    html = text_of(client_of_owner.post(NEW, data | {"turn": "1"}))

    boxes = values_of(html)
    shown = [tuple(boxes[f"r{n}-{box}"] for box in ("straight", "twist", "bend")) for n in range(3)]
    assert shown == [("120", "", "45"), ("70", "-20", "60"), ("80", "30", "90")]
    assert (boxes["last"], boxes["from_end"]) == ("100", "b")
    assert chosen(html, "r1-straight_near") == "heel"
    assert "Write the twist" not in html


def test_a_list_with_a_slope_is_not_turned_and_says_why(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools) | {"r1-twist_how": "slope", "turn": "1"}

    answer = client_of_owner.post(NEW, data)

    assert answer.status_code == 422
    assert "holds from this end only" in text_of(answer)
    assert values_of(text_of(answer))["r0-straight"] == "100"


# ---- tabs ---------------------------------------------------------------------------------


def test_another_tab_shows_the_pipe_told_its_way_and_carries_what_was_typed(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    """A right angle of 45: corner at 100 + 45, end B at 45 + 120 beside it."""
    data = typed(("100", "", "90"), **tools)

    html = text_of(client_of_owner.post(NEW, data | {"to": "corners"}))

    told = html.split('class="ledger told"')[1].split("</table>")[0]
    assert re.findall(r'<td class="num">([^<]*)</td>', told)[3:9] == [
        "145.0", "0.0", "0.0", "145.0", "165.0", "0.0",
    ]  # fmt: skip
    assert "Work from here instead" in html
    boxes = values_of(html)
    assert (boxes["way"], boxes["tab"]) == ("bends", "corners")
    assert (boxes["r0-straight"], boxes["last"]) == ("100", "120")


def test_working_from_another_tab_saves_a_revision_and_keeps_the_one_before(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    data = typed(("100", "", "90"), former=sheet.former, stock=sheet.stock, seen="1")

    client_of_owner.post(sheet.get_absolute_url(), data | {"tab": "corners", "here": "corners"})

    sheet.refresh_from_db()
    now = read(sheet.inputs)
    assert (sheet.version, now.way) == (2, "corners")
    assert now.corners is not None and now.bends is not None
    assert [(one.x.typed, one.y.typed) for one in now.corners.points] == [
        ("0", "0"), ("145", "0"), ("145", "165"),
    ]  # fmt: skip
    before = sheet.revisions.get()
    assert (before.version, read(before.inputs).way) == (1, "bends")


def test_an_earlier_revision_is_shown_and_saved_again(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    data = typed(("55", "", "90"), former=sheet.former, stock=sheet.stock, seen="1")
    client_of_owner.post(sheet.get_absolute_url(), data)

    html = text_of(client_of_owner.get(f"{sheet.get_absolute_url()}?revision=1"))

    assert values_of(html)["r0-straight"] == "100"
    assert values_of(html)["seen"] == "2"
    assert "stands in the boxes" in html


def test_what_was_typed_on_a_tab_before_can_be_gone_back_to(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed_points(*SQUARE, tools=tools) | {"rows": "1", "r0-straight": "11"}
    data |= {"r0-bend": "22", "last": "33", "tab": "bends"}

    derived = values_of(text_of(client_of_owner.post(NEW, data | {"here": "bends"})))
    kept = values_of(text_of(client_of_owner.post(NEW, data | {"kept": "bends"})))

    assert (derived["r0-straight"], derived["last"], derived["way"]) == ("155", "155", "bends")
    assert (kept["r0-straight"], kept["last"], kept["way"]) == ("11", "33", "bends")
    assert kept["c1-x"] == derived["c1-x"] == "200"


def test_a_new_sheet_may_begin_with_points_before_anything_is_typed(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(**tools, last="") | {"title": "", "rows": "3", "here": "corners"}

    answer = client_of_owner.post(NEW, data)

    assert answer.status_code == 200
    assert values_of(text_of(answer))["way"] == "corners"
    assert 'name="c0-x"' in text_of(answer)


def test_rows_that_cannot_be_read_are_put_right_before_another_way_counts(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(("soon", "", "90"), **tools) | {"here": "corners"}

    answer = client_of_owner.post(NEW, data)

    assert answer.status_code == 422
    assert values_of(text_of(answer))["r0-straight"] == "soon"


# ---- corner points ------------------------------------------------------------------------


def test_points_are_typed_and_saved_and_come_out_at_their_length(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    """Legs of 200 on a radius of 45: 155 + 70.686 + 155."""
    answer = client_of_owner.post(NEW, typed_points(*SQUARE, tools=tools), follow=True)

    assert read(PipeSheet.objects.get().inputs).way == "corners"
    assert re.search(r"Finished</dt><dd>380.5 ", text_of(answer))
    assert values_of(text_of(answer))["c2-y"] == "200"


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"c1-x": "soon"}, "soon"),
        ({"c1-y": ""}, "Write y; 0 is a figure too"),
        ({"axis_y": "right"}, "left-handed"),
        ({"axis_y": "forward"}, "along one line"),
    ],
)
def test_points_that_cannot_be_read_lose_nothing(
    client_of_owner: Client, tools: dict[str, Any], wrong: dict[str, str], says: str
) -> None:
    data = typed_points(*SQUARE, tools=tools) | wrong

    answer = client_of_owner.post(NEW, data)

    boxes = values_of(text_of(answer))
    assert answer.status_code == 422
    assert says in text_of(answer)
    names = [f"c{n}-{box}" for n in range(3) for box in "xyz"]
    assert [boxes[name] for name in names] == [data[name] for name in names]


def test_points_are_pasted_from_a_spreadsheet(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed_points(tools=tools) | {"paste": "x\ty\tz\n0\t0\t0\n150,5\t0\t0", "paste_in": "1"}

    boxes = values_of(text_of(client_of_owner.post(NEW, data)))

    assert (boxes["corners"], boxes["c1-x"], boxes["c1-z"]) == ("2", "150.5", "0")
    assert not PipeSheet.objects.exists()


def test_points_come_from_a_csv_file(client_of_owner: Client, tools: dict[str, Any]) -> None:
    file = SimpleUploadedFile("points.csv", b"0;0;0\r\n10;20;30\r\n", "text/csv")
    data: dict[str, Any] = typed_points(tools=tools) | {"paste": "", "paste_in": "1"}

    boxes = values_of(text_of(client_of_owner.post(NEW, data | {"file": file})))

    assert [boxes[f"c1-{name}"] for name in "xyz"] == ["10", "20", "30"]


def test_a_bad_paste_names_its_line_and_loses_neither_text_nor_points(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed_points(*SQUARE, tools=tools) | {"paste": "0,0,0\n1,2", "paste_in": "1"}

    answer = client_of_owner.post(NEW, data)

    html = text_of(answer)
    assert answer.status_code == 422
    assert "Line 2 has 2 figures" in html
    assert "0,0,0\n1,2</textarea>" in html
    assert values_of(html)["c1-x"] == "200"


# ---- mirror -------------------------------------------------------------------------------


def test_the_mirror_image_of_a_sheet_begins_with_its_head_and_its_twists_negated(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    other = make_sheet(by=owner, title="Left pipe")

    html = text_of(client_of_owner.get(f"{NEW}?mirror={other.pk}"))

    boxes = values_of(html)
    told = html.split('class="ledger told"')[1].split("</table>")[0]
    assert (boxes["title"], boxes["way"]) == ("Left pipe, other side", "mirror")
    assert chosen(html, "mirror") == str(other.pk)
    assert re.findall(r'<td class="num">([^<]*)</td>', told)[2:5] == ["80.0", "-90", "60"]


def test_a_sheet_works_from_the_mirror_image_of_another(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    other = make_sheet(by=owner)
    sheet = make_sheet(by=owner, former=other.former, stock=other.stock)
    data = typed(*TWO, former=other.former, stock=other.stock, seen="1")
    data |= {"tab": "mirror", "mirror": str(other.pk), "here": "mirror"}

    answer = client_of_owner.post(sheet.get_absolute_url(), data, follow=True)

    sheet.refresh_from_db()
    now = read(sheet.inputs)
    assert (now.way, now.mirror) == ("mirror", Mirror(other.pk))
    assert now.bends is not None
    assert "418.0" in text_of(answer)


def test_a_mirror_image_of_nothing_says_what_to_choose(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    answer = client_of_owner.post(NEW, typed(*TWO, **tools) | {"way": "mirror", "tab": "mirror"})

    assert answer.status_code == 422
    assert "Choose the sheet that this pipe mirrors" in text_of(answer)
    assert values_of(text_of(answer))["r0-straight"] == "100"


# ---- while it is typed --------------------------------------------------------------------


def test_sums_come_first_and_the_order_is_asked_for_after(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data, asks = typed(*TWO, **tools), {"HX-Request": "true"}

    first = text_of(client_of_owner.post(reverse("pipe_work_out"), data, headers=asks))
    second = text_of(
        client_of_owner.post(f"{reverse('pipe_work_out')}?order=1", data, headers=asks)
    )

    assert "Working out the order…" in first and "order=1" in first
    assert 'id="views"' in first
    assert re.search(r"Cut from the bar</dt><dd>418.0 ", second)
    assert "Line up" in second and "order=1" not in second and 'id="views"' not in second


def test_doubts_about_points_stand_at_their_points_as_they_are_typed(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    rows = (("0", "0", "0"), ("20", "0", "0"), ("20", "200", "0"))

    html = text_of(client_of_owner.post(reverse("pipe_work_out"), typed_points(*rows, tools=tools)))

    assert "25.0 mm too short" in html.split('id="says-1" hx-swap-oob')[1].split("</div>")[0]


# ---- inches, ends, duty ---------------------------------------------------------------------


def test_sentences_speak_inches_to_who_reads_inches(
    client_of_owner: Client, owner: Person, tools: dict[str, Any]
) -> None:
    """Twelve millimetres short are 0.472 in; no sentence on the page says millimetres."""
    owner.units = "in"
    owner.save()
    sheet = make_sheet(by=owner, pipe=pipe_of((60, 0, 90), (8, 90, 90), last_mm=60), **tools)

    html = text_of(client_of_owner.get(sheet.get_absolute_url()))

    says = re.sub(r"<[^>]*>", "", html.split('id="says-2"')[1].split("</div>")[0])
    assert "0.472 in too short" in says
    assert " mm" not in says


def test_limits_are_told_in_inches_to_who_types_inches(
    client_of_owner: Client, owner: Person, tools: dict[str, Any]
) -> None:
    owner.units = "in"
    owner.save()

    answer = client_of_owner.post(NEW, typed(*TWO, **tools) | {"a-trim": "50"})

    assert "Write a length of 0 to 39.37 in." in text_of(answer)


def test_a_lost_end_is_dashed_and_said(client_of_owner: Client, tools: dict[str, Any]) -> None:
    data = typed(*TWO, **tools) | {"b-lost": "on", "b-guessed": "60"}

    answer = client_of_owner.post(NEW, data, follow=True)

    html = text_of(answer)
    assert read(PipeSheet.objects.get().inputs).end_b.lost
    said = html.split('id="says-3"')[1].split("</div>")[0]
    assert "lost and its length guessed" in said
    assert "Write what to leave under To cut off after" in said
    assert "Lost, guessed: 60.0 mm" in html
    assert 'stroke-dasharray="2 1.4"' in html.split('id="views"')[1].split("Dashed: lost")[0]


def test_a_lost_end_with_tube_left_on_asks_for_no_more(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    lost = {"b-lost": "on", "b-guessed": "60", "b-trim": "30"}

    html = text_of(client_of_owner.post(NEW, typed(*TWO, **tools) | lost, follow=True))

    assert "leave it long, trim at the car" in html
    assert "Write what to leave" not in html


@pytest.mark.parametrize("form", ["bead", "hose", "solder", "glue"])
def test_no_hose_end_on_a_brake_pipe_whichever_way_it_was_told(
    client_of_owner: Client, tools: dict[str, Any], form: str
) -> None:
    data = typed_points(*SQUARE, tools=tools) | {"duty": Duty.BRAKE.value, "b-form": form}

    answer = client_of_owner.post(NEW, data)

    assert answer.status_code == 422
    assert "on a brake pipe" in text_of(answer)


# ---- who may only look ----------------------------------------------------------------------


def test_a_viewer_reads_the_other_ways_by_links(
    client_of_viewer: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=points((0, 0, 0), (200, 0, 0), (200, 200, 0)))

    html = text_of(client_of_viewer.get(f"{sheet.get_absolute_url()}?tab=bends"))

    assert 'href="?tab=corners#bends"' in html
    assert "155.0" in html.split('class="ledger told"')[1].split("</table>")[0]
    assert "Work from here instead" not in html


# ---- the bin ------------------------------------------------------------------------------


def test_a_sheet_is_thrown_out_listed_so_and_brought_back(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, title="Wrong pipe")

    client_of_owner.post(reverse("pipe_throw_out", args=[sheet.pk]))
    listed = text_of(client_of_owner.get(reverse("pipes")))
    bench = text_of(client_of_owner.get("/bench/"))
    answer = client_of_owner.post(reverse("pipe_bring_back", args=[sheet.pk]), follow=True)

    assert "Wrong pipe" in listed.split('id="bin"')[1]
    assert "Wrong pipe" not in listed.split('id="bin"')[0]
    assert "Wrong pipe" not in bench
    assert f"{sheet} is back." in text_of(answer)
    assert PipeSheet.objects.kept().get() == sheet


def test_a_sheet_in_the_bin_is_shown_and_takes_no_save_but_keeps_what_was_typed(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, thrown_out=True)
    data = typed(*TWO, former=sheet.former, stock=sheet.stock, last="121", seen="1")

    shown = text_of(client_of_owner.get(sheet.get_absolute_url()))
    answer = client_of_owner.post(sheet.get_absolute_url(), data)

    assert "Bring it back" in shown and "Save sheet" not in shown
    assert answer.status_code == 422
    assert "was thrown out. Bring it back" in text_of(answer)
    assert values_of(text_of(answer))["last"] == "121"
    assert PipeSheet.objects.get().version == 1


def test_a_mirror_typed_round_keeps_its_document(owner: Person, car: Car) -> None:
    sheet = make_sheet(by=owner, pipe=Typed(way="mirror", mirror=Mirror(3)))

    sheet.refresh_from_db()

    assert read(sheet.inputs).mirror == Mirror(3)
