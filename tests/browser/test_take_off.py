"""Cold fingers, a phone, a part in the other hand: log it before its place is forgotten."""

import pytest
from playwright.sync_api import Locator, Page, expect

from garage.models import Car, Person, Photo
from parts.models import Part
from tests.browser.conftest import Finger, Visitors
from tests.factories import jpeg_bytes, make_place, system_of

pytestmark = pytest.mark.browser

PHOTO = {"name": "pulley.jpg", "mimeType": "image/jpeg", "buffer": jpeg_bytes()}
# "Saved in at most 4 taps": the tab, the camera, the name, the button.
MOST_TAPS = 4


def take_photo(page: Page, finger: Finger) -> Locator:
    """The print on the form after the camera was tapped and a photo taken."""
    with page.expect_file_chooser() as chooser:
        finger.tap(page.get_by_text("Take photo"))
    chooser.value.set_files(PHOTO)
    return page.get_by_role("img", name="Photo to be saved")


def test_a_part_is_logged_with_a_photo_in_four_taps(
    visitors: Visitors, owner: Person, car: Car, finger: Finger
) -> None:
    page = visitors(owner)
    page.goto("/")

    finger.tap(page.get_by_role("navigation", name="Main").get_by_role("link", name="Take off"))
    shot = take_photo(page, finger)
    finger.tap(page.get_by_label("What is it?"))
    page.keyboard.type("Water pump pulley")
    expect(shot).to_be_visible()
    assert Photo.objects.count() == 1, "the photo travels while the name is typed"
    assert not Part.objects.exists()
    finger.tap(page.get_by_role("button", name="Save part"))

    expect(page.get_by_role("heading", level=1)).to_have_text("Water pump pulley")
    part = Part.objects.get()
    assert finger.taps <= MOST_TAPS
    assert part.name == "Water pump pulley"
    assert part.fitted_piece.photos.count() == 1
    expect(page.get_by_role("status")).to_contain_text(f"{part.tag} is its tag")


def test_the_next_part_is_offered_the_place_and_system_of_the_last(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    brakes = system_of(car, "Brakes")
    make_place("Shelf C / Box 9")
    page = visitors(owner)
    page.goto("/take-off/")
    page.get_by_label("What is it?").fill("Backing plate, left")
    page.locator("summary", has_text="System and place").tap()
    page.get_by_label("System").select_option("Brakes")
    page.locator("summary", has_text="Put away").tap()
    page.get_by_label("Put away in").fill("Shelf C / Box 9")

    page.get_by_role("button", name="Save, next").tap()

    expect(page.get_by_role("status")).to_contain_text("is saved")
    expect(page.locator("summary", has_text="Put away")).to_contain_text("Shelf C / Box 9")
    expect(page.locator("summary", has_text="System and place")).to_contain_text("Brakes")
    page.get_by_label("What is it?").fill("Backing plate, right")
    page.get_by_role("button", name="Save part").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Backing plate, right")
    found = Part.objects.values_list("name", "system", "pieces__place__path")
    assert sorted(found) == [
        ("Backing plate, left", brakes.pk, "Shelf C / Box 9"),
        ("Backing plate, right", brakes.pk, "Shelf C / Box 9"),
    ]


def test_save_stands_under_the_thumb_of_a_small_phone(
    visitors: Visitors, owner: Person, car: Car
) -> None:
    page = visitors(owner, size=(360, 640), has_touch=True)
    page.goto("/take-off/")

    box = page.get_by_role("button", name="Save part").bounding_box()

    assert box["y"] > 640 * 2 / 3
    assert box["y"] + box["height"] <= 640
    assert box["height"] >= 56


def test_a_form_that_comes_back_keeps_its_text_and_its_photo(
    visitors: Visitors, owner: Person, car: Car, finger: Finger
) -> None:
    page = visitors(owner)
    page.goto("/take-off/")
    expect(take_photo(page, finger)).to_be_visible()
    page.locator("summary", has_text="Numbers").tap()
    page.get_by_label("Notes").fill("Two studs snapped")

    page.get_by_role("button", name="Save part").tap()

    expect(page.get_by_role("alert")).to_contain_text("Give the part a name")
    expect(page).to_have_title("Error: Take a part off - Splitpin")
    expect(page.get_by_role("img", name="Photo to be saved")).to_be_visible()
    page.get_by_label("What is it?").fill("Exhaust manifold")
    page.get_by_role("button", name="Save part").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Exhaust manifold")
    part = Part.objects.get()
    assert part.notes == "Two studs snapped"
    assert part.fitted_piece.photos.count() == 1


@pytest.mark.parametrize("javascript", [True, False])
def test_a_double_tap_saves_one_part(
    visitors: Visitors, owner: Person, car: Car, javascript: bool
) -> None:
    page = visitors(owner, java_script_enabled=javascript)
    page.goto("/take-off/")
    page.get_by_label("What is it?").fill("Thermostat housing")

    page.get_by_role("button", name="Save part").dblclick()

    expect(page.get_by_role("heading", level=1)).to_have_text("Thermostat housing")
    assert Part.objects.count() == 1


@pytest.mark.parametrize("browser_kept_the_page", [True, False])
def test_another_name_on_a_form_gone_back_to_is_another_part(
    visitors: Visitors, owner: Person, car: Car, browser_kept_the_page: bool
) -> None:
    page = visitors(owner)
    page.goto("/take-off/")
    saved_under = page.locator("[name=key]").input_value()
    page.get_by_label("What is it?").fill("Water pump")
    page.get_by_role("button", name="Save part").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Water pump")

    page.go_back()
    if browser_kept_the_page:  # as some do, whatever the headers ask of them
        page.evaluate("key => { document.querySelector('[name=key]').value = key }", saved_under)
    page.get_by_label("What is it?").fill("Water pump pulley")
    page.get_by_role("button", name="Save part").tap()

    if browser_kept_the_page:
        offer = page.get_by_role("alert")
        expect(offer).to_contain_text("Save once more to log this as another part")
        expect(page.get_by_label("What is it?")).to_have_value("Water pump pulley")
        assert Part.objects.count() == 1
        page.get_by_role("button", name="Save part").tap()
    expect(page.get_by_role("heading", level=1)).to_have_text("Water pump pulley")
    names = sorted(Part.objects.values_list("name", flat=True))
    assert names == ["Water pump", "Water pump pulley"]


def test_the_same_job_without_javascript(
    visitors: Visitors, owner: Person, car: Car, finger: Finger
) -> None:
    page = visitors(owner, java_script_enabled=False)
    page.goto("/")

    finger.tap(page.get_by_role("navigation", name="Main").get_by_role("link", name="Take off"))
    with page.expect_file_chooser() as chooser:
        finger.tap(page.get_by_text("Take photo"))
    chooser.value.set_files(PHOTO)
    finger.tap(page.get_by_role("button", name="Save part"))
    expect(page.get_by_role("alert")).to_contain_text("Give the part a name")
    expect(page.get_by_role("img", name="Photo to be saved")).to_be_visible()
    page.get_by_label("What is it?").fill("Water pump pulley")
    finger.tap(page.get_by_role("button", name="Save part"))

    expect(page.get_by_role("heading", level=1)).to_have_text("Water pump pulley")
    assert Part.objects.get().fitted_piece.photos.count() == 1
