"""Cars and their systems: added, chosen, divided, thrown out and brought back."""

import pytest
from django.test import Client
from pytest_django import DjangoAssertNumQueries

from garage import cars
from garage.models import Car, Garage, Person, Photo, Role, System
from garage.models.car import STARTER_SYSTEMS, TORQUE_ASKED_FOR
from tests import factories
from tests.factories import NOW

CAR_FORM = {"marque": "Hollin", "model": "Wayfarer 1600", "year": "1969", "notes": ""}


def rows_of(car: Car) -> list[dict]:
    return list(System.objects.filter(car=car).values("pk", "position", "name", "asks_torque"))


def names_of(car: Car) -> list[str]:
    return [system.name for system in car.systems.all()]


def systems_form(rows: list[dict]) -> dict[str, str]:
    """What the page of systems sends, with ``rows`` on it."""
    form = {"form-TOTAL_FORMS": str(len(rows)), "form-INITIAL_FORMS": "0"}
    for number, row in enumerate(rows):
        for name, value in row.items():
            if value not in (None, False):
                form[f"form-{number}-{name}"] = "on" if value is True else str(value)
    return form


# ---- the verbs ----------------------------------------------------------------------------


def test_a_new_car_has_the_starter_systems_and_is_the_one_worked_on(owner: Person) -> None:
    car = cars.add_car(car=Car(marque="Hollin"), by=owner, now=NOW)

    owner.refresh_from_db()
    assert owner.car == car
    assert tuple(names_of(car)) == STARTER_SYSTEMS
    asked = {system.name for system in car.systems.all() if system.asks_torque}
    assert asked == TORQUE_ASKED_FOR
    assert car.created_at == NOW


def test_systems_are_renamed_reordered_and_added(car: Car) -> None:
    rows = rows_of(car)
    rows[0] |= {"name": "Radiator and hoses", "position": 40}
    rows.append({"pk": None, "position": 5, "name": "Heater", "asks_torque": True})

    cars.divide(car=car, rows=rows)

    assert names_of(car)[-1] == "Radiator and hoses"
    assert "Cooling" not in names_of(car)
    assert System.objects.get(car=car, name="Heater").asks_torque


def test_an_emptied_name_leaves_the_system_out(car: Car) -> None:
    rows = rows_of(car)
    rows[0]["name"] = ""

    cars.divide(car=car, rows=rows)

    assert tuple(names_of(car)) == STARTER_SYSTEMS[1:]


def test_a_system_added_meanwhile_by_somebody_else_stays(car: Car) -> None:
    rows = rows_of(car)
    System.objects.create(car=car, name="Heater", position=99)

    cars.divide(car=car, rows=rows)

    assert "Heater" in names_of(car)


def test_a_system_with_parts_is_not_left_out_and_nothing_else_is_changed(
    car: Car, owner: Person
) -> None:
    factories.make_part(car=car, by=owner, system=factories.system_of(car, "Fuel"))
    rows = rows_of(car)
    rows[0]["name"], rows[1]["name"] = "Water", ""

    with pytest.raises(cars.SystemsRefused, match="still has 1 parts"):
        cars.divide(car=car, rows=rows)
    assert tuple(names_of(car)) == STARTER_SYSTEMS


def test_two_systems_of_one_name_are_refused_and_nothing_is_changed(car: Car) -> None:
    rows = rows_of(car)
    rows[0]["name"], rows[1]["name"] = "Trim", "Fuel lines"

    with pytest.raises(cars.SystemsRefused, match="the same name"):
        cars.divide(car=car, rows=rows)
    assert tuple(names_of(car)) == STARTER_SYSTEMS


def test_the_systems_of_another_car_are_out_of_reach(car: Car) -> None:
    other = factories.make_car(marque="Other")
    foreign = System.objects.filter(car=other).first()

    cars.divide(car=car, rows=[{"pk": foreign.pk, "name": "Taken over"}])

    assert tuple(names_of(other)) == STARTER_SYSTEMS
    assert tuple(names_of(car)) == STARTER_SYSTEMS


def test_a_car_thrown_out_is_nobodys_and_comes_back_whole(car: Car, owner: Person) -> None:
    part = factories.make_part(car=car, by=owner)

    cars.throw_out(car=car, now=NOW)

    owner.refresh_from_db()
    assert owner.car is None
    assert not Car.objects.in_the_garage().exists()
    cars.bring_back(car=car)
    assert list(Car.objects.in_the_garage()) == [car]
    assert car.parts.get() == part


# ---- the pages ----------------------------------------------------------------------------


def test_a_car_is_added_with_its_picture(client_of_owner: Client) -> None:
    form = CAR_FORM | {"marque": "Otter", "photo_files": factories.make_upload()}

    answer = client_of_owner.post("/cars/new/", form, follow=True)

    car = Car.objects.get(marque="Otter")
    assert "Otter Wayfarer 1600 stands in the garage." in answer.content.decode()
    assert car.picture == Photo.objects.get()
    assert car.picture.in_use


@pytest.mark.parametrize(
    ("field", "value", "says"),
    [
        ("marque", "", "Give the marque"),
        ("year", "1884", "Give a year between 1885 and 2100"),
        ("year", "69²", "Enter a whole number"),
        ("started_on", "0001-01-01", "Give a day between 1900 and 2200"),
    ],
)
def test_a_car_to_put_right_is_shown_again_with_what_was_typed(
    client_of_owner: Client, field: str, value: str, says: str
) -> None:
    answer = client_of_owner.post("/cars/new/", CAR_FORM | {"colour": "Moss", field: value})

    assert answer.status_code == 422
    assert says in answer.content.decode()
    assert 'value="Moss"' in answer.content.decode()
    assert Car.objects.count() == 1


def test_a_picture_that_is_none_is_told_and_the_car_is_not_saved(client_of_owner: Client) -> None:
    half = factories.make_upload(content=factories.jpeg_bytes()[:200])

    answer = client_of_owner.post("/cars/new/", CAR_FORM | {"photo_files": half})

    assert answer.status_code == 422
    assert "pulley.jpg" in answer.content.decode()
    assert Car.objects.count() == 1
    assert not Photo.objects.exists()


def test_a_picture_survives_a_mistake_elsewhere_on_the_form(client_of_owner: Client) -> None:
    wrong = CAR_FORM | {"marque": "", "photo_files": factories.make_upload()}
    page = client_of_owner.post("/cars/new/", wrong).content.decode()
    kept = Photo.objects.get()
    assert f'name="photos" value="{kept.key}"' in page

    client_of_owner.post("/cars/new/", CAR_FORM | {"marque": "Otter", "photos": str(kept.key)})

    assert Car.objects.get(marque="Otter").picture == kept


def test_a_photo_of_somebody_elses_form_cannot_be_taken(
    client_of_owner: Client, helper: Person
) -> None:
    theirs = factories.make_photo(by=helper)

    client_of_owner.post("/cars/new/", CAR_FORM | {"marque": "Otter", "photos": str(theirs.key)})

    assert Car.objects.get(marque="Otter").picture is None


def test_an_empty_post_to_a_car_is_a_form_to_put_right(client_of_owner: Client, car: Car) -> None:
    assert client_of_owner.post(f"/cars/{car.pk}/", {}).status_code == 422


def test_everybody_chooses_the_car_they_look_at(client_of_viewer: Client, viewer: Person) -> None:
    other = factories.make_car(marque="Other")

    answer = client_of_viewer.post(f"/cars/{other.pk}/choose/")

    viewer.refresh_from_db()
    assert answer.headers["Location"] == "/"
    assert viewer.car == other


def test_a_car_that_was_thrown_out_cannot_be_chosen(client_of_viewer: Client) -> None:
    gone = factories.make_car(marque="Gone")
    cars.throw_out(car=gone, now=NOW)

    assert client_of_viewer.post(f"/cars/{gone.pk}/choose/").status_code == 404


def test_only_owners_see_what_was_thrown_out(
    client_of_owner: Client, client_of_helper: Client
) -> None:
    cars.throw_out(car=factories.make_car(marque="Gone"), now=NOW)

    assert "Gone" in client_of_owner.get("/cars/").content.decode()
    assert "Gone" not in client_of_helper.get("/cars/").content.decode()


def test_a_car_is_thrown_out_and_brought_back_by_its_buttons(
    client_of_owner: Client, car: Car
) -> None:
    client_of_owner.post(f"/cars/{car.pk}/throw-out/")
    assert not Car.objects.in_the_garage().exists()

    client_of_owner.post(f"/cars/{car.pk}/throw-out/", {"bring-back": "1"})
    assert list(Car.objects.in_the_garage()) == [car]


def test_the_page_of_systems_sends_back_what_it_showed(client_of_owner: Client, car: Car) -> None:
    answer = client_of_owner.post(f"/cars/{car.pk}/systems/", systems_form(rows_of(car)))

    assert answer.status_code == 302
    assert tuple(names_of(car)) == STARTER_SYSTEMS


@pytest.mark.parametrize(
    "form",
    [
        {},
        {"form-TOTAL_FORMS": "many", "form-INITIAL_FORMS": "0"},
        {"form-TOTAL_FORMS": "-1", "form-INITIAL_FORMS": "0"},
        {"form-TOTAL_FORMS": "99999999", "form-INITIAL_FORMS": "0"},
        {"form-TOTAL_FORMS": "0", "form-INITIAL_FORMS": "0"},
        {"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-pk": "²"},
        {"form-TOTAL_FORMS": "1", "form-INITIAL_FORMS": "0", "form-0-pk": "9" * 30},
    ],
)
def test_a_mangled_form_loses_no_system(
    client_of_owner: Client, car: Car, form: dict[str, str]
) -> None:
    answer = client_of_owner.post(f"/cars/{car.pk}/systems/", form)

    assert answer.status_code in (200, 302, 422)
    assert tuple(names_of(car)) == STARTER_SYSTEMS


def test_a_refusal_is_shown_over_what_was_typed(client_of_owner: Client, car: Car) -> None:
    rows = rows_of(car)
    rows[0]["name"] = rows[1]["name"]

    answer = client_of_owner.post(f"/cars/{car.pk}/systems/", systems_form(rows))

    assert answer.status_code == 422
    assert "Two systems have the same name." in answer.content.decode()


@pytest.mark.parametrize("cars_there", [1, 3])
def test_the_list_of_cars_takes_the_same_queries_for_one_and_three(
    client_of_owner: Client, cars_there: int, django_assert_num_queries: DjangoAssertNumQueries
) -> None:
    for number in range(cars_there - 1):
        factories.make_car(marque=f"Other {number}")
    Garage.here()

    # session, person with car, garage, cars, cars thrown out
    with django_assert_num_queries(5):
        client_of_owner.get("/cars/")


def test_a_helper_may_not_change_a_car(client_of_helper: Client, car: Car) -> None:
    assert Person.objects.get(username="ade").role == Role.HELPER
    assert client_of_helper.post(f"/cars/{car.pk}/", CAR_FORM).status_code == 403
