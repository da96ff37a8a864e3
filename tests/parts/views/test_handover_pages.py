import io
from datetime import timedelta
from typing import Any
from uuid import uuid4

import pypdfium2
import pytest
import zxingcpp
from django.test import Client
from django.utils import timezone

from garage.models import Car, Person
from parts import dropoff as verbs
from parts.models import DropOff, Line
from parts.statuses import Status
from tests import factories
from tests.parts.batches import make_building, make_out, make_waiting


def _shown(client: Client, url: str) -> str:
    answer = client.get(url)
    assert answer.status_code == 200
    return answer.content.decode()


def _hand_over(client: Client, **fields: str) -> object:
    return client.post(
        "/out/1/hand-over/", {"hand_over_on": "2026-11-27", "due_on": "2026-12-11", **fields}
    )


def test_handing_over_proposes_the_day_it_is_due(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    page = _shown(client_of_owner, "/out/1/hand-over/")

    assert f'value="{timezone.localdate() + timedelta(days=10):%Y-%m-%d}"' in page
    assert "They say 10 days" in page


def test_a_whole_dropoff_by_plain_posts(client_of_helper: Client, car: Car, owner: Person) -> None:
    finisher, piece = factories.make_finisher(), make_waiting(car=car, by=owner)

    client_of_helper.post("/out/new/", {"key": str(uuid4()), "finisher": finisher.pk})
    client_of_helper.post("/out/1/pieces/", {"pieces": [piece.pk]})
    _hand_over(client_of_helper)
    client_of_helper.post("/out/1/collect/")
    line = Line.objects.get()
    client_of_helper.post("/count/1/", {f"l{line.pk}-key": str(uuid4()), f"l{line.pk}-is": "good"})

    piece.refresh_from_db()
    assert piece.status == Status.OFF
    assert DropOff.objects.get().state == DropOff.State.CLOSED
    assert "Closed" in _shown(client_of_helper, "/out/")


def test_due_before_it_goes_is_refused(client_of_owner: Client, car: Car, owner: Person) -> None:
    make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    answer = _hand_over(client_of_owner, due_on="2026-11-01")

    assert answer.status_code == 422
    assert "cannot be due before it goes" in answer.content.decode()


def test_a_line_without_work_is_named_at_handing_over(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    piece = make_waiting(car=car, by=owner, work="")
    make_building(car=car, by=owner, pieces=[piece])

    answer = _hand_over(client_of_owner)

    assert answer.status_code == 422
    assert f"{piece}: say what work is wanted" in answer.content.decode()


def test_the_sheet_opens_in_the_browser_and_is_the_kept_one_once_handed_over(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    before = client_of_owner.get("/out/1/sheet.pdf?paper=letter")
    _hand_over(client_of_owner)
    after = client_of_owner.get("/out/1/sheet.pdf?paper=letter")

    assert (
        before.headers["Content-Disposition"]
        == 'inline; filename="drop-off-1-scarrow-coatings.pdf"'
    )
    assert (
        after.headers["Content-Disposition"] == 'inline; filename="drop-off-1-scarrow-coatings.pdf"'
    )
    kept = b"".join(after.streaming_content)
    assert kept == verbs.kept_sheet(DropOff.objects.get()).read_bytes()
    # US Letter is 8.5 in wide, A4 is 210 mm: 612 pt and 595.3 pt.
    assert pypdfium2.PdfDocument(io.BytesIO(before.content))[0].get_width() == pytest.approx(
        612, abs=0.1
    )
    assert pypdfium2.PdfDocument(io.BytesIO(kept))[0].get_width() == pytest.approx(595.28, abs=0.1)


@pytest.mark.parametrize(
    ("public_url", "expected"),
    [
        ("", "http://testserver/count/1/"),
        ("https://garage.example/splitpin", "https://garage.example/splitpin/count/1/"),
    ],
)
def test_the_code_opens_counting_back_under_the_public_address(
    client_of_owner: Client, car: Car, owner: Person, settings: Any, public_url: str, expected: str
) -> None:
    settings.SPLITPIN_PUBLIC_URL = public_url
    make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    pdf = client_of_owner.get("/out/1/sheet.pdf").content
    picture = pypdfium2.PdfDocument(pdf)[0].render(scale=200 / 72).to_numpy()

    (code,) = zxingcpp.read_barcodes(picture)
    assert code.text == expected


def test_taking_back_and_starting_again(client_of_owner: Client, car: Car, owner: Person) -> None:
    make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    client_of_owner.post("/out/1/take-back/", {"because": "shop is shut"})
    page = _shown(client_of_owner, "/out/1/")
    post = {"key": str(uuid4())}
    for _ in range(2):
        answer = client_of_owner.post("/out/1/again/", post)

    assert "Taken back, because shop is shut" in page
    assert answer.headers["Location"] == "/out/2/"
    assert DropOff.objects.count() == 2


def test_closing_asks_for_a_reason_while_something_is_uncounted(
    client_of_owner: Client, car: Car, owner: Person
) -> None:
    make_out(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])

    refused = client_of_owner.post("/out/1/close/", {"because": ""})
    closed = client_of_owner.post("/out/1/close/", {"because": "lost in their yard"})

    assert (refused.status_code, closed.status_code) == (422, 302)
    assert "say why it is closed without" in refused.content.decode()
    assert "because lost in their yard" in _shown(client_of_owner, "/out/1/")


def test_a_viewer_sees_everything_and_changes_nothing(
    client_of_viewer: Client, car: Car, owner: Person
) -> None:
    one = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner)])
    line = one.lines.get()

    for url in ("/out/", "/out/1/", "/count/1/", "/finishers/", f"/finishers/{one.finisher_id}/"):
        assert (
            "<button" not in _shown(client_of_viewer, url).split("<main", 1)[1].split("</main>")[0]
        ), url
    for url in (
        "/out/new/",
        "/out/1/",
        "/out/1/pieces/",
        "/out/1/tag/",
        "/out/1/lots/",
        "/out/1/laid-out/",
        "/out/1/hand-over/",
        "/out/1/take-back/",
        "/out/1/again/",
        "/out/1/close/",
        "/out/1/collect/",
        "/count/1/",
        f"/lines/{line.pk}/",
        f"/lines/{line.pk}/take-off/",
        "/finishers/new/",
        f"/finishers/{one.finisher_id}/change/",
    ):
        assert client_of_viewer.post(url).status_code == 403, url
