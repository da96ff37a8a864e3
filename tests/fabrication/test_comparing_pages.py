"""Pages of the comparison: boxes for what was measured, and what is said of it."""

import re
from uuid import uuid4

import pytest
from django.test import Client
from django.urls import reverse

from fabrication.models import Comparison
from garage.models import Car, Person
from tests.fabrication.bending_rows import make_comparison, make_making, make_reading
from tests.fabrication.page_parts import values_of, words_of
from tests.fabrication.pipe_rows import make_sheet, pipe_of

L_PIPE = pipe_of((100, 0, 90), last_mm=100)


def posted(way: str, *rows: tuple[str, ...], after: int, **boxes: str) -> dict[str, str]:
    """What a browser posts of a measured pipe."""
    names = {"rows": ("straight", "twist", "bend"), "angles": ("bend",), "corners": ("x", "y", "z")}
    data = {"key": str(uuid4()), "way": way, "after": str(after)}
    for number, row in enumerate(rows):
        for name, text in zip(names[way], row, strict=True):
            data[f"m{number}-{name}"] = text
    return data | boxes


def advised(client: Client, row: Comparison) -> str:
    """The page of a comparison with what can be done."""
    return client.get(f"{row.get_absolute_url()}?advice=1").content.decode()


def test_boxes_are_empty_with_what_is_wanted_beside_them(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)

    html = client_of_owner.get(reverse("compare_pipe", args=[sheet.pk])).content.decode()

    boxes = values_of(html)
    wanted = re.findall(r'class="wanted">([^<]*)<', html)
    assert (boxes["m0-straight"], boxes["m1-bend"], boxes["last"]) == ("", "", "")
    assert wanted == ["100.0", "", "90.0°", "80.0", "90.0°", "60.0°", "120.0"]


def test_a_pipe_measured_by_rows_says_what_is_off_and_what_to_do(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    """The bend of 88 is 2 short; 1.57 mm of tube it did not take lies beyond it."""
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    data = posted("rows", ("100", "0", "88"), after=1, last="101.57")

    client_of_owner.post(reverse("compare_pipe", args=[sheet.pk]), data)

    said = words_of(advised(client_of_owner, Comparison.objects.get()))
    assert "Bend 1 is 2.0° short ." in said
    assert "End B lies 3.5 mm off ↑ : 3.5 mm high, towards 12 o'clock" in said
    assert "End B points 2.0° away" in said
    assert "Close bend 1 by 2.0° : end B is then off by 0.0 mm" in said
    assert "safe" not in said.lower()


def test_an_over_bent_pipe_is_to_be_remade_and_why(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    making = make_making(by=owner, pipe=L_PIPE)
    row = make_comparison(making, 94.0)

    said = words_of(advised(client_of_owner, row))

    assert "Make it again" in said
    assert "Bend 1 is 4.0 degrees over, and cannot open." in said


def test_a_pipe_as_wanted_is_left_as_it_is(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    row = make_comparison(make_making(by=owner, pipe=L_PIPE), 90.0)

    said = words_of(advised(client_of_owner, row))

    assert "Leave it as it is" in said
    assert "End B lies where it should." in said
    assert "safe" not in said.lower()


def test_what_can_be_done_comes_second_and_without_scripts_as_a_whole_page(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    row = make_comparison(make_making(by=owner, pipe=L_PIPE), 94.0)
    url = f"{row.get_absolute_url()}?laid=a&close=former&advice=1"

    first = client_of_owner.get(row.get_absolute_url()).content.decode()
    piece = client_of_owner.get(url, headers={"HX-Request": "true"}).content.decode()
    whole = client_of_owner.get(url).content.decode()

    assert "Working out what can be done" in first and "Make it again" not in first
    assert "Bend 1 is 4.0° over" in words_of(first)
    plain = re.search(r'<noscript><meta http-equiv="refresh" content="0;url=([^"]*)"', first)
    assert plain and plain[1] == "?laid=a&amp;close=former&amp;advice=1"
    assert "<html" not in piece
    assert 'id="verdict" hx-swap-oob="true">Make it again<' in piece and "Remake it" in piece
    assert "Make it again" in whole and "Remake it" in whole and "<noscript>" not in whole


def test_it_is_laid_over_end_a_or_shared_out(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    row = make_comparison(make_making(by=owner), 88.0, 60.0)

    over_a = words_of(client_of_owner.get(row.get_absolute_url()).content.decode())
    shared = words_of(client_of_owner.get(f"{row.get_absolute_url()}?laid=shared").content.decode())

    assert "End A lies where it should." in over_a
    assert "End A lies where it should." not in shared
    assert "the ends count three times" in shared


def test_corner_points_are_read_too(client_of_owner: Client, owner: Person, car: Car) -> None:
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    data = posted("corners", ("0", "0", "0"), ("145", "0", "0"), ("145", "0", "-145"), after=1)

    client_of_owner.post(reverse("compare_pipe", args=[sheet.pk]), data)

    said = words_of(
        client_of_owner.get(Comparison.objects.get().get_absolute_url()).content.decode()
    )
    assert "No straight, twist or bend is off" in said


def test_a_half_made_pipe_offers_the_bends_it_has_with_what_the_gauge_last_said(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    making = make_making(by=owner)
    make_reading(making, 1, 92, 89.5)
    url = f"{reverse('compare_pipe', args=[making.sheet_id])}?making={making.pk}&way=angles"

    boxes = values_of(client_of_owner.get(url).content.decode())

    assert {name: boxes[name] for name in boxes if name[:2] == "m0"} == {"m0-bend": "89.5"}
    assert "m1-bend" not in boxes


@pytest.mark.parametrize(
    ("wrong", "says"),
    [
        ({"m0-bend": ""}, "Write how far it bends"),
        ({"m0-straight": "soon"}, "soon"),
        ({"last": ""}, "Write the straight up to end B"),
        ({"m0-bend": "0"}, "0"),
        ({"will_do": "-3"}, "100 mm"),
    ],
)
def test_a_fault_stands_beside_its_box_and_nothing_is_lost(
    client_of_owner: Client, owner: Person, car: Car, wrong: dict[str, str], says: str
) -> None:
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    data = posted("rows", ("100", "0", "88"), after=1, last="101.5", will_do="3") | wrong

    answer = client_of_owner.post(reverse("compare_pipe", args=[sheet.pk]), data)

    html = answer.content.decode()
    boxes = values_of(html)
    kept = ("m0-straight", "m0-bend", "last", "will_do")
    assert answer.status_code == 422
    assert says in html
    assert 'class="error"' in html
    assert {name: boxes[name] for name in kept} == {name: data[name] for name in kept}
    assert not Comparison.objects.exists()


def test_corners_that_are_one_point_are_refused_at_their_row(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    data = posted("corners", ("0", "0", "0"), ("145", "0", "0"), ("145", "0", "0"), after=1)

    answer = client_of_owner.post(reverse("compare_pipe", args=[sheet.pk]), data)

    assert answer.status_code == 422
    assert 'id="id_m2-x_error"' in answer.content.decode()


def test_a_corner_that_is_none_leaves_a_bend_too_few(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    data = posted("corners", ("0", "0", "0"), ("145", "0", "0"), ("290", "0", "0"), after=1)

    answer = client_of_owner.post(reverse("compare_pipe", args=[sheet.pk]), data)

    assert answer.status_code == 422
    assert "0 bends are measured and 1 wanted" in answer.content.decode()


def test_the_same_form_twice_is_one_comparison_and_another_asks(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner, pipe=L_PIPE)
    url = reverse("compare_pipe", args=[sheet.pk])
    data = posted("angles", ("88",), after=1)

    first, again = (client_of_owner.post(url, data) for _ in range(2))
    other = client_of_owner.post(url, data | {"m0-bend": "87"})

    assert first["Location"] == again["Location"]
    assert other.status_code == 422
    assert values_of(other.content.decode())["key"] != data["key"]
    assert Comparison.objects.count() == 1


def test_it_is_compared_with_the_pipe_as_it_was_begun(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    making = make_making(by=owner, pipe=L_PIPE)
    making.sheet.former.measured_radius_mm = 60.0
    making.sheet.former.save()
    url = f"{reverse('compare_pipe', args=[making.sheet_id])}?making={making.pk}"

    client_of_owner.post(
        url,
        posted("corners", ("0", "0", "0"), ("145", "0", "0"), ("145", "145", "0"), after=1)
        | {"making": str(making.pk)},
    )

    row = Comparison.objects.get()
    said = words_of(client_of_owner.get(row.get_absolute_url()).content.decode())
    assert row.making == making
    assert "No straight, twist or bend is off" in said


def test_taken_out_it_is_listed_no_more(client_of_owner: Client, owner: Person, car: Car) -> None:
    making = make_making(by=owner, pipe=L_PIPE)
    row = make_comparison(making, 88.0)

    client_of_owner.post(reverse("comparison_out", args=[row.pk]))

    html = client_of_owner.get(reverse("compare_pipe", args=[making.sheet_id])).content.decode()
    assert "Nothing yet." in html
    assert client_of_owner.get(row.get_absolute_url()).status_code == 404
