"""Pages of holes, without JavaScript: a post is a post, and nothing typed is lost."""

from uuid import uuid4

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts import fasteners
from parts.models import Hole, Part, StackItem
from tests import factories

What = StackItem.What
LINE = "M8 x 25 bolt, plain washer, the part, spring washer, nut"


@pytest.fixture
def part(car: Car, owner: Person) -> Part:
    return factories.make_part(car=car, by=owner)


def filled(**fields: str) -> dict[str, str]:
    return {"key": str(uuid4()), "number": "1", "count": "1", "rows": "0"} | fields


def rows(*things: dict[str, str]) -> dict[str, str]:
    """The fields of rows as a browser sends them."""
    posted = {"rows": str(len(things))}
    for number, thing in enumerate(things):
        whole = {"order": str(number + 1), "what": "", "treatment": "clean"} | thing
        posted |= {f"row-{number}-{name}": value for name, value in whole.items()}
    return posted


def make_hole(part: Part, by: Person, number: int = 1) -> Hole:
    stack = [StackItem(what=What.BOLT, thread="M8", length_mm=25.0, length_typed="25 mm")]
    fields = {"number": number, "where": "top"}
    return fasteners.save_hole(
        part=part, key=uuid4(), fields=fields, stack=stack, by=by, now=factories.NOW
    )


def changed(hole: Hole, **fields: str) -> dict[str, str]:
    """A post over a hole as its page was shown."""
    return filled(seen=fasteners.mark_of(Hole.objects.with_stacks().get(pk=hole.pk))) | fields


def test_the_page_without_holes_teaches(client_of_owner: Client, part: Part) -> None:
    page = client_of_owner.get(f"/parts/{part.tag}/holes/")

    assert "No holes yet" in page.text
    assert f"/parts/{part.tag}/holes/new/" in page.text


def test_the_new_sheet_offers_the_next_number_and_five_blank_rows(
    client_of_owner: Client, part: Part, owner: Person
) -> None:
    make_hole(part, owner)

    sheet = client_of_owner.get(f"/parts/{part.tag}/holes/new/").context["sheet"]

    assert sheet.form["number"].value() == 2
    assert len(sheet.rows) == 5


def test_a_line_is_saved_as_a_stack(client_of_owner: Client, part: Part) -> None:
    answer = client_of_owner.post(f"/parts/{part.tag}/holes/new/", filled(quick=LINE))

    assert answer.status_code == 302
    assert [item.what for item in Hole.objects.get().stack.all()] == [
        What.BOLT, What.PLAIN_WASHER, What.THE_PART, What.SPRING_WASHER, What.NUT,
    ]  # fmt: skip


def test_rows_are_saved_in_the_order_of_their_numbers(client_of_owner: Client, part: Part) -> None:
    posted = rows(
        {"what": "nut", "order": "3", "thread": "M8"},
        {
            "what": "bolt",
            "order": "1",
            "thread": "M8",
            "length": "1 1/4 in",
            "property_class": "8.8",
        },
        {},
        {"what": "shim", "order": "2", "length": "0.3", "treatment": "renew"},
    )

    client_of_owner.post(f"/parts/{part.tag}/holes/new/", filled(**posted))

    bolt, shim, nut = Hole.objects.get().stack.all()
    assert (bolt.length_mm, bolt.length_typed, bolt.property_class) == (31.75, "1 1/4 in", "8.8")
    assert (shim.what, shim.length_mm, shim.treatment) == (What.SHIM, 0.3, "renew")
    assert nut.thread == "M8"


def test_a_torque_keeps_what_was_typed(client_of_owner: Client, part: Part) -> None:
    """1 lbf ft is 1.355 818 N m (NIST SP 811)."""
    posted = filled(quick=LINE, torque="13 lbf ft", torque_source="manual, B 12")

    client_of_owner.post(f"/parts/{part.tag}/holes/new/", posted)

    hole = Hole.objects.get()
    assert hole.torque_nm == pytest.approx(17.6256, abs=1e-4)
    assert (hole.torque_typed, hole.torque_source) == ("13 lbf ft", "manual, B 12")
    page = client_of_owner.get(f"/parts/{part.tag}/holes/").text
    assert "(13 lbf ft)" in page
    assert "The workshop manual wins" in page


@pytest.mark.parametrize(
    ("wrong", "said"),
    [
        ({"quick": "M8 x 25 bolt, gubbins"}, "“gubbins” names no fastener"),
        ({"torque": "18"}, "18"),
        ({"torque": "0 N m"}, "A torque is more than nothing"),
        ({"number": "0"}, "greater than or equal to 1"),
        ({"x": "30"}, "A pin needs its photo"),
        (rows({"what": "bolt", "length": "1,250 mm"}), "Is 1,250 mm 1.25 mm or 1250 mm?"),
        (rows({"what": "bolt", "length": "-5 mm"}), "-5 mm"),
        (rows({"thread": "M8"}), "Say what it is"),
    ],
)
def test_a_wrong_box_is_named_and_nothing_typed_is_lost(
    client_of_owner: Client, part: Part, wrong: dict[str, str], said: str
) -> None:
    typed = {"where": "behind the flange", "note": "one was cut down"}

    answer = client_of_owner.post(f"/parts/{part.tag}/holes/new/", filled(**typed, **wrong))

    assert answer.status_code == 422
    assert said in answer.text
    for text in (*typed.values(), *wrong.values()):
        assert (
            f'value="{text}"' in answer.text
            or f">{text}<" in answer.text
            or text in ("bolt", "clean")
        )
    assert not Hole.objects.exists()


def test_the_sheet_sent_twice_saves_one_hole(client_of_owner: Client, part: Part) -> None:
    posted = filled(quick=LINE)

    answers = [client_of_owner.post(f"/parts/{part.tag}/holes/new/", posted) for _ in range(2)]

    assert [answer.status_code for answer in answers] == [302, 302]
    assert Hole.objects.count() == 1


def test_a_saved_sheet_gone_back_to_asks_once_more_under_a_fresh_key(
    client_of_owner: Client, part: Part
) -> None:
    posted = filled(quick=LINE)
    client_of_owner.post(f"/parts/{part.tag}/holes/new/", posted)

    answer = client_of_owner.post(
        f"/parts/{part.tag}/holes/new/", posted | {"number": "2", "where": "low"}
    )

    assert answer.status_code == 422
    assert 'value="low"' in answer.text
    key = answer.context["sheet"].form["key"].value()
    again = client_of_owner.post(
        f"/parts/{part.tag}/holes/new/", posted | {"number": "2", "key": key}
    )
    assert again.status_code == 302
    assert Hole.objects.count() == 2


def test_fill_the_rows_shows_the_stack_and_saves_nothing(
    client_of_owner: Client, part: Part
) -> None:
    posted = filled(quick=LINE, read="1", where="top") | rows({"what": "clip"}, {}, {}, {}, {})

    answer = client_of_owner.post(f"/parts/{part.tag}/holes/new/", posted)

    sheet = answer.context["sheet"]
    assert [row["what"].value() for row in sheet.rows] == [
        "clip", "bolt", "washer", "part", "spring_washer", "nut",
    ]  # fmt: skip
    assert (sheet.form["quick"].value(), sheet.form["where"].value()) == ("", "top")
    assert not Hole.objects.exists()


def test_one_more_row_keeps_what_is_typed_even_where_it_is_wrong(
    client_of_owner: Client, part: Part
) -> None:
    posted = filled(more="1") | rows({"what": "bolt", "length": "1,250 mm"})

    answer = client_of_owner.post(f"/parts/{part.tag}/holes/new/", posted)

    assert answer.status_code == 200
    assert 'value="1,250 mm"' in answer.text
    assert len(answer.context["sheet"].rows) == 2


def test_htmx_gets_the_sheet_alone(client_of_owner: Client, part: Part) -> None:
    answer = client_of_owner.post(
        f"/parts/{part.tag}/holes/new/", filled(more="1"), headers={"HX-Request": "true"}
    )

    assert answer.text.lstrip().startswith("<form")
    assert "<html" not in answer.text


def test_same_as_another_hole_copies_its_stack(
    client_of_owner: Client, part: Part, owner: Person
) -> None:
    make_hole(part, owner)

    answer = client_of_owner.post(f"/parts/{part.tag}/holes/new/", filled(number="2", like="1"))

    first = answer.context["sheet"].rows[0]
    assert (first["what"].value(), first["thread"].value(), first["length"].value()) == (
        "bolt",
        "M8",
        "25 mm",
    )


@pytest.mark.parametrize("like", ["9", "x", "-1"])
def test_the_same_as_no_hole_is_not_found(client_of_owner: Client, part: Part, like: str) -> None:
    answer = client_of_owner.post(f"/parts/{part.tag}/holes/new/", filled(like=like))

    assert answer.status_code == 404


def test_a_hole_shown_and_saved_again_is_the_same(
    client_of_owner: Client, part: Part, owner: Person
) -> None:
    """A person who thinks in inches must not turn 25 mm into 25 in by saving."""
    hole = make_hole(part, owner)
    StackItem.objects.update(length_typed="25")
    owner.units = "in"
    owner.save(update_fields=["units"])
    sheet = client_of_owner.get(f"/holes/{hole.pk}/").context["sheet"]
    posted = {field.html_name: str(field.value() or "") for field in sheet.form}
    posted |= {field.html_name: str(field.value() or "") for row in sheet.rows for field in row}

    answer = client_of_owner.post(f"/holes/{hole.pk}/", posted | {"rows": str(len(sheet.rows))})

    assert answer.status_code == 302
    assert StackItem.objects.get().length_mm == 25.0


def test_a_change_over_a_newer_one_shows_both_and_saves_on_the_second_press(
    client_of_owner: Client, part: Part, owner: Person
) -> None:
    hole = make_hole(part, owner)
    posted = changed(hole, where="mine")
    client_of_owner.post(f"/holes/{hole.pk}/", changed(hole, where="theirs", quick="M10 nut"))

    answer = client_of_owner.post(f"/holes/{hole.pk}/", posted)

    assert answer.status_code == 422
    assert "theirs: M10 nut" in answer.text
    assert 'value="mine"' in answer.text
    posted["seen"] = answer.context["sheet"].form["seen"].value()
    assert client_of_owner.post(f"/holes/{hole.pk}/", posted).status_code == 302
    assert Hole.objects.get().where == "mine"


def test_a_hole_is_pinned_on_a_photo_by_figures(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    part = factories.make_part(car=car, by=owner, photos=[factories.make_photo(by=owner)])
    photo = part.photos.get()
    posted = filled(quick=LINE, photo=str(photo.pk), x="25", y="50.5")

    client_of_owner.post(f"/parts/{part.tag}/holes/new/", posted)

    hole = Hole.objects.get()
    assert (hole.photo, hole.x, hole.y) == (photo, 0.25, 0.505)
    assert 'cx="250"' in client_of_owner.get(f"/parts/{part.tag}/holes/").text


def test_a_hole_is_taken_out(client_of_helper: Client, part: Part, owner: Person) -> None:
    hole = make_hole(part, owner)

    answer = client_of_helper.post(f"/holes/{hole.pk}/", {"take_out": "1"}, follow=True)

    assert "Hole 1 is taken out" in answer.text
    assert not Hole.objects.exists()


def test_a_viewer_sees_holes_and_cannot_change_them(
    client_of_viewer: Client, part: Part, owner: Person
) -> None:
    hole = make_hole(part, owner)

    assert client_of_viewer.get(f"/parts/{part.tag}/holes/").status_code == 200
    assert client_of_viewer.post(f"/holes/{hole.pk}/", {"take_out": "1"}).status_code == 403
    assert client_of_viewer.post(f"/parts/{part.tag}/holes/new/", filled()).status_code == 403
    assert Hole.objects.count() == 1


def test_look_alike_threads_are_cautioned_on_the_page(client_of_owner: Client, part: Part) -> None:
    for number, line in (("1", "M8 x 25 bolt"), ("2", "5/16 UNC x 1 in bolt")):
        client_of_owner.post(f"/parts/{part.tag}/holes/new/", filled(number=number, quick=line))

    page = client_of_owner.get(f"/parts/{part.tag}/holes/").text

    assert 'class="caution is-caution"' in page
    assert "UNC starts in an M8 thread" in page


@pytest.mark.parametrize("holes", [1, 3])
def test_the_page_of_holes_keeps_its_queries(
    client_of_owner: Client,
    part: Part,
    owner: Person,
    holes: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(1, holes + 1):
        make_hole(part, owner, number)
    url = f"/parts/{part.tag}/holes/"
    client_of_owner.get(url)

    with django_assert_num_queries(8):
        client_of_owner.get(url)
