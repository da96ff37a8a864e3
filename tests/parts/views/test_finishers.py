import pytest
from django.test import Client

from garage.models import Car, Garage, Person
from parts.models import DropOff, Finisher, Process
from tests import factories
from tests.factories import NOW
from tests.parts.batches import count_line, make_building, make_out, make_waiting


def _shown(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


def _finisher_post(**fields: str) -> dict[str, str]:
    return {
        "name": "Tarn Plating",
        "lead_days": "14",
        "services-TOTAL_FORMS": "3",
        "services-INITIAL_FORMS": "0",
        "services-0-process": "plate",
        "services-0-note": "zinc",
        "services-1-process": "powder",
        "services-1-peak_c": "190",
        "services-1-peak_minutes": "12",
        "services-2-process": "",
        **fields,
    }


def test_a_finisher_is_written_down_with_what_it_does(client_of_owner: Client) -> None:
    answer = client_of_owner.post("/finishers/new/", _finisher_post())

    one = Finisher.objects.get()
    assert answer.headers["Location"] == f"/finishers/{one.pk}/"
    assert one.offers == (Process.PLATE, Process.POWDER)
    page = _shown(client_of_owner, f"/finishers/{one.pk}/")
    assert "190 °C metal, 12 min" in page
    assert "14 days" in page


def test_the_same_work_twice_is_refused_and_nothing_typed_is_lost(client_of_owner: Client) -> None:
    answer = client_of_owner.post(
        "/finishers/new/", _finisher_post(**{"services-1-process": "plate"})
    )

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Plate is there twice" in page
    assert 'value="Tarn Plating"' in page
    assert 'value="zinc"' in page
    assert Finisher.objects.count() == 0


def test_work_set_to_nothing_is_taken_off(client_of_owner: Client) -> None:
    one = factories.make_finisher()

    client_of_owner.post(
        f"/finishers/{one.pk}/change/",
        _finisher_post(**{"services-1-process": "", "services-INITIAL_FORMS": "2"}),
    )

    assert Finisher.objects.get().offers == (Process.PLATE,)


def test_a_finisher_tells_how_long_it_really_took(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    one = make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])
    count_line(one.lines.get(), by=owner, good=1, days=13)

    page = _shown(client_of_owner, f"/finishers/{one.finisher_id}/")

    assert "13 days" in page
    assert DropOff.objects.get().closed_at > NOW


@pytest.mark.parametrize("rows", [1, 3])
def test_finishers_ask_the_same_number_of_questions_for_any_number_of_rows(
    client_of_owner: Client, rows: int, django_assert_num_queries: object
) -> None:
    for number in range(rows):
        factories.make_finisher(name=f"Shop {number}")
    Garage.here()

    with django_assert_num_queries(5):
        _shown(client_of_owner, "/finishers/")


@pytest.mark.parametrize("rows", [1, 3])
def test_a_finishers_page_asks_the_same_number_of_questions_for_any_number_of_dropoffs(
    client_of_owner: Client, car: Car, owner: Person, rows: int, django_assert_num_queries: object
) -> None:
    for _ in range(rows):
        one = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    with django_assert_num_queries(7):
        _shown(client_of_owner, f"/finishers/{one.finisher_id}/")
