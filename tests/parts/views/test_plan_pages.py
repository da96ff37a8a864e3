"""Judging, the route card step by step, and the bench, as pages."""

import re
from decimal import Decimal
from html import unescape
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import judging, plan
from parts.models import Event, Kind, Piece, Progress, Step
from parts.statuses import Status
from tests.factories import NOW, make_piece, make_place, system_of


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(unescape(response.content.decode()).split())


@pytest.fixture
def piece(owner: Person, car: Car) -> Piece:
    return make_piece(car=car, by=owner, name="Manifold", place=make_place("Shelf A"))


def card(piece: Piece) -> list[tuple[str, str]]:
    return [(step.kind, step.progress) for step in piece.steps.all()]


# ---- judging


def judge_url(piece: Piece) -> str:
    return reverse("piece_judge", args=[piece.pk])


def judged(**changes: object) -> dict[str, object]:
    form: dict[str, object] = {"key": str(uuid4()), "route": "repair", "what": "Snapped stud"}
    return form | {"why": "Cheaper than a new one"} | changes


def test_judging_writes_the_route_card_once(client_of_helper: Client, piece: Piece) -> None:
    form = judged(route="send_out", work=["powder", "blast"])

    for _ in range(2):
        assert client_of_helper.post(judge_url(piece), form).status_code == 302

    assert card(piece) == [("send_out", "open"), ("prepare", "open"), ("refit", "open")]
    first = piece.steps.first()
    assert (first.work, first.what, first.why) == (
        "blast,powder",
        "Snapped stud",
        "Cheaper than a new one",
    )


def test_back_and_another_plan_asks_once_more(client_of_helper: Client, piece: Piece) -> None:
    form = judged()
    client_of_helper.post(judge_url(piece), form)

    answer = client_of_helper.post(judge_url(piece), form | {"route": "buy"})

    page = text_of(answer)
    fresh = re.search(r'name="key" value="([^"]+)"', page)
    assert answer.status_code == 422
    assert "This form was saved already. Plan: repair, refit." in page
    assert 'value="buy" checked' in page
    assert fresh and fresh[1] != form["key"]
    assert card(piece) == [("repair", "open"), ("refit", "open")]

    client_of_helper.post(judge_url(piece), form | {"route": "buy", "key": fresh[1]})
    assert card(piece)[-2:] == [("buy", "open"), ("refit", "open")]


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"route": ""}, "Choose what is to be done"),
        ({"route": "polish"}, "polish"),
        ({"route": "send_out"}, "Say what the finisher is to do"),
        ({"what": "x" * 201}, "at most 200 characters"),
        ({"key": ""}, "Reload the page and save once more."),
    ],
)
def test_a_refused_judgement_keeps_what_was_typed(
    client_of_helper: Client, piece: Piece, wrong: dict[str, str], says: str
) -> None:
    answer = client_of_helper.post(judge_url(piece), judged(**wrong))

    page = text_of(answer)
    assert answer.status_code == 422
    assert says in page
    assert 'value="Cheaper than a new one"' in page
    assert not piece.steps.exists()


def test_a_doubt_stands_over_the_judgement(
    client_of_helper: Client, piece: Piece, owner: Person
) -> None:
    judging.doubt(
        part=piece.part, key=uuid4(), question="Is it ours?", asked_of="", by=owner, now=NOW
    )

    page = text_of(client_of_helper.get(judge_url(piece)))

    assert "Is it ours?" in page
    assert "Answer it first" in page


@pytest.mark.parametrize(("system", "warned"), [("Brakes", True), ("Trim", False)])
def test_where_a_loose_joint_hurts_the_manual_decides(
    client_of_helper: Client, car: Car, owner: Person, system: str, warned: bool
) -> None:
    piece = make_piece(car=car, by=owner, system=system_of(car, system))

    page = text_of(client_of_helper.get(judge_url(piece)))

    assert ("the maker's manual and a qualified person decide" in page) is warned


# ---- a further step


def step_add_url(piece: Piece) -> str:
    return reverse("step_add", args=[piece.pk])


def further(**changes: object) -> dict[str, object]:
    form: dict[str, object] = {"key": str(uuid4()), "kind": "clean", "what": "Degrease"}
    return form | {"why": "", "who": "Ade"} | changes


def test_a_step_is_added_once_before_refit(
    client_of_helper: Client, piece: Piece, owner: Person
) -> None:
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["repair"], by=owner, now=NOW)
    form = further()

    for _ in range(2):
        assert client_of_helper.post(step_add_url(piece), form).status_code == 302

    assert [kind for kind, _ in card(piece)] == ["repair", "clean", "refit"]
    assert piece.steps.get(kind="clean").who == "Ade"


def test_another_step_on_a_used_form_asks_once_more(client_of_helper: Client, piece: Piece) -> None:
    form = further()
    client_of_helper.post(step_add_url(piece), form)

    answer = client_of_helper.post(step_add_url(piece), form | {"what": "Derust"})

    page = text_of(answer)
    assert answer.status_code == 422
    assert "This form was saved already. To do: Clean: Degrease." in page
    assert 'value="Derust"' in page
    assert str(form["key"]) not in page
    assert piece.steps.count() == 1


def test_work_is_only_kept_for_a_step_that_is_sent_out(
    client_of_helper: Client, piece: Piece
) -> None:
    refused = client_of_helper.post(step_add_url(piece), further(kind="send_out"))
    client_of_helper.post(step_add_url(piece), further(kind="clean", work=["blast"]))
    client_of_helper.post(step_add_url(piece), further(kind="send_out", work=["blast"]))

    assert refused.status_code == 422
    assert "Say what the finisher is to do" in text_of(refused)
    assert list(piece.steps.values_list("kind", "work")) == [("clean", ""), ("send_out", "blast")]


# ---- one step


@pytest.fixture
def step(piece: Piece, owner: Person) -> Step:
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["repair"], by=owner, now=NOW)
    return piece.steps.first()


def do(client: Client, step: Step, **form: str):  # type: ignore[no-untyped-def]
    return client.post(reverse("step", args=[step.pk]), form, follow=True)


def test_a_step_is_begun_and_the_piece_lies_on_the_bench(
    client_of_helper: Client, step: Step, piece: Piece
) -> None:
    page = text_of(do(client_of_helper, step, begin="1"))

    step.refresh_from_db()
    piece.refresh_from_db()
    assert (step.progress, piece.status) == (Progress.DOING, Status.AT_BENCH)
    assert f"{piece.tag}: begun." in page
    assert "Manifold" in text_of(client_of_helper.get("/bench/"))


def test_done_is_written_down_with_time_and_cost_and_can_be_taken_back(
    client_of_helper: Client, step: Step, piece: Piece
) -> None:
    form = {"done": "1", "note": "Insert M8", "who": "Ade", "minutes": "1 h 25", "cost": "4.60"}
    page = text_of(do(client_of_helper, step, **form))

    step.refresh_from_db()
    piece.refresh_from_db()
    assert (step.progress, step.minutes, step.cost, step.who) == (
        Progress.DONE,
        85,
        Decimal("4.60"),
        "Ade",
    )
    assert piece.status == Status.READY

    key = re.search(r'name="event" value="([^"]+)"', page)
    assert key
    client_of_helper.post(reverse("take_back"), {"event": key[1]})
    step.refresh_from_db()
    piece.refresh_from_db()
    assert (step.progress, step.cost, piece.status) == (Progress.OPEN, None, Status.OFF)


@pytest.mark.parametrize(
    ("form", "says", "kept"),
    [
        ({"minutes": "soon", "note": "Insert M8"}, "soon", 'value="Insert M8"'),
        ({"cost": "-3", "minutes": "85 min"}, "between 0 and", 'value="85 min"'),
    ],
)
def test_a_wrong_figure_is_refused_with_what_was_typed(
    client_of_helper: Client, step: Step, form: dict[str, str], says: str, kept: str
) -> None:
    answer = do(client_of_helper, step, done="1", **form)

    assert answer.status_code == 422
    assert says in text_of(answer)
    assert kept in text_of(answer)
    step.refresh_from_db()
    assert step.progress == Progress.OPEN


def test_done_twice_says_that_it_is_done(client_of_helper: Client, step: Step) -> None:
    do(client_of_helper, step, done="1")

    answer = do(client_of_helper, step, done="1")

    assert answer.status_code == 422
    assert "Repair is done already." in text_of(answer)
    assert Event.objects.filter(kind="step done").count() == 1


def test_a_step_is_left_with_a_reason_and_opened_again(
    client_of_helper: Client, step: Step
) -> None:
    without = do(client_of_helper, step, leave="1", because="")
    assert without.status_code == 422
    assert "Say why it is left" in text_of(without)

    do(client_of_helper, step, leave="1", because="Good enough")
    step.refresh_from_db()
    assert (step.progress, step.why) == (Progress.LEFT, "Good enough")

    page = text_of(do(client_of_helper, step, open="1"))
    step.refresh_from_db()
    assert step.progress == Progress.OPEN
    assert "open again" in page


def test_a_step_moves_up_and_down_as_far_as_it_goes(
    client_of_helper: Client, step: Step, piece: Piece
) -> None:
    do(client_of_helper, step, down="1")
    assert [kind for kind, _ in card(piece)] == ["refit", "repair"]

    answer = do(client_of_helper, step, down="1")
    assert answer.status_code == 422
    assert "It cannot go further that way." in text_of(answer)

    do(client_of_helper, step, up="1")
    assert [kind for kind, _ in card(piece)] == ["repair", "refit"]


@pytest.mark.parametrize(
    ("kind", "says"),
    [(Kind.SEND_OUT, "counted back from its drop-off"), (Kind.REFIT, "done when it is fitted")],
)
def test_what_is_done_by_doing_something_else_is_not_ticked_by_hand(
    client_of_helper: Client, piece: Piece, owner: Person, kind: Kind, says: str
) -> None:
    step = plan.add_step(piece=piece, key=uuid4(), kind=kind, by=owner, now=NOW)

    answer = do(client_of_helper, step, done="1")

    assert answer.status_code == 422
    assert says in text_of(answer)
    assert "Write down as done" not in text_of(answer)
    step.refresh_from_db()
    assert step.progress == Progress.OPEN


def test_a_post_that_names_nothing_changes_nothing(client_of_helper: Client, step: Step) -> None:
    page = text_of(do(client_of_helper, step, dance="1"))

    assert "nothing changed" in page
    step.refresh_from_db()
    assert step.progress == Progress.OPEN


def test_a_viewer_sees_a_step_and_is_offered_nothing(client_of_viewer: Client, step: Step) -> None:
    page = text_of(client_of_viewer.get(reverse("step", args=[step.pk])))

    assert "<h1>Repair</h1>" in page
    assert "Write down as done" not in page


# ---- the bench


def test_a_clear_bench_teaches(client_of_owner: Client, car: Car) -> None:
    page = text_of(client_of_owner.get("/bench/"))

    assert "The bench is clear" in page
    assert "To buy" not in page


@pytest.mark.parametrize("count", [1, 3])
def test_the_bench_takes_as_many_queries_for_three_of_each_as_for_one(
    client_of_owner: Client,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    place = make_place("Rack")
    for number in range(count):
        for route in ("refit", "repair", "buy"):
            piece = make_piece(car=car, by=owner, name=f"{route} {number}", place=place)
            plan.judge(piece=piece, route=plan.ROUTE_BY_CODE[route], by=owner, now=NOW)
            if route == "refit":
                plan.begin(step=piece.steps.first(), by=owner, now=NOW)
        tried = make_piece(car=car, by=owner, name=f"trial {number}")
        plan.add_step(piece=tried, key=uuid4(), kind=Kind.TRIAL_FIT, by=owner, now=NOW)
    client_of_owner.get("/bench/")

    with django_assert_num_queries(11):
        page = text_of(client_of_owner.get("/bench/"))

    lists = [part.split("</ol>")[0] for part in page.split('<ol class="rows">')[1:]]
    assert [rows.count('class="part-row"') for rows in lists] == [count] * 4
    assert [re.findall(r">(\w+) \d</a>", rows)[0] for rows in lists] == [
        "refit",
        "repair",
        "trial",
        "buy",
    ]
