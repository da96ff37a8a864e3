"""A sheet is held to its figures from its first print or bend; new ones are taken on purpose."""

from django.test import Client
from django.urls import reverse

from fabrication.making import bending
from fabrication.models import BeadTool, PipeSheet, SheetFreeze
from fabrication.pipe.inputs import BEAD, End
from garage.models import Person
from tests.fabrication.bending_rows import make_making
from tests.fabrication.page_parts import words_of
from tests.fabrication.pipe_rows import make_former, make_sheet, make_stock, pipe_of
from tests.fabrication.tool_rows import make_bead_test, make_bead_tool
from tests.factories import NOW


def moved(sheet: PipeSheet, radius_mm: float = 46.0) -> None:
    sheet.former.measured_radius_mm = radius_mm
    sheet.former.save()


def test_the_first_print_holds_the_sheet_to_its_figures(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_sheet(by=owner)

    answers = [client_of_owner.post(reverse("pipe_print", args=[sheet.pk])) for _ in range(2)]

    assert [answer["Location"] for answer in answers] == [
        reverse("pipe_sheet", args=[sheet.pk])
    ] * 2
    freeze = SheetFreeze.objects.get()
    assert (freeze.why, freeze.figures["radius_mm"], freeze.revision) == ("print", 45.0, 1)


def test_printing_leads_to_no_other_machine(client_of_owner: Client, owner: Person) -> None:
    sheet = make_sheet(by=owner)

    answer = client_of_owner.post(
        reverse("pipe_print", args=[sheet.pk]), {"next": "https://elsewhere.example/"}
    )

    assert answer["Location"] == reverse("pipe_sheet", args=[sheet.pk])


def test_a_former_measured_again_moves_nothing_and_says_by_how_much_it_would(
    client_of_owner: Client, owner: Person
) -> None:
    """By hand: bend 2 begins at 100 + R x 90 degrees + 80. One millimetre more in R moves it by
    1.571; the cut length has 150 degrees of arc and moves by 2.618."""
    sheet = make_sheet(by=owner, former=make_former())
    client_of_owner.post(reverse("pipe_print", args=[sheet.pk]))
    moved(sheet)

    page = words_of(client_of_owner.get(sheet.get_absolute_url()).content.decode())
    figures = words_of(
        client_of_owner.get(reverse("pipe_figures", args=[sheet.pk])).content.decode()
    )

    assert "marks would move by up to 1.6 mm" in page
    assert "418.0" in page
    assert "Marks would move by up to 1.6 mm, the cut length by 2.6 mm" in figures
    assert "45.0 mm 46.0 mm" in figures


def test_new_figures_are_taken_as_a_new_revision(client_of_owner: Client, owner: Person) -> None:
    sheet = make_sheet(by=owner)
    client_of_owner.post(reverse("pipe_print", args=[sheet.pk]))
    moved(sheet)

    client_of_owner.post(reverse("pipe_figures", args=[sheet.pk]), {"seen": "1"})

    sheet.refresh_from_db()
    page = words_of(client_of_owner.get(sheet.get_absolute_url()).content.decode())
    assert sheet.version == 2
    assert sheet.revisions.get().version == 1
    assert SheetFreeze.objects.count() == 2
    assert "would move" not in page
    assert "R 46.0 mm" in page


def test_no_new_figures_while_a_pipe_is_being_bent(client_of_owner: Client, owner: Person) -> None:
    sheet = make_sheet(by=owner)
    making = make_making(by=owner, sheet=sheet)
    moved(sheet)
    url = reverse("pipe_figures", args=[sheet.pk])

    answer = client_of_owner.post(url, {"seen": "1"})
    bending.end(making=making, outcome="made", because="", by=owner, now=NOW)
    after = client_of_owner.post(url, {"seen": "1"})

    assert answer.status_code == 422
    assert "its marks are on the tube" in answer.content.decode()
    assert after.status_code == 302


def test_new_figures_of_a_sheet_that_moved_on_are_refused(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_sheet(by=owner)
    client_of_owner.post(reverse("pipe_print", args=[sheet.pk]))
    moved(sheet)

    answer = client_of_owner.post(reverse("pipe_figures", args=[sheet.pk]), {"seen": "7"})

    sheet.refresh_from_db()
    assert answer.status_code == 422
    assert sheet.version == 1


def test_a_sheet_on_another_former_is_held_to_nothing_yet(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = make_sheet(by=owner)
    client_of_owner.post(reverse("pipe_print", args=[sheet.pk]))
    PipeSheet.objects.filter(pk=sheet.pk).update(former=make_former(name="F3"))

    html = client_of_owner.get(reverse("pipe_figures", args=[sheet.pk])).content.decode()

    assert "Not held to any yet" in html


def beaded(owner: Person) -> PipeSheet:
    """A pipe of 28 mm tube with a bead at end A, and the one tool that makes it."""
    former = make_former(tube_od_mm=28.0, measured_radius_mm=84.0, hook_mm=40.0, guide_mm=50.0)
    tube = make_stock(material="copper", od_mm=28.0, wall_mm=1.2)
    make_bead_test(make_bead_tool(), tube, eaten_mm=1.2)
    pipe = pipe_of((100, 0, 90), last_mm=100, end_a=End(form=BEAD))
    return make_sheet(by=owner, pipe=pipe, former=former, stock=tube)


def cut_on(client: Client, sheet: PipeSheet) -> str:
    page = words_of(client.get(sheet.get_absolute_url()).content.decode())
    return page.partition("Cut from the bar ")[2].partition(" ")[0]


def test_a_later_test_piece_of_the_bead_moves_nothing_and_is_told(
    client_of_owner: Client, owner: Person
) -> None:
    """By hand: 200 straight and a quarter on 84, 131.95; 4 trimmed behind the bead, 1.2 eaten:
    337.15, shown to half a millimetre. A second piece that ate 3.2 makes the mean 2.2: one more."""
    sheet = beaded(owner)
    client_of_owner.post(reverse("pipe_print", args=[sheet.pk]))
    make_bead_test(BeadTool.objects.get(), sheet.stock, eaten_mm=3.2)

    held = cut_on(client_of_owner, sheet)
    figures = words_of(
        client_of_owner.get(reverse("pipe_figures", args=[sheet.pk])).content.decode()
    )
    client_of_owner.post(reverse("pipe_figures", args=[sheet.pk]), {"seen": "1"})

    assert held == "337.0"
    assert "the cut length by 1.0 mm" in figures
    assert "eats 1.20" in figures and "eats 2.20" in figures
    assert cut_on(client_of_owner, sheet) == "338.0"


def test_figures_kept_before_bead_tools_were_are_still_read(
    client_of_owner: Client, owner: Person
) -> None:
    sheet = beaded(owner)
    client_of_owner.post(reverse("pipe_print", args=[sheet.pk]))
    freeze = SheetFreeze.objects.get()
    del freeze.figures["bead_tools"], freeze.figures["former_od_mm"]
    freeze.save()
    make_bead_test(BeadTool.objects.get(), sheet.stock, eaten_mm=3.2)

    answer = client_of_owner.get(reverse("pipe_figures", args=[sheet.pk]))

    assert answer.status_code == 200
    assert cut_on(client_of_owner, sheet) == "338.0"  # the tool as it is now, as it was then
