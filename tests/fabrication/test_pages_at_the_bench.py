"""What stands once on a page of the bench, in which order, and where it leads."""

import re

import pytest
from django.test import Client

from fabrication.core.drawing import Figure, Line
from fabrication.core.wrap_strip import clock_strip
from fabrication.drawn.previews import readable
from fabrication.making import bending
from fabrication.making.made_piece import as_piece
from fabrication.models import Duty, PipeSheet
from fabrication.pipe import duties
from garage.models import Car, Person
from parts.models import Part
from tests import factories
from tests.fabrication.bending_rows import make_making
from tests.fabrication.bracket_rows import make_bracket_sheet
from tests.fabrication.page_parts import main_of, words_of
from tests.fabrication.pipe_rows import make_sheet, make_stock
from tests.factories import NOW

GLUE = "Glue it on"


@pytest.fixture
def part(car: Car, owner: Person) -> Part:
    return factories.make_piece(car=car, by=owner, name="Heater pipe").part


def html_of(client: Client, url: str) -> str:
    return client.get(url).content.decode()


@pytest.mark.parametrize("has_bracket", [False, True])
def test_a_part_offers_a_bracket_sheet_once(
    client_of_owner: Client, owner: Person, part: Part, has_bracket: bool
) -> None:
    make_sheet(by=owner, part=part)
    if has_bracket:
        make_bracket_sheet(by=owner, part=part)

    html = html_of(client_of_owner, part.get_absolute_url())

    assert html.count("Begin a bracket sheet") == 1


def test_the_sheets_of_a_part_do_not_repeat_its_tag(
    client_of_owner: Client, owner: Person, part: Part
) -> None:
    make_sheet(by=owner, part=part)
    make_bracket_sheet(by=owner, part=part)

    of_part = html_of(client_of_owner, part.get_absolute_url())
    lists = [html_of(client_of_owner, url) for url in ("/pipes/", "/brackets/")]

    rows = re.findall(r'<li class="finisher-row">.*?</li>', of_part, re.DOTALL)
    assert len(rows) == 2
    assert not any(part.tag in row for row in rows)
    assert all(part.tag in html for html in lists)


def test_a_sheet_without_earlier_revisions_has_no_heading_for_them(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    sheet = make_sheet(by=owner)

    html = html_of(client_of_owner, sheet.get_absolute_url())

    assert "Throw this sheet out" in html
    assert ">Before<" not in html


def test_done_comes_before_the_small_links(
    client_of_owner: Client, owner: Person, car: Car
) -> None:
    making = make_making(by=owner)

    words = words_of(main_of(html_of(client_of_owner, making.get_absolute_url())))

    assert words.index("Done, next") < words.index("Scrap it, or end")


def test_a_made_pipe_at_the_bench_leads_to_its_piece_and_is_not_in_red(
    client_of_owner: Client, owner: Person, part: Part
) -> None:
    making = make_making(by=owner, sheet=make_sheet(by=owner, part=part))
    bending.end(making=making, outcome="made", because="", by=owner, now=NOW)
    making.refresh_from_db()
    alone = main_of(html_of(client_of_owner, making.get_absolute_url()))
    piece = as_piece(making=making, by=owner, now=NOW)

    with_piece = main_of(html_of(client_of_owner, making.get_absolute_url()))

    assert "Nothing more is written down" in alone
    assert 'class="red"' not in alone + with_piece
    assert "Measure and compare" not in alone + with_piece
    assert f'href="{piece.get_absolute_url()}"' in with_piece


def test_tube_in_bars_leads_to_its_cutting_plan(client_of_owner: Client, car: Car) -> None:
    bars, coil = make_stock(bar_length_mm=6000), make_stock(od_mm=4.75, bar_length_mm=None)

    html = html_of(client_of_owner, "/tube/")

    assert f"/tube/{bars.pk}/cutting/" in html
    assert f"/tube/{coil.pk}/cutting/" not in html


def test_a_bracket_of_a_part_leads_to_a_bond_of_its_piece(
    client_of_owner: Client, owner: Person, part: Part
) -> None:
    of_part = make_bracket_sheet(by=owner, part=part)
    alone = make_bracket_sheet(by=owner)

    html = html_of(client_of_owner, of_part.get_absolute_url())

    (link,) = re.findall(rf'href="([^"]*)">{GLUE}<', html)
    assert client_of_owner.get(link).context["piece"] == part.fitted_piece
    assert GLUE not in html_of(client_of_owner, alone.get_absolute_url())


@pytest.mark.parametrize("duty", duties.GUARDED)
def test_a_bracket_at_a_pipe_that_is_never_glued_leads_to_no_bond(
    client_of_owner: Client, owner: Person, part: Part, duty: Duty
) -> None:
    pipe: PipeSheet = make_sheet(by=owner, duty=duty)
    round_pipe = make_bracket_sheet(by=owner, part=part, pipe=pipe)
    before = html_of(client_of_owner, round_pipe.get_absolute_url())
    plain = make_bracket_sheet(by=owner, part=part)
    make_sheet(by=owner, part=part, duty=duty)

    after = html_of(client_of_owner, plain.get_absolute_url())

    assert GLUE not in before
    assert GLUE not in after


def test_who_only_looks_is_not_led_to_a_bond(
    client_of_viewer: Client, owner: Person, part: Part
) -> None:
    sheet = make_bracket_sheet(by=owner, part=part)

    assert GLUE not in html_of(client_of_viewer, sheet.get_absolute_url())


@pytest.mark.parametrize("od_mm", [6.0, 22.0, 54.0])
def test_a_strip_on_a_page_is_as_large_as_its_smallest_words_ask(od_mm: float) -> None:
    """16 px is the smallest type of a page; the hours of a strip are its smallest words."""
    strip = clock_strip(od_mm=od_mm, clocks_deg=[0, 90], labels=["1", "2"])

    svg = readable(strip, says="Wrap strip")

    wide_px, wide_mm = re.findall(r'width="([0-9.]+)".*?viewBox="\S+ \S+ (\S+) ', svg)[0]
    words_mm = min(float(size) for size in re.findall(r'font-size="([0-9.]+)"', svg))
    assert 16 <= words_mm * float(wide_px) / float(wide_mm) < 18


def test_a_drawing_without_words_is_as_wide_as_its_page() -> None:
    svg = readable(Figure((Line((0, 0), (10, 5)),)), says="A line")

    assert "width=" not in svg.partition(">")[0]
