"""Fit to send? On the part, while a drop-off is built, and the questions before it."""

import pytest
from django.test import Client

from garage.models import Car, Person
from parts import questions
from parts.models import Answer, Joint, Limit, Line, Piece, SentAnyway
from tests import factories
from tests.parts.batches import change, make_building, make_waiting

ALL = ("fuel", "hollow", "left_on", "repair", "glue", "bearing", "bores", "threads")


@pytest.fixture
def piece(car: Car, owner: Person) -> Piece:
    return make_waiting(car=car, by=owner, name="Radiator bracket")


def _text(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


def _answers(says: str = "no", **other: str) -> dict[str, str]:
    return dict.fromkeys(ALL, says) | other


def _ask(client: Client, url: str, *pieces: Piece) -> str:
    """Where the form that puts pieces on a sheet leads."""
    answer = client.post(url, {"pieces": [one.pk for one in pieces], "ask": "1"})
    assert answer.status_code == 302
    return answer.url


# ---- the questions


def test_at_most_eight_questions_are_asked(piece: Piece) -> None:
    for material in ("steel", "aluminium", "brass", ""):
        piece.material = material
        assert len(questions.asked_of(piece, ("blast", "powder"))) == 8


@pytest.mark.parametrize(
    ("material", "works", "asked"),
    [
        ("steel", ("plate",), {"hollow", "left_on", "bores", "threads"}),
        ("steel", ("machine",), {"fuel"}),
        ("textile", ("blast",), {"fuel", "left_on", "glue"}),
        ("glass", ("plate",), {"left_on"}),
    ],
)
def test_material_and_work_choose_the_questions(
    piece: Piece, material: str, works: tuple[str, ...], asked: set[str]
) -> None:
    piece.material = material

    assert {one.code for one in questions.asked_of(piece, works)} == asked


def test_the_questions_come_before_the_piece_joins(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    one = make_building(car=car, by=owner, pieces=[])

    url = _ask(client_of_owner, "/out/1/pieces/", piece)

    assert not one.lines.exists()
    page = _text(client_of_owner, url)
    assert page.count('value="unknown"') == 8
    assert "Is there a closed hollow in it?" in page


def test_with_the_answers_it_joins_and_they_are_kept(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    url = _ask(client_of_owner, "/out/1/pieces/", piece)

    client_of_owner.post(url, _answers(hollow="unknown", marks="zinc"))

    assert one.lines.get().piece == piece
    said = dict(Answer.objects.filter(piece=piece).values_list("question", "says"))
    assert said == _answers(hollow="unknown") | {"zinc": "yes"}
    event = piece.events.get(kind="answered")
    assert "Closed hollow: don't know" in event.says


def test_asked_once_it_joins_the_next_sheet_at_once(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner)
    make_building(car=car, by=owner, pieces=[])

    assert _ask(client_of_owner, "/out/1/pieces/", piece) == "/out/1/"
    assert Line.objects.get().piece == piece


def test_a_question_left_open_is_said_beside_itself(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    make_building(car=car, by=owner, pieces=[])
    url = _ask(client_of_owner, "/out/1/pieces/", piece)
    post = _answers(glue="yes")
    del post["fuel"]

    answer = client_of_owner.post(url, post)

    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Say yes, no or don&#x27;t know" in page
    assert page.count(" checked") == 7
    assert not Line.objects.exists()


def test_answering_later_is_allowed_and_warned_about(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    make_building(car=car, by=owner, pieces=[])
    url = _ask(client_of_owner, "/out/1/pieces/", piece)

    client_of_owner.post(url, {"skip": "1"})

    assert not Answer.objects.exists()
    page = _text(client_of_owner, "/out/1/")
    assert "Nobody has said what is on this part" in page
    assert "Not asked: held fuel, closed hollow" in page


def test_pieces_alike_are_answered_for_together(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    alike = make_waiting(car=car, by=owner, name="Fan bracket")
    other = make_waiting(car=car, by=owner, name="Thermostat cover")
    other.change({"material": "cast_aluminium"})
    make_building(car=car, by=owner, pieces=[])
    url = _ask(client_of_owner, "/out/1/pieces/", piece, alike, other)
    page = _text(client_of_owner, url)

    answer = client_of_owner.post(url, {**_answers(), "same": str(alike.pk)})

    assert "Fan bracket" in page
    assert "Thermostat cover" not in page
    assert answer.url == f"/out/1/ask/?pieces={other.pk}"
    assert {line.piece for line in Line.objects.all()} == {piece, alike}
    assert Answer.objects.filter(piece=alike).count() == 8


def test_a_new_dropoff_asks_first_as_well(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    finisher = factories.make_finisher()
    page = _text(client_of_owner, "/out/")
    key = page.split('name="key" value="')[1].split('"')[0]

    answer = client_of_owner.post(
        "/out/new/", {"key": key, "finisher": finisher.pk, "pieces": piece.pk, "ask": "1"}
    )

    assert answer.url == f"/out/1/ask/?pieces={piece.pk}"


def test_a_piece_by_its_tag_is_asked_about_what_the_shop_does(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = factories.make_piece(car=car, by=owner, name="Heater valve")
    make_building(car=car, by=owner, pieces=[])

    answer = client_of_owner.post("/out/1/tag/", {"tag": piece.part.tag, "ask": "1"})

    assert answer.url == f"/out/1/ask/?pieces={piece.pk}"


def test_the_thing_left_on_is_named_and_its_own_limit_counts(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.sow_heat()
    ptfe = Limit.objects.get(name="PTFE")
    client_of_owner.post(f"/pieces/{piece.pk}/asked/", _answers(left_on="yes", things=str(ptfe.pk)))
    make_building(car=car, by=owner, pieces=[piece])

    assert "Strip all rubber" not in _text(client_of_owner, "/out/1/")


def test_a_measured_play_is_kept_as_it_was_typed(
    client_of_owner: Client, owner: Person, piece: Piece
) -> None:
    client_of_owner.post(f"/pieces/{piece.pk}/asked/", _answers(bores="yes", play="0.4 mm"))

    row = Answer.objects.get(question="bores")
    assert (row.size_mm, row.size_typed) == (0.4, "0.4 mm")
    assert 'value="0.4 mm"' in _text(client_of_owner, f"/pieces/{piece.pk}/asked/")


# ---- on the part


def test_the_part_shows_the_check_of_its_plan(
    client_of_viewer: Client, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner, fuel="unknown")

    page = _text(client_of_viewer, piece.get_absolute_url())

    assert "Fit to send?" in page
    assert "Has held fuel: no heat, sparks or blasting" in page
    assert "Taken for granted: Held fuel: don&#x27;t know, counted as yes." in page
    assert "Workshop safety, from memory" in page
    assert "H11" not in page


def test_on_a_sheet_the_part_is_checked_for_that_finisher(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner, bearing="yes")
    planned = _text(client_of_owner, piece.get_absolute_url())
    make_building(car=car, by=owner, pieces=[piece])

    page = _text(client_of_owner, piece.get_absolute_url())

    assert "Blast then powder coat, as planned" in planned
    assert "Powder coat at 200 °C metal." in planned
    assert 'on <a href="/out/1/">Drop-off 1</a>' in page
    assert "Powder coat at 190 °C metal." in page


def test_a_part_that_goes_nowhere_is_not_checked(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = factories.make_piece(car=car, by=owner)

    assert "Fit to send?" not in _text(client_of_owner, piece.get_absolute_url())


# ---- while it is built


def test_a_stop_on_a_line_is_shown_and_holds_it(
    client_of_helper: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner, hollow="yes")
    make_building(car=car, by=owner, pieces=[piece])

    page = _text(client_of_helper, "/out/1/")

    assert "Closed hollow: trapped air" in page
    assert "Held back: off the sheet until this is put right" in page
    assert "Send it anyway" not in page
    answer = client_of_helper.post("/out/1/hand-over/", {"hand_over_on": "2026-11-27"})
    assert answer.status_code == 422
    assert "Closed hollow: trapped air" in answer.content.decode()


def test_only_the_owner_may_send_it_anyway(
    client_of_helper: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner, hollow="yes")
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    answer = client_of_helper.post(
        f"/lines/{line.pk}/anyway/", {f"line-{line.pk}-reason": "It has a vent inside"}
    )

    assert answer.status_code == 403
    assert not SentAnyway.objects.exists()


def test_the_owners_reason_stands_on_the_line(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner, hollow="yes")
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    client_of_owner.post(
        f"/lines/{line.pk}/anyway/", {f"line-{line.pk}-reason": "The coater drills it"}
    )

    page = _text(client_of_owner, "/out/1/")
    assert "Sent anyway, because</b> The coater drills it" in page
    assert "Held back" not in page
    assert "The coater drills it" in _text(client_of_owner, piece.get_absolute_url())


def test_a_reason_of_nothing_is_refused_and_the_box_stays_open(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner, hollow="yes")
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    answer = client_of_owner.post(f"/lines/{line.pk}/anyway/", {f"line-{line.pk}-reason": "ok"})

    assert answer.status_code == 422
    page = answer.content.decode()
    assert "Write why, in a few words" in page
    assert "ok</textarea>" in page


def test_sand_named_on_the_line_holds_it(
    client_of_owner: Client, car: Car, owner: Person, piece: Piece
) -> None:
    factories.answer(piece, by=owner)
    line = make_building(car=car, by=owner, pieces=[piece]).lines.get()

    change(line, by=owner, grit="sharp sand")

    assert "No sand: silica dust causes silicosis" in _text(client_of_owner, "/out/1/")


def test_a_lot_to_be_plated_asks_for_its_strongest_bolt(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    finisher = factories.make_finisher(offers=("plate",))
    make_building(car=car, by=owner, pieces=[], finisher=finisher)
    post = {"lot": "Bolts", "count": "8", "work_1": "plate", "strongest": "12.9"}
    page = _text(client_of_owner, "/out/1/")
    key = page.split('name="key" value="')[1].split('"')[0]

    client_of_owner.post("/out/1/lots/", {**post, "key": key})

    page = _text(client_of_owner, "/out/1/")
    assert "Very hard steel soaks up hydrogen in the bath" in page
    assert "Class 12.9." in page


# ---- joints


def test_a_joint_is_written_down_and_called_hard(client_of_owner: Client, piece: Piece) -> None:
    glue = factories.make_adhesive()
    url = f"/pieces/{piece.pk}/joints/new/"
    key = _text(client_of_owner, url).split('name="key" value="')[1].split('"')[0]

    client_of_owner.post(url, {"key": key, "how": "glue", "adhesive": glue.pk, "note": "Saddle"})
    joint = Joint.objects.get()
    before = _text(client_of_owner, piece.get_absolute_url())
    client_of_owner.post(f"/joints/{joint.pk}/hard/")

    assert "Hardening: no clock runs" in before
    assert "I looked, it is hard" in before
    after = _text(client_of_owner, piece.get_absolute_url())
    assert "Hard: Wren looked" in after


def test_a_metal_that_does_not_go_with_how_is_said_on_the_form(
    client_of_owner: Client, piece: Piece
) -> None:
    glue = factories.make_adhesive()
    url = f"/pieces/{piece.pk}/joints/new/"
    key = _text(client_of_owner, url).split('name="key" value="')[1].split('"')[0]

    answer = client_of_owner.post(url, {"key": key, "how": "weld", "adhesive": glue.pk})

    assert answer.status_code == 422
    assert "Only a glued joint has an adhesive." in answer.content.decode()


def test_a_joint_taken_apart_leaves_the_page(
    client_of_owner: Client, owner: Person, piece: Piece
) -> None:
    joint = factories.make_joint(piece=piece, by=owner, how="weld", note="Patch")

    client_of_owner.post(f"/joints/{joint.pk}/apart/")

    page = _text(client_of_owner, piece.get_absolute_url())
    assert "None written down." in page.split("Joints</h2>")[1]
