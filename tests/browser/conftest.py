"""A real browser at the garage's door: headless Chromium, one window a person.

Whatever a page writes to its console as an error, throws or has blocked by the content policy
fails the test that visited it, without the test asking.
"""

import os
import re
import shutil
from collections.abc import Iterator
from dataclasses import dataclass, field
from typing import Any

import pytest
from django.conf import settings
from django.test import Client
from playwright.sync_api import Browser, BrowserContext, Locator, Page, expect, sync_playwright
from pytest_django.live_server_helper import LiveServer

from garage.models import Person

PHONE, DESK = (360, 740), (1280, 900)
FLAGS = [
    "--disable-quic",
    "--disable-background-networking",
    "--disable-component-update",
    "--disable-sync",
    "--disable-gpu",
    "--disable-dev-shm-usage",
    "--no-first-run",
]
# A wrong form is answered with 422, two texts that meet with 409: Chromium writes every answer
# above 399 to the console, and these two are the page working as it should.
MEANT = frozenset({409, 422})
ANSWERED = re.compile(r"Failed to load resource: the server responded with a status of (\d{3})\b")


@pytest.fixture(scope="package")
def chromium() -> Iterator[Browser]:
    path = shutil.which("chromium") or shutil.which("chromium-browser") or "/usr/bin/chromium"
    # Chromium refuses its sandbox to root, which is who runs the tests on a bare machine.
    as_root = ["--no-sandbox"] if os.geteuid() == 0 else []
    with pytest.MonkeyPatch.context() as only_here, sync_playwright() as driver:
        # Playwright's own loop runs in this thread, which Django takes for asynchronous code.
        only_here.setenv("DJANGO_ALLOW_ASYNC_UNSAFE", "1")
        browser = driver.chromium.launch(executable_path=path, args=[*FLAGS, *as_root])
        yield browser
        browser.close()


@dataclass
class Visitors:
    """Opens windows; keeps what went wrong in any of them."""

    chromium: Browser
    home: str
    meant: frozenset[int] = MEANT
    problems: list[str] = field(default_factory=list)
    windows: list[BrowserContext] = field(default_factory=list)

    def __call__(self, by: Person | None, *, size: tuple[int, int] = PHONE, **how: Any) -> Page:
        """A page of ``by``'s own window, signed in; a phone with a touch screen unless said."""
        how.setdefault("has_touch", size == PHONE)
        window = self.chromium.new_context(
            base_url=self.home, viewport={"width": size[0], "height": size[1]}, **how
        )
        window.set_default_timeout(8_000)
        self.windows.append(window)
        if by:
            window.add_cookies([{"url": self.home} | session_cookie(by)])
        page = window.new_page()
        page.on("console", self._console)
        page.on("pageerror", lambda error: self.problems.append(f"thrown: {error}"))
        return page

    def _console(self, message: Any) -> None:
        answer = ANSWERED.match(message.text)
        if message.type == "error" and not (answer and int(answer[1]) in self.meant):
            self.problems.append(f"{message.location.get('url', '')}: {message.text}")


def session_cookie(person: Person) -> dict[str, str]:
    client = Client()
    client.force_login(person, backend="django.contrib.auth.backends.ModelBackend")
    name = settings.SESSION_COOKIE_NAME
    return {"name": name, "value": client.cookies[name].value}


@pytest.fixture
def visitors(
    transactional_db: None, live_server: LiveServer, chromium: Browser
) -> Iterator[Visitors]:
    expect.set_options(timeout=8_000)
    here = Visitors(chromium, live_server.url)
    yield here
    for window in here.windows:
        window.close()
    assert here.problems == []


@dataclass
class Finger:
    """Taps, and counts them."""

    taps: int = 0

    def tap(self, on: Locator) -> None:
        self.taps += 1
        on.tap()


@pytest.fixture
def finger() -> Finger:
    return Finger()
