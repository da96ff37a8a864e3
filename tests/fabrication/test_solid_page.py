"""The view in space on its page: what is sent, and that stored files find each other."""

import hashlib
import json
import re
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest
from django.conf import settings
from django.core.management import call_command
from django.test import Client, override_settings

from fabrication.models import PipeSheet
from fabrication.pipe.inputs import BEAD, End
from garage.models import Car, Person
from tests.fabrication.pipe_rows import make_sheet, pipe_of

STATIC = Path(settings.BASE_DIR) / "fabrication" / "static" / "fabrication"
VENDOR = STATIC / "vendor"
ADDRESSES = re.compile(r'data-(?:three|view|parts)="([^"]+)"')


@pytest.fixture
def sheet(car: Car, owner: Person) -> PipeSheet:
    pipe = pipe_of((100, 0, 90), (80, 90, 60), last_mm=120, end_a=End(form=BEAD))
    return make_sheet(by=owner, pipe=pipe)


def solid_in(html: str) -> dict[str, Any]:
    found = re.search(r'<script id="solid-data" type="application/json">(.*?)</script>', html)
    return json.loads(found[1])


def test_a_sheet_carries_its_pipe_for_the_view(client_of_viewer: Client, sheet: PipeSheet) -> None:
    solid = solid_in(client_of_viewer.get(sheet.get_absolute_url()).content.decode())

    assert [place["name"] for place in solid["places"]] == ["A", "1", "2", "B"]
    assert solid["od_mm"] == 15.0
    # Straights 100 + 80 + 120, arcs of 150 degrees on 45 mm.
    total = sum(stretch["length_mm"] for stretch in solid["line"])
    assert total == pytest.approx(300 + 117.81, abs=0.01)
    assert [sleeve["end"] for sleeve in solid["sleeves"]] == ["A"]


def test_after_bend_1_the_view_has_one_bend(client_of_viewer: Client, sheet: PipeSheet) -> None:
    html = client_of_viewer.get(sheet.get_absolute_url(), {"after": "1"}).content.decode()
    solid = solid_in(html)

    assert len([one for one in solid["line"] if one["bend"]]) == 1
    assert solid["beads"] == solid["sleeves"] == []  # beads are made when the bends are


def test_without_a_script_there_is_no_button_that_does_nothing(
    client_of_viewer: Client, sheet: PipeSheet
) -> None:
    html = client_of_viewer.get(sheet.get_absolute_url()).content.decode()

    assert "data-solid-choice hidden" in html
    assert "data-solid-figure hidden" in html
    assert html.count('role="img"') >= 1  # the three views


def test_a_phone_has_three_views_of_its_own_width(
    client_of_viewer: Client, sheet: PipeSheet
) -> None:
    html = client_of_viewer.get(sheet.get_absolute_url()).content.decode()
    wide = re.search(r'<svg class="is-wide"[^>]*viewBox="0 0 (\d+)', html)
    narrow = re.search(r'<svg class="is-narrow"[^>]*viewBox="0 0 (\d+)', html)

    assert wide and narrow
    assert (int(wide[1]), int(narrow[1])) == (262, 100)


def test_the_page_names_three_js_only_as_an_address(
    client_of_viewer: Client, sheet: PipeSheet
) -> None:
    """Neither a script nor a preload: it is fetched when the view is opened."""
    html = client_of_viewer.get(sheet.get_absolute_url()).content.decode()
    scripts = re.findall(r'<(?:script|link)\b[^>]*(?:src|href)="([^"]*)"', html)

    assert any(src.endswith("solid.js") for src in scripts)
    assert not [src for src in scripts if "three" in src]
    assert html.count("three.module") == 1


# ---- files as they are stored in production -----------------------------------------------


@pytest.fixture(scope="module")
def stored(tmp_path_factory: pytest.TempPathFactory) -> Iterator[Path]:
    """A folder of static files made as `manage.py start` makes it."""
    root = tmp_path_factory.mktemp("static")
    kept = {"BACKEND": "whitenoise.storage.CompressedManifestStaticFilesStorage"}
    with override_settings(STORAGES=settings.STORAGES | {"staticfiles": kept}, STATIC_ROOT=root):
        call_command("collectstatic", interactive=False, verbosity=0)
        yield root


def test_every_module_of_the_view_is_found_under_its_stored_name(
    stored: Path, client_of_viewer: Client, sheet: PipeSheet
) -> None:
    html = client_of_viewer.get(sheet.get_absolute_url()).content.decode()
    addresses = [one for found in ADDRESSES.findall(html) for one in found.split()]

    assert len(addresses) == 5
    for address in addresses:
        name = address.removeprefix(f"/{settings.STATIC_URL.strip('/')}/")
        assert re.search(r"\.[0-9a-f]{12}\.js$", name), "it is stored under its hash"
        assert (stored / name).is_file()
        assert (stored / f"{name}.br").is_file()


def test_no_module_imports_a_neighbour_by_a_name_that_storing_changes() -> None:
    """A stored file has a hash in its name, and nothing rewrites the imports of a script."""
    pattern = re.compile(r"""(?:\bfrom|\bimport)\s*\(?\s*["'][^"']+["']""")
    importing = [
        path.name
        for folder in ("fabrication", "garage")
        for path in (Path(settings.BASE_DIR) / folder / "static").rglob("*.js")
        if path.parent != VENDOR and pattern.search(path.read_text())
    ]

    assert importing == []


def test_what_is_vendored_is_what_its_note_says() -> None:
    note = (VENDOR / "VENDORED.md").read_text()
    files = [path for path in VENDOR.iterdir() if path.name != "VENDORED.md"]

    assert [path.name for path in files] == ["three.module.min.js"]
    for path in files:
        assert f"`{path.name}`" in note
        assert hashlib.sha256(path.read_bytes()).hexdigest() in note
    assert "MIT" in note
