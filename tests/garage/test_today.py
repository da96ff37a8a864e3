"""Today: each line stands there for its reason and not otherwise, and the gauges add up."""

import re
from datetime import date, timedelta
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from django.utils import timezone
from pytest_django import DjangoAssertNumQueries

from garage import dashboard
from garage.models import Car, Person
from parts import countback, judging, plan, refit, reminders, requirements, snags
from parts.models import Piece
from parts.statuses import Move
from tests.factories import NOW, make_car, make_part, make_piece, system_of
from tests.parts import batches

TODAY = NOW.date()


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


def lines(car: Car, *, on: date = TODAY) -> dict[str, str]:
    """The lines under "Needs you": what each says, by its stamp or its words."""
    found = dashboard.needs(car, on, NOW)
    return {
        need.stamp
        or need.words: f"{'' if need.count is None else need.count} {need.words}{need.rest}"
        for need in found
    }


def ready(car: Car, by: Person, **fields: object) -> Piece:
    piece = make_piece(car=car, by=by, **fields)
    plan.add_step(piece=piece, key=uuid4(), kind="refit", by=by, now=NOW)
    piece.refresh_from_db()
    return piece


# ---- each line for its reason


def test_a_part_on_the_car_asks_for_nothing(owner: Person, car: Car) -> None:
    make_part(car=car, by=owner, still_on_car=True)

    assert lines(car) == {}


def late(car: Car, by: Person) -> dict[str, str]:
    pieces = [batches.make_waiting(car=car, by=by, name=f"Arm {n}") for n in range(3)]
    out = batches.make_out(car=car, by=by, pieces=pieces)
    batches.count_line(out.lines.first(), by=by, good=1)
    piece = Piece.objects.get(pk=pieces[0].pk)
    plan.leave(step=piece.next_step, because="done here", by=by, now=NOW)
    return {"stamp": "2 days late", "says": f" {out}, Scarrow Coatings: 2 pieces still out."}


def test_a_batch_not_back_on_its_day_is_late_from_the_day_after(owner: Person, car: Car) -> None:
    told = late(car, owner)
    due = batches.DUE_ON

    assert lines(car, on=due + timedelta(days=2))[told["stamp"]] == told["says"]
    assert "1 day late" in lines(car, on=due + timedelta(days=1))
    assert not any("late" in stamp for stamp in lines(car, on=due))


def test_a_late_batch_that_is_home_is_to_be_counted_and_no_longer_late(
    owner: Person, car: Car
) -> None:
    piece = batches.make_waiting(car=car, by=owner)
    out = batches.make_out(car=car, by=owner, pieces=[piece])

    countback.collect(dropoff=out, by=owner, now=NOW)

    assert lines(car, on=batches.DUE_ON + timedelta(days=9)) == {
        "back, not counted": "1 back, not counted: count them before the boxes mix."
    }


@pytest.mark.parametrize(
    ("hours", "stamp"), [(3, "Bare 3 h"), (47, "Bare 47 h"), (48, "Bare 2 days")]
)
def test_bare_steel_says_for_how_long(owner: Person, car: Car, hours: int, stamp: str) -> None:
    piece = ready(car, owner, name="Hanger")
    piece.change({"bare_since": NOW - timedelta(hours=hours)})

    found = lines(car)

    assert found[stamp] == f" {piece}: blasted, with nothing on it yet. It rusts tonight."


@pytest.mark.parametrize(("days", "shown"), [(0, True), (-3, True), (1, False), (None, True)])
def test_a_reminder_stands_there_from_its_day_until_it_is_seen_to(
    owner: Person, car: Car, days: int | None, shown: bool
) -> None:
    due_on = None if days is None else TODAY + timedelta(days=days)
    line = reminders.remind(
        key=uuid4(), car=car, when="on_day", text="Hose clips", due_on=due_on, by=owner, now=NOW
    )
    assert lines(car) == ({"Reminder": " Hose clips"} if shown else {})

    reminders.done(reminder=line, by=owner, now=NOW)

    assert lines(car) == {}


def test_a_reminder_of_a_part_names_it(owner: Person, car: Car) -> None:
    part = make_part(car=car, by=owner, name="Wishbone", still_on_car=True)
    reminders.remind(
        key=uuid4(), car=car, when="ride_height", part=part, due_on=TODAY, by=owner, now=NOW
    )

    assert lines(car) == {"Reminder": f" {part}: tighten at ride height."}


def test_what_can_go_on_is_counted_only_when_nothing_holds_it_up(owner: Person, car: Car) -> None:
    piece = ready(car, owner)
    assert lines(car) == {"can go on the car now": "1 can go on the car now"}

    first = make_part(car=car, by=owner)
    requirements.require(first=first, then=piece.part, by=owner, now=NOW)

    assert "can go on the car now" not in lines(car)


def test_what_is_to_be_prepared_is_counted(owner: Person, car: Car) -> None:
    piece = make_piece(car=car, by=owner)
    plan.add_step(piece=piece, key=uuid4(), kind="prepare", by=owner, now=NOW)

    assert lines(car) == {"to prepare": "1 to prepare: threads to chase, earths to clear."}


def test_what_nobody_judged_is_counted_and_the_oldest_named(owner: Person, car: Car) -> None:
    oldest = make_piece(car=car, by=owner, name="Coil", now=NOW - timedelta(days=90))
    make_piece(car=car, by=owner, name="Horn")

    assert lines(car) == {"to be judged": f"2 to be judged; the oldest is {oldest}."}


def test_a_doubted_part_is_counted_once_until_its_doubts_are_settled(
    owner: Person, car: Car
) -> None:
    part = make_part(car=car, by=owner, still_on_car=True)
    doubts = [
        judging.doubt(part=part, key=uuid4(), question=said, asked_of="", by=owner, now=NOW)
        for said in ("Later flange?", "Other thread?")
    ]
    assert lines(car) == {"doubted": "1 doubted: is it the right part for this car?"}

    for doubt in doubts:
        judging.answer(question=doubt, text="Right", settled=True, by=owner, now=NOW)

    assert lines(car) == {}


def test_a_missing_part_is_counted(owner: Person, car: Car) -> None:
    make_piece(car=car, by=owner).move(Move.LOSE, by=owner, now=NOW)

    assert lines(car) == {"missing": "1 missing"}


def test_a_snag_is_counted_and_a_next_job_is_not(owner: Person, car: Car) -> None:
    for sort in ("snag", "next"):
        snags.write_down(
            key=uuid4(), system=system_of(car), sort=sort, text="Hose rubs", by=owner, now=NOW
        )

    assert lines(car) == {"snags written down": "1 snags written down"}


def test_the_bin_and_other_cars_ask_for_nothing(owner: Person, car: Car) -> None:
    thrown = ready(car, owner)
    thrown.change({"bare_since": NOW})
    judging.doubt(part=thrown.part, key=uuid4(), question="Ours?", asked_of="", by=owner, now=NOW)
    judging.throw_out(part=thrown.part, by=owner, now=NOW)
    make_piece(car=make_car(model="Roadster"), by=owner)

    assert lines(car) == {}


def test_the_worst_stands_on_top(owner: Person, car: Car) -> None:
    make_piece(car=car, by=owner)
    late(car, owner)
    piece = ready(car, owner, name="Hanger")
    piece.change({"bare_since": NOW})
    reminders.remind(
        key=uuid4(), car=car, when="on_day", text="Clips", due_on=None, by=owner, now=NOW
    )

    order = list(lines(car, on=batches.DUE_ON + timedelta(days=2)))

    assert order[:3] == ["2 days late", "Bare 0 h", "Reminder"]
    assert order.index("can go on the car now") < order.index("to be judged")


def test_every_line_leads_to_a_list_of_just_what_it_counted(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    make_piece(car=car, by=owner).move(Move.LOSE, by=owner, now=NOW)
    make_piece(car=car, by=owner)
    prepared = make_piece(car=car, by=owner)
    plan.add_step(piece=prepared, key=uuid4(), kind="prepare", by=owner, now=NOW)
    judging.doubt(part=prepared.part, key=uuid4(), question="Ours?", asked_of="", by=owner, now=NOW)

    for need in dashboard.needs(car, TODAY, NOW):
        assert need.url.startswith("/parts/?")
        page = client_of_owner.get(need.url).content.decode()
        assert page.count('class="part-row"') == need.count, need


# ---- gauges


def gauge_of(car: Car, name: str) -> dashboard.Gauge:
    return next(g for g in dashboard.progress(car)["gauges"] if g.system.name == name)


def test_a_gauge_has_a_mark_for_each_part_the_tallest_first(owner: Person, car: Car) -> None:
    cooling = system_of(car, "Cooling")
    tight, loose = (ready(car, owner, system=cooling) for _ in range(2))
    refit.fit_tight(piece=tight, because="clips", by=owner, now=NOW)
    refit.fit_loose(piece=loose, by=owner, now=NOW)
    ready(car, owner, system=cooling)
    make_piece(car=car, by=owner, system=cooling).move(Move.PUT_ON_BENCH, by=owner, now=NOW)
    make_piece(car=car, by=owner, system=cooling)
    make_piece(car=car, by=owner, system=cooling).move(Move.LOSE, by=owner, now=NOW)
    make_piece(car=car, by=owner, system=cooling, still_on_car=True)

    gauge = gauge_of(car, "Cooling")

    assert gauge.counts == {
        "fitted": 2,
        "ready": 1,
        "in work": 1,
        "off": 2,
        "still on the car": 1,
    }
    assert (gauge.total, gauge.fitted) == (7, 2)
    marks = re.findall(r"M(\d+)\.2 24h\.55v-(\d+)h-\.55z", gauge.marks)
    assert [int(at) for at, _ in marks] == list(range(7))
    assert [int(high) for _, high in marks] == [24, 24, 17, 11, 6, 6, 2]
    assert gauge.says == ("Cooling: 2 fitted, 1 ready, 1 in work, 2 off, 1 still on the car")


def test_the_gauges_stand_in_the_cars_order_and_add_up(owner: Person, car: Car) -> None:
    for name, count in (("Body", 2), ("Cooling", 3)):
        for _ in range(count):
            make_piece(car=car, by=owner, system=system_of(car, name))

    told = dashboard.progress(car)

    in_order = [s.name for s in car.systems.all() if s.name in ("Body", "Cooling")]
    assert [gauge.system.name for gauge in told["gauges"]] == in_order
    assert (told["total"], told["fitted"], told["longest"]) == (5, 0, 40)


def test_spares_and_patterns_have_no_mark(owner: Person, car: Car) -> None:
    from parts import takeoff

    part = make_part(car=car, by=owner, system=system_of(car))
    takeoff.add_piece(part=part, purpose="to_fit", by=owner, now=NOW)
    takeoff.add_piece(part=part, purpose="spare", by=owner, now=NOW)

    assert gauge_of(car, "Cooling").total == 1


def test_the_gauges_can_be_asked_for_alone(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    make_piece(car=car, by=owner, system=system_of(car))

    page = text_of(client_of_owner.get(reverse("today_systems")))

    assert "<html" not in page
    assert "Cooling" in page
    assert "<b>0</b> of 1 fitted" in page


# ---- the page


def test_an_empty_garage_is_taught_how_to_begin(client_of_owner: Client, car: Car) -> None:
    page = text_of(client_of_owner.get("/"))

    assert "The car is in one piece" in page
    assert "Nothing is out" in page
    assert reverse("take_off") in page
    assert "The car</h2>" not in page


def test_nothing_to_do_is_said_in_words(client_of_owner: Client, car: Car, owner: Person) -> None:
    make_part(car=car, by=owner, still_on_car=True)

    page = text_of(client_of_owner.get("/"))

    assert "Nothing asks for you. A good evening to fit something." in page
    assert "0 of 1 part fitted." in page


@pytest.mark.parametrize("url", ["/", "/today/systems/"])
def test_somebody_without_a_car_names_one_first(client: Client, owner: Person, url: str) -> None:
    client.force_login(owner, backend="django.contrib.auth.backends.ModelBackend")

    assert client.get(url).headers["Location"] == reverse("cars")


def test_what_is_out_stands_there_with_its_day(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    pieces = [batches.make_waiting(car=car, by=owner, name=f"Arm {n}") for n in range(3)]
    out, home, on_time = (batches.make_out(car=car, by=owner, pieces=[piece]) for piece in pieces)
    today = timezone.localdate()
    for one, days in ((out, -1), (home, -1), (on_time, 5)):
        one.due_on = today + timedelta(days=days)
        one.save(update_fields=["due_on"])
    countback.collect(dropoff=home, by=owner, now=NOW)

    page = text_of(client_of_owner.get("/"))

    assert "3 drop-offs" in page
    rows = re.findall(r"<tr><th scope=\"row\">.*?</tr>", page)
    words = [
        "late" if ", late" in row else "home" if "home, to count" in row else "out" for row in rows
    ]
    assert sorted(words) == ["home", "late", "out"]
    assert sum('class="red"' in row for row in rows) == 1


def everything(car: Car, by: Person, number: int) -> None:
    make_piece(car=car, by=by).move(Move.LOSE, by=by, now=NOW)
    make_piece(car=car, by=by)
    ready(car, by, name=f"Hanger {number}").change({"bare_since": NOW})
    part = make_part(car=car, by=by, name=f"Arm {number}", system=system_of(car, "Body"))
    judging.doubt(part=part, key=uuid4(), question="Ours?", asked_of="", by=by, now=NOW)
    reminders.remind(
        key=uuid4(), car=car, when="first_heat", part=part, due_on=None, by=by, now=NOW
    )
    snags.write_down(
        key=uuid4(), system=system_of(car), sort="snag", text=f"Rubs {number}", by=by, now=NOW
    )
    piece = batches.make_waiting(car=car, by=by, name=f"Plate {number}")
    out = batches.make_out(car=car, by=by, pieces=[piece])
    out.due_on = timezone.localdate() - timedelta(days=30)
    out.save(update_fields=["due_on"])


@pytest.mark.parametrize("count", [1, 3])
def test_today_takes_as_many_queries_for_three_of_everything_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        everything(car, owner, number)
    client_of_owner.get("/")

    with django_assert_num_queries(20):
        page = text_of(client_of_owner.get("/"))

    assert page.count("stamp stamp-late") == 3 * count
