"""How figures, days and money stand on a page, for readers of different regions.

Expected forms are the common ones of each region (CLDR, as babel carries it, and the style of the
ISO 80000 decimal sign); money and days were read off printed examples, from memory.
"""

from datetime import UTC, date, datetime
from decimal import Decimal
from html import unescape
from types import SimpleNamespace

import pytest
import time_machine
from django.template import Context, Template
from django.utils import timezone

from parts.models import Piece
from parts.statuses import Status

DAY = date(2026, 11, 5)
AT = datetime(2026, 11, 25, 16, 40, tzinfo=UTC)


def shown(source: str, region: str = "en_GB", *, units: str = "mm", **values: object) -> str:
    """The template text as a person of ``region`` reads it; hard blanks are shown as blanks."""
    user = SimpleNamespace(region=region, units=units)
    garage = SimpleNamespace(currency=values.pop("currency", "GBP"))
    context = Context({"request": SimpleNamespace(user=user), "garage": garage, **values})
    text = unescape(Template(source).render(context))
    return text.replace("\u00a0", " ").replace("\u202f", " ")


# ---- days and times


@pytest.mark.parametrize(
    ("region", "words"),
    [
        ("en_GB", "5 Nov 2026"),
        ("en_US", "Nov 5, 2026"),
        ("de_DE", "05.11.2026"),
        ("fr_FR", "5 nov. 2026"),
        ("nl_NL", "5 nov 2026"),
        ("sv_SE", "5 nov. 2026"),
    ],
)
def test_a_day_stands_in_the_readers_order(region: str, words: str) -> None:
    assert shown("{% day on %}", region, on=DAY) == f'<time datetime="2026-11-05">{words}</time>'


@pytest.mark.parametrize(
    ("shape", "words"),
    [("long", "Thursday 5 November 2026"), ("weekday", "Thu 5 Nov 2026"), ("d MMM", "5 Nov")],
)
def test_a_day_may_be_longer_or_shorter(shape: str, words: str) -> None:
    assert shown("{% day on shape %}", on=DAY, shape=shape).endswith(f">{words}</time>")


def test_a_day_is_the_garages_day_not_the_clocks() -> None:
    late = datetime(2026, 11, 5, 23, 30, tzinfo=UTC)

    with timezone.override("Europe/Berlin"):
        assert ">6 Nov 2026<" in shown("{% day at %}", at=late)
    with timezone.override("UTC"):
        assert ">5 Nov 2026<" in shown("{% day at %}", at=late)


@time_machine.travel(datetime(2026, 11, 25, 18, 0, tzinfo=UTC), tick=False)
@pytest.mark.parametrize(
    ("at", "region", "words"),
    [
        (AT, "en_GB", "16:40"),
        (AT, "de_DE", "16:40"),
        (AT, "en_US", "4:40 PM"),
        (datetime(2026, 11, 24, 16, 40, tzinfo=UTC), "en_GB", "24 Nov"),
        (datetime(2025, 11, 24, 16, 40, tzinfo=UTC), "en_GB", "24 Nov"),
    ],
)
def test_a_moment_is_a_time_today_and_a_day_before(at: datetime, region: str, words: str) -> None:
    assert f">{words}</time>" in shown("{% moment at %}", region, at=at)


# ---- figures


@pytest.mark.parametrize(
    ("region", "value", "places", "words"),
    [
        ("en_GB", 12.5, 1, "12.5"),
        ("de_DE", 12.5, 1, "12,5"),
        ("fr_FR", 12.5, 1, "12,5"),
        ("en_GB", 12.0, 1, "12"),
        ("en_GB", 1234.56, 2, "1,234.56"),
        ("de_DE", 1234.56, 2, "1.234,56"),
        ("sv_SE", 1234.5, 1, "1 234,5"),
        ("en_GB", 0.05, 2, "0.05"),
        ("en_GB", 2.4, 0, "2"),
        ("en_GB", Decimal("-3.25"), 2, "-3.25"),
    ],
)
def test_a_figure_has_the_readers_decimal_mark_and_no_empty_places(
    region: str, value: float, places: int, words: str
) -> None:
    assert shown("{% figure value places %}", region, value=value, places=places) == words


@pytest.mark.parametrize(
    ("region", "currency", "words"),
    [
        ("en_GB", "GBP", "£46.20"),
        ("en_US", "USD", "$46.20"),
        ("de_DE", "EUR", "46,20 €"),
        ("fr_FR", "EUR", "46,20 €"),
        ("nl_NL", "EUR", "€ 46,20"),
        ("sv_SE", "SEK", "46,20 kr"),
        ("en_GB", "JPY", "JP¥46"),
    ],
)
def test_money_stands_in_the_garages_currency_and_the_readers_form(
    region: str, currency: str, words: str
) -> None:
    told = shown("{% money cost %}", region, cost=Decimal("46.20"), currency=currency)

    assert told == words


@pytest.mark.parametrize(
    ("region", "units", "typed", "words"),
    [
        ("en_GB", "mm", "", "12.7 mm"),
        ("de_DE", "mm", "", "12,7 mm"),
        ("en_US", "in", '1/2"', '1/2"'),
    ],
)
def test_a_length_stands_in_the_readers_unit(
    region: str, units: str, typed: str, words: str
) -> None:
    told = shown("{% length mm typed %}", region, units=units, mm=12.7, typed=typed)

    assert told == words


def test_a_length_typed_in_inches_is_computed_for_a_reader_of_millimetres() -> None:
    assert shown("{% length mm typed %}", mm=12.7, typed='1/2"').startswith("12.7 mm")


@pytest.mark.parametrize(("region", "words"), [("en_GB", "18.5 N m"), ("de_DE", "18,5 N m")])
def test_a_torque_stands_in_newton_metres(region: str, words: str) -> None:
    assert shown("{% torque nm %}", region, nm=18.5) == words


@pytest.mark.parametrize(
    ("minutes", "words"), [(190, "3 h 10"), (120, "2 h"), (45, "45 min"), (0, ""), (None, "")]
)
def test_time_spent_stands_in_hours_and_minutes(minutes: int | None, words: str) -> None:
    assert shown("{{ minutes|hours }}", minutes=minutes) == words


@pytest.mark.parametrize("name", ["day", "moment", "money", "figure", "length", "torque"])
def test_what_is_not_known_leaves_its_place_empty(name: str) -> None:
    assert shown(f"{{% {name} nothing %}}", nothing=None) == ""


@pytest.mark.parametrize(
    ("number", "words"), [(0, "0 pieces"), (1, "1 piece"), (4, "4 pieces"), (21, "21 pieces")]
)
def test_things_are_counted_in_words(number: int, words: str) -> None:
    assert shown('{% counted number "piece" "pieces" %}', number=number) == words


def test_a_stranger_reads_the_british_form() -> None:
    assert ">5 Nov 2026<" in Template("{% day on %}").render(Context({"on": DAY}))


# ---- stamps and tags


@pytest.mark.parametrize("status", list(Status))
def test_every_status_has_a_stamp_of_its_own(status: Status) -> None:
    piece = Piece(status=status, next_step_id=1)

    stamp = shown("{{ piece|stamp }}", piece=piece)

    assert stamp.startswith('<span class="stamp stamp-')
    others = {
        shown("{{ piece|stamp }}", piece=Piece(status=other, next_step_id=1))
        for other in Status
        if other != status
    }
    assert stamp not in others


@pytest.mark.parametrize(
    ("status", "undecided"),
    [("off", True), ("at_bench", True), ("ready", False), ("on_car", False)],
)
def test_what_nobody_judged_is_stamped_so(status: str, undecided: bool) -> None:
    stamp = shown("{{ piece|stamp }}", piece=Piece(status=status))

    assert ("To be judged" in stamp) is undecided


def test_a_tag_is_read_out_as_one_and_holds_no_markup() -> None:
    assert shown("{{ code|tag }}", code="K7M") == (
        '<span class="tag"><span class="visually-hidden">Tag </span>K7M</span>'
    )
    unsafe = Template("{{ code|tag }}").render(Context({"code": "<b>"}))
    assert "<b>" not in unsafe
    assert "&lt;b&gt;" in unsafe
