"""What stands heat: every figure with its source, and written over by who works here."""

import pytest
from django.test import Client

from parts.models import Adhesive, Alloy, Limit
from tests import factories

pytestmark = pytest.mark.django_db


@pytest.fixture(autouse=True)
def _tables() -> None:
    factories.sow_heat()


def _key(client: Client, url: str) -> str:
    return client.get(url).content.decode().split('name="key" value="')[1].split('"')[0]


def _limit(**fields: str) -> dict[str, str]:
    return {
        "name": "Cork gasket",
        "sort": "left_on",
        "limit_c": "120",
        "source": "Gasket maker's letter",
        **fields,
    }


def test_every_row_is_shown_with_its_source(client_of_viewer: Client) -> None:
    page = client_of_viewer.get("/heat/").content.decode()

    for row in (*Adhesive.objects.all(), *Alloy.objects.all(), *Limit.objects.all()):
        assert row.source
        assert f'href="{row.get_absolute_url()}"' in page
    assert "Soldering alloy table (EN 29453, BS 219), read" in page
    assert "Our figure" in page


def test_a_sort_of_adhesive_stands_no_oven_until_a_sheet_says_so() -> None:
    assert set(Adhesive.objects.values_list("short_peak_c", flat=True)) == {None}


@pytest.mark.parametrize("model", [Adhesive, Alloy, Limit])
def test_sowing_twice_writes_over_nothing(model: type[Limit]) -> None:
    row = model.objects.first()
    model.objects.filter(pk=row.pk).update(source="Ours now")
    before = model.objects.count()

    factories.sow_heat()

    assert model.objects.count() == before
    assert model.objects.get(pk=row.pk).source == "Ours now"


def test_a_limit_is_added_and_the_same_form_twice_is_one(client_of_helper: Client) -> None:
    url = "/heat/limits/new/"
    key = _key(client_of_helper, url)

    for _ in range(2):
        client_of_helper.post(url, _limit(key=key))

    row = Limit.objects.get(name="Cork gasket")
    assert (row.limit_c, row.source, row.is_ours) == (120.0, "Gasket maker's letter", False)


def test_a_used_form_with_something_else_in_it_is_said(client_of_helper: Client) -> None:
    url = "/heat/limits/new/"
    key = _key(client_of_helper, url)
    client_of_helper.post(url, _limit(key=key))

    answer = client_of_helper.post(url, _limit(key=key, limit_c="90"))

    assert answer.status_code == 422
    assert "used already" in answer.content.decode()


def test_a_row_needs_a_source_and_a_name_of_its_own(client_of_helper: Client) -> None:
    url = "/heat/limits/new/"
    key = _key(client_of_helper, url)

    answer = client_of_helper.post(url, _limit(key=key, name="leather", source=" "))

    page = answer.content.decode()
    assert answer.status_code == 422
    assert "Say where the figures come from" in page
    assert "There is one of this name already" in page


def test_an_alloy_is_changed_and_reads_fahrenheit(client_of_helper: Client) -> None:
    alloy = Alloy.objects.get(name="Pure tin")

    client_of_helper.post(
        alloy.get_absolute_url(),
        {
            "key": str(alloy.key),
            "name": "Pure tin",
            "family": "soft",
            "solidus_c": "450 F",
            "source": "Melted a bit of it",
            "is_ours": "on",
        },
    )

    alloy.refresh_from_db()
    assert alloy.solidus_c == pytest.approx((450 - 32) / 1.8)
    assert alloy.is_ours


def test_it_cannot_be_all_melted_before_it_begins(client_of_helper: Client) -> None:
    alloy = Alloy.objects.get(name="Pure tin")

    answer = client_of_helper.post(
        alloy.get_absolute_url(),
        {
            "key": str(alloy.key),
            "name": "Pure tin",
            "family": "soft",
            "solidus_c": "232",
            "liquidus_c": "200",
            "source": "A table",
        },
    )

    assert "It cannot be all melted before it begins to" in answer.content.decode()


def test_a_product_sheet_is_written_over_a_sort(client_of_helper: Client) -> None:
    url = "/heat/adhesives/new/"
    key = _key(client_of_helper, url)
    times = {
        "times-TOTAL_FORMS": "3",
        "times-INITIAL_FORMS": "0",
        "times-0-temp_c": "40",
        "times-0-full_h": "8",
        "times-1-temp_c": "20",
        "times-1-handling_h": "1.5",
        "times-1-full_h": "72",
        "times-2-temp_c": "",
    }

    client_of_helper.post(
        url,
        {
            "key": key,
            "name": "Weir Yard 12",
            "code": "steel_epoxy",
            "short_peak_c": "200",
            "short_peak_minutes": "30",
            "source": "Product sheet, 2025",
            **times,
        },
    )

    row = Adhesive.objects.get(name="Weir Yard 12")
    assert (row.short_peak_c, row.short_peak_minutes) == (200.0, 30.0)
    assert row.schedule == [
        {"temp_c": 20.0, "handling_h": 1.5, "full_h": 72.0},
        {"temp_c": 40.0, "handling_h": None, "full_h": 8.0},
    ]


def test_an_adhesives_own_page_shows_what_was_saved(client_of_helper: Client) -> None:
    row = factories.make_adhesive()

    page = client_of_helper.get(row.get_absolute_url()).content.decode()

    assert 'value="200 °C"' in page
    assert 'name="times-0-temp_c" value="20 °C"' in page


def test_full_cure_cannot_come_before_handling(client_of_helper: Client) -> None:
    row = factories.make_adhesive()

    answer = client_of_helper.post(
        row.get_absolute_url(),
        {
            "key": str(row.key),
            "name": row.name,
            "code": row.code,
            "source": row.source,
            "times-TOTAL_FORMS": "1",
            "times-INITIAL_FORMS": "1",
            "times-0-temp_c": "20",
            "times-0-handling_h": "9",
            "times-0-full_h": "8",
        },
    )

    assert answer.status_code == 422
    assert "Full cure cannot come before handling" in answer.content.decode()


def test_a_viewer_changes_nothing(client_of_viewer: Client) -> None:
    row = Limit.objects.first()

    answer = client_of_viewer.post(row.get_absolute_url(), _limit(key=str(row.key)))

    assert answer.status_code == 403
