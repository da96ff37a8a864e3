"""The page that says what goes on first: by tag, by words, and never in a circle."""

import pytest
from django.test import Client
from django.urls import reverse
from pytest_django import DjangoAssertNumQueries

from garage.models import Car, Person
from parts.models import Part, Requirement
from parts.requirements import require
from tests.factories import NOW, make_car, make_part


def url(part: Part) -> str:
    return reverse("requirements", args=[part.tag])


def text_of(response) -> str:  # type: ignore[no-untyped-def]
    return " ".join(response.content.decode().split())


@pytest.fixture
def part(car: Car, owner: Person) -> Part:
    return make_part(car=car, by=owner, name="Pedal box")


@pytest.fixture
def column(car: Car, owner: Person) -> Part:
    return make_part(car=car, by=owner, name="Steering column")


def test_an_empty_page_teaches_when_to_say_so(client_of_owner: Client, part: Part) -> None:
    assert "Nothing must be on before it" in text_of(client_of_owner.get(url(part)))


@pytest.mark.parametrize(
    ("which", "first", "then"),
    [("before", "Steering column", "Pedal box"), ("after", "Pedal box", "Steering column")],
)
@pytest.mark.parametrize("by_tag", [True, False])
def test_a_part_is_added_by_tag_or_by_words_on_either_side(
    client_of_helper: Client,
    part: Part,
    column: Part,
    which: str,
    first: str,
    then: str,
    by_tag: bool,
) -> None:
    other = column.tag.lower() if by_tag else "COLUMN"

    for _ in range(2):
        answer = client_of_helper.post(url(part), {"which": which, "other": other})
        assert answer.status_code == 302

    row = Requirement.objects.get()
    assert (row.first.name, row.then.name) == (first, then)


def test_several_that_answer_are_offered_and_nothing_is_added(
    client_of_owner: Client, part: Part, column: Part, car: Car, owner: Person
) -> None:
    make_part(car=car, by=owner, name="Steering box")

    answer = client_of_owner.post(url(part), {"which": "after", "other": "steering"})

    page = text_of(answer)
    assert answer.status_code == 422
    assert "2 parts answer to “steering”" in page
    assert f'name="other" value="{column.tag}"' in page
    assert '<input type="hidden" name="which" value="after">' in page
    assert not Requirement.objects.exists()


def test_nothing_that_answers_keeps_the_words(client_of_owner: Client, part: Part) -> None:
    answer = client_of_owner.post(url(part), {"which": "before", "other": "flux box"})

    assert answer.status_code == 422
    assert 'value="flux box"' in text_of(answer)


def test_a_part_of_another_car_does_not_answer(
    client_of_owner: Client, part: Part, owner: Person
) -> None:
    stranger = make_part(car=make_car(model="Wanderer"), by=owner, name="Stranger")

    answer = client_of_owner.post(url(part), {"which": "before", "other": stranger.tag})

    assert answer.status_code == 422
    assert not Requirement.objects.exists()


def test_a_circle_is_refused_and_named(
    client_of_owner: Client, part: Part, column: Part, owner: Person
) -> None:
    require(first=column, then=part, by=owner, now=NOW)

    answer = client_of_owner.post(url(part), {"which": "after", "other": column.tag})

    ring = f"{part.tag} before {column.tag} before {part.tag}"
    assert answer.status_code == 422
    assert ring in text_of(answer)
    assert Requirement.objects.count() == 1


def test_a_line_is_taken_off_the_list(
    client_of_owner: Client, part: Part, column: Part, owner: Person
) -> None:
    require(first=column, then=part, by=owner, now=NOW)
    row = Requirement.objects.get()

    answer = client_of_owner.post(url(part), {"drop": str(row.pk)})

    assert answer.status_code == 302
    assert not Requirement.objects.exists()


def test_a_line_of_another_part_is_not_taken_off_here(
    client_of_owner: Client, part: Part, column: Part, car: Car, owner: Person
) -> None:
    elsewhere = make_part(car=car, by=owner, name="Grille")
    require(first=column, then=elsewhere, by=owner, now=NOW)

    answer = client_of_owner.post(url(part), {"drop": str(Requirement.objects.get().pk)})

    assert answer.status_code == 404
    assert client_of_owner.post(url(part), {"drop": "²"}).status_code == 404
    assert Requirement.objects.count() == 1


@pytest.mark.parametrize("count", [1, 3])
def test_the_page_takes_as_many_queries_for_three_as_for_one(
    client_of_owner: Client,
    part: Part,
    car: Car,
    owner: Person,
    count: int,
    django_assert_num_queries: DjangoAssertNumQueries,
) -> None:
    for number in range(count):
        before = make_part(car=car, by=owner, name=f"Before {number}")
        after = make_part(car=car, by=owner, name=f"After {number}")
        require(first=before, then=part, by=owner, now=NOW)
        require(first=part, then=after, by=owner, now=NOW)
    client_of_owner.get(url(part))

    with django_assert_num_queries(9):
        page = text_of(client_of_owner.get(url(part)))

    assert page.count('<li class="wait-line"') == 2 * count


def test_a_viewer_changes_nothing(client_of_viewer: Client, part: Part, column: Part) -> None:
    assert "Put it on the list" not in text_of(client_of_viewer.get(url(part)))
    answer = client_of_viewer.post(url(part), {"which": "before", "other": column.tag})
    assert answer.status_code == 403
