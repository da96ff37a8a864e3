"""What holds for every answer: headers, size limits, hosts, and who may change anything."""

import logging
import os
import subprocess
import sys
from collections.abc import Callable
from contextlib import closing
from datetime import timedelta
from http.client import HTTPConnection
from pathlib import Path
from uuid import uuid4

import pytest
import time_machine
from django.http import HttpResponse
from django.test import Client
from django.test.client import RequestFactory
from pytest_django import Settings

from garage import middleware
from garage.models import Car, Garage, Person
from tests import factories
from tests.factories import NOW, PASS_PHRASE
from tests.setup.terminal import free_port

MB = 1 << 20
# The figures are those of the OWASP secure headers project (CSP, nosniff, COOP, CORP,
# Referrer-Policy) and of Mozilla's web security guidelines (frame denial, no-store).
EXACT = {
    "X-Content-Type-Options": "nosniff",
    "X-Frame-Options": "DENY",
    "Referrer-Policy": "same-origin",
    "Cross-Origin-Opener-Policy": "same-origin",
    "Cross-Origin-Resource-Policy": "same-origin",
    "Permissions-Policy": (
        "camera=(self), screen-wake-lock=(self), geolocation=(), microphone=(), payment=(), usb=()"
    ),
}
PAGE_POLICY = {
    "default-src 'self'",
    "object-src 'none'",
    "base-uri 'none'",
    "frame-ancestors 'none'",
    "form-action 'self'",
}
PHOTO_POLICY = {"default-src 'none'", "sandbox"}


@pytest.fixture(autouse=True)
def _no_log_of_refusals(caplog: pytest.LogCaptureFixture) -> None:
    caplog.set_level(logging.CRITICAL, logger="django")


@pytest.fixture
def outsider(db: None) -> Client:
    factories.make_person()
    return Client(raise_request_exception=False)


def broken_page(monkeypatch: pytest.MonkeyPatch) -> None:
    """Makes Today break the way a bug would."""
    monkeypatch.setattr("garage.dashboard.needs", lambda *_: 1 / 0)


# ---- headers ------------------------------------------------------------------------------


def photo_url(client: Client) -> str:
    return factories.make_photo(by=Person.objects.get(username="wren")).small


def too_large(client: Client) -> HttpResponse:
    return client.generic("POST", "/parts/", b"", CONTENT_LENGTH=str(31 * MB))


def locked(client: Client) -> HttpResponse:
    for _ in range(5):
        answer = client.post("/sign-in/", {"username": "mo", "password": "wrong"})
    return answer


def original(client: Client) -> HttpResponse:
    photo = factories.make_photo(by=Person.objects.get(username="wren"))
    return client.get(f"/photos/{photo.key}/original/")


ANSWERS: dict[str, tuple[int, Callable[[Client], HttpResponse]]] = {
    "a page": (200, lambda client: client.get("/settings/")),
    "a redirect": (302, lambda client: client.post("/sign-out/")),
    "a host nobody knows": (400, lambda client: client.get("/", HTTP_HOST="evil.example")),
    "what this role may not": (403, lambda client: client.get("/people/")),
    "no such page": (404, lambda client: client.get("/nothing/")),
    "no such file": (404, lambda client: client.get("/static/nothing.css")),
    "another method": (405, lambda client: client.put("/help/")),
    "a body over the limit": (413, too_large),
    "a form to put right": (422, lambda client: client.post("/places/", {"path": ""})),
    "too many tries": (429, locked),
    "a static file": (200, lambda client: client.get("/static/garage/css/tokens.css")),
    "a photo": (200, lambda client: client.get(photo_url(client))),
}


def signed_in_helper() -> Client:
    helper = Person.objects.filter(username="ade").first() or factories.make_person(
        username="ade", role="helper"
    )
    client = Client(raise_request_exception=False)
    client.force_login(helper, backend="django.contrib.auth.backends.ModelBackend")
    return client


@pytest.mark.parametrize("case", ANSWERS)
def test_every_answer_carries_every_header(owner: Person, settings: Settings, case: str) -> None:
    settings.WHITENOISE_USE_FINDERS = True
    code, ask = ANSWERS[case]

    answer = ask(signed_in_helper())

    assert answer.status_code == code
    assert {name: answer.headers.get(name) for name in EXACT} == EXACT
    policy = PHOTO_POLICY if case == "a photo" else PAGE_POLICY
    assert directives(answer) == policy


def test_an_original_photo_is_a_file_to_save_and_carries_every_header(
    client_of_owner: Client,
) -> None:
    answer = original(client_of_owner)

    assert answer.status_code == 200
    assert answer.headers["Content-Disposition"].startswith('attachment; filename="photo-')
    assert answer.headers["Content-Type"] == "application/octet-stream"
    assert {name: answer.headers.get(name) for name in EXACT} == EXACT
    assert directives(answer) == PHOTO_POLICY
    assert answer.headers["Cache-Control"] == "no-store"


def test_a_page_that_broke_carries_every_header(
    client_of_owner: Client, monkeypatch: pytest.MonkeyPatch
) -> None:
    broken_page(monkeypatch)
    client_of_owner.raise_request_exception = False

    answer = client_of_owner.get("/")

    assert answer.status_code == 500
    assert {name: answer.headers.get(name) for name in EXACT} == EXACT
    assert directives(answer) == PAGE_POLICY


def test_a_wrong_host_under_https_carries_every_header(
    outsider: Client, settings: Settings
) -> None:
    settings.SECURE_SSL_REDIRECT = True

    answer = outsider.get("/", HTTP_HOST="evil.example")

    assert answer.status_code == 400
    assert {name: answer.headers.get(name) for name in EXACT} == EXACT
    assert directives(answer) == PAGE_POLICY


@pytest.mark.parametrize("url", ["/", "/settings/", "/parts/", "/sign-in/", "/nothing/"])
def test_a_page_is_kept_in_no_cache(client_of_owner: Client, url: str) -> None:
    assert "no-store" in client_of_owner.get(url).headers["Cache-Control"]


def test_a_photo_is_kept_by_the_persons_own_browser_only(client_of_owner: Client) -> None:
    answer = client_of_owner.get(photo_url(client_of_owner))

    assert answer.headers["Cache-Control"] == "private, max-age=31536000, immutable"


def test_pages_say_their_charset(client_of_owner: Client) -> None:
    assert client_of_owner.get("/help/").headers["Content-Type"] == "text/html; charset=utf-8"


def directives(answer: HttpResponse) -> set[str]:
    return {part.strip() for part in answer.headers["Content-Security-Policy"].split(";")}


# ---- what is too large, what is not ours ---------------------------------------------------


@pytest.mark.parametrize(
    ("length", "code"),
    [
        (str(30 * MB), 302),
        (str(30 * MB + 1), 413),
        (str(31 * MB), 413),
        ("9" * 40, 413),
        ("-1", 413),
        ("²", 413),
        ("1e3", 413),
    ],
)
def test_a_body_is_judged_by_its_length_before_anything_else(
    outsider: Client, length: str, code: int
) -> None:
    answer = outsider.generic("POST", "/parts/", b"", CONTENT_LENGTH=length)

    assert answer.status_code == code


def test_a_body_over_the_limit_is_refused_without_a_byte_being_read() -> None:
    class Unread:
        def read(self, *_: int) -> bytes:
            raise AssertionError("the body was read")

    request = RequestFactory().post("/photos/")
    request.META["CONTENT_LENGTH"] = str(31 * MB)
    request.META["wsgi.input"] = request._stream = Unread()

    answer = middleware.refuse_large_bodies(lambda _: HttpResponse("let in"))(request)

    assert answer.status_code == 413
    assert "30 MB" in answer.content.decode()


def test_the_server_answers_413_while_the_body_has_not_come(tmp_path: Path) -> None:
    port = free_port()
    command = f"gunicorn garage.wsgi --bind 127.0.0.1:{port}"
    config = "--config python:garage.management.serving"
    server = subprocess.Popen(
        [sys.executable, "-m", *command.split(), *config.split()],
        env=os.environ | {"DJANGO_SETTINGS_MODULE": "tests.settings", "TMPDIR": str(tmp_path)},
        stdout=subprocess.PIPE,
        text=True,
    )
    with server, closing(HTTPConnection("127.0.0.1", port, timeout=20)) as connection:
        try:
            assert server.stdout and "Splitpin is open" in server.stdout.readline()
            connection.putrequest("POST", "/photos/")
            connection.putheader("Content-Length", str(31 * MB))
            connection.endheaders()  # and not one byte of the 31 MB

            answer = connection.getresponse()

            assert answer.status == 413
            assert "Too large to take in" in answer.read().decode()
        finally:
            server.terminate()


@pytest.mark.parametrize(
    ("method", "url", "data"),
    [
        ("GET", "/parts/?q=pump%00", None),
        ("GET", "/parts/?pump%00=1&pump%00=2&q=%00", None),
        ("GET", "/parts/K7%00/", None),
        ("POST", "/places/", {"path": "Shelf\x00A"}),
        ("POST", "/sign-in/", {"username": "wren\x00", "password": "x"}),
    ],
)
def test_a_nul_is_refused_before_any_page_reads_it(
    client_of_owner: Client, method: str, url: str, data: dict[str, str] | None
) -> None:
    ask = client_of_owner.get if method == "GET" else client_of_owner.post

    answer = ask(url, data)

    assert answer.status_code == 400
    assert "<h1>That was not understood</h1>" in answer.content.decode()


# Spellings of somebody else's host.
WRONG_HOSTS = [
    "evil.example",
    "testserver.evil.example",
    "evil-testserver",
    "testserver@evil.example",
    "testserver:80@evil.example",
    "127.0.0.1.evil.example",
    "127.0.0.2",
    "0.0.0.0",
    "localhost.evil.example",
    "[::1",
    "test server",
    "testserver/../evil.example",
    "",
]


@pytest.mark.parametrize("host", WRONG_HOSTS)
def test_a_wrong_host_is_refused_in_the_looks_of_the_site(outsider: Client, host: str) -> None:
    answer = outsider.get("/sign-in/", HTTP_HOST=host)

    assert answer.status_code == 400
    assert "<h1>That was not understood</h1>" in answer.content.decode()
    assert "evil" not in answer.content.decode()


@pytest.mark.parametrize(
    "header", ["HTTP_X_FORWARDED_HOST", "HTTP_X_HOST", "HTTP_FORWARDED", "HTTP_X_ORIGINAL_URL"]
)
def test_a_forwarded_host_changes_nothing(outsider: Client, header: str) -> None:
    answer = outsider.get("/", **{header: "evil.example"})

    assert answer.status_code == 302
    assert answer.headers["Location"] == "/sign-in/?next=/"


# ---- who may ------------------------------------------------------------------------------


def test_a_stranger_is_sent_to_sign_in_and_back(outsider: Client) -> None:
    answer = outsider.get("/parts/?q=pulley&system=2")

    assert answer.status_code == 302
    assert answer.headers["Location"] == "/sign-in/?next=/parts/%3Fq%3Dpulley%26system%3D2"


def test_htmx_leaves_for_sign_in_and_comes_back_to_the_whole_address(outsider: Client) -> None:
    headers = {
        "HX-Request": "true",
        "HX-Current-URL": "http://testserver/parts/?q=pulley&system=2",
    }

    answer = outsider.get("/parts/counts/", headers=headers)

    assert answer.status_code == 200
    assert answer.content == b""
    assert answer.headers["HX-Redirect"] == "/sign-in/?next=%2Fparts%2F%3Fq%3Dpulley%26system%3D2"


def test_a_viewer_looks_and_changes_nothing(client_of_viewer: Client) -> None:
    assert client_of_viewer.get("/places/").status_code == 200
    answer = client_of_viewer.post("/places/", {"path": "Shelf Z"})

    assert answer.status_code == 403
    assert "<h1>Not for you to change</h1>" in answer.content.decode()


def test_a_role_taken_away_holds_from_the_next_click(
    client_of_helper: Client, helper: Person
) -> None:
    assert client_of_helper.post("/places/", {"path": "Shelf Y"}).status_code == 302
    helper.role = "viewer"
    helper.save()

    assert client_of_helper.post("/places/", {"path": "Shelf Z"}).status_code == 403


# ---- time and sessions --------------------------------------------------------------------


def test_times_are_shown_as_the_clock_of_the_garage_shows_them(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    Garage.objects.update_or_create(id=1, defaults={"time_zone": "Asia/Kathmandu"})
    factories.make_part(car=car, by=owner, now=NOW)  # 16:40 UTC is 22:25 at +5:45

    page = client_of_owner.get("/day-book/").content.decode()

    assert "22:25" in page
    assert "16:40" not in page


@pytest.mark.parametrize(("own_phone", "days"), [("", 14), ("on", 90)])
def test_a_session_lasts_as_long_as_it_is_used(
    owner: Person, car: Car, own_phone: str, days: int
) -> None:
    client = Client()
    with time_machine.travel(NOW, tick=False) as clock:
        client.post(
            "/sign-in/",
            {"username": "wren", "password": PASS_PHRASE, "own_phone": own_phone},
        )
        for _ in range(3):
            clock.shift(timedelta(days=days, minutes=-1))
            assert client.get("/").status_code == 200
        clock.shift(timedelta(days=days, minutes=1))

        answer = client.get("/")

    assert answer.status_code == 302
    assert answer.headers["Location"] == "/sign-in/?next=/"


def test_a_session_is_written_once_a_day_and_not_on_every_page(owner: Person, car: Car) -> None:
    client = Client()
    with time_machine.travel(NOW, tick=False) as clock:
        client.post("/sign-in/", {"username": "wren", "password": PASS_PHRASE})
        clock.shift(timedelta(hours=23))
        same_day = client.get("/help/")
        clock.shift(timedelta(hours=2))
        next_day = client.get("/help/")

    assert "sessionid" not in same_day.cookies
    assert next_day.cookies["sessionid"]["max-age"] == 14 * 86_400


def test_a_key_that_no_session_has_signs_nobody_in(outsider: Client) -> None:
    outsider.cookies["sessionid"] = uuid4().hex

    assert outsider.get("/").status_code == 302


def test_what_a_person_uploads_waits_in_the_data_folder(settings: Settings) -> None:
    assert Path(settings.FILE_UPLOAD_TEMP_DIR).parent == settings.SPLITPIN_DATA
    assert settings.FILE_UPLOAD_PERMISSIONS == 0o600
