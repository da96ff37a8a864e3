"""The pages of full-size paper: a pipe's drawings, printers, fishmouths, bars."""

import csv
import io
from typing import Any
from uuid import uuid4

import ezdxf
import pytest
from django.test import Client
from ezdxf import recover

from fabrication.models import PipeSheet, Printer, UsualPrinter
from fabrication.pipe import ways
from garage.models import Car, Person
from tests.fabrication.paper_rows import make_printer
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of


@pytest.fixture
def sheet(car: Car, owner: Person) -> PipeSheet:
    rows = ((78.3, 0, 41), (276, 130, 54), (122, 170, 48.5))
    return make_sheet(by=owner, pipe=pipe_of(*rows, last_mm=94))


@pytest.fixture
def straight(car: Car, owner: Person) -> PipeSheet:
    return make_sheet(by=owner, pipe=pipe_of(last_mm=400))


def printer_form(**fields: Any) -> dict[str, Any]:
    usual = {"key": str(uuid4()), "name": "Office", "bar_x_mm": "99.2", "bar_y_mm": "100.4"}
    return usual | fields


class TestDrawings:
    def test_the_page_offers_every_drawing_and_file(
        self, client_of_owner: Client, sheet: PipeSheet
    ) -> None:
        said = client_of_owner.get(f"/pipes/{sheet.pk}/papers/").content.decode()

        for drawing in ("bends", "plan", "strip"):
            for kind in ("pdf", "svg", "dxf"):
                assert f"/pipes/{sheet.pk}/{drawing}.{kind}" in said
        assert f"/pipes/{sheet.pk}/bends.csv" in said

    def test_a_straight_pipe_has_a_plan_and_says_why_nothing_else(
        self, client_of_owner: Client, straight: PipeSheet
    ) -> None:
        page = client_of_owner.get(f"/pipes/{straight.pk}/papers/")
        bends = client_of_owner.get(f"/pipes/{straight.pk}/bends.pdf")
        plan = client_of_owner.get(f"/pipes/{straight.pk}/plan.pdf")

        assert "This pipe has no bends." in page.content.decode()
        assert (bends.status_code, plan.status_code) == (422, 200)

    def test_a_pipe_that_cannot_be_is_not_drawn(
        self, client_of_owner: Client, car: Car, owner: Person
    ) -> None:
        inside_out = make_sheet(
            by=owner,
            former=make_former(stamped_radius_mm=7.0, measured_radius_mm=7.0),
            stock=make_stock(od_mm=15.0),
        )

        for what in ("papers/", "plan.pdf", "plan.svg", "bends.csv"):
            answer = client_of_owner.get(f"/pipes/{inside_out.pk}/{what}")
            assert answer.status_code == 422
            assert "Stop" in answer.content.decode()

    def test_the_usual_printer_is_carried_into_the_links(
        self, client_of_owner: Client, sheet: PipeSheet, owner: Person
    ) -> None:
        printer = make_printer(by=owner)

        said = client_of_owner.get(f"/pipes/{sheet.pk}/papers/").content.decode()

        assert f"bends.pdf?paper=a4&amp;printer={printer.pk}" in said

    def test_an_unknown_printer_is_never_taken_for_none(
        self, client_of_owner: Client, sheet: PipeSheet
    ) -> None:
        for number in ("99", "²", "x", "9" * 40):
            answer = client_of_owner.get(f"/pipes/{sheet.pk}/bends.pdf", {"printer": number})
            assert answer.status_code == 404

    def test_a_dxf_has_the_plan_of_the_sheet(
        self, client_of_owner: Client, sheet: PipeSheet
    ) -> None:
        """Bend 1 lies level: both its arcs, R less and plus half the tube."""
        answer = client_of_owner.get(f"/pipes/{sheet.pk}/plan.dxf")

        document, auditor = recover.read(io.BytesIO(answer.content))
        arcs = document.modelspace().query('ARC[layer=="cut"]')

        assert not auditor.has_errors and document.units == ezdxf.units.MM
        assert sorted(arc.dxf.radius for arc in arcs)[-2:] == pytest.approx([37.5, 52.5], abs=0.01)
        assert answer.headers["Content-Disposition"].startswith("attachment")

    def test_the_csv_holds_what_the_sheet_works_out(
        self, client_of_owner: Client, sheet: PipeSheet
    ) -> None:
        body = client_of_owner.get(f"/pipes/{sheet.pk}/bends.csv").content.decode("utf-8-sig")
        *rows, last = csv.DictReader(io.StringIO(body))
        found = ways.of_sheet(sheet).found

        assert len(rows) == len(found.marks) == 3
        assert [float(row["straight_before_mm"]) for row in rows] == [78.3, 276, 122]
        assert [float(row["bend_deg"]) for row in rows] == [41, 54, 48.5]
        assert float(last["straight_before_mm"]) == 94
        for row, mark in zip(rows, found.marks, strict=True):
            figures = {
                "order": mark.order,
                "line_up_from_raw_end_a_mm": mark.line_up_mm,
                "clock_deg": mark.clock_deg,
                "wrap_mm": mark.wrap_mm,
                "pull_to_deg": mark.pull_deg,
            }
            for name, wanted in figures.items():
                assert float(row[name]) == pytest.approx(wanted, abs=0.01)


class TestPrinters:
    def test_measured_bars_become_two_factors(self, client_of_owner: Client, owner: Person) -> None:
        answer = client_of_owner.post("/printers/", printer_form())

        printer = Printer.objects.get()
        assert answer.status_code == 302
        assert printer.factor_x == pytest.approx(100 / 99.2)
        assert printer.factor_y == pytest.approx(100 / 100.4)
        assert Printer.objects.usual_of(owner) == printer

    @pytest.mark.parametrize(
        ("mm", "code"), [("96.9", 422), ("97", 302), ("103", 302), ("94", 422)]
    )
    def test_a_page_that_was_scaled_is_refused(
        self, client_of_owner: Client, owner: Person, mm: str, code: int
    ) -> None:
        """94 mm is what "fit to page" makes of 100."""
        answer = client_of_owner.post("/printers/", printer_form(bar_y_mm=mm))

        assert answer.status_code == code
        assert Printer.objects.exists() == (code == 302)
        if code == 422:
            said = answer.content.decode()
            assert "the printer scaled the page" in said
            assert 'value="99.2"' in said

    def test_inches_are_read_where_they_are_written(
        self, client_of_owner: Client, owner: Person
    ) -> None:
        client_of_owner.post("/printers/", printer_form(bar_x_mm="3.937 in", bar_y_mm="100"))

        assert Printer.objects.get().bar_x_mm == pytest.approx(99.9998)

    def test_the_same_form_twice_is_one_printer_and_another_is_asked_for(
        self, client_of_owner: Client, owner: Person
    ) -> None:
        form = printer_form()
        client_of_owner.post("/printers/", form)
        client_of_owner.post("/printers/", form)

        other = client_of_owner.post("/printers/", form | {"name": "Garage"})

        assert Printer.objects.count() == 1
        assert other.status_code == 422
        assert "Office is saved already" in other.content.decode()

    def test_it_is_measured_again_from_its_own_page(
        self, client_of_owner: Client, owner: Person
    ) -> None:
        printer = make_printer(by=owner)

        shown = client_of_owner.get(f"/printers/{printer.pk}/").content.decode()
        client_of_owner.post(f"/printers/{printer.pk}/", printer_form(bar_x_mm="100"))

        printer.refresh_from_db()
        assert 'value="99.5"' in shown
        assert (printer.factor_x, printer.name) == (1.0, "Office")

    def test_each_person_has_a_usual_printer_and_may_have_none(
        self, client_of_owner: Client, client_of_helper: Client, owner: Person, helper: Person
    ) -> None:
        first, second = make_printer(by=owner), make_printer(by=owner, name="Garage")

        client_of_helper.post(f"/printers/{second.pk}/usual/")
        client_of_owner.post(f"/printers/{first.pk}/usual/", {"not": "1"})

        assert Printer.objects.usual_of(owner) is None
        assert Printer.objects.usual_of(helper) == second
        assert UsualPrinter.objects.count() == 1


class TestFishmouths:
    ASKED = {"branch_od": "22", "main_od": "35", "angle": "60", "offset": "3", "side": "left"}

    def test_a_fishmouth_is_drawn_and_offered(self, client_of_owner: Client, owner: Person) -> None:
        said = client_of_owner.get("/fishmouth/", self.ASKED).content.decode()

        assert "Branch 22.0 on 35.0 mm, 60.0°, offset 3.0 mm to the left" in said
        for kind in ("pdf", "svg", "dxf"):
            assert f"/fishmouth/fishmouth.{kind}?branch_od=22&amp;main_od=35" in said

    @pytest.mark.parametrize(
        ("change", "said"),
        [
            ({"main_od": "20"}, "would miss it"),
            ({"offset": "7"}, "would miss it"),
            ({"angle": "5"}, "15 to 90 degrees"),
            ({"wall": "11"}, "no bore"),
            ({"branch_od": "wide"}, "Write a length"),
        ],
    )
    def test_what_cannot_be_is_refused_with_a_reason(
        self, client_of_owner: Client, owner: Person, change: dict[str, str], said: str
    ) -> None:
        page = client_of_owner.get("/fishmouth/", self.ASKED | change)
        paper = client_of_owner.get("/fishmouth/fishmouth.pdf", self.ASKED | change)

        assert (page.status_code, paper.status_code) == (422, 422)
        assert said in page.content.decode()

    def test_left_and_right_are_mirror_images(self, client_of_owner: Client, owner: Person) -> None:
        def line(side: str) -> list[tuple[float, float]]:
            body = client_of_owner.get(
                "/fishmouth/fishmouth.dxf", self.ASKED | {"side": side}
            ).content
            document, _ = recover.read(io.BytesIO(body))
            cut = document.modelspace().query('LWPOLYLINE[layer=="cut"]')
            return [point[:2] for point in max(cut, key=len).get_points()]

        left, right = line("left"), line("right")

        whole = left[-1][0]
        assert left != right
        assert [(whole - x, y) for x, y in reversed(right)] == [
            pytest.approx(point, abs=1e-6) for point in left
        ]


class TestCutting:
    def test_sheets_of_one_tube_are_laid_out_in_bars(
        self, client_of_owner: Client, car: Car, owner: Person
    ) -> None:
        """Cut lengths 400 and 450, kerf 2: one bar of 1000 leaves 1000 - 850 - 2 = 148."""
        stock, former = make_stock(bar_length_mm=1000.0), make_former()
        pipes = [
            make_sheet(by=owner, pipe=pipe_of(last_mm=mm), stock=stock, former=former)
            for mm in (400, 450)
        ]
        asked = {"sheets": [pipe.pk for pipe in pipes], "bars": "1000", "kerf": "2"}

        page = client_of_owner.get(f"/tube/{stock.pk}/cutting/", asked)
        paper = client_of_owner.get(f"/tube/{stock.pk}/cutting.pdf", asked)

        (bar,) = page.context["cutting"].bars
        assert (bar.left_mm, page.context["cutting"].lost_mm) == pytest.approx((148, 2))
        assert {piece.name for piece, _ in bar.pieces} == {str(pipe) for pipe in pipes}
        assert "148.0" in page.content.decode()
        assert paper.headers["Content-Type"] == "application/pdf"

    def test_each_tube_with_pipes_has_its_plan_and_the_bin_is_left_out(
        self, client_of_owner: Client, sheet: PipeSheet, owner: Person
    ) -> None:
        make_sheet(by=owner, stock=sheet.stock, thrown_out=True)
        unused = make_stock(od_mm=22.0)

        said = client_of_owner.get("/tube/cutting/").content.decode()
        form = client_of_owner.get(f"/tube/{sheet.stock_id}/cutting/").context["form"]

        assert f"{sheet.stock}: 1 pipe<" in said
        assert str(unused) not in said
        assert [value for value, _ in form.fields["sheets"].choices] == [str(sheet.pk)]

    def test_a_piece_longer_than_every_bar_is_named(
        self, client_of_owner: Client, owner: Person
    ) -> None:
        stock = make_stock()
        asked = {"more": "620; 1200", "bars": "1000", "kerf": "1"}

        answer = client_of_owner.get(f"/tube/{stock.pk}/cutting/", asked)

        assert answer.status_code == 422
        assert "Piece 2 is longer than any bar" in answer.content.decode()

    def test_pieces_are_counted_and_offcuts_come_first(
        self, client_of_owner: Client, owner: Person
    ) -> None:
        stock = make_stock()
        asked = {"more": "3 x 450", "bars": "1000; 3000", "kerf": "1", "offcuts": "500"}

        found = client_of_owner.get(f"/tube/{stock.pk}/cutting/", asked).context["cutting"]

        assert [(bar.length_mm, bar.is_bought) for bar in found.bars] == [
            (500, False),
            (1000, True),
        ]

    def test_of_more_than_sixteen_pieces_it_says_what_it_does_not_know(
        self, client_of_owner: Client, owner: Person
    ) -> None:
        stock = make_stock()
        asked = {"more": "17 x 400; 5 x 700", "bars": "1000", "kerf": "1"}

        said = client_of_owner.get(f"/tube/{stock.pk}/cutting/", asked).content.decode()

        assert "Another plan may buy less" in said

    def test_nothing_chosen_asks_for_a_pipe(self, client_of_owner: Client, owner: Person) -> None:
        stock = make_stock()

        answer = client_of_owner.get(f"/tube/{stock.pk}/cutting/", {"bars": "1000", "kerf": "1"})

        assert answer.status_code == 422
        assert "Tick a pipe, or write another piece." in answer.content.decode()
