"""Pages of bonds, clocks and coats: posted plainly, refused in words, told in the right zone."""

import json
import re
from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from pytest_django import Settings

from fabrication.curing import trusted_time
from fabrication.forms.bonds import BondForm, bond_boxes
from fabrication.models import Bond, Clock, Coat, TemperatureReading, TimeMark
from garage.models import Car, Garage, Person
from parts import plan
from tests import factories
from tests.fabrication.bond_rows import (
    CHECKED,
    make_adhesive,
    make_bond,
    make_coat,
    mix,
    read,
    two_pieces,
)
from tests.fabrication.pipe_rows import make_sheet
from tests.factories import NOW

HOUR = timedelta(hours=1)


def typed_bond(onto: str, adhesive: int, **more: object) -> dict[str, object]:
    return {
        "key": str(uuid4()),
        "onto": onto,
        "adhesive": adhesive,
        "duty": "coolant",
        "found": "hand",
        "checks": CHECKED,
        "where": "garage",
        "wet": "wet",
        "od_mm": "28",
        "wrap_deg": "180",
        "width_mm": "20",
        "load_g": "600 g",
        "shake_ratio": "10",
        "arm_mm": "15",
        **more,
    }


def html(client: Client, url: str, code: int = 200) -> str:
    answer = client.get(url)
    assert answer.status_code == code
    return answer.content.decode()


@pytest.fixture(autouse=True)
def a_computer_that_has_seen_no_time_yet(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    """And cannot say since when it runs: or it would doubt every test set at another time."""
    settings.SPLITPIN_DATA = tmp_path
    monkeypatch.setattr(trusted_time, "BOOT_ID", tmp_path / "no-boot-id")


@pytest.fixture
def clock(car: Car, owner: Person) -> Clock:
    return mix(make_bond(car=car, by=owner), by=owner)


def test_a_bond_is_written_down_and_mixed_by_plain_forms(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    bracket, pipe = two_pieces(car=car, by=owner)
    form = typed_bond(pipe.part.tag.lower(), make_adhesive().pk)

    made = client_of_owner.post(f"/pieces/{bracket.pk}/bond/", form)
    bond = Bond.objects.get()
    mixed = client_of_owner.post(f"/bonds/{bond.pk}/mix/", {"key": str(uuid4()), "temp_c": "18.5"})

    assert made.url == f"/bonds/{bond.pk}/"
    clock = Clock.objects.get()
    assert mixed.url == f"/clocks/{clock.pk}/"
    assert clock.readings.get().temp_c == 18.5
    assert (bond.load_g, bond.width_mm, bond.where) == (600, 20, "garage")


def test_a_comma_is_a_decimal_mark_for_who_writes_it(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    owner.region = "de_DE"
    owner.save(update_fields=["region"])
    bond = make_bond(car=car, by=owner)

    client_of_owner.post(f"/bonds/{bond.pk}/mix/", {"key": str(uuid4()), "temp_c": "18,5"})

    page = html(client_of_owner, Clock.objects.get().get_absolute_url())
    assert "18,5\N{NO-BREAK SPACE}°C" in page


def test_a_bond_onto_a_brake_pipe_is_refused_and_nothing_typed_is_lost(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    bracket, pipe = two_pieces(car=car, by=owner)
    form = typed_bond(
        pipe.part.tag, make_adhesive().pk, duty="brake", clamp_note="two turns of tape"
    )

    answer = client_of_owner.post(f"/pieces/{bracket.pk}/bond/", form)

    said = answer.content.decode()
    assert answer.status_code == 422
    assert "Never glue a pipe that carries pressure or fuel" in said
    assert "two turns of tape" in said
    assert not Bond.objects.exists()


@pytest.mark.parametrize(
    ("field", "typed", "says"),
    [
        ("onto", "ZZZ", "No part of this car"),
        ("onto", "", "Give the tag"),
        ("wrap_deg", "400", "Write an angle above 0"),
        ("load_g", "0", "Write a weight"),
        ("shake_ratio", "0.2", "Write a figure from 1"),
        ("service_c", "900", "A part is between"),
        ("found", "", "Say how the metal is"),
    ],
)
def test_bad_figures_of_a_bond_are_said_beside_their_box(
    client_of_owner: Client, car: Car, owner: Person, field: str, typed: str, says: str
) -> None:
    bracket, pipe = two_pieces(car=car, by=owner)
    form = typed_bond(pipe.part.tag, make_adhesive().pk) | {field: typed}

    answer = client_of_owner.post(f"/pieces/{bracket.pk}/bond/", form)

    assert answer.status_code == 422
    assert answer.content.decode().count(says) == 2  # beside the box and in the summary


def test_a_stale_save_shows_both(client_of_owner: Client, car: Car, owner: Person) -> None:
    bond = make_bond(car=car, by=owner)
    Bond.objects.update(version=2, clamp_note="in the jig", changed_by=owner)
    form = typed_bond(bond.onto.part.tag, bond.adhesive_id, seen=1, clamp_note="with tape")

    answer = client_of_owner.post(f"/bonds/{bond.pk}/", form)

    said = answer.content.decode()
    assert answer.status_code == 422
    assert "in the jig" in said
    assert "with tape" in said


def test_a_reading_posted_now_and_one_posted_for_the_morning(
    client_of_owner: Client, clock: Clock
) -> None:
    Garage.objects.update(time_zone="Europe/London")
    with time_machine.travel(NOW + 10 * HOUR, tick=False):
        client_of_owner.post(
            clock.get_absolute_url(),
            {"key": str(uuid4()), "temp_c": "12", "at": "2026-11-26T01:40", "is_lowest": "on"},
        )
        client_of_owner.post(clock.get_absolute_url(), {"key": str(uuid4()), "temp_c": "64 F"})

    night, morning = TemperatureReading.objects.filter(clock=clock).order_by("at")[1:]
    assert (night.at, night.is_lowest) == (NOW + 9 * HOUR, True)
    assert (morning.at, round(morning.temp_c, 2)) == (NOW + 10 * HOUR, 17.78)


@pytest.mark.parametrize(
    ("typed", "says"),
    [
        ({"temp_c": ""}, "Read the temperature"),
        ({"temp_c": "warm"}, "Write a temperature"),
        ({"temp_c": "20", "at": "2027-01-01T10:00"}, "still to come"),
        ({"temp_c": "20", "at": "2026-11-25T10:00"}, "before the clock was started"),
        ({"temp_c": "20", "at": "yesterday"}, "Write the time as"),
    ],
)
def test_a_reading_that_cannot_be_is_refused_in_words(
    client_of_owner: Client, clock: Clock, typed: dict[str, str], says: str
) -> None:
    with time_machine.travel(NOW + 10 * HOUR, tick=False):
        answer = client_of_owner.post(clock.get_absolute_url(), {"key": str(uuid4()), **typed})

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert clock.readings.count() == 1


def test_the_page_carries_the_server_s_times_for_the_countdown(
    client_of_owner: Client, clock: Clock
) -> None:
    with time_machine.travel(NOW + HOUR, tick=False):
        page = html(client_of_owner, clock.get_absolute_url())
        told = json.loads(html(client_of_owner, "/clocks/times.json"))

    ends, now = (int(re.search(rf'data-{name}="(\d+)"', page)[1]) for name in ("ends", "now"))
    assert ends - now == 3 * 3600 * 1000
    assert told["clocks"][str(clock.pk)] == {"stage": "wet", "ends": ends}
    assert told["now"] == now
    assert "3<small>h</small> 0<small>m</small>" in page


def test_a_forecast_says_how_long_at_another_temperature(
    client_of_owner: Client, clock: Clock
) -> None:
    page = html(client_of_owner, f"{clock.get_absolute_url()}?at=15")
    cold = html(client_of_owner, f"{clock.get_absolute_url()}?at=5")
    wrong = html(client_of_owner, f"{clock.get_absolute_url()}?at=warm")

    # 24 h at 20 C are 39.5 h at 15 C with 70 kJ/mol.
    assert "<b>39 h 31 min</b> more" in page
    assert "no end: too cold" in cold
    assert "Write a temperature" in wrong


def test_a_server_whose_clock_went_backwards_says_so_on_every_clock_and_settles(
    client_of_owner: Client, clock: Clock
) -> None:
    with time_machine.travel(NOW - 24 * HOUR, tick=False):
        pages = [
            html(client_of_owner, url)
            for url in (clock.get_absolute_url(), "/clocks/", "/", clock.bond.get_absolute_url())
        ]
        refused = client_of_owner.post(
            clock.get_absolute_url(), {"key": str(uuid4()), "temp_c": "20"}
        )
        settled = client_of_owner.post("/clocks/time/", follow=True)

    assert ["went backwards" in page for page in pages] == [True] * 4
    assert not any("data-ends" in page for page in pages)
    assert refused.status_code == 422
    assert "went backwards" in refused.content.decode()
    assert "the clock is right as it is now" in settled.content.decode()
    assert TimeMark.latest().at == NOW - 24 * HOUR


def test_a_computer_that_was_set_on_while_it_ran_is_doubted_by_itself(
    client_of_owner: Client, clock: Clock, monkeypatch: pytest.MonkeyPatch, tmp_path: Path
) -> None:
    monkeypatch.setattr(trusted_time, "BOOT_ID", tmp_path / "boot-id")
    (tmp_path / "boot-id").write_text("5f0c")
    form = {"key": str(uuid4()), "temp_c": "20"}

    with time_machine.travel(NOW + HOUR, tick=False):
        client_of_owner.post(clock.get_absolute_url(), form)
    with time_machine.travel(NOW + 30 * HOUR, tick=False):
        page = html(client_of_owner, clock.get_absolute_url())

    assert "was set forward by 29 hours" in page


def test_today_shows_every_running_clock_in_ink_and_nothing_without_one(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    with time_machine.travel(NOW, tick=False):
        before = html(client_of_owner, "/")
    for name in ("Grey", "Black"):
        mix(make_bond(car=car, by=owner, adhesive=make_adhesive(name)), by=owner)

    with time_machine.travel(NOW + HOUR, tick=False):
        after = html(client_of_owner, "/")

    assert "Curing" not in before
    assert after.count("clock-line") == 2
    assert after.count("Until you may handle it") == 2


def test_a_bond_is_called_hard_and_one_is_taken_apart_by_plain_posts(
    client_of_owner: Client, clock: Clock, owner: Person
) -> None:
    bond = clock.bond
    with time_machine.travel(NOW + 26 * HOUR, tick=False):
        early = client_of_owner.post(f"/bonds/{bond.pk}/hard/")
        for at in range(2, 25, 2):
            read(clock, by=owner, at=NOW + at * HOUR)
        hard = client_of_owner.post(f"/bonds/{bond.pk}/hard/")
        apart = client_of_owner.post(f"/bonds/{bond.pk}/apart/", {"because": "hit with a mallet"})

    assert (early.status_code, hard.status_code, apart.status_code) == (422, 302, 302)
    assert "Not cured yet" in early.content.decode()
    bond.refresh_from_db()
    assert bond.is_parted


def test_a_reading_is_struck_from_the_page_but_never_the_only_one(
    client_of_owner: Client, clock: Clock, owner: Person
) -> None:
    only = client_of_owner.post(f"/clocks/readings/{clock.readings.get().pk}/strike/")
    second = read(clock, by=owner, at=NOW + HOUR)
    struck = client_of_owner.post(f"/clocks/readings/{second.pk}/strike/")

    assert (only.status_code, struck.status_code) == (422, 302)
    assert "<s>20\N{NO-BREAK SPACE}°C</s>" in html(client_of_owner, clock.get_absolute_url())


def test_coats_are_planned_put_on_in_order_and_timed(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = factories.make_piece(car=car, by=owner, name="Air cleaner lid")
    tin = {"what": "primer", "at_c": "20", "next_h": "20 min", "window_h": "4 h", "handle_h": "6 h"}

    with time_machine.travel(NOW, tick=False):
        for _ in range(2):
            client_of_owner.post(f"/pieces/{piece.pk}/coats/", {"key": str(uuid4()), **tin})
        first, second = Coat.objects.of_piece(piece)
        early = client_of_owner.post(f"/coats/{second.pk}/", {"key": str(uuid4()), "temp_c": "20"})
        client_of_owner.post(f"/coats/{first.pk}/", {"key": str(uuid4()), "temp_c": "20"})
        page = html(client_of_owner, f"/pieces/{piece.pk}/coats/")
    with time_machine.travel(NOW + HOUR, tick=False):
        client_of_owner.post(f"/coats/{second.pk}/", {"key": str(uuid4()), "temp_c": "20"})

    assert early.status_code == 422
    assert "comes first" in early.content.decode()
    assert "Until the next coat" in page
    assert "20<small>m</small> 0<small>s</small>" in page
    assert list(Clock.objects.running().values_list("coat", flat=True)) == [second.pk]


@pytest.mark.parametrize(
    ("more", "says"),
    [
        ({"window_h": "10 min"}, "before the next coat may go on"),
        ({"handle_h": "10 min"}, "only after the next coat"),
        ({"cold_c": "12"}, "or neither"),
        ({"next_h": ""}, "Write how long before the next coat"),
    ],
)
def test_a_tin_that_contradicts_itself_is_refused(
    client_of_owner: Client, car: Car, owner: Person, more: dict[str, str], says: str
) -> None:
    piece = factories.make_piece(car=car, by=owner)
    tin = {"key": str(uuid4()), "what": "primer", "at_c": "20", "next_h": "20 min"}

    answer = client_of_owner.post(f"/pieces/{piece.pk}/coats/", tin | more)

    assert answer.status_code == 422
    assert says in answer.content.decode()


def test_a_coat_that_is_not_on_comes_off_the_list_and_one_that_is_stays(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = factories.make_piece(car=car, by=owner)
    first, second = make_coat(piece=piece, by=owner), make_coat(piece=piece, by=owner)
    client_of_owner.post(f"/coats/{first.pk}/", {"key": str(uuid4()), "temp_c": "20"})

    stays = client_of_owner.post(f"/coats/{first.pk}/", {"off": "1"})
    goes = client_of_owner.post(f"/coats/{second.pk}/", {"off": "1"})

    assert (stays.status_code, goes.status_code) == (422, 302)
    assert list(Coat.objects.of_piece(piece)) == [first]


def test_isocyanate_is_warned_of(client_of_owner: Client, car: Car, owner: Person) -> None:
    piece = factories.make_piece(car=car, by=owner)
    make_coat(piece=piece, by=owner, has_isocyanate=True)

    assert "isocyanate is not for a home garage" in html(
        client_of_owner, f"/pieces/{piece.pk}/coats/"
    )


def test_a_part_with_work_to_be_glued_or_painted_offers_it(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = factories.make_piece(car=car, by=owner)
    plain = html(client_of_owner, piece.get_absolute_url())
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["finish"], by=owner, now=NOW)

    offered = html(client_of_owner, piece.get_absolute_url())

    assert "Glue and coats" not in plain
    assert f"/pieces/{piece.pk}/coats/" in offered


def test_a_new_bond_begins_with_a_tag(client_of_owner: Client, car: Car, owner: Person) -> None:
    piece = factories.make_piece(car=car, by=owner)

    found = client_of_owner.get(f"/bonds/new/?tag={piece.part.tag.lower()}")

    assert found.url == f"/pieces/{piece.pk}/bond/"
    assert "No part of this car" in html(client_of_owner, "/bonds/new/?tag=ZZZ")


def test_where_a_bond_begins_nothing_is_wrong_before_a_tag_was_sent(
    client_of_owner: Client, car: Car
) -> None:
    opened = html(client_of_owner, "/bonds/new/")
    sent_empty = html(client_of_owner, "/bonds/new/?tag=")

    assert "Write a tag" not in opened
    assert "Tag of the part that is glued on" in opened
    assert "Write a tag" in sent_empty


def test_no_glue_is_chosen_before_somebody_chooses(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece, pipe = two_pieces(car=car, by=owner)
    make_adhesive()
    url = f"/pieces/{piece.pk}/bond/"

    page = html(client_of_owner, url)
    answer = client_of_owner.post(url, typed_bond(pipe.part.tag, 0) | {"adhesive": ""})

    assert '<option value="" selected>Choose</option>' in page
    assert answer.status_code == 422
    assert "Choose the glue" in answer.content.decode()


def test_a_guarded_pipe_is_not_offered_glue(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = factories.make_piece(car=car, by=owner)
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["finish"], by=owner, now=NOW)
    coolant = html(client_of_owner, piece.get_absolute_url())
    make_sheet(by=owner, part=piece.part, duty="brake")

    brake = html(client_of_owner, piece.get_absolute_url())

    assert "Glue it onto something" in coolant
    assert "Glue it onto something" not in brake
    assert f"/pieces/{piece.pk}/coats/" in brake


def test_boxes_of_a_bond_show_figures_that_read_back_the_same(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    kept = {"service_c": 160 / 9, "load_g": 453.59237, "wrap_deg": 0.00001, "shake_ratio": 1.125}
    bond = make_bond(car=car, by=owner, **kept)

    boxes = bond_boxes(bond, person=owner)

    assert boxes["service_c"] == "64 °F"
    assert (boxes["load_g"], boxes["wrap_deg"]) == ("453.59237 g", "0.00001")
    form = BondForm(person=owner, car=car)
    read_back = {name: form.fields[name].clean(boxes[name]) for name in kept}
    assert read_back == kept


def test_who_reads_fahrenheit_sees_both_and_writes_the_unit(
    client_of_owner: Client, clock: Clock, owner: Person
) -> None:
    owner.region = "en_US"
    owner.save(update_fields=["region"])

    page = html(client_of_owner, clock.get_absolute_url())
    bare = client_of_owner.post(clock.get_absolute_url(), {"key": str(uuid4()), "temp_c": "64"})

    assert "68\N{NO-BREAK SPACE}°F (20\N{NO-BREAK SPACE}°C)" in page
    assert bare.status_code == 422


def test_a_viewer_sees_the_clock_and_has_nothing_to_press(
    client_of_viewer: Client, clock: Clock
) -> None:
    page = html(client_of_viewer, clock.get_absolute_url())

    assert "Do not move" in page or "Read the part now" in page
    assert "Write it down" not in page
