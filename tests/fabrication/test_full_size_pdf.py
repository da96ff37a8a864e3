"""Full-size paper read back from its own PDF: true to 0.02 mm, and on a stretched printer too."""

import io
import itertools
import math
from collections.abc import Iterator
from typing import Any

import numpy as np
import pdfplumber
import pypdfium2
import pytest

from fabrication.core.fishmouth import saddle_template
from fabrication.models import PipeSheet, Printer
from fabrication.paper.fishmouth_paper import Fishmouth, fishmouth_pdf
from fabrication.paper.papers import BENDS, PLAN, STRIP, check_pdf, pipe_pdf
from garage.models import Car, Person
from tests.fabrication.paper_rows import make_printer
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.factories import NOW

PT_PER_MM = 72 / 25.4  # a point is 1/72 inch: ISO 32000-1, 8.3.2.3
# ISO 216 A4; ANSI/ASME Y14.1 A, 8.5 x 11 in.
PAGES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
ALL_PRINTS = [("a4", False), ("a4", True), ("letter", False), ("letter", True)]
PRINTS = ALL_PRINTS[::3]  # true on A4, stretched on Letter
TRUE_MM = 0.02
ANGLES_DEG = (41.0, 54.0, 48.0, 90.0)
OD_MM, RADIUS_MM = 15.0, 45.0


@pytest.fixture
def sheet(car: Car, owner: Person) -> PipeSheet:
    rows = zip((78.0, 276.0, 322.0, 100.0), (0.0, 130.0, 40.0, -90.0), ANGLES_DEG, strict=True)
    return make_sheet(by=owner, pipe=pipe_of(*rows, last_mm=194))


@pytest.fixture
def stretched(owner: Person) -> Printer:
    """A printer whose bars came out at 99.2 across and 100.4 up."""
    return make_printer(by=owner, name="Old one", bar_x_mm=99.2, bar_y_mm=100.4)


def near(wanted: Any) -> Any:
    return pytest.approx(wanted, abs=TRUE_MM)


def opened(pdf: bytes) -> pdfplumber.PDF:
    return pdfplumber.open(io.BytesIO(pdf))


class Sheet:
    """One page in millimetres as this printer lays them down, y upward."""

    def __init__(self, page: pdfplumber.page.Page, printer: Printer | None = None) -> None:
        self.page = page
        across, up = (printer.factor_x, printer.factor_y) if printer else (1.0, 1.0)
        self.per_x, self.per_y = 1 / PT_PER_MM / across, 1 / PT_PER_MM / up

    def at(self, point: tuple[float, float]) -> tuple[float, float]:
        """A place of pdfplumber's, which counts y downward."""
        return point[0] * self.per_x, -point[1] * self.per_y

    @property
    def lines(self) -> Iterator[tuple[Any, tuple[float, float], tuple[float, float]]]:
        for line in self.page.lines:
            first, last = line["pts"]
            yield line, self.at(first), self.at(last)

    @property
    def paths(self) -> Iterator[tuple[Any, np.ndarray]]:
        """Corners of every path that is no single line; of a curve the places it goes through."""
        for path in [*self.page.curves, *self.page.rects]:
            places = [self.at(step[-1]) for step in path["path"] if len(step) > 1]
            yield path, np.array(places)

    def bars(self) -> tuple[list[float], list[float]]:
        """Lengths near 100 mm of level and of upright lines."""
        level, upright = [], []
        for _, (x1, y1), (x2, y2) in self.lines:
            if abs(y1 - y2) < 1e-6 and 90 < abs(x1 - x2) < 110:
                level.append(abs(x1 - x2))
            if abs(x1 - x2) < 1e-6 and 90 < abs(y1 - y2) < 110:
                upright.append(abs(y1 - y2))
        return level, upright


def circle_through(points: np.ndarray) -> tuple[float, float]:
    """Radius of the circle nearest to points, and the most that one of them strays from it."""
    sums = np.column_stack([2 * points, np.ones(len(points))])
    x, y, rest = np.linalg.lstsq(sums, (points**2).sum(axis=1), rcond=None)[0]
    radius = math.sqrt(rest + x * x + y * y)
    return radius, float(np.abs(np.hypot(*(points - (x, y)).T) - radius).max())


@pytest.mark.parametrize(("size", "corrected"), ALL_PRINTS)
@pytest.mark.parametrize("drawing", [BENDS, PLAN, STRIP])
def test_every_page_has_its_size_and_two_bars_of_a_hundred_millimetres(
    sheet: PipeSheet, owner: Person, stretched: Printer, size: str, drawing: str, corrected: bool
) -> None:
    printer = stretched if corrected else None
    pdf = pipe_pdf(sheet, drawing, by=owner, now=NOW, paper_size=size, printer=printer)

    with opened(pdf) as document:
        pages = [(page.width / PT_PER_MM, page.height / PT_PER_MM) for page in document.pages]
        bars = [Sheet(page, printer).bars() for page in document.pages]
        said = [" ".join(page.extract_text().split()) for page in document.pages]
        scaling = document.doc.catalog["ViewerPreferences"]["PrintScaling"].name

    assert all(page == pytest.approx(PAGES_MM[size], abs=0.05) for page in pages)
    for level, upright in bars:
        assert min(abs(mm - 100) for mm in level) < TRUE_MM
        assert min(abs(mm - 100) for mm in upright) < TRUE_MM
    assert all("Print at 100 %" in words for words in said)
    assert all(("Corrected for Old one" in words) == corrected for words in said)
    assert scaling == "None"  # ISO 32000-1, table 150


@pytest.mark.parametrize("corrected", [False, True])
def test_a_correction_is_the_printers_two_factors_in_the_file(
    owner: Person, stretched: Printer, corrected: bool
) -> None:
    """Measured 99.2 for 100 across, so 100.806 is drawn; 100.4 up, so 99.602."""
    printer = stretched if corrected else None

    with opened(check_pdf(by=owner, now=NOW, paper_size="a4", printer=printer)) as document:
        (level,), (upright,) = Sheet(document.pages[0]).bars()

    wanted = (100.8065, 99.6016) if corrected else (100, 100)
    assert (level, upright) == pytest.approx(wanted, abs=TRUE_MM)


@pytest.mark.parametrize(("size", "corrected"), PRINTS)
def test_bends_are_drawn_with_their_radius_width_and_angle(
    sheet: PipeSheet, owner: Person, stretched: Printer, size: str, corrected: bool
) -> None:
    printer = stretched if corrected else None
    pdf = pipe_pdf(sheet, BENDS, by=owner, now=NOW, paper_size=size, printer=printer)
    radii, legs = [], []
    with opened(pdf) as document:
        for page in document.pages:
            here = Sheet(page, printer)
            for path, points in here.paths:
                if any(step[0] == "c" for step in path["path"]):
                    radius, stray = circle_through(points)
                    assert stray < TRUE_MM
                    radii.append(radius)
            legs += [
                (math.degrees(math.atan2(y2 - y1, x2 - x1)), math.dist((x1, y1), (x2, y2)))
                for line, (x1, y1), (x2, y2) in here.lines
                if line["linewidth"] > 0.3 * PT_PER_MM  # the outline's pen, 0.35 mm
            ]

    wanted = sorted([RADIUS_MM - OD_MM / 2, RADIUS_MM, RADIUS_MM + OD_MM / 2] * len(ANGLES_DEG))
    assert sorted(radii) == pytest.approx(wanted, abs=TRUE_MM)
    legs = [leg for leg in legs if leg[1] > OD_MM + 1]  # what is shorter is a cut end
    assert [long for _, long in legs] == pytest.approx([70] * len(legs), abs=TRUE_MM)
    # Four lines a bend: both sides of the leg before, then of the leg after.
    found = [
        (after[0] - before[0]) % 180 for before, after in zip(legs[::4], legs[2::4], strict=True)
    ]
    turned = [
        min(abs(deg - wanted), abs(180 - deg - wanted))
        for deg, wanted in zip(found, ANGLES_DEG, strict=True)
    ]
    assert max(turned) < 0.02


@pytest.mark.parametrize(("size", "corrected"), PRINTS)
def test_crosses_of_one_number_lay_the_tube_on_itself(
    sheet: PipeSheet, owner: Person, stretched: Printer, size: str, corrected: bool
) -> None:
    printer = stretched if corrected else None
    pdf = pipe_pdf(sheet, PLAN, by=owner, now=NOW, paper_size=size, printer=printer)
    with opened(pdf) as document:
        sheets = [Sheet(page, printer) for page in document.pages[1:]]
        crosses = [dict(crosses_on(one)) for one in sheets]
        edges = [list(outline_of(one)) for one in sheets]

    joined = 0
    for first, second in itertools.combinations(range(len(sheets)), 2):
        shared = crosses[first].keys() & crosses[second].keys()
        if not shared:
            continue
        shifts = [np.subtract(crosses[second][n], crosses[first][n]) for n in shared]
        assert len(shared) == 2
        assert shifts[0] == pytest.approx(shifts[1], abs=TRUE_MM)
        joined += sum(
            lies_on(start + shifts[0], end + shifts[0], edges[second])
            for start, end in edges[first]
        )
    # Over two of the joints the tube runs straight, with both its sides.
    assert joined == 4
    assert len(sheets) == {"a4": 4, "letter": 5}[size]


def test_heights_at_the_posts_are_printed_with_the_map(owner: Person, car: Car) -> None:
    """By hand, R 45, tube 15: the third leg climbs at 30 degrees from 45 (1 - cos 30) = 6.03, so
    50 along it the axis is 31.03 up; the underside straight below is 7.5 / cos 30 = 8.66 lower,
    and the board 7.5 below the axis of the level legs: 29.87, to half a millimetre 30.0."""
    rising = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), (100, 90, 30), last_mm=100))

    with opened(pipe_pdf(rising, PLAN, by=owner, now=NOW, paper_size="a4")) as document:
        said = " ".join(document.pages[0].extract_text().split())
        drawn = " ".join(page.extract_text() for page in document.pages[1:])

    # Along the tube: 100 + 70.69 + 100 + 23.56 + 50.
    assert "P3 344.0 30.0 30.0" in said
    assert "P3:30.0" in drawn.replace(" ", "")


def crosses_on(one: Sheet) -> Iterator[tuple[int, tuple[float, float]]]:
    """Number and middle of each cross: two lines of 8 mm that halve each other."""
    level, upright = [], []
    for _, (x1, y1), (x2, y2) in one.lines:
        middle = ((x1 + x2) / 2, (y1 + y2) / 2)
        if math.dist((x1, y1), (x2, y2)) == pytest.approx(8, abs=0.01):
            if y1 == pytest.approx(y2):
                level.append(middle)
            elif x1 == pytest.approx(x2):
                upright.append(middle)
    words = [(w["text"], one.at((w["x0"], w["bottom"]))) for w in one.page.extract_words()]
    for middle in level:
        if not any(math.dist(middle, other) < 0.01 for other in upright):
            continue
        near = [text for text, at in words if text.isdigit() and math.dist(at, middle) < 2.5]
        if near:  # a post has a cross too, and no number beside it
            yield int(near[0]), middle


def outline_of(one: Sheet) -> Iterator[tuple[np.ndarray, np.ndarray]]:
    """The straight sides of the tube."""
    for line, first, last in one.lines:
        if line["linewidth"] > 0.3 * PT_PER_MM and math.dist(first, last) > OD_MM + 1:
            yield np.array(first), np.array(last)


def lies_on(start: np.ndarray, end: np.ndarray, edges: list[tuple[np.ndarray, np.ndarray]]) -> bool:
    """Whether a side runs on in one of another sheet: in line with it, and over a part of it."""
    for other, far in edges:
        ahead = (far - other) / np.linalg.norm(far - other)
        off = [
            abs(float(ahead[0] * (point - other)[1] - ahead[1] * (point - other)[0]))
            for point in (start, end)
        ]
        along = sorted(float(ahead @ (point - other)) for point in (start, end))
        if max(off) < TRUE_MM and along[0] < np.linalg.norm(far - other) and along[1] > 0:
            return True
    return False


def widths(points: np.ndarray) -> float:
    return float(np.ptp(points[:, 0]))


def heights(points: np.ndarray) -> float:
    return float(np.ptp(points[:, 1]))


@pytest.mark.parametrize(("size", "corrected"), PRINTS)
def test_a_wrap_strip_is_as_long_as_the_tube_is_round(
    sheet: PipeSheet, owner: Person, stretched: Printer, size: str, corrected: bool
) -> None:
    """15 mm round: 47.124 mm in a pocket table of circles. Ticks at 0, 80, 130 and 170 degrees."""
    printer = stretched if corrected else None
    pdf = pipe_pdf(sheet, STRIP, by=owner, now=NOW, paper_size=size, printer=printer)

    with opened(pdf) as document:
        here = Sheet(document.pages[0], printer)
        frames = [points for _, points in here.paths if len(points) >= 4]
        # The flap beyond it is as high and not as wide.
        frame = max((one for one in frames if heights(one) == near(32)), key=widths)
        ticks = sorted(
            x1 - frame[:, 0].min()
            for _, (x1, y1), (_, y2) in here.lines
            if abs(y1 - y2) == near(25)
        )

    assert widths(frame) == near(47.124)
    assert ticks == near([47.124 * deg / 360 for deg in (0, 80, 130, 170)])


@pytest.mark.parametrize("size", PAGES_MM)
@pytest.mark.parametrize("drawing", [PLAN, STRIP])
def test_the_largest_correction_there_can_be_still_fits_its_pages(
    owner: Person, car: Car, size: str, drawing: str
) -> None:
    """3 % short both ways, and a strip so long that it stands upright beside its table."""
    pipe = pipe_of((60, 0, 90), last_mm=80)
    wide = make_sheet(
        by=owner,
        pipe=pipe,
        former=make_former(tube_od_mm=60.0, stamped_radius_mm=120.0, measured_radius_mm=120.0),
        stock=make_stock(od_mm=60.0, wall_mm=1.5),
    )
    worst = make_printer(by=owner, bar_x_mm=97.0, bar_y_mm=97.0)

    counts = []
    for printer in (None, worst):
        pdf = pipe_pdf(wide, drawing, by=owner, now=NOW, paper_size=size, printer=printer)
        with opened(pdf) as document:
            counts.append(len(document.pages))
            bars = [Sheet(page, printer).bars() for page in document.pages]
        assert all(min(abs(mm - 100) for mm in bar) < TRUE_MM for page in bars for bar in page)

    assert counts[0] == counts[1]


@pytest.mark.parametrize("size", PAGES_MM)
def test_a_fishmouth_is_printed_along_its_curve(owner: Person, size: str) -> None:
    fishmouth = Fishmouth(branch_od_mm=22, main_od_mm=35, angle_deg=60, offset_mm=3)
    wanted = saddle_template(branch_od_mm=22, header_od_mm=35, angle_deg=60, offset_mm=3, points=73)

    with opened(fishmouth_pdf(fishmouth, by=owner, now=NOW, paper_size=size)) as document:
        points = max((points for _, points in Sheet(document.pages[0]).paths), key=len)

    points = points - points[0]
    heights = np.interp([point.paper_mm for point in wanted], points[:, 0], points[:, 1])
    assert heights == pytest.approx(
        [point.height_mm - wanted[0].height_mm for point in wanted], abs=TRUE_MM
    )
    assert points[-1][0] == pytest.approx(69.115, abs=TRUE_MM)  # 22 mm round, table of circles


def test_the_bar_is_a_hundred_millimetres_of_pixels(sheet: PipeSheet, owner: Person) -> None:
    """At 600 dpi it is 100 / 25.4 * 600 = 2362.2 dots from tick to tick."""
    pdf = pipe_pdf(sheet, BENDS, by=owner, now=NOW, paper_size="a4")

    page = pypdfium2.PdfDocument(pdf)[0]
    # All but the foot of the page is cropped away: it is the level bar that is looked at.
    picture = page.render(scale=600 / 72, crop=(0, 20 * PT_PER_MM, 0, 255 * PT_PER_MM)).to_numpy()
    ink = picture[:, :, 0] < 128
    row = int(np.argmax(ink.sum(axis=1)))
    bar = np.flatnonzero(ink[row])
    tall = [x for x in bar if ink[row - 70 : row, x].sum() > 60]  # ticks of 3.5 mm, 83 dots

    assert tall[-1] - tall[0] == pytest.approx(2362.2 + 0.18 / 25.4 * 600, abs=1.5)
