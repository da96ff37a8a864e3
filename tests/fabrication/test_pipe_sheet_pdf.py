"""The make-up sheet read back from its own PDF: true size, paper, words."""

import io

import pdfplumber
import pytest

from fabrication.models import Duty, PipeSheet
from fabrication.paper.sheets import make_up_sheet
from fabrication.pipe.inputs import BEAD, FLARE, End
from garage.models import Car, Person
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.factories import NOW

PT_PER_MM = 72 / 25.4  # a point is 1/72 inch: ISO 32000-1, 8.3.2.3
# ISO 216 A4; ANSI/ASME Y14.1 A, 8.5 x 11 in.
PAGES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}


@pytest.fixture
def sheet(car: Car, owner: Person) -> PipeSheet:
    bead = End(form=BEAD)
    pipe = pipe_of((78, 0, 41), (76, 130, 54), (122, 170, 48), last_mm=94, end_a=bead, end_b=bead)
    return make_sheet(by=owner, pipe=pipe)


@pytest.fixture
def brake(car: Car, owner: Person) -> PipeSheet:
    flare = End(form=FLARE)
    return make_sheet(
        by=owner,
        title="Rear brake pipe, left",
        duty=Duty.BRAKE,
        former=make_former(tube_od_mm=4.75, measured_radius_mm=15.0, stamped_radius_mm=15.0),
        stock=make_stock(material="cuni", od_mm=4.75, wall_mm=0.7),
        pipe=pipe_of((60, 0, 90), (40, 90, 90), last_mm=94, end_a=flare, end_b=flare),
    )


def opened(sheet: PipeSheet, by: Person, size: str = "a4") -> pdfplumber.PDF:
    return pdfplumber.open(io.BytesIO(make_up_sheet(sheet, by=by, now=NOW, paper_size=size)))


def words_of(document: pdfplumber.PDF) -> str:
    return " ".join(" ".join(page.extract_text() for page in document.pages).split())


@pytest.mark.parametrize("size", PAGES_MM)
def test_the_bars_measure_a_hundred_millimetres_both_ways(
    sheet: PipeSheet, owner: Person, size: str
) -> None:
    with opened(sheet, owner, size) as document:
        lines = [line for page in document.pages for line in page.lines]
    across = [(line["x1"] - line["x0"]) / PT_PER_MM for line in lines]
    up = [(line["bottom"] - line["top"]) / PT_PER_MM for line in lines]

    assert [mm for mm in across if 90 < mm < 110] == [pytest.approx(100, abs=0.02)]
    assert [mm for mm in up if 90 < mm < 110] == [pytest.approx(100, abs=0.02)]


@pytest.mark.parametrize("size", PAGES_MM)
def test_a_sheet_is_one_page_of_the_size_of_the_standard(
    sheet: PipeSheet, brake: PipeSheet, owner: Person, size: str
) -> None:
    for one in (sheet, brake):
        with opened(one, owner, size) as document:
            pages = [(page.width / PT_PER_MM, page.height / PT_PER_MM) for page in document.pages]

        assert pages == [pytest.approx(PAGES_MM[size], abs=0.05)]


def test_the_viewer_is_asked_not_to_scale(sheet: PipeSheet, owner: Person) -> None:
    with opened(sheet, owner) as document:
        preferences = document.doc.catalog["ViewerPreferences"]

    assert preferences["PrintScaling"].name == "None"  # ISO 32000-1, table 150


def test_the_tube_in_the_views_is_as_wide_as_the_scale_says(
    sheet: PipeSheet, owner: Person
) -> None:
    with opened(sheet, owner) as document:
        said = words_of(document)
        widths = {round(c["linewidth"] / PT_PER_MM, 2) for c in document.pages[0].curves}
    scale = int(said.split("mm and degrees, 1:")[1].split()[0])

    assert round(15 / scale, 2) in widths


def test_cut_length_marks_and_angles_are_printed(sheet: PipeSheet, owner: Person) -> None:
    """By hand: straights 78, 76, 122, 94; arcs of 143 degrees on 45 mm, 112.31; two beads of
    1.07 mm (15 x 1; arc of a chord 4 wide and 1 high 4.6365, the wall kept)."""
    with opened(sheet, owner) as document:
        said = words_of(document)

    assert "484.5 mm" in said and "482.5 mm" in said
    assert "Print at 100 %." in said
    assert "Bypass water pipe" in said
    assert all(clock in said for clock in ("12:00", "4:20", "10:00"))
    assert "our figure, from no standard" in said


def test_a_brake_pipe_prints_its_cautions_and_what_is_refused(
    brake: PipeSheet, owner: Person
) -> None:
    with opened(brake, owner) as document:
        said = words_of(document)

    assert "BRAKE PIPE" in said.upper()
    assert "No bead, no glue, no soft solder" in said
    assert "Never a single flare" in said
    assert "Have it tested" in said


def test_a_coolant_pipe_has_none_of_the_cautions_of_a_brake(
    sheet: PipeSheet, owner: Person
) -> None:
    with opened(sheet, owner) as document:
        assert "soft solder" not in words_of(document)


def test_who_reads_inches_gets_inches_and_the_same_bars(sheet: PipeSheet, owner: Person) -> None:
    owner.units = "in"
    with opened(sheet, owner) as document:
        said = words_of(document)
        lines = [line["x1"] - line["x0"] for line in document.pages[0].lines]

    assert "19.073 in" in said  # 484.455 mm over 25.4
    assert [pt for pt in lines if 250 < pt < 310] == [pytest.approx(283.465, abs=0.06)]


def test_a_pipe_that_cannot_be_made_says_so_on_paper(car: Car, owner: Person) -> None:
    sheet = make_sheet(by=owner, pipe=pipe_of((60, 0, 90), (8, 90, 90), last_mm=94))

    with opened(sheet, owner) as document:
        said = words_of(document)

    assert "Not to be made" in said
    assert "12.0 mm too short" in said


def test_forms_and_words_of_a_screen_reader_are_there(sheet: PipeSheet, owner: Person) -> None:
    with opened(sheet, owner) as document:
        root = document.doc.catalog
        assert document.metadata["Title"] == f"Make-up sheet {sheet}, Bypass water pipe"
        assert "StructTreeRoot" in root


def test_what_is_slid_on_and_the_hose_are_printed_at_their_end(car: Car, owner: Person) -> None:
    nut, hose = End(form=FLARE, slid_on=("nut",)), End(form=BEAD)
    sheet = make_sheet(by=owner, pipe=pipe_of((100, 0, 90), last_mm=120, end_a=nut, end_b=hose))

    with opened(sheet, owner) as document:
        said = words_of(document)

    # Two columns: a line of one runs on in the other.
    assert "Slide on:" in said and "nut; Flare" in said
    assert "middle of the clip" in said
    assert len(document.pages) == 1
