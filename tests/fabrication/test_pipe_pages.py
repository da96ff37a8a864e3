"""Pages of the make-up sheets: entry, results as it is typed, saving, formers and tube."""

import re
from typing import Any
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fabrication.models import Duty, Former, PipeSheet, TubeStock
from fabrication.pipe.inputs import BEAD, End
from garage.models import Car, Person
from parts import plan
from tests import factories
from tests.fabrication.page_parts import values_of, words_of
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.fabrication.tool_rows import make_bead_tool
from tests.factories import NOW

NEW = "/pipes/new/"


def typed(
    *rows: tuple[str, str, str], last: str = "120", former: Former, stock: TubeStock, **boxes: str
) -> dict[str, str]:
    """What a browser posts for a pipe of rows of straight, twist and bend."""
    data = {
        "key": str(uuid4()),
        "title": "Bypass water pipe",
        "duty": Duty.COOLANT.value,
        "former": str(former.pk),
        "stock": str(stock.pk),
        "rows": str(len(rows)),
        "last": last,
        "a-form": "plain",
        "b-form": "plain",
    }
    for number, row in enumerate(rows):
        for name, text in zip(("straight", "twist", "bend"), row, strict=True):
            data[f"r{number}-{name}"] = text
    return data | boxes


@pytest.fixture
def tools(db: None) -> dict[str, Any]:
    return {"former": make_former(), "stock": make_stock()}


TWO = (("100", "", "90"), ("80", "90", "60"))


# ---- entry --------------------------------------------------------------------------------


def test_a_pipe_is_typed_and_saved_and_shows_its_cut_length(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    """By hand: 100 + 80 + 120 straight, 150 degrees of arc on 45 mm, 117.81."""
    answer = client_of_owner.post(NEW, typed(*TWO, **tools), follow=True)

    sheet = PipeSheet.objects.get()
    html = answer.content.decode()
    assert answer.redirect_chain[-1][0] == sheet.get_absolute_url()
    assert re.search(r"Cut from the bar</dt><dd>418.0 ", html)
    assert sheet.inputs["schema"] == 2
    assert values_of(html)["r1-twist"] == "90"


def test_the_same_form_sent_twice_makes_one_sheet(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools)

    first, second = (client_of_owner.post(NEW, data) for _ in range(2))

    assert PipeSheet.objects.count() == 1
    assert first["Location"] == second["Location"]


def test_another_pipe_under_the_same_key_loses_nothing_and_gets_a_fresh_key(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools)
    client_of_owner.post(NEW, data)

    answer = client_of_owner.post(NEW, data | {"last": "99"})

    boxes = values_of(answer.content.decode())
    assert answer.status_code == 422
    assert (boxes["last"], boxes["r0-straight"]) == ("99", "100")
    assert boxes["key"] != data["key"]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"r1-bend": "400"}, "between 0 and 360"),
        ({"r1-straight": ""}, "Write the straight before this bend"),
        ({"r0-bend": ""}, "Write how far it bends"),
        ({"last": "soon"}, "soon"),
        ({"r0-straight": "-5"}, "0 to 20000 mm"),
        ({"title": ""}, "Say what the pipe is"),
        ({"duty": ""}, "Say what runs in it"),
        ({"former": "999"}, "Select a valid choice"),
    ],
)
def test_nothing_typed_is_lost_by_an_error(
    client_of_owner: Client, tools: dict[str, Any], wrong: dict[str, str], says: str
) -> None:
    data = typed(*TWO, **tools) | wrong

    answer = client_of_owner.post(NEW, data)

    html = answer.content.decode()
    boxes = values_of(html)
    assert answer.status_code == 422
    assert says in html
    kept = ("title", "last", "r0-straight", "r0-bend", "r1-straight", "r1-twist", "r1-bend")
    assert {name: boxes[name] for name in kept} == {name: data[name] for name in kept}
    assert not PipeSheet.objects.exists()


@pytest.mark.parametrize(
    ("button", "straights"),
    [
        ({"more": "1"}, ["100", "80", ""]),
        ({"out": "1"}, ["80"]),
        ({"up": "2"}, ["80", "100"]),
        ({"down": "1"}, ["80", "100"]),
        ({"up": "1"}, ["100", "80"]),  # the first cannot go up
    ],
)
def test_rows_are_added_taken_out_and_moved_without_javascript(
    client_of_owner: Client, tools: dict[str, Any], button: dict[str, str], straights: list[str]
) -> None:
    answer = client_of_owner.post(NEW, typed(*TWO, **tools) | button)

    boxes = values_of(answer.content.decode())
    assert answer.status_code == 200
    shown = [boxes[f"r{number}-straight"] for number in range(int(boxes["rows"]))]
    assert shown == straights
    assert boxes["last"] == "120" and boxes["title"] == "Bypass water pipe"
    assert not PipeSheet.objects.exists()


def test_a_row_moved_to_the_top_keeps_the_twist_that_it_does_not_use(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    boxes = values_of(
        client_of_owner.post(NEW, typed(*TWO, **tools) | {"up": "2"}).content.decode()
    )

    assert (boxes["r0-twist"], boxes["r1-twist"]) == ("90", "")


def test_work_it_out_shows_the_results_and_saves_nothing(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    answer = client_of_owner.post(NEW, typed(*TWO, **tools) | {"look": "1"})

    assert answer.status_code == 200
    assert "418.0" in answer.content.decode()
    assert not PipeSheet.objects.exists()


def test_empty_rows_between_do_not_count_and_cautions_stay_at_their_own_row(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    rows = (("60", "", "90"), ("", "", ""), ("8", "90", "90"))

    html = client_of_owner.post(NEW, typed(*rows, **tools) | {"look": "1"}).content.decode()

    at_row = html.split('id="says-3"')[1].split("</div>")[0]
    assert "12.0 mm too short" in at_row
    assert "too short" not in html.split('id="says-2"')[1].split("</div>")[0]


def test_lengths_are_typed_in_inches_by_who_reads_inches(
    client_of_owner: Client, owner: Person, tools: dict[str, Any]
) -> None:
    """One inch is 25.4 mm exactly."""
    owner.units = "in"
    owner.save()

    client_of_owner.post(NEW, typed(("4", "", "90"), last='3 1/2"', **tools))

    sheet = PipeSheet.objects.get()
    assert sheet.inputs["bends"]["rows"][0]["leg"]["reading"] == {
        "mm": pytest.approx(101.6),
        "typed": "4",
    }
    html = client_of_owner.get(sheet.get_absolute_url()).content.decode()
    assert values_of(html)["r0-straight"] == "4"
    # (101.6 + 88.9 + a quarter on 45 mm, 70.686) / 25.4
    assert "10.283" in html


# ---- while it is typed --------------------------------------------------------------------


def test_what_follows_is_sent_in_pieces_as_it_is_typed(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    answer = client_of_owner.post(
        reverse("pipe_work_out"), typed(*TWO, **tools), headers={"HX-Request": "true"}
    )

    html = answer.content.decode()
    assert answer.status_code == 200
    assert "<html" not in html
    assert "418.0" in html
    for piece in ("marks", "views", "says-1", "says-2", "says-3"):
        assert f'id="{piece}" hx-swap-oob="true"' in html
    assert not PipeSheet.objects.exists()


def test_a_pipe_half_typed_says_what_is_still_wanted(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    answer = client_of_owner.post(reverse("pipe_work_out"), typed(*TWO, last="", **tools))

    assert answer.status_code == 200
    assert "Write the straight up to end B" in answer.content.decode()


def live(client: Client, data: dict[str, str], more: str = "") -> str:
    """What is sent as a pipe is typed."""
    headers = {"HX-Request": "true"}
    return client.post(reverse("pipe_work_out") + more, data, headers=headers).content.decode()


def test_it_is_worked_out_and_drawn_before_it_has_a_name_or_a_duty(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools) | {"title": "", "duty": ""}

    first, ordered = (live(client_of_owner, data, more) for more in ("", "?order=1"))
    saved = client_of_owner.post(NEW, data)

    assert "Three views of the pipe" in first
    assert "wait for it" in first.split('id="duty"')[1]  # the cautions wait for the duty
    assert "418.0" in ordered
    assert "418.0" in saved.content.decode() and saved.status_code == 422


@pytest.mark.parametrize(
    ("lacking", "says"),
    [
        ({"former": "", "stock": ""}, "a former and a tube are chosen and the rows below"),
        ({"stock": ""}, "a tube is chosen and the rows below"),
        ({"last": ""}, "drawn when the rows below"),
    ],
)
def test_the_drawing_says_what_it_waits_for(
    client_of_owner: Client, tools: dict[str, Any], lacking: dict[str, str], says: str
) -> None:
    html = live(client_of_owner, typed(*TWO, **tools) | lacking)

    assert says in html.split('id="views"')[1]


def test_what_is_still_wanted_is_a_list_that_leads_to_its_boxes(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools) | {"title": "", "former": "", "last": ""}

    wanted = live(client_of_owner, data).split('class="waits"')[1].split("</ul>")[0]

    assert re.findall(r'<li><a href="#(\w+)">([^<]*)</a></li>', wanted) == [
        ("id_former", "Choose a former"),
        ("id_last", "Write the straight up to end B"),
    ]


def test_a_former_for_other_tube_stops_the_pipe_in_the_first_answer(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools | {"stock": make_stock(od_mm=12.7)})

    html = live(client_of_owner, data)

    assert "Not on this former" in html and "does not fit" in html
    assert "Working out the order" not in html and "Three views of the pipe" in html


def test_typing_leaves_the_row_of_stages_and_the_order_brings_it_anew(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)
    data = typed(*TWO, former=sheet.former, stock=sheet.stock, last="121", seen="1")

    first, ordered = (live(client_of_owner, data, more) for more in ("", "?order=1"))
    half = live(client_of_owner, data, "?after=1")

    assert 'id="stages"' not in first
    assert ordered.count('name="after"') == 2 and "After bend 1" in ordered
    assert 'aria-label="Three views of the pipe with its bend"' in half
    assert re.search(r'value="1"[^>]*aria-current="true"', half)


def test_half_bent_and_without_scripts_nothing_typed_is_lost(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)
    data = typed(*TWO, former=sheet.former, stock=sheet.stock, last="121", seen="1")

    html = client_of_owner.post(sheet.get_absolute_url(), data | {"after": "1"}).content.decode()

    assert values_of(html)["last"] == "121"
    assert 'aria-label="Three views of the pipe with its bend"' in html


def test_the_fold_of_a_reading_stands_open_to_view_where_it_was_not_the_usual_one(
    client_of_owner: Client, tools: dict[str, Any]
) -> None:
    data = typed(*TWO, **tools) | {"look": "1", "r1-straight_near": "centre"}

    plain, shown = (
        client_of_owner.post(NEW, data | more).content.decode() for more in ({}, {"readings": "1"})
    )

    assert re.findall(r'class="reading( is-told)?"', plain) == ["", " is-told", ""]
    switch = re.compile(r'name="readings"[^>]* checked')
    assert switch.search(shown) and not switch.search(plain)


# ---- a sheet that is there ----------------------------------------------------------------


def test_a_change_makes_a_revision_and_the_same_again_makes_none(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)
    data = typed(*TWO, former=sheet.former, stock=sheet.stock, last="121", seen="1")

    for _ in range(2):
        client_of_owner.post(sheet.get_absolute_url(), data)

    sheet.refresh_from_db()
    assert (sheet.version, sheet.inputs["bends"]["last"]["reading"]["mm"]) == (2, 121)


def test_a_stale_save_shows_both_and_loses_neither(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)
    data = typed(*TWO, former=sheet.former, stock=sheet.stock, seen="1")
    client_of_owner.post(sheet.get_absolute_url(), data | {"last": "131"})

    answer = client_of_owner.post(sheet.get_absolute_url(), data | {"last": "141"})

    html = answer.content.decode()
    assert answer.status_code == 422
    assert values_of(html)["last"] == "141"
    assert "131 mm" in html.split('id="theirs"')[1].split("</section>")[0]
    sheet.refresh_from_db()
    assert sheet.inputs["bends"]["last"]["reading"]["mm"] == 131

    again = client_of_owner.post(sheet.get_absolute_url(), data | {"last": "141", "seen": "2"})
    assert again.status_code == 302


def test_the_pipe_is_shown_after_each_bend(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)

    whole = client_of_owner.get(sheet.get_absolute_url()).content.decode()
    first = client_of_owner.get(f"{sheet.get_absolute_url()}?after=1").content.decode()

    assert "After bend 1" in whole and "Finished" in whole
    assert 'aria-label="Three views of the pipe with its 2 bends numbered"' in whole
    assert 'aria-label="Three views of the pipe with its bend"' in first


def test_a_pipe_that_cannot_be_bent_says_which_straight_by_how_much_and_the_cure(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=pipe_of((60, 0, 90), (8, 90, 90), last_mm=60))

    html = client_of_owner.get(sheet.get_absolute_url()).content.decode()

    assert "Not on this former" in html
    at_row = html.split('id="says-2"')[1].split("</div>")[0]
    assert "Straight 2" in at_row and "12.0 mm too short" in at_row and "lengthen it" in at_row


@pytest.mark.parametrize("form", ["bead", "solder", "glue"])
@pytest.mark.parametrize("duty", [Duty.BRAKE, Duty.FUEL, Duty.CLUTCH, Duty.POWER_STEERING])
def test_bead_glue_and_soft_solder_are_refused_where_a_failure_hurts(
    client_of_owner: Client, tools: dict[str, Any], duty: Duty, form: str
) -> None:
    data = typed(*TWO, **tools) | {"duty": duty.value, "b-form": form}

    refused = client_of_owner.post(NEW, data)
    flared = client_of_owner.post(NEW, data | {"b-form": "flare"}, follow=True)

    assert refused.status_code == 422
    assert f"on a {duty.label.lower()} pipe" in refused.content.decode()
    assert f"{duty.label} pipe</span>" in flared.content.decode()  # the caution of the duty


def test_a_coolant_pipe_may_have_a_bead(client_of_owner: Client, tools: dict[str, Any]) -> None:
    answer = client_of_owner.post(NEW, typed(*TWO, **tools) | {"a-form": "bead"})

    assert answer.status_code == 302
    assert PipeSheet.objects.get().inputs["end_a"]["form"] == "bead"


def test_work_at_a_beaded_end_is_told_once_with_what_is_slid_on(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    """By hand: the bead is wanted at 8, the tool begins at 12: 4.0 are cut off after."""
    make_bead_tool(tube_od_least_mm=15.0, tube_od_most_mm=15.0)
    end = End(form=BEAD, slid_on=("closed clip",))
    sheet = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), last_mm=100, end_a=end))

    html = client_of_owner.get(sheet.get_absolute_url()).content.decode()

    at_end = words_of(html.split('id="end-sum-A"')[1].split('id="end-sum-B"')[0])
    assert "Slide on before the bead: closed clip." in at_end
    assert "cut 4.0 mm off" in at_end
    assert "Cut off what is spare" not in at_end


def test_a_viewer_looks_and_cannot_type(client_of_viewer: Client, owner: Person, car: Car) -> None:
    html = client_of_viewer.get(make_sheet(by=owner).get_absolute_url()).content.decode()

    assert "418.0" in html
    assert "<fieldset" in html and " disabled" in html.split("<fieldset")[1][:60]
    assert "Save sheet" not in html and "hx-post" not in html


def test_a_sheet_of_a_newer_version_is_not_guessed_at(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)
    sheet.inputs |= {"schema": 3}
    sheet.save()

    for address in (sheet.get_absolute_url(), reverse("pipe_sheet", args=[sheet.pk])):
        assert "A newer Splitpin wrote this sheet" in client_of_owner.get(address).content.decode()


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_of_sheets_takes_as_many_queries_for_one_as_for_three(
    client_of_owner: Client, owner: Person, car: Car, count: int, django_assert_num_queries: Any
) -> None:
    for number in range(count):
        make_sheet(by=owner, title=f"Pipe {number}")
    client_of_owner.get("/pipes/")

    with django_assert_num_queries(5):
        html = client_of_owner.get("/pipes/").content.decode()

    assert html.count('class="reach"') == count


# ---- on the pages of the other room -------------------------------------------------------


def test_a_part_to_be_remade_offers_a_sheet_and_then_shows_it(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    part = factories.make_part(car=car, by=owner, name="Bypass pipe")
    plain = client_of_owner.get(part.get_absolute_url()).content.decode()
    plan.judge(piece=part.fitted_piece, route=plan.ROUTE_BY_CODE["remake"], by=owner, now=NOW)

    offered = client_of_owner.get(part.get_absolute_url()).content.decode()
    make_sheet(by=owner, part=part, title="Bypass pipe, copy")
    shown = client_of_owner.get(part.get_absolute_url()).content.decode()

    assert "Make-up sheets" not in plain
    assert f'href="/pipes/new/?part={part.tag}"' in offered
    assert "Bypass pipe, copy" in shown


def test_a_sheet_begun_from_a_part_belongs_to_it(
    client_of_owner: Client, owner: Person, car: Car, tools: dict[str, Any]
) -> None:
    part = factories.make_part(car=car, by=owner, name="Bypass pipe")
    address = f"{NEW}?part={part.tag}"

    shown = values_of(client_of_owner.get(address).content.decode())
    client_of_owner.post(address, typed(*TWO, **tools))

    assert shown["title"] == "Bypass pipe"
    assert PipeSheet.objects.get().part == part


def test_the_bench_shows_the_sheets_begun(client_of_owner: Client, owner: Person, car: Car) -> None:
    make_sheet(by=owner, title="Bypass pipe, copy")

    assert "Bypass pipe, copy" in client_of_owner.get("/bench/").content.decode()
