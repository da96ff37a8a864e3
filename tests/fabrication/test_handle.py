"""The handle's scale as a reader sees it."""

import math

import pytest
from django.template import Context, Template

from fabrication.kit.handle import Reading, Scale


def shown(reading: Reading | None, **reader: str) -> str:
    template = Template("{% load bench %}{% on_handle reading %}")
    return template.render(Context({"reading": reading, **reader}))


@pytest.mark.parametrize(
    ("reader", "says"),
    [
        ({}, "45 mark + 6.0 mm"),
        ({"region": "de_DE"}, "45 mark + 6,0 mm"),
        ({"unit": "in"}, "45 mark + 0.236 in"),  # 6 / 25.4
    ],
)
def test_a_pull_is_shown_in_the_readers_unit_and_mark(reader: dict[str, str], says: str) -> None:
    assert shown(Reading(45.0, 6.0), **reader) == says


def test_short_of_a_mark_is_less_and_on_it_is_the_mark_alone() -> None:
    assert shown(Reading(90.0, -3.0)) == "90 mark − 3.0 mm"
    assert shown(Reading(22.5, 0.2)) == "22.5 mark"
    assert shown(None) == ""


@pytest.mark.parametrize("pull_deg", [1.0, 22.4, 22.6, 67.5, 133.0, 190.0])
def test_mark_and_rim_together_are_the_pull(pull_deg: float) -> None:
    """An arc is its radius times its angle; no mark is further off than half a step."""
    reading = Scale(rim_mm=200.0, step_deg=45.0).reading(pull_deg)

    assert reading.mark_deg + math.degrees(reading.beyond_mm / 200) == pytest.approx(pull_deg)
    assert abs(reading.beyond_mm) <= 200 * math.radians(22.5) + 1e-9
