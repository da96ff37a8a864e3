"""Back on the car: what can go on now, with which torque, and in which order."""

from uuid import uuid4

import pytest
from playwright.sync_api import Locator, Page, expect

from garage.models import Car, Person
from parts import plan
from parts.models import Kind, Piece, TorqueUsed
from parts.requirements import require
from parts.statuses import Status
from tests.browser.conftest import Visitors
from tests.factories import NOW, make_piece
from tests.parts.batches import bolt

pytestmark = pytest.mark.browser


def make_ready(*, car: Car, by: Person, name: str) -> Piece:
    piece = make_piece(car=car, by=by, name=name)
    plan.add_step(piece=piece, key=uuid4(), kind=Kind.REFIT, by=by, now=NOW)
    piece.refresh_from_db()
    assert piece.state is Status.READY
    return piece


def line_of(page: Page, piece: Piece) -> Locator:
    return page.locator(f"#piece-{piece.pk}-row")


def test_a_part_goes_on_with_its_torque_and_comes_back_by_undo(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    piece = make_ready(car=car, by=owner, name="Thermostat housing")
    hole = bolt(piece, count=2)
    hole.torque_nm, hole.torque_typed = 18.0, "18 Nm"
    hole.save()
    page = visitors(owner)
    page.goto("/refit/")
    line = line_of(page, piece)

    line.get_by_role("button", name="Fitted tight").tap()
    expect(line).to_contain_text("Write the torque used on each hole, or say why there is none.")
    used = line.get_by_label("Torque used, hole 1, in newton metres")
    used.fill("18")
    line.get_by_role("button", name="Fitted tight").tap()

    expect(line.locator(".stamp")).to_contain_text("Fitted")
    expect(page.locator("#refit-count")).to_contain_text(
        "0 can go on now, 0 wait for something, 1 is on"
    )
    piece.refresh_from_db()
    assert piece.state is Status.FITTED_TIGHT
    assert TorqueUsed.objects.get().torque_nm == 18.0
    strip = page.get_by_role("status")
    expect(strip).to_contain_text("is on, tight")

    strip.get_by_role("button", name="Undo").tap()

    expect(line.get_by_role("button", name="Fitted tight")).to_be_visible()
    expect(page.locator("#refit-count")).to_contain_text("1 can go on now")
    piece.refresh_from_db()
    assert piece.state is Status.READY
    assert not TorqueUsed.objects.exists()


def test_a_torque_far_off_is_asked_about_once_more(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    piece = make_ready(car=car, by=owner, name="Thermostat housing")
    hole = bolt(piece)
    hole.torque_nm, hole.torque_typed = 18.0, "18 Nm"
    hole.save()
    page = visitors(owner)
    page.goto("/refit/")
    line = line_of(page, piece)
    line.get_by_label("Torque used, hole 1, in newton metres").fill("81")

    line.get_by_role("button", name="Fitted tight").tap()
    expect(line).to_contain_text("is more than a tenth off the 18 N m wanted")
    line.get_by_label("That is the torque I used").tap()
    line.get_by_role("button", name="Fitted tight").tap()

    expect(line.locator(".stamp")).to_contain_text("Fitted")
    assert TorqueUsed.objects.get().torque_nm == 81.0


@pytest.mark.parametrize("javascript", [True, False])
def test_a_part_waits_until_what_must_be_on_first_is_on(
    visitors: Visitors, owner: Person, car: Car, javascript: bool
) -> None:
    column = make_ready(car=car, by=owner, name="Steering column")
    pedals = make_ready(car=car, by=owner, name="Pedal box")
    require(first=column.part, then=pedals.part, by=owner, now=NOW)
    page = visitors(owner, java_script_enabled=javascript)
    page.goto(f"/refit/{pedals.pk}/")
    expect(page.get_by_role("button", name="Fit it")).to_be_disabled()
    expect(page.get_by_text(f"{column.tag} first")).to_be_visible()

    page.goto("/refit/")
    waits = page.get_by_role("region", name="Waiting")
    expect(waits).to_contain_text("Pedal box")
    expect(line_of(page, pedals)).to_have_count(0)
    line_of(page, column).get_by_role("button", name="Fitted tight").tap()

    expect(page.locator("#refit-count")).to_contain_text("1 is on")
    if javascript:
        expect(line_of(page, column)).to_contain_text("Pedal box can go on now")
        page.reload()
    line_of(page, pedals).get_by_role("button", name="Fitted tight").tap()
    expect(page.locator("#refit-count")).to_contain_text("2 are on")
    for piece in (column, pedals):
        piece.refresh_from_db()
        assert piece.state is Status.FITTED_TIGHT
