import re

import pytest
from django.test import Client

from garage.models import Car, Person
from parts.models import Count, DropOff, Line, PartPhoto, Piece
from parts.statuses import Status
from tests import factories
from tests.parts.batches import count_line, make_building, make_out, make_waiting


@pytest.fixture
def line(car: Car, owner: Person) -> Line:
    """Four hubs, out."""
    piece = make_waiting(car=car, by=owner, name="Hub", quantity=4)
    return make_out(car=car, by=owner, pieces=[piece]).lines.get()


def _form(client: Client, number: int = 1) -> dict[str, str]:
    """What a browser would send from the page untouched: hidden keys and nothing counted."""
    page = client.get(f"/count/{number}/").content.decode()
    return dict(re.findall(r'type="hidden" name="(l\d+-key)" value="([0-9a-f-]+)"', page))


def test_the_page_says_how_many_are_still_out(
    client_of_owner: Client, line: Line, owner: Person
) -> None:
    count_line(line, by=owner, good=1)

    page = client_of_owner.get("/count/1/").content.decode()

    assert "<b>3</b> of 4 pieces still out" in page
    assert "All 3 good" in page


def test_a_part_count_is_written_down_and_the_rest_stays_out(
    client_of_owner: Client, line: Line
) -> None:
    post = _form(client_of_owner) | {
        f"l{line.pk}-good": "2",
        f"l{line.pk}-redo": "1",
        "place": "Shelf D / Box 2",
    }

    answer = client_of_owner.post("/count/1/", post)

    count = Count.objects.get()
    assert answer.headers["Location"] == "/count/1/"
    assert (count.good, count.redo, count.total) == (2, 1, 3)
    assert str(Piece.objects.get(pk=line.piece_id).place) == "Shelf D / Box 2"
    assert DropOff.objects.get().is_out


def test_one_tick_counts_all_of_a_line_good(client_of_owner: Client, line: Line) -> None:
    client_of_owner.post("/count/1/", _form(client_of_owner) | {f"l{line.pk}-all": "on"})

    assert Count.objects.get().good == 4
    assert DropOff.objects.get().state == DropOff.State.CLOSED


def test_one_button_counts_everything_good(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    pieces = [
        make_waiting(car=car, by=owner, name="Hub", quantity=2),
        make_waiting(car=car, by=owner),
    ]
    make_out(car=car, by=owner, pieces=pieces)

    answer = client_of_owner.post("/count/1/", _form(client_of_owner) | {"all_good": "1"})

    assert answer.headers["Location"] == "/out/1/"
    assert sorted(Count.objects.values_list("good", flat=True)) == [1, 2]


def test_the_same_post_twice_counts_once(client_of_owner: Client, line: Line) -> None:
    post = _form(client_of_owner) | {f"l{line.pk}-good": "2"}

    first, second = (client_of_owner.post("/count/1/", post) for _ in range(2))

    assert (first.status_code, second.status_code) == (302, 302)
    assert Count.objects.count() == 1
    assert Line.objects.get().still_out == 2


def test_the_last_count_sent_twice_counts_once(client_of_owner: Client, line: Line) -> None:
    post = _form(client_of_owner) | {"all_good": "1"}

    first, second = (client_of_owner.post("/count/1/", post) for _ in range(2))

    assert (first.status_code, second.status_code) == (302, 302)
    assert Count.objects.get().good == 4


def test_going_back_and_changing_the_figures_asks_first(
    client_of_owner: Client, line: Line
) -> None:
    post = _form(client_of_owner)
    client_of_owner.post("/count/1/", post | {f"l{line.pk}-good": "2"})

    answer = client_of_owner.post("/count/1/", post | {f"l{line.pk}-good": "1"})

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "saved before with other figures" in page
    assert post[f"l{line.pk}-key"] not in page
    assert Count.objects.count() == 1


def test_a_single_piece_has_four_choices_and_still_out(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    line = make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]).lines.get()
    page = client_of_owner.get("/count/1/").content.decode()

    client_of_owner.post("/count/1/", _form(client_of_owner) | {f"l{line.pk}-is": "missing"})

    for word in ("Good", "To be redone", "Missing", "Found unsound", "Still out"):
        assert f">{word}</label>" in page
    assert Piece.objects.get().status == Status.MISSING


def test_too_many_are_refused_with_what_was_typed(client_of_owner: Client, line: Line) -> None:
    post = _form(client_of_owner) | {
        f"l{line.pk}-good": "3",
        f"l{line.pk}-redo": "2",
        f"l{line.pk}-note": "runs",
    }

    answer = client_of_owner.post("/count/1/", post)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "5 counted, but only 4 still out" in page
    assert 'value="runs"' in page
    assert Count.objects.count() == 0


def test_nothing_counted_is_said(client_of_owner: Client, line: Line) -> None:
    answer = client_of_owner.post("/count/1/", _form(client_of_owner))

    assert answer.status_code == 422
    assert "Say of at least one line what came back" in answer.content.decode()


def test_a_note_without_a_count_is_asked_about(client_of_owner: Client, line: Line) -> None:
    answer = client_of_owner.post(
        "/count/1/", _form(client_of_owner) | {f"l{line.pk}-note": "bent"}
    )

    assert answer.status_code == 422
    assert "say what came back as well" in answer.content.decode()


def test_a_photo_comes_with_the_trouble(client_of_owner: Client, line: Line) -> None:
    post = _form(client_of_owner) | {
        f"l{line.pk}-redo": "4",
        f"l{line.pk}-note": "bare spot",
        f"l{line.pk}-photo": factories.make_upload(),
    }

    client_of_owner.post("/count/1/", post)

    assert PartPhoto.objects.get().caption == "bare spot"
    assert Count.objects.get().photo == PartPhoto.objects.get().photo


def test_a_photo_is_not_lost_when_the_form_is_wrong(client_of_owner: Client, line: Line) -> None:
    post = _form(client_of_owner)
    wrong = post | {f"l{line.pk}-redo": "9", f"l{line.pk}-photo": factories.make_upload()}

    page = client_of_owner.post("/count/1/", wrong).content.decode()
    key = re.search(rf'name="l{line.pk}-photo_key" value="([0-9a-f-]+)"', page)
    client_of_owner.post(
        "/count/1/", post | {f"l{line.pk}-redo": "4", f"l{line.pk}-photo_key": key.group(1)}
    )

    assert str(Count.objects.get().photo.key) == key.group(1)


def test_a_torn_photo_is_told_and_nothing_is_counted(client_of_owner: Client, line: Line) -> None:
    torn = factories.make_upload(content=factories.jpeg_bytes()[:200])

    answer = client_of_owner.post(
        "/count/1/", _form(client_of_owner) | {f"l{line.pk}-redo": "4", f"l{line.pk}-photo": torn}
    )

    assert answer.status_code == 422
    assert Count.objects.count() == 0


def test_the_invoice_can_come_after_everything_is_counted(
    client_of_owner: Client, line: Line, owner: Person
) -> None:
    count_line(line, by=owner, good=4)

    answer = client_of_owner.post("/count/1/", {"invoiced": "84"})

    line.step.refresh_from_db()
    assert answer.status_code == 302
    assert str(line.step.cost) == "84.00"


def test_a_piece_moved_elsewhere_meanwhile_is_named(
    client_of_owner: Client, line: Line, owner: Person
) -> None:
    from parts.statuses import Move
    from tests.factories import NOW

    line.piece.move(Move.LOSE, by=owner, now=NOW)

    answer = client_of_owner.post("/count/1/", _form(client_of_owner) | {f"l{line.pk}-good": "4"})

    assert answer.status_code == 422
    assert f"{line.piece}: You cannot count in" in answer.content.decode()
    assert Count.objects.count() == 0


def test_a_tag_that_is_gone_offers_what_is_still_out(
    client_of_owner: Client, line: Line, car: Car, owner: Person
) -> None:
    other = make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner, name="Drum")])

    page = client_of_owner.get("/count/1/").content.decode()

    assert f'href="#line-{line.pk}"' in page
    assert f'href="/count/2/#line-{other.lines.get().pk}"' in page


def test_what_is_not_out_says_so(client_of_owner: Client, car: Car, owner: Person) -> None:
    make_building(car=car, by=owner, pieces=[])

    page = client_of_owner.get("/count/1/").content.decode()
    post = client_of_owner.post("/count/1/", {"invoiced": "9"})

    assert "is not out: not handed over yet" in page
    assert post.status_code == 422
    assert client_of_owner.get("/count/99/").status_code == 404


def test_a_key_that_is_no_key_is_refused(client_of_owner: Client, line: Line) -> None:
    answer = client_of_owner.post("/count/1/", {f"l{line.pk}-key": "x", f"l{line.pk}-good": "1"})

    assert answer.status_code == 422
    assert Count.objects.count() == 0


@pytest.mark.parametrize("rows", [1, 3])
def test_counting_asks_the_same_number_of_questions_for_any_number_of_lines(
    client_of_owner: Client, car: Car, owner: Person, rows: int, django_assert_num_queries: object
) -> None:
    pieces = [
        make_waiting(car=car, by=owner, quantity=2, photos=[factories.make_photo(by=owner)])
        for _ in range(rows)
    ]
    for piece in pieces:
        factories.make_piece(car=car, by=owner, name="Clip").change({"joined_into": piece})
    one = make_out(car=car, by=owner, pieces=pieces)
    for line in one.lines.all():
        count_line(line, by=owner, good=1)

    with django_assert_num_queries(13):
        assert client_of_owner.get("/count/1/").status_code == 200
