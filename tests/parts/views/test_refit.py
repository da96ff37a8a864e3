"""The refit list and the page of one piece: plain posts, htmx lines, refusals that lose nothing."""

from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts.models import Connection, Event, Hole, Piece, Reminder, StackItem, TorqueUsed
from parts.refit import fit_loose, fit_tight
from parts.requirements import require
from parts.snags import write_down
from parts.statuses import Status
from parts.undo import undo
from tests.factories import NOW, jpeg_bytes, make_part, make_piece, make_upload, system_of
from tests.parts.test_refit import make_hole, make_ready

HTMX = {"HTTP_HX_REQUEST": "true"}
REFIT = "/refit/"


def fit(client: Client, piece: Piece, to: str = "tight", **data: object):  # type: ignore[no-untyped-def]
    headers = {name: data.pop(name) for name in list(data) if name.startswith("HTTP_")}
    data.setdefault("key", str(uuid4()))
    return client.post(reverse("fit", args=[piece.pk]), {"to": to, **data}, **headers)


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(response.content.decode().split())


# ---- the list


def test_an_empty_list_teaches(client_of_owner: Client) -> None:
    page = text_of(client_of_owner.get(REFIT))

    assert "Nothing to fit yet" in page
    assert "No snags" in page
    assert "A jack lifts, it does not hold." in page


def test_with_all_on_the_list_says_so(client_of_owner: Client, car: Car, owner: Person) -> None:
    fit_tight(piece=make_ready(car=car, by=owner), by=owner, now=NOW)

    assert "All that came off is on again" in text_of(client_of_owner.get(REFIT))


def test_without_a_car_the_cars_come_first(client_of_owner: Client, owner: Person) -> None:
    owner.car = None
    owner.save(update_fields=["car"])

    assert client_of_owner.get(REFIT).url == reverse("cars")


def fill(car: Car, owner: Person, count: int) -> None:
    for number in range(count):
        ready = make_ready(car=car, by=owner, name=f"Ready {number}")
        hole = make_hole(ready, torque_nm=18.0)
        StackItem.objects.create(hole=hole, position=0, what="nut", thread="M8")
        loose = make_ready(car=car, by=owner, name=f"Loose {number}")
        fit_loose(piece=loose, by=owner, now=NOW)
        waits = make_ready(car=car, by=owner, name=f"Waits {number}")
        require(first=ready.part, then=waits.part, by=owner, now=NOW)
        make_piece(car=car, by=owner, name=f"To be judged {number}")
        write_down(
            key=uuid4(),
            system=ready.part.system,
            text=f"Rubs {number}",
            part=ready.part,
            by=owner,
            now=NOW,
        )


@pytest.mark.parametrize("count", [1, 3])
def test_the_list_takes_as_many_queries_for_three_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    fill(car, owner, count)
    client_of_owner.get(REFIT)

    with django_assert_num_queries(15):
        page = text_of(client_of_owner.get(REFIT))

    assert page.count('class="refit-line"') == 2 * count
    assert page.count('<li class="wait-line"') == 2 * count
    assert f"{count} can go on now, {2 * count} wait" in page


def test_a_system_in_the_address_narrows_the_list(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    fuel = system_of(car, "Fuel")
    make_ready(car=car, by=owner, name="Fuel pump", system=fuel)
    make_ready(car=car, by=owner, name="Radiator")

    page = text_of(client_of_owner.get(REFIT, {"system": fuel.pk}))

    assert "Refit: fuel" in page
    assert "Fuel pump" in page
    assert "Radiator" not in page


@pytest.mark.parametrize("system", ["x", "-1", "999999", "²"])
def test_a_system_that_is_none_narrows_nothing(
    client_of_owner: Client, car: Car, owner: Person, system: str
) -> None:
    make_ready(car=car, by=owner, name="Radiator")

    assert "Radiator" in text_of(client_of_owner.get(REFIT, {"system": system}))


def test_a_viewer_sees_the_list_and_no_button(
    client_of_viewer: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner, name="Radiator")

    page = text_of(client_of_viewer.get(REFIT))

    assert "Radiator" in page
    assert reverse("fit", args=[piece.pk]) not in page
    assert "Fit loose" not in page


# ---- fitting without JavaScript


def test_one_tap_fits_where_no_torque_is_asked(
    client_of_helper: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)

    answer = fit(client_of_helper, piece, system=piece.part.system_id)

    piece.refresh_from_db()
    assert (answer.status_code, answer.url) == (302, f"/refit/?system={piece.part.system_id}")
    assert piece.state is Status.FITTED_TIGHT


def test_after_fitting_it_can_be_taken_back(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)
    fit(client_of_owner, piece, to="loose")
    event = Event.objects.get(kind="fit loose")

    page = text_of(client_of_owner.get(REFIT))

    assert f"{piece} is on, loose." in page
    assert str(event.key) in page
    undo(key=event.key, by=owner, now=NOW + timedelta(minutes=1))
    piece.refresh_from_db()
    assert piece.state is Status.READY


def test_a_viewer_may_not_fit(client_of_viewer: Client, car: Car, owner: Person) -> None:
    piece = make_ready(car=car, by=owner)

    assert fit(client_of_viewer, piece).status_code == 403
    piece.refresh_from_db()
    assert piece.state is Status.READY


def test_the_same_post_twice_fits_once(client_of_owner: Client, car: Car, owner: Person) -> None:
    piece, key = make_ready(car=car, by=owner), str(uuid4())
    hole = make_hole(piece, torque_nm=18.0)

    for _ in range(2):
        answer = fit(
            client_of_owner,
            piece,
            key=key,
            ride_height="on",
            ride_height_on="2026-12-25",
            **{f"torque_{hole.pk}": "18"},
        )
        assert answer.status_code == 302

    assert Event.objects.filter(kind="tighten").count() == 1
    assert TorqueUsed.objects.count() == Reminder.objects.count() == 1


def test_the_torque_used_is_read_in_the_units_of_the_bench(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)
    hole = make_hole(piece, torque_nm=24.4)

    fit(client_of_owner, piece, **{f"torque_{hole.pk}": "18 lbf ft"})

    # 18 lbf ft = 24.4047 N m: NIST SP 811 (2008), appendix B.8.
    assert TorqueUsed.objects.get().torque_nm == pytest.approx(24.4047, abs=1e-4)


def test_a_bare_figure_is_newton_metres_and_a_comma_reads_as_the_person_writes(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    owner.region = "de_DE"
    owner.save(update_fields=["region"])
    piece = make_ready(car=car, by=owner)
    hole = make_hole(piece, torque_nm=18.0)

    fit(client_of_owner, piece, **{f"torque_{hole.pk}": "18,5"})

    assert TorqueUsed.objects.get().torque_nm == 18.5


@pytest.mark.parametrize("typed", ["", "tight", "0", "-3"])
def test_a_torque_that_is_none_is_asked_again_and_stays_typed(
    client_of_owner: Client, car: Car, owner: Person, typed: str
) -> None:
    piece = make_ready(car=car, by=owner)
    first, second = make_hole(piece, torque_nm=18.0), make_hole(piece, number=2, torque_nm=9.0)

    answer = fit(
        client_of_owner, piece, **{f"torque_{first.pk}": "17.5", f"torque_{second.pk}": typed}
    )

    page = text_of(answer)
    assert answer.status_code == 422
    assert 'value="17.5"' in page
    assert not typed or f'value="{typed}"' in page
    piece.refresh_from_db()
    assert piece.state is Status.READY


def test_a_sentence_stands_in_for_a_torque(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner, system=system_of(car, "Steering"))
    assert fit(client_of_owner, piece).status_code == 422

    answer = fit(client_of_owner, piece, because="castle nut, by the manual")

    assert answer.status_code == 302
    assert Event.objects.get(kind="tighten").text == "castle nut, by the manual"


def test_a_torque_far_off_is_asked_about_and_never_refused(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)
    hole = make_hole(piece, torque_nm=18.0)
    box = f"torque_{hole.pk}"

    asked = fit(client_of_owner, piece, **{box: "24.4"})
    page = text_of(asked)
    assert asked.status_code == 422
    assert "24.4 N m is more than a tenth off the 18 N m wanted." in page
    assert 'name="agreed"' in page
    assert 'value="24.4"' in page

    other_figure = fit(client_of_owner, piece, agreed="24.4", **{box: "50"})
    assert other_figure.status_code == 422

    assert fit(client_of_owner, piece, agreed="24.4", **{box: "24.4"}).status_code == 302
    assert TorqueUsed.objects.get().torque_nm == 24.4


def test_torque_typed_is_not_lost_by_pressing_loose(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)
    hole = make_hole(piece, torque_nm=18.0)

    answer = fit(client_of_owner, piece, to="loose", **{f"torque_{hole.pk}": "18"})

    assert answer.status_code == 422
    assert 'value="18"' in text_of(answer)


def test_what_must_be_on_first_is_said_and_the_form_gets_a_fresh_key(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    first, then = (make_ready(car=car, by=owner, name=name) for name in ("Bracket", "Pipe"))
    require(first=first.part, then=then.part, by=owner, now=NOW)
    key = str(uuid4())

    answer = fit(client_of_owner, then, to="loose", key=key)

    page = text_of(answer)
    assert answer.status_code == 422
    assert f"{first.tag} must be on before {then.tag}." in page
    assert key not in page


def test_a_photo_of_it_on_the_car_is_kept(client_of_owner: Client, car: Car, owner: Person) -> None:
    piece = make_ready(car=car, by=owner)

    fit(client_of_owner, piece, photo_files=make_upload(content=jpeg_bytes()))

    assert piece.photos.get().moment == "refitted"


def test_a_day_is_wanted_with_a_tick_for_later(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)

    answer = fit(client_of_owner, piece, first_heat="on", first_heat_on="")

    assert answer.status_code == 422
    assert "Give the day it is worth looking at." in text_of(answer)


# ---- with htmx


def test_a_ticked_line_comes_back_in_its_place_with_the_counts_beside_it(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    first, then = (make_ready(car=car, by=owner, name=name) for name in ("Bracket", "Pipe"))
    require(first=first.part, then=then.part, by=owner, now=NOW)

    answer = fit(client_of_owner, first, **HTMX)

    page = text_of(answer)
    assert answer.status_code == 200
    assert page.startswith("<li ")
    assert f'id="piece-{first.pk}-row"' in page
    assert 'id="refit-count" hx-swap-oob="true">1 can go on now, 0 wait' in page
    assert f"</span>{then.tag}</span></a> Pipe can go on now." in page
    assert str(Event.objects.get(kind="tighten").key) in page


def test_a_refused_line_comes_back_alone_with_what_was_typed(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)
    hole = make_hole(piece, torque_nm=18.0)

    answer = fit(client_of_owner, piece, **{f"torque_{hole.pk}": "about 18"}, **HTMX)

    page = text_of(answer)
    assert answer.status_code == 422
    assert page.startswith("<li ")
    assert 'value="about 18"' in page
    assert "<html" not in page


# ---- the page of one piece


def test_the_page_shows_what_a_person_needs_to_fit_it(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    first = make_ready(car=car, by=owner, name="Header tank bracket")
    piece = make_ready(car=car, by=owner, name="Thermostat housing")
    require(first=first.part, then=piece.part, by=owner, now=NOW)
    hole = Hole.objects.create(
        key=uuid4(), part=piece.part, number=1, torque_nm=24.4, torque_typed="18 lbf ft"
    )
    StackItem.objects.create(hole=hole, position=0, what="bolt", thread="M8", length_mm=25)
    Connection.objects.create(
        key=uuid4(), part=piece.part, carries="hose", end="bypass stub", port="pump, upper stub"
    )

    page = text_of(client_of_owner.get(reverse("refit_piece", args=[piece.pk])))

    assert "Header tank bracket must be on first." in page
    assert "disabled>Fit it</button>" in page
    assert "24.4 N m" in page
    assert "18 lbf ft" in page
    assert "<svg" in page
    assert "bypass stub" in page
    assert "Tighten at ride height" in page
    assert "Write down a snag" in page
    assert "licensed or qualified person" in page


def test_the_page_of_a_tight_piece_shows_the_torque_used(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_ready(car=car, by=owner)
    hole = make_hole(piece, torque_nm=18.0)
    fit_tight(piece=piece, torques={hole.pk: 18.5}, by=owner, now=NOW)

    page = text_of(client_of_owner.get(reverse("refit_piece", args=[piece.pk])))

    assert "<b>18.5 N m</b>" in page
    assert "Slacken it" in page


def test_slackened_it_is_loose_and_twice_is_once(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece, key = make_ready(car=car, by=owner), str(uuid4())
    fit_tight(piece=piece, by=owner, now=NOW)
    url = reverse("slacken", args=[piece.pk])

    for _ in range(2):
        assert client_of_owner.post(url, {"key": key}).status_code == 302

    piece.refresh_from_db()
    assert piece.state is Status.FITTED_LOOSE
    assert client_of_owner.post(url, {"key": str(uuid4())}).status_code == 422


@pytest.mark.parametrize(
    ("still_on_car", "says"), [(True, "It never came off"), (False, "It is not ready to go on")]
)
def test_a_piece_that_cannot_go_on_says_why(
    client_of_owner: Client, car: Car, owner: Person, still_on_car: bool, says: str
) -> None:
    piece = make_part(car=car, by=owner, still_on_car=still_on_car).pieces.get()

    page = text_of(client_of_owner.get(reverse("refit_piece", args=[piece.pk])))

    assert says in page
    assert "Fit loose" not in page
