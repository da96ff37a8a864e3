"""The view in space as a hand, a key and an eye find it: it opens, turns, and follows the pipe."""

import io
import re
import shutil
from collections.abc import Iterator

import pytest
from PIL import Image, ImageChops
from playwright.sync_api import Browser, Locator, Page, expect

from fabrication.models import PipeSheet
from fabrication.pipe.inputs import BEAD, End
from garage.models import Car, Person
from tests.browser.conftest import DESK, FLAGS, PHONE, Visitors
from tests.browser.pages import look_at
from tests.fabrication.pipe_rows import make_sheet, pipe_of

pytestmark = pytest.mark.browser

# A machine without a graphics card draws in software.
# Drawn in software every pixel takes its time: a window no larger than it has to be.
WINDOW = (600, 640)
FROM_TOP = "(box) => box.getBoundingClientRect().top + scrollY"
DRAWN = re.compile(r"\d+")
IN_SOFTWARE = ["--use-gl=angle", "--use-angle=swiftshader", "--enable-unsafe-swiftshader"]


@pytest.fixture(scope="module")
def drawing_chromium(chromium: Browser) -> Iterator[Browser]:
    """A second browser that can draw in space; the others are told to leave the card alone."""
    flags = [flag for flag in FLAGS if flag != "--disable-gpu"]
    path = shutil.which("chromium") or "/usr/bin/chromium"
    browser = chromium.browser_type.launch(
        executable_path=path, args=[*flags, *IN_SOFTWARE, "--no-sandbox"]
    )
    yield browser
    browser.close()


@pytest.fixture
def seeing(visitors: Visitors, drawing_chromium: Browser) -> Visitors:
    visitors.chromium = drawing_chromium
    return visitors


@pytest.fixture
def sheet(car: Car, owner: Person) -> PipeSheet:
    pipe = pipe_of((78, 0, 41), (76, 130, 54), (122, 170, 48), last_mm=94, end_a=End(form=BEAD))
    return make_sheet(by=owner, pipe=pipe)


def opened(page: Page, sheet: PipeSheet) -> Locator:
    """The open view, drawn at least once."""
    page.goto(sheet.get_absolute_url())
    page.get_by_role("button", name="Turn it in space").click()
    stage = page.locator("[data-solid-stage]")
    expect(stage).to_have_attribute("data-drawn", DRAWN)
    return stage


def picture(stage: Locator) -> Image.Image:
    """What is drawn in space, without the balloons that are laid over it."""
    balloons = stage.locator("svg")
    balloons.evaluate("(over) => { over.style.visibility = 'hidden' }")
    shot = stage.screenshot()
    balloons.evaluate("(over) => { over.style.visibility = '' }")
    return Image.open(io.BytesIO(shot)).convert("RGB")


def colours(stage: Locator) -> int:
    return len(picture(stage).getcolors(maxcolors=1 << 24) or ())


def differing(one: Image.Image, other: Image.Image) -> int:
    """How many pixels of two pictures of one size are not the same."""
    grey = ImageChops.difference(one, other).convert("L")
    return grey.width * grey.height - grey.histogram()[0]


def settled(stage: Locator, **is_at: str) -> None:
    for name, value in is_at.items():
        expect(stage).to_have_attribute(f"data-{name}", value)


def test_the_view_opens_is_drawn_and_turns_by_keys_buttons_and_mouse(
    seeing: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = seeing(owner, size=WINDOW)
    stage = opened(page, sheet)
    assert colours(stage) > 20

    stage.focus()
    page.keyboard.press("Home")  # the ring of the focus is in the picture too
    home = picture(stage)
    page.keyboard.press("ArrowRight")
    settled(stage, turn="-30")
    turned = picture(stage)
    page.keyboard.press("+")
    page.keyboard.press("ArrowUp")
    settled(stage, turn="-30", tilt="33")
    nearer = picture(stage)
    assert differing(home, turned) > 500 and differing(turned, nearer) > 500

    page.keyboard.press("Home")
    settled(stage, turn="-35", tilt="28", zoom="1")
    assert differing(home, picture(stage)) < 50

    page.get_by_role("button", name="From the front").click()
    settled(stage, turn="0", tilt="0")
    box = stage.bounding_box()
    assert box
    page.mouse.move(box["x"] + 250, box["y"] + 150)
    page.mouse.down()
    page.mouse.move(box["x"] + 200, box["y"] + 150)
    page.mouse.up()
    settled(stage, turn="20", tilt="0")


def test_after_bend_1_the_view_shows_what_is_bent_then_and_keeps_its_angle(
    seeing: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = seeing(owner, size=WINDOW, reduced_motion="reduce")
    stage = opened(page, sheet)
    stage.focus()
    page.keyboard.press("ArrowRight")
    settled(stage, turn="-30")
    finished = picture(stage)
    where = page.evaluate("() => scrollY")

    page.get_by_role("button", name="After bend", exact=False).first.click()

    expect(page.locator(".stages [aria-current]")).to_contain_text("After bend")
    expect(stage.locator("text")).to_have_count(3)  # ends A and B and one bend
    settled(stage, turn="-30")
    assert differing(finished, picture(stage)) > 500
    assert page.evaluate("() => scrollY") == where
    assert "after=1" in page.url
    expect(page.locator(".stages [aria-current]")).to_be_focused()


def test_what_is_typed_is_seen_in_the_open_view(
    seeing: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = seeing(owner, size=WINDOW, reduced_motion="reduce")
    stage = opened(page, sheet)
    before, told = picture(stage), stage.get_attribute("data-long") or ""

    with page.expect_response(lambda answer: "work-out" in answer.url):
        page.get_by_label("Straight 2").fill("176")

    expect(stage).not_to_have_attribute("data-long", told)
    expect(page.locator("[data-solid-stage] canvas")).to_have_count(1)
    assert differing(before, picture(stage)) > 500


def test_a_box_that_cannot_be_read_leaves_the_last_drawing_and_nothing_jumps(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner, size=DESK)
    page.goto(sheet.get_absolute_url())
    box = page.get_by_label("Straight 2", exact=True)
    before = box.evaluate(FROM_TOP)

    with page.expect_response(lambda answer: "work-out" in answer.url):
        box.fill("abc")

    expect(page.get_by_text("Drawn as last read")).to_be_visible()
    expect(page.get_by_role("img", name="Three views")).to_be_visible()
    assert box.evaluate(FROM_TOP) == before

    with page.expect_response(lambda answer: "work-out" in answer.url):
        box.fill("90")
    expect(page.get_by_text("Drawn as last read")).to_be_hidden()


def test_one_finger_turns_it_and_the_page_stays_sound_on_a_phone(
    seeing: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = seeing(owner, size=PHONE)
    stage = opened(page, sheet)
    assert colours(stage) > 20
    stage.scroll_into_view_if_needed()
    box, where = stage.bounding_box(), page.evaluate("() => scrollY")
    assert box and box["height"] < PHONE[1] * 0.7, "there is page left to scroll by"

    touch = page.context.new_cdp_session(page)
    x, y = box["x"] + 120, box["y"] + 100
    for kind, at in (("touchStart", x), ("touchMove", x + 20), ("touchMove", x + 50)):
        points = [{"x": at, "y": y}]
        touch.send("Input.dispatchTouchEvent", {"type": kind, "touchPoints": points})
    touch.send("Input.dispatchTouchEvent", {"type": "touchEnd", "touchPoints": []})

    settled(stage, turn="-55")
    assert page.evaluate("() => scrollY") == where
    assert look_at(page) == []


def test_three_js_is_fetched_by_the_open_view_and_by_nothing_else(
    seeing: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = seeing(owner, size=WINDOW, reduced_motion="reduce")
    fetched: list[str] = []
    page.on("request", lambda request: fetched.append(request.url))

    for url in ("/", "/pipes/", sheet.get_absolute_url()):
        page.goto(url)
    page.wait_for_load_state("networkidle")
    assert not [url for url in fetched if "three" in url or "solid_view" in url]

    opened(page, sheet)
    assert len([url for url in fetched if "three" in url]) == 1


def test_left_open_it_is_open_on_the_next_sheet_and_closed_the_three_views_are_back(
    seeing: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = seeing(owner, size=WINDOW, reduced_motion="reduce")
    stage = opened(page, sheet)
    page.reload()
    expect(stage).to_have_attribute("data-drawn", DRAWN)

    views = page.get_by_role("img", name="Three views")
    expect(views).to_be_hidden()
    page.emulate_media(media="print")  # paper keeps the drawing
    expect(views).to_be_visible()
    expect(stage).to_be_hidden()
    page.emulate_media(media="screen")

    page.get_by_role("button", name="Back to the drawing").click()
    expect(views).to_be_visible()
    expect(stage).to_be_hidden()


def test_where_nothing_can_be_drawn_in_space_a_sentence_says_so(
    visitors: Visitors, owner: Person, sheet: PipeSheet
) -> None:
    page = visitors(owner, size=DESK)
    page.add_init_script("HTMLCanvasElement.prototype.getContext = () => null")
    page.goto(sheet.get_absolute_url())

    page.get_by_role("button", name="Turn it in space").click()

    expect(page.get_by_text("This browser cannot draw in space")).to_be_visible()
    expect(page.get_by_role("img", name="Three views")).to_be_visible()
    expect(page.locator("[data-solid-stage]")).to_be_hidden()
