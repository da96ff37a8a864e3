"""Pages of the bench: what stands on them, what their forms lead to, with script and without."""

import re
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fabrication.making import bending
from fabrication.making.bench import bench_of
from fabrication.models import Making, Reading
from garage.models import Car, Person
from parts.models import Purpose
from tests import factories
from tests.fabrication.bending_rows import make_making, make_reading
from tests.fabrication.page_parts import values_of, words_of
from tests.fabrication.pipe_rows import make_sheet, pipe_of
from tests.factories import NOW

HTMX = {"HX-Request": "true"}


def up_to_the_first_pull(making: Making, by: Person) -> int:
    """The bend that is pulled first, everything before it done."""
    bench = bench_of(making)
    for step in bench.steps:
        if step.what == "pull":
            return step.mark.bend
        bending.tick(making=making, key=uuid4(), code=step.code, by=by, now=NOW)
    raise AssertionError("no bend")


def reading_of(**boxes: str) -> dict[str, str]:
    usual = {"key": str(uuid4()), "bend": "1", "seen": "", "pulled_to": "88", "came_to": "86"}
    return usual | boxes


# ---- from the sheet to the bench --------------------------------------------------------------


def test_a_pipe_is_begun_and_its_first_step_is_to_cut_it(
    client_of_owner: Client, owner: Person
) -> None:
    """By hand: 100 + 80 + 120 straight and 150 degrees of arc on 45 mm, 117.8."""
    sheet = make_sheet(by=owner)
    url = reverse("bend_pipe", args=[sheet.pk])
    boxes = values_of(client_of_owner.get(url).content.decode())

    answer = client_of_owner.post(url, {"key": boxes["key"], "code": "begin"}, follow=True)

    making = Making.objects.get()
    html = answer.content.decode()
    assert answer.redirect_chain[-1][0] == f"/makings/{making.pk}/"
    assert "<h1>Cut to length</h1>" in html
    assert "418.0" in html


def test_begun_twice_it_is_one_pipe(client_of_owner: Client, owner: Person) -> None:
    sheet = make_sheet(by=owner)
    url = reverse("bend_pipe", args=[sheet.pk])

    for _ in range(2):
        client_of_owner.post(url, {"key": str(uuid4()), "code": "begin"})

    assert Making.objects.count() == 1
    assert "Go on with it" in client_of_owner.get(url).content.decode()


def test_a_pipe_that_cannot_be_made_says_so_instead_of_a_button(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_sheet(by=owner, pipe=pipe_of((60, 0, 90), (8, 90, 90), last_mm=60))
    url = reverse("bend_pipe", args=[sheet.pk])

    html = client_of_owner.get(url).content.decode()
    answer = client_of_owner.post(url, {"key": str(uuid4()), "code": "begin"})

    assert "Begin a pipe" not in html
    assert answer.status_code == 422
    assert "cannot be made on this former" in answer.content.decode()


# ---- step by step -----------------------------------------------------------------------------


def test_done_leads_to_the_next_step_and_a_reload_lands_there(
    client_of_owner: Client, owner: Person
) -> None:
    making = make_making(by=owner)
    url = reverse("making_step", args=[making.pk])

    client_of_owner.post(url, {"key": str(uuid4()), "code": "cut"})
    html = client_of_owner.get(making.get_absolute_url()).content.decode()

    assert "Square both ends" in html
    assert "Step 2 of" in html


def test_with_script_only_the_bench_comes_back_under_the_address_of_the_pipe(
    client_of_owner: Client, owner: Person
) -> None:
    making = make_making(by=owner)
    url = reverse("making_step", args=[making.pk])

    answer = client_of_owner.post(url, {"key": str(uuid4()), "code": "cut"}, headers=HTMX)

    html = answer.content.decode()
    assert html.lstrip().startswith('<div class="bench" id="bench"')
    assert "Square both ends" in html
    assert answer.headers["HX-Replace-Url"] == making.get_absolute_url()


def test_a_step_that_another_phone_had_done_says_so(
    client_of_owner: Client, owner: Person, helper: Person
) -> None:
    making = make_making(by=owner)
    bending.tick(making=making, key=uuid4(), code="cut", by=helper, now=NOW)
    url = reverse("making_step", args=[making.pk])

    html = client_of_owner.post(
        url, {"key": str(uuid4()), "code": "cut"}, headers=HTMX
    ).content.decode()

    assert "Ade had done that step already" in html
    assert "Square both ends" in html


def test_a_step_looked_back_at_can_be_opened_again(client_of_owner: Client, owner: Person) -> None:
    making = make_making(by=owner)
    bending.tick(making=making, key=uuid4(), code="cut", by=owner, now=NOW)
    html = client_of_owner.get(f"{making.get_absolute_url()}?step=cut").content.decode()

    client_of_owner.post(
        reverse("making_step", args=[making.pk]),
        {"key": str(uuid4()), "code": "cut", "again": "1"},
    )

    assert "Not done after all" in html
    assert bench_of(making).now.code == "cut"


def test_a_mark_is_shown_from_end_a_with_the_clock(client_of_owner: Client, owner: Person) -> None:
    """Bend 2 begins at 100 + 90 degrees on 45 (70.7) + 80 = 250.7 from end A, turned by 90
    degrees: 3 o'clock, a quarter of the tube's 47.1 mm round it, 11.8."""
    pipe = pipe_of((100, 0, 90), (80, 90, 60), last_mm=120)
    making = make_making(by=owner, pipe=pipe)

    html = client_of_owner.get(f"{making.get_absolute_url()}?step=mark-2").content.decode()

    mark = bench_of(making).step("mark-2").mark
    assert mark.hook_at == "A"
    assert "250.5" in html
    assert "3:00" in html
    assert "clockwise of the line, 12.0 mm round the tube" in words_of(html)


# ---- readings ---------------------------------------------------------------------------------


def test_the_pipe_is_drawn_for_a_wide_page_and_for_a_phone(
    client_of_owner: Client, owner: Person
) -> None:
    making = make_making(by=owner)
    up_to_the_first_pull(making, owner)

    html = client_of_owner.get(making.get_absolute_url()).content.decode()

    assert re.findall(r'<svg class="(is-\w+)"', html) == ["is-wide", "is-narrow"]


def test_a_reading_is_written_down_and_the_next_pull_is_said(
    client_of_owner: Client, owner: Person
) -> None:
    """Pulled 88 for 90, came to 83.81: 1.05 on this pipe. 0.8 x 1.05 x 6.19 = 5.2 on 88 is 93."""
    making = make_making(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    up_to_the_first_pull(making, owner)
    url = reverse("making_reading", args=[making.pk])

    html = client_of_owner.post(url, reading_of(came_to="83.81"), follow=True).content.decode()

    assert "pull again" in html
    assert re.search(r"Pull to</dt><dd>93.0°", html)
    assert values_of(html)["pulled_to"] == "93"
    assert values_of(html)["seen"] == str(Reading.objects.get().key)


def test_the_first_pull_is_said_before_there_is_a_reading(
    client_of_owner: Client, owner: Person
) -> None:
    making = make_making(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    up_to_the_first_pull(making, owner)

    html = client_of_owner.get(making.get_absolute_url()).content.decode()

    assert re.search(r"Pull to first</dt><dd>88.0°", html)
    assert "stops short on purpose" in html
    assert "No practice bend yet" in html


@pytest.mark.parametrize(
    ("came", "says", "button"),
    [
        ("89.8", "Near enough", "Bend 1 is done"),
        ("92", "it cannot be opened", "Go on all the same"),
    ],
)
def test_a_bend_that_is_there_or_over_asks_for_no_more_pull(
    client_of_owner: Client, owner: Person, came: str, says: str, button: str
) -> None:
    making = make_making(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    up_to_the_first_pull(making, owner)
    url = reverse("making_reading", args=[making.pk])

    html = client_of_owner.post(url, reading_of(came_to=came), follow=True).content.decode()

    assert says in html
    assert button in html
    assert "Write it down" not in html


def test_a_reading_sent_again_is_no_second_one(client_of_owner: Client, owner: Person) -> None:
    making = make_making(by=owner)
    url, data = reverse("making_reading", args=[making.pk]), reading_of()

    codes = [client_of_owner.post(url, data).status_code for _ in range(3)]

    assert codes == [302, 302, 302]
    assert Reading.objects.count() == 1


def test_the_page_lists_the_keys_that_are_written_down(
    client_of_owner: Client, owner: Person
) -> None:
    """A phone lets go of a reading only when it finds its key here."""
    making = make_making(by=owner)
    data = reading_of()

    html = client_of_owner.post(
        reverse("making_reading", args=[making.pk]), data, headers=HTMX
    ).content.decode()

    assert f'data-written="{data["key"]}"' in html


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"came_to": ""}, "write what the gauge says"),
        ({"pulled_to": ""}, "Write how far you pulled"),
        ({"pulled_to": "0"}, "A pull is more than 0 degrees"),
        ({"came_to": "900"}, "between 0 and 360 degrees"),
        ({"came_to": "about 86"}, "about 86"),
        ({"bend": "7"}, "This pipe has no bend 7"),
        ({"seen": "yesterday"}, "Reload the page"),
    ],
)
def test_a_reading_with_a_fault_loses_nothing(
    client_of_owner: Client, owner: Person, wrong: dict[str, str], says: str
) -> None:
    making = make_making(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120))
    up_to_the_first_pull(making, owner)
    data = reading_of() | wrong

    answer = client_of_owner.post(reverse("making_reading", args=[making.pk]), data)

    html = answer.content.decode()
    boxes = values_of(html)
    assert answer.status_code == 422
    assert says in html
    assert (boxes["pulled_to"], boxes["came_to"]) == (data["pulled_to"], data["came_to"])
    assert not Reading.objects.exists()


def test_a_reading_beside_another_phone_s_is_asked_about_and_then_taken(
    client_of_owner: Client, owner: Person, helper: Person
) -> None:
    making = make_making(by=owner)
    make_reading(making, 1, 87, 84, by=helper)
    url, data = reverse("making_reading", args=[making.pk]), reading_of()

    answer = client_of_owner.post(url, data)
    boxes = values_of(answer.content.decode())
    again = client_of_owner.post(url, data | {"seen": boxes["seen"]})

    assert answer.status_code == 422
    assert "Ade wrote down pull 1 meanwhile" in answer.content.decode()
    assert (boxes["pulled_to"], boxes["came_to"]) == ("88", "86")
    assert data["key"] in answer.content.decode()
    assert again.status_code == 302
    assert [one.pull for one in Reading.objects.order_by("pk")] == [1, 2]


def test_a_reading_is_typed_with_a_comma_where_that_is_the_mark(
    client_of_owner: Client, owner: Person
) -> None:
    owner.region = "de_DE"
    owner.save()
    making = make_making(by=owner)

    client_of_owner.post(reverse("making_reading", args=[making.pk]), reading_of(came_to="86,5"))

    assert Reading.objects.get().came_to_deg == 86.5


def test_the_last_pull_is_taken_out(client_of_owner: Client, owner: Person) -> None:
    making = make_making(by=owner)
    reading = make_reading(making)

    client_of_owner.post(reverse("reading_out", args=[reading.pk]))

    assert not Reading.objects.standing().exists()


def test_a_viewer_looks_on_and_has_nothing_to_press(
    client_of_viewer: Client, owner: Person
) -> None:
    making = make_making(by=owner)
    up_to_the_first_pull(making, owner)

    html = client_of_viewer.get(making.get_absolute_url()).content.decode()

    assert "Pull to first" in html
    assert "Write it down" not in html


# ---- the end ----------------------------------------------------------------------------------


def test_scrapping_asks_why(client_of_owner: Client, owner: Person) -> None:
    making = make_making(by=owner)
    url = reverse("making_end", args=[making.pk])

    without = client_of_owner.post(url, {"outcome": "scrapped", "because": ""})
    with_why = client_of_owner.post(url, {"outcome": "scrapped", "because": "bend 2 over"})

    making.refresh_from_db()
    assert without.status_code == 422
    assert "Say why it is scrapped" in without.content.decode()
    assert with_why.status_code == 302
    assert (making.outcome, making.because) == ("scrapped", "bend 2 over")


def test_a_made_pipe_becomes_the_piece_to_be_fitted(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    part = factories.make_part(car=car, by=owner, name="Bypass pipe")
    making = make_making(by=owner, part=part)
    url = reverse("making_end", args=[making.pk])

    html = client_of_owner.post(url, {"outcome": "made"}, follow=True).content.decode()
    client_of_owner.post(reverse("making_piece", args=[making.pk]))
    client_of_owner.post(reverse("making_piece", args=[making.pk]))

    assert "Add it as a piece" in html
    assert part.pieces.count() == 2
    assert part.pieces.get(purpose=Purpose.TO_FIT).origin.startswith("Made from sheet P")


def test_a_slip_of_the_finger_leads_back_to_the_bench(
    client_of_owner: Client, owner: Person
) -> None:
    making = make_making(by=owner, outcome="made")
    url = reverse("making_end", args=[making.pk])
    html = client_of_owner.get(url).content.decode()

    answer = client_of_owner.post(url, {"again": "1"})

    making.refresh_from_db()
    assert "It is not ended after all" in html
    assert answer["Location"] == making.get_absolute_url()
    assert making.is_under_way


def test_what_is_ended_shows_and_presses_nothing(client_of_owner: Client, owner: Person) -> None:
    making = make_making(by=owner, outcome="scrapped")

    html = client_of_owner.get(making.get_absolute_url()).content.decode()
    answer = client_of_owner.post(reverse("making_reading", args=[making.pk]), reading_of())

    assert "Nothing more is written down" in html
    assert "save-bar" not in html
    assert answer.status_code == 422
    assert "Wren has ended this pipe" in answer.content.decode()


def test_a_brake_pipe_carries_its_cautions_at_every_step(
    client_of_owner: Client, owner: Person
) -> None:
    making = make_making(by=owner, duty="brake")

    html = client_of_owner.get(making.get_absolute_url()).content.decode()

    assert "qualified person decide" in html


def test_a_half_bent_pipe_shows_today_and_with_its_part_until_it_is_ended(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    part = factories.make_piece(car=car, by=owner).part
    making = make_making(by=owner, sheet=make_sheet(by=owner, part=part))
    urls = ("/", part.get_absolute_url())
    link = f'href="{making.get_absolute_url()}"'

    under_way = [link in client_of_owner.get(url).content.decode() for url in urls]
    bending.end(making=making, outcome="scrapped", because="kinked", by=owner, now=NOW)
    ended = ["Being bent" in client_of_owner.get(url).content.decode() for url in urls]

    assert under_way == [True, True]
    assert ended == [False, False]
