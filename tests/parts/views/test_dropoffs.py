from datetime import timedelta
from uuid import uuid4

import pytest
from django.test import Client
from django.utils import timezone

from garage.models import Car, Person
from parts.models import DropOff, Line, Piece, Process
from tests import factories
from tests.parts.batches import change, make_building, make_out, make_waiting

NO_MASKS = {"masks-TOTAL_FORMS": "0", "masks-INITIAL_FORMS": "0"}


def _shown(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


def _line_post(line: Line, **fields: str) -> dict[str, str]:
    """What a browser sends from the page of a line, hidden fields and all."""
    first, second = [*line.work.split(","), "", ""][:2]
    seen = {
        "count": str(line.count),
        "work_1": first,
        "work_2": second,
        "work_3": "",
        "grit": line.grit,
        "colour": line.colour,
        "colour_code": "",
        "gloss": "",
        "thickness_um": "",
        "hang_by": "",
        "plug": "",
        "remarks": line.remarks,
    }
    post = {**seen, "tag_stays": "on", **{f"initial-{name}": value for name, value in seen.items()}}
    post["initial-tag_stays"] = "True"
    return {**post, **NO_MASKS, **fields}


# ---- what is out


def test_out_teaches_when_there_is_nothing(client_of_owner: Client) -> None:
    page = _shown(client_of_owner, "/out/")

    assert "Nothing is out" in page
    assert "Start a drop-off" in page


def test_out_groups_what_waits_by_work_with_who_offers_it(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    factories.make_finisher()
    factories.make_finisher(name="Tarn Plating", offers=(Process.PLATE,))
    make_waiting(car=car, by=owner, name="Hub")
    make_waiting(car=car, by=owner, name="Bolt plate", work="plate")
    make_waiting(car=car, by=owner, name="Crankshaft", work="machine")

    page = _shown(client_of_owner, "/out/")

    assert "New drop-off to Scarrow Coatings" in page
    assert "New drop-off to Tarn Plating" in page
    assert page.count("No finisher offers this") == 1
    assert "Nothing is out" not in page


def test_the_late_ones_stand_first_and_say_by_how_much(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    on_time, late = (
        make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]) for _ in range(2)
    )
    today = timezone.localdate()
    DropOff.objects.filter(pk=on_time.pk).update(due_on=today + timedelta(days=3))
    DropOff.objects.filter(pk=late.pk).update(due_on=today - timedelta(days=5))

    page = _shown(client_of_owner, "/out/")

    assert "5 days late" in page
    assert page.index(f'href="/out/{late.number}/"') < page.index(f'href="/out/{on_time.number}/"')


@pytest.mark.parametrize("rows", [1, 3])
def test_out_asks_the_same_number_of_questions_for_any_number_of_rows(
    client_of_owner: Client, car: Car, owner: Person, rows: int, django_assert_num_queries: object
) -> None:
    for _ in range(rows):
        make_waiting(car=car, by=owner, work="blast", photos=[factories.make_photo(by=owner)])
        make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])
        make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    with django_assert_num_queries(9):
        _shown(client_of_owner, "/out/")


# ---- started


def test_one_tap_starts_a_dropoff_with_the_ticked_pieces(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    finisher = factories.make_finisher()
    piece, other = make_waiting(car=car, by=owner), make_waiting(car=car, by=owner)

    answer = client_of_owner.post(
        "/out/new/", {"key": str(uuid4()), "finisher": finisher.pk, "pieces": [piece.pk]}
    )

    one = DropOff.objects.get()
    assert answer.headers["Location"] == "/out/1/"
    assert [line.piece for line in one.lines.all()] == [piece]
    assert other in Piece.objects.waiting_to_go_out()


def test_the_same_start_twice_is_one_dropoff(client_of_owner: Client) -> None:
    post = {"key": str(uuid4()), "finisher": factories.make_finisher().pk}

    for _ in range(2):
        assert client_of_owner.post("/out/new/", post).status_code == 302

    assert DropOff.objects.count() == 1


def test_starting_without_a_finisher_says_so_and_keeps_the_ticks(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    factories.make_finisher()
    piece = make_waiting(car=car, by=owner)

    answer = client_of_owner.post("/out/new/", {"key": str(uuid4()), "pieces": [piece.pk]})

    assert answer.status_code == 422
    assert "Choose who does it" in answer.content.decode()
    assert f'name="pieces" value="{piece.pk}" checked' in answer.content.decode()


def test_the_first_dropoff_asks_for_a_finisher_first(client_of_owner: Client) -> None:
    assert "No finisher yet" in _shown(client_of_owner, "/out/new/")


# ---- built


def test_a_dropoff_offers_what_fits_and_folds_the_rest(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    make_building(car=car, by=owner, pieces=[])
    make_waiting(car=car, by=owner, name="Hub", work="blast")
    make_waiting(car=car, by=owner, name="Crankshaft", work="machine")

    page = _shown(client_of_owner, "/out/1/")

    assert page.index("Hub") < page.index("Waiting for other work") < page.index("Crankshaft")
    assert "The sheet is empty" in page


def test_ticked_pieces_go_on_the_sheet(client_of_owner: Client, car: Car, owner: Person) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    piece = make_waiting(car=car, by=owner)

    assert client_of_owner.post("/out/1/pieces/", {"pieces": [piece.pk]}).status_code == 302
    nothing = client_of_owner.post("/out/1/pieces/", {"pieces": ["x", ""]})

    assert one.lines.count() == 1
    assert nothing.status_code == 422
    assert "Tick the pieces that go" in nothing.content.decode()


def test_any_part_comes_on_the_sheet_by_its_tag(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    piece = factories.make_piece(car=car, by=owner)

    assert client_of_owner.post("/out/1/tag/", {"tag": f" {piece.tag.lower()} "}).status_code == 302
    unknown = client_of_owner.post("/out/1/tag/", {"tag": "9ZZ"})

    assert one.lines.get().piece == piece
    assert (unknown.status_code, "No part has this tag" in unknown.content.decode()) == (422, True)
    assert 'value="9ZZ"' in unknown.content.decode()


def test_a_lot_comes_with_count_weight_and_photo(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    post = {
        "key": str(uuid4()),
        "lot": "Hinge bolts",
        "count": "24",
        "weight_g": "380",
        "work_1": "plate",
        "photo_files": factories.make_upload(),
    }

    assert client_of_owner.post("/out/1/lots/", post).status_code == 302

    line = one.lines.get()
    assert (line.lot, line.count, line.weight_g, line.work) == ("Hinge bolts", 24, 380, "plate")
    assert line.photo.in_use


def test_a_lot_without_a_count_keeps_what_was_typed_and_its_photo(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    make_building(car=car, by=owner, pieces=[])
    post = {"key": str(uuid4()), "lot": "Hinge bolts", "photo_files": factories.make_upload()}

    answer = client_of_owner.post("/out/1/lots/", post)

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Count them" in page
    assert 'value="Hinge bolts"' in page
    assert 'name="photos"' in page


def test_a_photo_of_everything_laid_out_goes_on_the_sheet(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[])

    client_of_owner.post("/out/1/laid-out/", {"photo_files": factories.make_upload()})
    without = client_of_owner.post("/out/1/laid-out/", {})

    one.refresh_from_db()
    assert one.laid_out.in_use
    assert without.status_code == 422


def test_terms_are_saved_and_wrong_ones_keep_what_was_typed(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[])

    good = client_of_owner.post("/out/1/", {"colour": "satin black", "quoted": "84"})
    wrong = client_of_owner.post("/out/1/", {"colour": "gloss red", "thickness_um": "thick"})

    one.refresh_from_db()
    assert (good.status_code, one.colour, str(one.quoted)) == (302, "satin black", "84.00")
    assert wrong.status_code == 422
    assert 'value="gloss red"' in wrong.content.decode()


def test_two_people_change_the_terms_and_both_texts_are_shown(
    client_of_owner: Client, client_of_helper: Client, car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[])
    client_of_helper.post("/out/1/", {"colour": "red", "initial-colour": ""})

    clash = client_of_owner.post("/out/1/", {"colour": "black", "initial-colour": ""})
    page = clash.content.decode()

    one.refresh_from_db()
    assert (clash.status_code, one.colour) == (422, "red")
    assert "somebody else wrote “red” meanwhile" in page
    assert 'value="black"' in page
    assert 'name="initial-colour" value="red"' in page
    assert (
        client_of_owner.post("/out/1/", {"colour": "black", "initial-colour": "red"}).status_code
        == 302
    )


@pytest.mark.parametrize("rows", [1, 3])
def test_a_dropoff_asks_the_same_number_of_questions_for_any_number_of_lines(
    client_of_owner: Client, car: Car, owner: Person, rows: int, django_assert_num_queries: object
) -> None:
    pieces = [
        make_waiting(car=car, by=owner, photos=[factories.make_photo(by=owner)])
        for _ in range(rows)
    ]
    for piece in pieces:
        factories.make_piece(car=car, by=owner, name="Clip").change({"joined_into": piece})
        make_waiting(car=car, by=owner)
        make_waiting(car=car, by=owner, work="machine")
    make_building(car=car, by=owner, pieces=pieces)

    with django_assert_num_queries(17):
        _shown(client_of_owner, "/out/1/")


# ---- one line


def test_a_line_says_work_in_order_masks_and_hanging(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    line = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]).lines.get()
    post = _line_post(
        line,
        work_1="blast",
        work_2="paint",
        hang_by="the bore",
        colour="red",
        **{
            "masks-TOTAL_FORMS": "2",
            "masks-0-what": "earth",
            "masks-0-count": "1",
            "masks-0-how": "tape",
            "masks-1-what": "",
            "masks-1-count": "1",
        },
    )

    answer = client_of_owner.post(f"/lines/{line.pk}/", post)

    line.refresh_from_db()
    assert answer.headers["Location"] == "/out/1/"
    assert (line.work, line.hang_by, line.finish, line.tag_stays) == (
        "blast,paint",
        "the bore",
        "red",
        True,
    )
    assert [str(mask) for mask in line.masks.all()] == ["earth point, tape"]


def test_a_mask_without_a_place_is_asked_for_and_kept(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    line = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]).lines.get()
    post = _line_post(
        line, **{"masks-TOTAL_FORMS": "1", "masks-0-count": "4", "masks-0-thread": "M6"}
    )

    answer = client_of_owner.post(f"/lines/{line.pk}/", post)

    assert answer.status_code == 422
    assert "Say what is to be kept bare" in answer.content.decode()
    assert 'value="M6"' in answer.content.decode()


def test_a_line_changed_by_two_shows_both_texts(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    line = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]).lines.get()
    post = _line_post(line, remarks="mine")
    change(line, by=owner, remarks="theirs")

    page = client_of_owner.post(f"/lines/{line.pk}/", post)

    assert page.status_code == 422
    assert "theirs" in page.content.decode()
    assert "mine" in page.content.decode()


def test_a_line_comes_off_with_one_post(client_of_owner: Client, car: Car, owner: Person) -> None:
    line = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)]).lines.get()

    client_of_owner.post(f"/lines/{line.pk}/take-off/")

    assert Line.objects.count() == 0
