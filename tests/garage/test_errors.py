"""Refusals in the looks of the site: what happened, what to do, and nothing about the inside."""

import logging
import re
from collections.abc import Callable

import pytest
from django.db import connection
from django.http import HttpResponse
from django.test import Client
from django.test.client import RequestFactory
from pytest_django import Settings

from garage.models import Car
from garage.photos import folders
from garage.photos.limits import NoRoomForPhotos
from garage.views import errors
from tests import factories

MB = 1 << 20
# What an inside looks like: tracebacks, paths, SQL, settings, versions of what we run on.
INSIDE = re.compile(
    r"Traceback|File &quot;|\.py\b|site-packages|/(home|tmp|srv)/|SELECT |INSERT |UPDATE "
    r"|SQLite|sqlite|psycopg|OperationalError|ZeroDivision|Django/|Python/|gunicorn|WSGI"
)


@pytest.fixture(autouse=True)
def _no_log_of_refusals(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.CRITICAL, logger="django")


@pytest.fixture
def client(client_of_helper: Client) -> Client:
    client_of_helper.raise_request_exception = False
    return client_of_helper


def without_token(client: Client) -> HttpResponse:
    strict = Client(enforce_csrf_checks=True)
    strict.cookies = client.cookies
    return strict.post("/places/", {"path": "Shelf Z"})


def too_many_fields(client: Client) -> HttpResponse:
    return client.post("/places/", {f"field{number}": "x" for number in range(2_001)})


def too_much_text(client: Client) -> HttpResponse:
    return client.post("/places/", {"path": "x" * (2 * MB + 1)})


def too_many_files(client: Client) -> HttpResponse:
    tiny = [factories.make_upload(content=b"x") for _ in range(31)]
    return client.post("/take-off/", {"photo_files": tiny})


def locked(client: Client) -> HttpResponse:
    for _ in range(6):
        answer = Client().post("/sign-in/", {"username": "x", "password": "wrong"})
    return answer


def large(client: Client) -> HttpResponse:
    return client.generic("POST", "/places/", b"", CONTENT_LENGTH=str(31 * MB))


Ask = Callable[[Client], HttpResponse]
REFUSALS: dict[str, tuple[int, str, Ask]] = {
    "a wrong host": (
        400,
        "That was not understood",
        lambda client: client.get("/", HTTP_HOST="evil.example"),
    ),
    "too many fields": (400, "That was not understood", too_many_fields),
    "too much text": (400, "That was not understood", too_much_text),
    "too many files": (400, "That was not understood", too_many_files),
    "a role too low": (403, "Not for you to change", lambda client: client.get("/people/")),
    "a form without its token": (403, "This form is too old", without_token),
    "no page": (404, "Not here", lambda client: client.get("/no/such/page/")),
    "no part": (404, "Not here", lambda client: client.get("/parts/ZZZ/")),
    "a path of another": (404, "Not here", lambda client: client.get("/../../etc/passwd")),
    "too large": (413, "Too large to take in", large),
    "too many tries": (429, "Too many tries", locked),
}


@pytest.mark.parametrize("case", REFUSALS)
def test_a_refusal_says_what_happened_in_the_looks_of_the_site(client: Client, case: str) -> None:
    code, title, ask = REFUSALS[case]

    answer = ask(client)

    page = answer.content.decode()
    assert answer.status_code == code
    assert f"<h1>{title}</h1>" in page
    assert f'<p class="overline">{code}</p>' in page
    assert 'href="/static/garage/css/base.css"' in page
    assert not INSIDE.search(page)


def test_a_wrong_form_is_shown_again_and_tells_nothing_of_the_inside(client: Client) -> None:
    answer = client.post("/places/", {"path": ""})

    assert answer.status_code == 422
    assert "<h1>" in answer.content.decode()
    assert not INSIDE.search(answer.content.decode())


def test_a_full_disk_is_told_in_words(client: Client, monkeypatch: pytest.MonkeyPatch) -> None:
    def full(coming_bytes: int) -> None:
        raise NoRoomForPhotos

    monkeypatch.setattr(folders, "refuse_when_full", full)
    form = {
        "key": "6f0f7f9e-7f62-4d6f-9be4-0f3e5f0a7c11",
        "photo": factories.make_upload(),
    }

    answer = client.post("/photos/", form)

    assert answer.status_code == 507
    assert 'role="alert"' in answer.content.decode()
    assert not INSIDE.search(answer.content.decode())


def test_a_page_that_breaks_says_so_and_nothing_more(
    client: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr("garage.dashboard.needs", lambda *_: 1 / 0)

    answer = client.get("/")

    assert answer.status_code == 500
    assert "<h1>Something broke on our side</h1>" in answer.content.decode()
    assert not INSIDE.search(answer.content.decode())


def test_a_page_that_breaks_is_written_to_the_log(
    client: Client, monkeypatch: pytest.MonkeyPatch, caplog: pytest.LogCaptureFixture
) -> None:
    caplog.set_level(logging.ERROR, logger="django.request")
    monkeypatch.setattr("garage.dashboard.needs", lambda *_: 1 / 0)

    client.get("/")

    (record,) = caplog.records
    assert record.exc_info and record.exc_info[0] is ZeroDivisionError


def test_a_database_that_is_down_is_a_page_too(client: Client, car: Car) -> None:
    def down(*_: object) -> None:
        raise connection.Database.OperationalError("disk I/O error in /srv/garage/data")

    with connection.execute_wrapper(down):
        answer = client.get("/")

    assert answer.status_code == 500
    assert "<h1>Something broke on our side</h1>" in answer.content.decode()
    assert not INSIDE.search(answer.content.decode())


def test_the_page_for_what_broke_asks_no_database(
    db: None, django_assert_num_queries: Callable
) -> None:
    with django_assert_num_queries(0):
        answer = errors.broken(RequestFactory().get("/"))

    assert answer.status_code == 500
    assert "Nothing you saved before is lost" in answer.content.decode()


def test_debug_is_off_unless_asked_for(settings: Settings) -> None:
    assert settings.DEBUG is False


def test_what_a_stranger_wrote_into_the_address_is_not_repeated(client: Client) -> None:
    page = client.get("/<script>alert(1)</script>/").content.decode()

    assert "alert(1)" not in page
