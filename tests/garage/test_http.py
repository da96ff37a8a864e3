"""How a view answers: whole page or fragment, where to go next, and nowhere but on this site."""

import pytest
from django.contrib.messages import get_messages
from django.contrib.messages.storage.session import SessionStorage
from django.http import HttpRequest
from django.test.client import RequestFactory
from django_htmx.middleware import HtmxDetails

from garage import http
from tests.factories import NOW

HTMX = {"HX-Request": "true"}


def request(method: str = "GET", url: str = "/", **headers: str) -> HttpRequest:
    made = RequestFactory().generic(method, url, headers=headers)
    made.htmx = HtmxDetails(made)
    made.session = {}
    made._messages = SessionStorage(made)
    return made


@pytest.mark.parametrize(
    ("headers", "wants"),
    [
        ({}, False),
        (HTMX, True),
        (HTMX | {"HX-Boosted": "true"}, False),
        (HTMX | {"HX-History-Restore-Request": "true"}, False),
    ],
)
def test_only_plain_htmx_wants_a_fragment(headers: dict[str, str], wants: bool) -> None:
    assert http.wants_fragment(request(**headers)) is wants


def test_page_and_fragment_come_from_one_template_and_one_context() -> None:
    gauge = {"system": {"pk": 7, "name": "Cooling"}, "fitted": 1, "total": 2, "marks": "M0"}
    context = {"gauges": [gauge], "total": 2, "car": None, "on": NOW.date()}

    whole = http.page(request(), "garage/today.html", context, fragment="gauges")
    part = http.page(request(**HTMX), "garage/today.html", context, fragment="gauges")

    assert "<html" in whole.content.decode()
    assert part.content.decode().strip() in whole.content.decode()
    assert "<b>1</b> of 2 fitted" in part.content.decode()
    assert "<html" not in part.content.decode()
    assert whole.headers["Vary"] == part.headers["Vary"] == "HX-Request"


def test_a_page_without_a_fragment_is_whole_for_htmx_too() -> None:
    answer = http.page(request(**HTMX), "garage/help.html", {}, code=422)

    assert answer.status_code == 422
    assert "<html" in answer.content.decode()


def test_go_redirects_a_browser_and_leads_htmx() -> None:
    plain = http.go(request("POST"), "cars")
    boosted = http.go(request("POST", **HTMX, **{"HX-Boosted": "true"}), "cars")
    htmx = http.go(request("POST", **HTMX), "cars")

    assert (plain.status_code, plain.headers["Location"]) == (302, "/cars/")
    assert (boosted.status_code, boosted.headers["Location"]) == (302, "/cars/")
    assert (htmx.status_code, htmx.headers["HX-Redirect"]) == (200, "/cars/")
    assert "Location" not in htmx.headers


def test_go_says_what_was_done_and_how_to_take_it_back() -> None:
    posted = request("POST")

    http.go(posted, "cars", "Put away.", undo="3f9a")

    said = [(message.message, message.extra_tags) for message in get_messages(posted)]
    assert said == [("Put away.", "undo:3f9a")]


def test_go_says_nothing_when_there_is_nothing_to_say() -> None:
    posted = request("POST")

    http.go(posted, "cars")

    assert list(get_messages(posted)) == []


# Spellings with which a link leads off a site (WHATWG URL: a browser reads "\" as "/", drops tabs
# and line ends, and takes "//host" as an address of its own).
@pytest.mark.parametrize(
    ("next_url", "goes_to"),
    [
        ("/parts/?q=a&system=2", "/parts/?q=a&system=2"),
        ("/parts/K7M/#photos", "/parts/K7M/#photos"),
        ("", ""),
        ("parts", ""),
        ("//evil.example/", ""),
        ("///evil.example/", ""),
        ("/\\evil.example/", ""),
        ("\\\\evil.example/", ""),
        ("https://evil.example/", ""),
        ("javascript:alert(1)", ""),
        ("/\t/evil.example/", ""),
        (" /parts/", ""),
        ("\x00/parts/", ""),
    ],
)
@pytest.mark.parametrize("method", ["GET", "POST"])
def test_only_an_address_of_ours_is_gone_to_afterwards(
    method: str, next_url: str, goes_to: str
) -> None:
    asked = getattr(RequestFactory(), method.lower())("/", {"next": next_url})

    assert http.asked_for(asked) == goes_to
