"""Gluing with a phone in the hand: the sheet, the mix, and a countdown that no phone can bend."""

import re
from datetime import timedelta

import pytest
from django.utils import timezone
from playwright.sync_api import expect

from fabrication.models import Bond, Clock
from garage.models import Car, Person
from parts.models import Joint
from tests.browser.conftest import Visitors
from tests.fabrication.bond_rows import make_adhesive, make_bond, mix, two_pieces

pytestmark = pytest.mark.browser

# The phone believes it is a day later, in a zone of its own.
A_DAY_AHEAD = """(() => {
  const Real = Date;
  const wrong = () => Real.now() + 86400000;
  window.Date = class extends Real {
    constructor(...said) { said.length ? super(...said) : super(wrong()); }
    static now() { return wrong(); }
  };
})()"""


def test_a_bond_is_written_down_mixed_and_timed(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    bracket, pipe = two_pieces(car=car, by=owner)
    glue = make_adhesive()
    page = visitors(owner)

    page.goto("/bonds/")
    page.get_by_label("Tag of the part that is glued on").fill(bracket.part.tag)
    page.get_by_role("button", name="New bond sheet").tap()
    page.get_by_label("Glued onto").fill(pipe.part.tag)
    page.get_by_label("Glue", exact=True).select_option(str(glue.pk))
    page.get_by_label("What runs in the pipe").select_option("coolant")
    page.get_by_label("Bright metal, abraded by hand").check()
    page.get_by_label("In the house").check()
    page.get_by_role("button", name="Write the bond down").tap()
    expect(page.get_by_text("second fixing near the end")).to_be_visible()
    page.get_by_label("The part is at").fill("18")
    page.get_by_role("button", name="Mixing now: start the clocks").tap()

    expect(page.locator(".clock-says").first).to_have_text("Close the joint")
    expect(page.get_by_role("timer")).to_contain_text(re.compile("4[45]m"))
    bond = Bond.objects.get()
    assert bond.joint.state == Joint.State.CURING
    bracket.refresh_from_db()
    assert bracket.joined_into == pipe


def test_a_phone_whose_clock_is_a_day_ahead_is_never_early(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    seconds = 6 / 3600
    glue = make_adhesive(
        working_minutes=None,
        schedule=[{"temp_c": 20, "handling_h": seconds, "full_h": 24}],
    )
    bond = make_bond(car=car, by=owner, adhesive=glue)
    page = visitors(owner, timezone_id="Pacific/Auckland")
    page.add_init_script(A_DAY_AHEAD)
    clock = mix(bond, by=owner, now=timezone.now())

    page.goto(clock.get_absolute_url())

    timer = page.get_by_role("timer")
    expect(page.get_by_text("The clock of this phone is wrong")).to_be_visible()
    assert timer.inner_text().replace("\n", "") in [f"0m {left}s" for left in range(1, 7)]
    page.get_by_role("button", name="Sound at the end").tap()
    expect(page.get_by_role("button", name="Sound at the end")).to_have_attribute(
        "aria-pressed", "true"
    )
    expect(timer).to_have_attribute("data-rung", "1")
    assert timezone.now() >= clock.started_at + timedelta(seconds=6)
    # Looked at again, the server is asked: time is up, and still nothing is called ready.
    page.evaluate("document.dispatchEvent(new Event('visibilitychange'))")
    expect(page.locator(".clock-says").first).to_have_text("Read the part now")
    assert Clock.objects.running().count() == 1


def test_without_scripts_the_clock_is_told_in_words_and_looked_at_again_by_a_link(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    clock = mix(make_bond(car=car, by=owner), by=owner, now=timezone.now())
    page = visitors(owner, java_script_enabled=False)

    page.goto(clock.get_absolute_url())

    expect(page.locator(".clock-time")).to_contain_text(re.compile("4[45]m"))
    page.get_by_role("link", name="Look again").tap()
    expect(page.locator(".clock-says").first).to_have_text("Close the joint")
    expect(page.get_by_role("button", name="Sound at the end")).to_be_hidden()
