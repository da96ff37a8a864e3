"""Every address x everybody x every method: nobody gets further than their role.

The walk itself is shown to work at the end: twelve holes are planted, one at a time, and each must
be reported for what it is.
"""

import logging
import sys
from collections.abc import Callable, Iterator
from pathlib import Path
from types import ModuleType
from typing import Any

import pytest
from django.contrib.auth.decorators import login_not_required
from django.http import FileResponse, HttpRequest, HttpResponse
from django.urls import URLPattern, path
from django.views.decorators.csrf import csrf_exempt
from django.views.decorators.http import require_http_methods, require_POST, require_safe
from pytest_django import Settings

from garage import dashboard, people, urls
from garage.backup import database
from garage.models import Garage, Photo, Role
from garage.photos import store
from garage.views import cars
from garage.views import settings as settings_views
from parts.models import Snag
from tests.garage import matrix
from tests.garage.matrix import World, build_world
from tests.garage.walker import METHODS, RANKS, Walk, routes


@pytest.fixture
def world(
    db: None,
    caplog: pytest.LogCaptureFixture,
    settings: Settings,
    tmp_path: Path,
    monkeypatch: pytest.MonkeyPatch,
) -> World:
    settings.SPLITPIN_DATA = tmp_path  # the files of other tests need not be counted here
    # The walk itself holds the lock that a backup waits for, and never lets go of it.
    monkeypatch.setattr(database, "LOCK_WAIT_S", 0.05)
    # Every refusal is logged, and the walk is refused some thousand times.
    caplog.set_level(logging.CRITICAL, logger="django")
    return build_world()


def none_of(violations: list[str]) -> None:
    __tracebackhide__ = True
    if violations:
        pytest.fail("\n".join(violations), pytrace=False)


@pytest.mark.parametrize("role", RANKS)
def test_nobody_gets_further_than_their_role(world: World, role: str) -> None:
    walk = Walk(world).roles([role])

    none_of(walk.violations)
    assert len(walk.addresses) == len(list(routes()))
    assert walk.cells >= len(METHODS) * len(walk.addresses)


def test_nothing_is_changed_without_a_csrf_token(world: World) -> None:
    walk = Walk(world).without_token()

    none_of(walk.violations)
    assert walk.cells >= 8 * len(walk.addresses)


# What a page may be sent by a hand on the address bar, a worn browser or a stranger's script:
# a digit that int() refuses, a number no column holds, a NUL that PostgreSQL refuses, half a
# pair of surrogates' worth of odd signs, an address without a slash, a list where one is awaited.
JUNK = ["²", "9" * 40, "-1", "nan", "a\x00b", "\u202e\u200d", "nowhere", "[]", "x" * 20_000]


def test_no_junk_breaks_a_page(world: World) -> None:
    walk = Walk(world).with_junk(JUNK)

    none_of(walk.violations)
    assert walk.cells == 2 * len(JUNK) * len(walk.addresses)


# ---- the walk is no blind one --------------------------------------------------------------
# Views with a hole each, as somebody in a hurry would write them.


@require_http_methods(["GET", "HEAD", "POST"])
def people_without_role(request: HttpRequest) -> HttpResponse:
    return HttpResponse("everybody's pass-phrases could be set here")


@require_safe
def deletes_on_get(request: HttpRequest) -> HttpResponse:
    Snag.objects.all().delete()
    return HttpResponse("gone")


@csrf_exempt
@require_POST
@people.needs(Role.VIEWER)
def takes_foreign_forms(request: HttpRequest, pk: int) -> HttpResponse:
    return HttpResponse("kept")


@login_not_required
@require_safe
def open_fragment(request: HttpRequest) -> HttpResponse:
    return HttpResponse("<ol>every system of the car</ol>")


@require_POST
@people.needs(Role.VIEWER)
def open_to_viewers(request: HttpRequest) -> HttpResponse:
    Garage.objects.update(name="A viewer's garage")
    return HttpResponse("kept")


def takes_any_method(request: HttpRequest) -> HttpResponse:
    return HttpResponse("kept")


@require_safe
def breaks(request: HttpRequest) -> HttpResponse:
    raise ZeroDivisionError


@require_safe
def unfiltered_original(request: HttpRequest, key: str) -> FileResponse:
    return FileResponse(store.original_path(Photo.objects.get(key=key)).open("rb"))


@require_http_methods(["GET", "HEAD", "POST"])
def writes_before_it_refuses(request: HttpRequest) -> HttpResponse:
    if request.method == "POST":
        Garage.objects.update(name="Somebody's garage")
        return HttpResponse(status=403)
    return settings_views.settings(request)


@require_safe
@login_not_required
def sends_fragments_along(request: HttpRequest) -> HttpResponse:
    """A stranger's redirect that htmx would follow, to swap the sign-in page into a list."""
    return HttpResponse(status=302, headers={"Location": "/sign-in/?next=/today/systems/"})


@require_http_methods(["GET", "HEAD", "POST"])
@people.needs(Role.OWNER)
def shuts_helpers_out(request: HttpRequest) -> HttpResponse:
    return HttpResponse("owners only, by mistake")


HOLES = {
    "a page of owners without its role rule": (
        path("people/", people_without_role, name="people"),
        "GET people as helper: 200 is not refused",
    ),
    "a GET that deletes": (
        path("places/", deletes_on_get, name="places"),
        "GET places as viewer: 200 changed data",
    ),
    "a view without CSRF": (
        path("cars/<int:pk>/choose/", takes_foreign_forms, name="car_choose"),
        "POST car_choose as owner: 200 goes without a token",
    ),
    "a fragment without sign-in": (
        path("today/systems/", open_fragment, name="today_systems"),
        "htmx GET today_systems as anonymous: 200 shows a fragment",
    ),
    "a route that nobody listed": (
        path("secrets/<int:pk>/", cars.car, name="secret"),
        "no argument provider for secret pk",
    ),
    "a route without a name": (path("unnamed/", dashboard.today), "unnamed/ has no name"),
    "a page that breaks": (
        path("help/", breaks, name="help"),
        "GET help as viewer: 500 broke: ZeroDivisionError()",
    ),
    "a POST open to viewers": (
        path("places/put/", open_to_viewers, name="place_put"),
        "POST place_put as viewer: 200 is not refused",
    ),
    "a PUT that is taken": (
        path("help/", takes_any_method, name="help"),
        "PUT help as owner: 200 is not refused",
    ),
    "an original photo for a helper": (
        path("photos/<uuid:key>/original/", unfiltered_original, name="photo_original"),
        "GET photo_original as helper: 200 is not refused",
    ),
    "a refusal that comes after the write": (
        path("settings/", writes_before_it_refuses, name="settings"),
        "POST settings as helper: 403 changed data",
    ),
    "a fragment that redirects": (
        path("today/systems/", sends_fragments_along, name="today_systems"),
        "htmx GET today_systems as anonymous: 302 shows a fragment",
    ),
    "a helper shut out": (
        path("places/put/", shuts_helpers_out, name="place_put"),
        "POST place_put as helper: 403 is refused to who may",
    ),
}


@pytest.fixture
def plant(settings: Settings) -> Iterator[Callable[[URLPattern], None]]:
    """Puts one route into the URLconf in the place of its namesake, for one test."""
    module = ModuleType("tests.garage.urls_with_a_hole")

    def put(hole: URLPattern) -> None:
        others = [known for known in _flat(urls.urlpatterns) if known.name != hole.name]
        module.urlpatterns = [hole, *others]
        for handler in ("handler400", "handler403", "handler404", "handler500"):
            setattr(module, handler, getattr(urls, handler))
        settings.ROOT_URLCONF = module.__name__

    sys.modules[module.__name__] = module
    yield put
    del sys.modules[module.__name__]


def _flat(patterns: list[Any]) -> Iterator[URLPattern]:
    for entry in patterns:
        yield from _flat(entry.url_patterns) if hasattr(entry, "url_patterns") else [entry]


@pytest.mark.parametrize("hole", HOLES)
def test_a_planted_hole_is_found(
    world: World, plant: Callable[[URLPattern], None], hole: str
) -> None:
    planted, reported = HOLES[hole]
    plant(planted)

    walk = Walk(world, only=frozenset([planted.name or "-"])).roles(RANKS).without_token()

    assert any(said.startswith(reported) for said in walk.violations), walk.violations


def test_a_listed_name_that_is_gone_is_found(world: World, monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(matrix, "OWNER_ONLY", {*matrix.OWNER_ONLY, "burned_down"})

    walk = Walk(world, only=frozenset(["help"]))

    assert walk.violations == ["burned_down is listed, but no such route is there"]


@pytest.mark.parametrize("name", ["help", "people", "place_put", "car_choose", "settings"])
def test_a_sound_page_is_not_reported(world: World, name: str) -> None:
    walk = Walk(world, only=frozenset([name])).roles(RANKS).without_token()

    none_of(walk.violations)
    assert walk.cells >= len(RANKS) * len(METHODS)
