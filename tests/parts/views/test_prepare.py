"""The checklist before refit, and the trial fit, as pages: with and without JavaScript."""

from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import plan
from parts.models import Event, Kind, Piece, Preparation
from parts.preparation import add_preparation
from parts.statuses import Move, Status
from tests.factories import NOW, make_finisher, make_piece
from tests.parts.test_refit import make_hole
from tests.parts.test_trial_fit import make_trial

HTMX = {"HTTP_HX_REQUEST": "true"}


@pytest.fixture
def piece(car: Car, owner: Person) -> Piece:
    piece = make_piece(car=car, by=owner, name="Battery tray")
    plan.judge(piece=piece, route=plan.ROUTE_BY_CODE["send_out"], by=owner, now=NOW)
    plan.finish(step=piece.steps.get(kind=Kind.SEND_OUT), by=owner, now=NOW)
    return Piece.objects.get(pk=piece.pk)


def add(piece: Piece, by: Person, text: str = "Chase 2 threads M8") -> Preparation:
    return add_preparation(
        piece=piece, key=uuid4(), what="chase", text=text, count=2, by=by, now=NOW
    )


def url(piece: Piece) -> str:
    return reverse("prepare", args=[piece.pk])


def tick(client: Client, line: Preparation, **data: object):  # type: ignore[no-untyped-def]
    headers = {name: data.pop(name) for name in list(data) if name.startswith("HTTP_")}
    return client.post(reverse("preparation", args=[line.pk]), data, **headers)


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(response.content.decode().split())


def test_an_empty_checklist_teaches_and_can_be_closed(
    client_of_owner: Client, piece: Piece
) -> None:
    page = text_of(client_of_owner.get(url(piece)))
    assert "Nothing on the list" in page
    assert "Never run a nut or a bolt down to clear a coated thread" in page

    answer = client_of_owner.post(url(piece), {"all": "1"})

    piece.refresh_from_db()
    assert (answer.status_code, piece.state) == (302, Status.READY)


@pytest.mark.parametrize("count", [1, 3])
def test_the_checklist_takes_as_many_queries_for_three_as_for_one(
    client_of_owner: Client,
    piece: Piece,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        add(piece, owner, f"Chase thread {number}")
    client_of_owner.get(url(piece))

    with django_assert_num_queries(8):
        page = text_of(client_of_owner.get(url(piece)))

    assert page.count('<li class="prepare-line"') == count
    assert f"{count} of {count} left" in page


def test_a_line_is_added_by_a_plain_post_once(client_of_helper: Client, piece: Piece) -> None:
    line = {"key": str(uuid4()), "what": "earth", "text": "Clear the earth", "count": "1"}

    for _ in range(2):
        assert client_of_helper.post(url(piece), line).status_code == 302

    assert [row.text for row in piece.preparations.all()] == ["Clear the earth"]


def test_a_line_without_a_count_keeps_what_was_typed(client_of_owner: Client, piece: Piece) -> None:
    line = {"key": str(uuid4()), "what": "bore", "text": "Clear the drain", "count": "many"}

    answer = client_of_owner.post(url(piece), line)

    page = text_of(answer)
    assert answer.status_code == 422
    assert 'value="Clear the drain"' in page
    assert 'value="many"' in page


def test_the_last_tick_by_a_plain_post_makes_it_ready_and_can_be_taken_back(
    client_of_owner: Client, piece: Piece, owner: Person
) -> None:
    line = add(piece, owner)

    answer = tick(client_of_owner, line)

    piece.refresh_from_db()
    assert (answer.status_code, answer.url) == (302, url(piece))
    assert piece.state is Status.READY
    page = text_of(client_of_owner.get(url(piece)))
    assert "That was the last." in page
    assert str(Event.objects.get(kind="prepared").key) in page


def test_a_double_tap_ticks_once(client_of_owner: Client, piece: Piece, owner: Person) -> None:
    line = add(piece, owner)

    for _ in range(2):
        assert tick(client_of_owner, line).status_code == 302

    assert Event.objects.filter(kind="prepared").count() == 1
    line.refresh_from_db()
    assert line.done_at is not None


def test_ticked_with_htmx_the_line_comes_back_with_what_is_left(
    client_of_owner: Client, piece: Piece, owner: Person
) -> None:
    line = add(piece, owner)
    add(piece, owner, "Clear the earth")

    page = text_of(tick(client_of_owner, line, **HTMX))

    assert page.startswith("<li ")
    assert f'id="preparation-{line.pk}-row"' in page
    assert 'id="prepare-left" hx-swap-oob="true">1 of 2 left' in page


def test_a_tick_is_taken_off_again(client_of_owner: Client, piece: Piece, owner: Person) -> None:
    line = add(piece, owner)
    tick(client_of_owner, line)

    tick(client_of_owner, line, open="1")

    piece.refresh_from_db()
    assert (piece.state, piece.next_step.kind) == (Status.OFF, Kind.PREPARE)


def test_what_is_out_is_not_ticked(client_of_owner: Client, piece: Piece, owner: Person) -> None:
    line = add(piece, owner)
    piece.move(Move.HAND_OVER, by=owner, now=NOW, finisher=make_finisher())

    answer = tick(client_of_owner, line)

    assert answer.status_code == 422
    assert "nothing to prepare" in text_of(answer)


def test_a_viewer_looks_and_ticks_nothing(
    client_of_viewer: Client, piece: Piece, owner: Person
) -> None:
    line = add(piece, owner)

    page = text_of(client_of_viewer.get(url(piece)))

    assert "Chase 2 threads M8" in page
    assert reverse("preparation", args=[line.pk]) not in page
    assert tick(client_of_viewer, line).status_code == 403
    assert client_of_viewer.post(url(piece), {"all": "1"}).status_code == 403


def test_fasteners_to_renew_are_put_on_the_list(client_of_owner: Client, piece: Piece) -> None:
    make_hole(piece).stack.create(position=0, what="nut", thread="M8", treatment="renew")
    assert "1 × nut M8" in text_of(client_of_owner.get(url(piece)))

    assert client_of_owner.post(url(piece), {"renew": "1"}).status_code == 302

    assert [row.text for row in piece.preparations.all()] == ["New: 1 × nut M8"]
    assert "Put them on the list" not in text_of(client_of_owner.get(url(piece)))


# ---- trial fit


def test_the_trial_fit_says_what_to_look_for(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_trial(car, owner)

    page = text_of(client_of_owner.get(reverse("trial_fit", args=[piece.pk])))

    for words in ("It clears.", "It reaches.", "Hoses push on.", "Holes line up."):
        assert words in page


@pytest.mark.parametrize(
    ("result", "because", "next_kind"),
    [("fits", "", Kind.SEND_OUT), ("not", "touches the fan", Kind.REMAKE)],
)
def test_the_result_moves_the_plan(
    client_of_helper: Client,
    car: Car,
    owner: Person,
    result: str,
    because: str,
    next_kind: str,
) -> None:
    piece = make_trial(car, owner)
    where = reverse("trial_fit", args=[piece.pk])

    answer = client_of_helper.post(where, {"result": result, "because": because})

    piece.refresh_from_db()
    assert (answer.status_code, piece.next_step.kind) == (302, next_kind)


def test_what_does_not_fit_needs_its_reason(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_trial(car, owner)
    where = reverse("trial_fit", args=[piece.pk])

    assert client_of_owner.post(where, {"result": "not"}).status_code == 422
    nothing_said = client_of_owner.post(where, {"because": "a finger short"})

    assert nothing_said.status_code == 422
    assert "a finger short" in text_of(nothing_said)
    piece.refresh_from_db()
    assert piece.next_step.kind == Kind.TRIAL_FIT


def test_posted_twice_the_trial_fit_is_done_once(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_trial(car, owner)
    where = reverse("trial_fit", args=[piece.pk])
    client_of_owner.post(where, {"result": "fits"})

    again = client_of_owner.post(where, {"result": "fits"})

    assert again.status_code == 422
    assert "has no trial fit to do" in text_of(again)
    assert Event.objects.filter(kind="step done", text__startswith="Trial fit").count() == 1
