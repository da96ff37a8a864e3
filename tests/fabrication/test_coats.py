"""Coats by their verbs, and what the pages of bonds and coats do with a form that is used up."""

from datetime import timedelta
from pathlib import Path
from uuid import uuid4

import pytest
import time_machine
from django.test import Client
from pytest_django import Settings

from fabrication.curing import bonds, coats, trusted_time
from fabrication.curing.clockwork import NoTimes, look
from fabrication.curing.faces import Stage, face_of
from fabrication.models import Bond, Clock, Coat
from garage.models import Car, Person
from parts import plan
from parts.models import Event, Piece
from parts.statuses import Move
from tests import factories
from tests.fabrication.bond_rows import make_adhesive, make_bond, make_coat, mix, read
from tests.factories import NOW

HOUR = timedelta(hours=1)


@pytest.fixture
def piece(car: Car, owner: Person) -> Piece:
    return factories.make_piece(car=car, by=owner, name="Air cleaner lid")


@pytest.fixture(autouse=True)
def a_computer_that_has_seen_no_time_yet(
    settings: Settings, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    settings.SPLITPIN_DATA = tmp_path
    monkeypatch.setattr(trusted_time, "BOOT_ID", tmp_path / "no-boot-id")


def put_on(coat: Coat, by: Person, **more: object) -> Clock:
    return coats.put_on(coat=coat, by=by, **{"key": uuid4(), "temp_c": 20, "now": NOW, **more})


def test_a_form_sent_twice_plans_one_coat_and_another_under_its_key_is_refused(
    piece: Piece, owner: Person
) -> None:
    key = uuid4()
    values = {
        "what": "primer",
        "product": "Red oxide",
        "has_isocyanate": False,
        "times": [{"temp_c": 20, "handling_h": 1, "full_h": None}],
        "lower_limit_c": None,
        "window_h": None,
    }

    made = [coats.plan(key=key, piece=piece, values=values, by=owner) for _ in range(2)]

    assert made[0] == made[1]
    with pytest.raises(coats.OtherUnderThisKey, match="Coat 1"):
        coats.plan(key=key, piece=piece, values=values | {"what": "clear"}, by=owner)


def test_a_coat_put_on_twice_by_one_form_is_on_once(piece: Piece, owner: Person) -> None:
    coat, key = make_coat(piece=piece, by=owner), uuid4()

    clocks = [put_on(coat, owner, key=key) for _ in range(2)]

    assert clocks[0] == clocks[1]
    assert Event.objects.filter(piece=piece, kind="coat put on").count() == 1
    with pytest.raises(coats.CoatRefused, match="on already"):
        put_on(coat, owner)


def test_a_coat_that_is_warmer_than_the_tin_says_counts_as_the_tin_says(
    piece: Piece, owner: Person
) -> None:
    clock = put_on(make_coat(piece=piece, by=owner), owner, temp_c=35)

    found = look(Clock.objects.for_page().get(pk=clock.pk))

    assert found.handling_at == NOW + HOUR / 2


def test_a_coat_that_is_colder_takes_longer(piece: Piece, owner: Person) -> None:
    clock = put_on(make_coat(piece=piece, by=owner), owner, temp_c=12)

    assert look(Clock.objects.for_page().get(pk=clock.pk)).handling_at > NOW + HOUR


def test_without_a_handling_time_the_next_coat_is_all_there_is_to_wait_for(
    piece: Piece, owner: Person
) -> None:
    times = [{"temp_c": 20, "handling_h": 1, "full_h": None}]
    clock = put_on(make_coat(piece=piece, by=owner, times=times), owner)
    read(clock, by=owner, at=NOW + HOUR)

    face = face_of(Clock.objects.for_page().get(pk=clock.pk), now=NOW + HOUR, doubt="")

    assert face.stage is Stage.DONE


def test_a_coat_without_times_has_no_clock_and_is_not_on(piece: Piece, owner: Person) -> None:
    coat = make_coat(piece=piece, by=owner, times=[])

    with pytest.raises(NoTimes, match="before the next coat"):
        put_on(coat, owner)

    coat.refresh_from_db()
    assert coat.put_on_at is None


def test_when_all_coats_are_on_the_step_of_the_plan_is_offered(
    client_of_owner: Client, piece: Piece, owner: Person
) -> None:
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["finish"], by=owner, now=NOW)
    put_on(make_coat(piece=piece, by=owner), owner)

    page = client_of_owner.get(f"/pieces/{piece.pk}/coats/").content.decode()

    assert f'href="/steps/{coats.step_of(piece).pk}/"' in page


def test_a_used_coat_form_with_other_content_asks_again(
    client_of_owner: Client, piece: Piece
) -> None:
    form = {"key": str(uuid4()), "what": "primer", "at_c": "20", "next_h": "20 min"}
    url = f"/pieces/{piece.pk}/coats/"
    client_of_owner.post(url, form)

    answer = client_of_owner.post(url, form | {"what": "clear"})

    assert answer.status_code == 422
    assert "saved already, from this same form" in answer.content.decode()
    assert form["key"] not in answer.content.decode()


def test_a_used_bond_form_with_other_content_asks_again(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    bond = make_bond(car=car, by=owner)
    form = {
        "key": str(bond.key),
        "onto": bond.onto.part.tag,
        "adhesive": bond.adhesive_id,
        "found": "blasted",
        "where": "house",
        "wet": "dry",
    }

    answer = client_of_owner.post(f"/pieces/{bond.piece_id}/bond/", form)

    assert answer.status_code == 422
    assert "Save again for one more" in answer.content.decode()
    assert Bond.objects.count() == 1


def test_a_used_reading_form_with_another_temperature_asks_again(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    clock = mix(make_bond(car=car, by=owner), by=owner)
    form = {"key": str(uuid4()), "temp_c": "18"}
    with time_machine.travel(NOW + HOUR, tick=False):
        client_of_owner.post(clock.get_absolute_url(), form)
        again = client_of_owner.post(clock.get_absolute_url(), form)
        other = client_of_owner.post(clock.get_absolute_url(), form | {"temp_c": "28"})

    assert (again.status_code, other.status_code) == (302, 422)
    assert clock.readings.count() == 2


@pytest.mark.parametrize(
    ("typed", "says"),
    [({"temp_c": ""}, "Read the temperature"), ({"temp_c": "-90"}, "between -40 and 300")],
)
def test_glue_is_not_mixed_without_the_warmth_of_the_part(
    client_of_owner: Client, car: Car, owner: Person, typed: dict[str, str], says: str
) -> None:
    bond = make_bond(car=car, by=owner)

    answer = client_of_owner.post(f"/bonds/{bond.pk}/mix/", {"key": str(uuid4()), **typed})

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert not Clock.objects.exists()


def test_glue_without_a_full_cure_is_refused_in_words(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    bond = make_bond(car=car, by=owner, adhesive=make_adhesive(schedule=[]))

    answer = client_of_owner.post(f"/bonds/{bond.pk}/mix/", {"key": str(uuid4()), "temp_c": "20"})

    assert "no full cure time yet" in answer.content.decode()
    bond.refresh_from_db()
    assert (answer.status_code, bond.mixed_at, bond.piece.joined_into) == (422, None, None)


def test_pieces_apart_are_not_glued_by_the_page_either(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    bond = make_bond(car=car, by=owner)
    bond.piece.move(Move.PUT_ON_BENCH, by=owner, now=NOW)

    answer = client_of_owner.post(f"/bonds/{bond.pk}/mix/", {"key": str(uuid4()), "temp_c": "20"})

    assert answer.status_code == 422
    assert "Bring them together first" in answer.content.decode()


def test_a_mixed_bond_takes_notes_and_is_saved(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    bond = make_bond(car=car, by=owner)
    mix(bond, by=owner)

    answer = client_of_owner.post(
        f"/bonds/{bond.pk}/",
        {"seen": 1, "trial": "held", "trial_note": "Tore in the glue", "where": "house"},
    )

    bond.refresh_from_db()
    assert answer.status_code == 302
    assert (bond.trial_note, bond.version) == ("Tore in the glue", 2)


def test_a_clock_is_stopped_and_stands_among_the_stopped(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    clock = mix(make_bond(car=car, by=owner), by=owner)

    client_of_owner.post(f"/clocks/{clock.pk}/stop/", {"because": "Wiped off again"})
    client_of_owner.post(f"/clocks/{clock.pk}/stop/")

    page = client_of_owner.get("/clocks/").content.decode()
    assert "Wiped off again" in page
    assert Event.objects.filter(kind="clock stopped").count() == 1


def test_apart_twice_is_refused_in_words(client_of_owner: Client, car: Car, owner: Person) -> None:
    bond = make_bond(car=car, by=owner)
    mix(bond, by=owner)
    bonds.part(bond=bond, because="", by=owner, now=NOW)

    answer = client_of_owner.post(f"/bonds/{bond.pk}/apart/")

    assert answer.status_code == 422
    assert "is not glued" in answer.content.decode()


def test_without_a_car_bonds_and_clocks_lead_to_the_cars(
    client_of_owner: Client, owner: Person
) -> None:
    owner.car = None
    owner.save(update_fields=["car"])

    assert [client_of_owner.get(url).url for url in ("/bonds/", "/clocks/")] == ["/cars/"] * 2
    assert client_of_owner.get("/clocks/times.json").json()["clocks"] == {}
