"""The drop-off sheet as a reader sees it: text, boxes and code read back by general libraries."""

import http.server
import io
import threading
import zlib
from collections.abc import Iterator
from pathlib import Path
from uuid import uuid4

import pdfplumber
import pypdfium2
import pytest
import zxingcpp

from garage import paper
from garage.models import Car, Garage, Person
from parts import dropoff, sheets
from parts.models import DropOff, Line
from tests import factories
from tests.factories import NOW
from tests.parts.batches import bolt, change, make_building, make_waiting

POINT_MM = 25.4 / 72
# ISO 216:2007 A4; ANSI/ASME Y14.1 size A (US Letter, 8.5 x 11 in).
SIZES_MM = {"a4": (210.0, 297.0), "letter": (215.9, 279.4)}
URL = "http://192.168.1.20:8000/count/1/"


@pytest.fixture
def batch(car: Car, owner: Person) -> DropOff:
    finisher = factories.make_finisher()
    finisher.address, finisher.phone = "Unit 6, Weir Yard", "0100 555 0142"
    finisher.save()
    piece = make_waiting(
        car=car,
        by=owner,
        name="Radiator bracket",
        quantity=2,
        photos=[factories.make_photo(by=owner)],
    )
    bolt(piece, count=4, thread="M6")
    clip = factories.make_piece(car=car, by=owner, name="Overflow clip")
    clip.change({"joined_into": piece})
    one = make_building(
        car=car,
        by=owner,
        pieces=[piece],
        colour="satin black",
        colour_code="PB-9",
        gloss="30",
        thickness_um=80,
        grit="garnet",
        remarks="Ring before Friday.",
        quoted=84,
    )
    change(
        one.lines.get(),
        by=owner,
        hang_by="the top hole",
        plug="the bore",
        remarks="Thin at the lip",
    )
    dropoff.add_lot(
        dropoff=one,
        key=uuid4(),
        lot="Hinge bolts",
        count=24,
        weight_g=380,
        work="plate",
        by=owner,
        now=NOW,
    )
    return one


def _pdf(one: DropOff, by: Person, size: str = "a4", url: str = URL) -> bytes:
    one.refresh_from_db()
    return sheets.dropoff_sheet(one, count_url=url, by=by, now=NOW, paper_size=size)


def _texts(pdf: bytes) -> list[str]:
    with pdfplumber.open(io.BytesIO(pdf)) as document:
        return [page.extract_text() for page in document.pages]


def _tick_boxes(page: pdfplumber.page.Page) -> list[dict]:
    """The openings of squares drawn with a line all round: the boxes somebody ticks."""
    found: dict[tuple[int, int], dict] = {}
    for shape in [*page.rects, *page.curves]:
        width, height = shape["width"] * POINT_MM, shape["height"] * POINT_MM
        if 5.0 <= width <= 6.5 and abs(width - height) < 0.05:
            found[round(shape["x0"]), round(shape["top"])] = shape
    return list(found.values())


# ---- what it says


def test_every_word_of_the_batch_can_be_read(batch: DropOff, owner: Person) -> None:
    text = " ".join(_texts(_pdf(batch, owner))[0].split())

    tag = batch.lines.first().piece.tag
    for words in (
        "Drop-off 1",
        "Scarrow Coatings",
        "Unit 6, Weir Yard",
        "Tel. 0100 555 0142",
        "Wren, Our garage",
        "Hollin Wayfarer 1600",
        "Blast, powder coat, plate, satin black, code PB-9",
        "gloss 30, 80 µm",
        "grit: garnet",
        "190 °C metal, 12 min",
        tag,
        "Radiator bracket",
        "Blast then powder coat",
        "threaded holes M6, plug",
        "Plug: the bore",
        "Hang by: the top hole",
        "Thin at the lip",
        "Overflow clip",
        "Hinge bolts",
        "380 g in all",
        "2 lines, 4 places to keep bare",
        "26",
        "Ring before any change",
        "No sand",
        "Old paint may hold lead",
        "Ring before Friday.",
        "Handed over, name and date",
        "Collected, name, date, pieces counted",
        "Scan to count back",
        "D1",
        "1 of 1",
        "Quoted £84.00",
    ):
        assert words.casefold() in text.casefold(), words


def _overprinted(page: pdfplumber.page.Page) -> list[str]:
    """Letters that stand on other letters."""
    chars = sorted((c for c in page.chars if c["text"].strip()), key=lambda c: c["top"])
    found = []
    for place, char in enumerate(chars):
        for other in chars[place + 1 :]:
            if other["top"] > char["bottom"]:
                break
            across = min(char["x1"], other["x1"]) - max(char["x0"], other["x0"])
            down = min(char["bottom"], other["bottom"]) - max(char["top"], other["top"])
            # Kerning pulls letters together a little, and lines are set tight.
            if across > 0.4 * min(char["width"], other["width"]) and down > 0.2 * char["height"]:
                found.append(char["text"] + other["text"])
    return found


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_no_word_is_printed_over_another(batch: DropOff, owner: Person, size: str) -> None:
    batch.finisher.address = "Unit 6\nWeir Yard\nLower Mill Lane\nWeirford\nNorthshire"
    batch.finisher.save()

    with pdfplumber.open(io.BytesIO(_pdf(batch, owner, size))) as document:
        assert _texts(_pdf(batch, owner))[0].startswith("Drop-off 1\n")
        assert [_overprinted(page) for page in document.pages] == [[]] * len(document.pages)


def test_the_three_signatures_stand_in_one_row_below_everything(
    batch: DropOff, owner: Person
) -> None:
    with pdfplumber.open(io.BytesIO(_pdf(batch, owner))) as document:
        words = document.pages[0].extract_words()
    tops = {word["text"]: word["top"] for word in words}
    row = [tops[name] for name in ("Handed", "Received,", "Collected,")]

    assert max(row) - min(row) < 1
    assert min(row) > max(tops["hand-over"], tops["heating."]) + 10 / POINT_MM


def test_cautions_follow_the_work_wanted(car: Car, owner: Person) -> None:
    machined = make_waiting(car=car, by=owner, work="plate")
    one = make_building(car=car, by=owner, pieces=[machined])

    (text,) = _texts(_pdf(one, owner))

    assert "No sand" not in text
    assert "closed hollows" not in text.casefold()
    assert "Blow out hollow" not in text


def test_what_comes_back_bare_says_so(car: Car, owner: Person) -> None:
    one = make_building(car=car, by=owner, pieces=[make_waiting(car=car, by=owner, work="blast")])

    assert "Comes back bare" in _texts(_pdf(one, owner))[0]


# ---- its paper


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_every_page_has_the_size_of_the_standard(batch: DropOff, owner: Person, size: str) -> None:
    document = pypdfium2.PdfDocument(_pdf(batch, owner, size))

    width_mm, height_mm = SIZES_MM[size]
    for page in document:
        left, bottom, right, top = page.get_mediabox()
        assert (right - left) * POINT_MM == pytest.approx(width_mm, abs=0.01)
        assert (top - bottom) * POINT_MM == pytest.approx(height_mm, abs=0.01)


def test_the_garages_own_paper_is_taken_when_none_is_named(batch: DropOff, owner: Person) -> None:
    Garage.objects.update(paper="letter")

    page = pypdfium2.PdfDocument(_pdf(batch, owner, ""))[0]

    assert page.get_width() * POINT_MM == pytest.approx(215.9, abs=0.01)


def test_title_language_and_tags_are_there_for_a_screen_reader(
    batch: DropOff, owner: Person
) -> None:
    with pdfplumber.open(io.BytesIO(_pdf(batch, owner))) as document:
        catalog = document.doc.catalog
        assert document.metadata["Title"] == "Drop-off 1, Scarrow Coatings"
    assert catalog["Lang"] == b"en-GB"
    assert catalog["MarkInfo"]["Marked"] is True
    assert catalog["ViewerPreferences"]["DisplayDocTitle"] is True
    assert "PrintScaling" not in catalog["ViewerPreferences"]


def test_fonts_are_in_the_file(batch: DropOff, owner: Person) -> None:
    pdf = pypdfium2.PdfDocument(_pdf(batch, owner))
    with pdfplumber.open(io.BytesIO(_pdf(batch, owner))) as document:
        names = {char["fontname"] for char in document.pages[0].chars}

    assert len(pdf) == 1
    assert all("Splitpin-Sheet" in name for name in names), names


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_forty_lines_split_no_row_and_repeat_the_head(car: Car, owner: Person, size: str) -> None:
    photo = factories.make_photo(by=owner)
    pieces = []
    for number in range(40):
        name = f"Part {number:02d} " + "with a long name that runs on " * (number % 3)
        piece = make_waiting(car=car, by=owner, name=name[:80])
        if number % 2:
            piece.change({"cover": photo})
        pieces.append(piece)
    one = make_building(car=car, by=owner, pieces=pieces)
    for place, line in enumerate(one.lines.all()):
        long = "Mind the lip. " * (20 if place % 5 == 0 else place % 4)
        change(line, by=owner, remarks=f"{long}End {place:02d}.")

    with pdfplumber.open(io.BytesIO(_pdf(one, owner, size))) as document:
        assert len(document.pages) > 2
        seen = []
        for number, page in enumerate(document.pages, start=1):
            text = page.extract_text()
            here = [f"Part {n:02d}" for n in range(40) if f"Part {n:02d}" in text]
            seen += here
            assert [f"End {n:02d}" for n in range(40) if f"End {n:02d}" in text] == [
                name.replace("Part", "End") for name in here
            ]
            assert len(_tick_boxes(page)) == 2 * len(here)
            assert f"{number} of {len(document.pages)}" in text
            if here:
                assert "Part, and what to do in order" in text
            tops = sorted({round(word["top"]) for word in page.extract_words()})
            assert max(tops) < page.height
    assert seen == [f"Part {n:02d}" for n in range(40)]


def test_a_tick_box_is_at_least_six_millimetres(batch: DropOff, owner: Person) -> None:
    with pdfplumber.open(io.BytesIO(_pdf(batch, owner))) as document:
        boxes = _tick_boxes(document.pages[0])

    assert len(boxes) == 2 * batch.lines.count()
    assert min(box["width"] for box in boxes) * POINT_MM >= 6.0


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_nothing_runs_off_the_paper_however_long_the_words(
    car: Car, owner: Person, size: str
) -> None:
    finisher = factories.make_finisher(name="Scarrow " + "W" * 70)
    piece = make_waiting(car=car, by=owner, name="N" * 80)
    one = make_building(car=car, by=owner, pieces=[piece], finisher=finisher, colour="c" * 60)
    change(one.lines.get(), by=owner, remarks="r" * 300, hang_by="h" * 120, plug="p" * 120)
    DropOff.objects.filter(pk=one.pk).update(remarks="Mind this. " * 909)

    with pdfplumber.open(io.BytesIO(_pdf(one, owner, size))) as document:
        for page in document.pages:
            assert min(char["x0"] for char in page.chars) * POINT_MM >= 11.9
            assert max(char["x1"] for char in page.chars) <= page.width - 11.9 / POINT_MM
            assert _overprinted(page) == []
        said = "".join(page.extract_text() for page in document.pages)
    assert said.count("Mind this.") + said.count("Mind\nthis.") >= 900


# ---- its code


@pytest.mark.parametrize("size", ["a4", "letter"])
def test_a_general_reader_finds_the_address_of_counting_back(
    batch: DropOff, owner: Person, size: str
) -> None:
    page = pypdfium2.PdfDocument(_pdf(batch, owner, size))[0]
    picture = page.render(scale=200 / 72).to_numpy()

    (code,) = zxingcpp.read_barcodes(picture)

    assert code.format == zxingcpp.BarcodeFormat.QRCode
    assert code.text == URL
    assert code.ec_level == "M"


# ---- what it must not do


class _Listener(http.server.BaseHTTPRequestHandler):
    hits: list[str] = []

    def do_GET(self) -> None:
        self.hits.append(self.path)
        self.send_response(200)
        self.end_headers()

    def log_message(self, *args: object) -> None:
        return


@pytest.fixture
def listener() -> Iterator[str]:
    _Listener.hits = []
    server = http.server.ThreadingHTTPServer(("127.0.0.1", 0), _Listener)
    threading.Thread(target=server.serve_forever, daemon=True).start()
    yield f"http://127.0.0.1:{server.server_port}"
    server.shutdown()
    server.server_close()


def _payloads(base: str, canary: Path) -> list[str]:
    return [
        f'<img src="{base}/a">',
        f"<link rel=stylesheet href={base}/b>",
        f"<link rel=attachment href=file://{canary}>",
        f"<style>@import '{base}/c';</style>",
        f"<object data='{base}/d'></object>",
        f"<iframe src='{base}/e'></iframe>",
        f"<svg><image href='{base}/f'/></svg>",
        f'<p style="background:url({base}/g)">',
        f"<embed src=file://{canary}>",
        f"{{% include '{canary}' %}}",
    ]


def test_no_field_can_make_the_sheet_fetch_anything(
    car: Car, owner: Person, listener: str, tmp_path: Path
) -> None:
    canary = tmp_path / "canary.txt"
    canary.write_text("CANARY-5f0c")
    for number, payload in enumerate(_payloads(listener, canary)):
        Garage.objects.update(name=payload[:80], address=payload, phone=payload[:40])
        finisher = factories.make_finisher(name=f"{number} {payload}"[:80])
        finisher.address, finisher.phone = payload, payload[:40]
        finisher.save()
        piece = make_waiting(car=car, by=owner, name=payload[:80], position=payload[:120])
        one = make_building(
            car=car,
            by=owner,
            pieces=[piece],
            finisher=finisher,
            remarks=payload,
            colour=payload[:60],
            colour_code=payload[:30],
            gloss=payload[:30],
            grit=payload[:60],
        )
        Line.objects.filter(dropoff=one).update(
            grit=payload[:60], colour=payload[:60], hang_by=payload, plug=payload, remarks=payload
        )
        change(
            one.lines.get(),
            by=owner,
            masks=[{"what": "other", "count": 1, "thread": payload[:24], "how": payload[:60]}],
        )

        pdf = _pdf(one, owner)

        assert b"/EmbeddedFile" not in pdf
        assert b"CANARY-5f0c" not in pdf + _unpacked(pdf)
        assert payload.split()[0][:12] in "".join(_texts(pdf)), "the words are printed as words"
    assert _Listener.hits == []


def _unpacked(pdf: bytes) -> bytes:
    """Every stream of the file that unpacks, one after the other."""
    found = b""
    for part in pdf.split(b"stream\n")[1:]:
        try:
            found += zlib.decompressobj().decompress(part)
        except zlib.error:
            continue
    return found


def test_markup_that_got_through_would_still_fetch_nothing(listener: str, tmp_path: Path) -> None:
    canary = tmp_path / "canary.txt"
    canary.write_text("CANARY-5f0c")

    pdf = paper.plain("".join(_payloads(listener, canary)))

    assert _Listener.hits == []
    assert b"/EmbeddedFile" not in pdf
    assert b"CANARY-5f0c" not in pdf + _unpacked(pdf)


@pytest.mark.parametrize(
    "url",
    [
        "http://127.0.0.1:9/x",
        "https://x.test/",
        "ftp://x.test/a",
        "file:///etc/hostname",
        "data:image/svg+xml,<svg/>",
        "app-photo:unknown",
        "app-font:400",
        "app:x",
        "//x.test/a",
    ],
)
def test_the_fetcher_refuses_every_address_that_is_not_this_sheets(
    url: str, tmp_path: Path
) -> None:
    from weasyprint.urls import URLFetchingError

    picture = tmp_path / "a.jpg"
    picture.write_bytes(factories.jpeg_bytes())
    fetcher = paper._fetcher({"app-photo:known": picture})

    assert fetcher.fetch("app-photo:known").read() == picture.read_bytes()
    with pytest.raises(URLFetchingError):
        fetcher.fetch(url)


def test_a_lost_photo_leaves_a_sheet_without_it(batch: DropOff, owner: Person) -> None:
    from garage.photos import store

    store.rendition_path(batch.lines.first().picture, 320).unlink()

    assert "Radiator bracket" in _texts(_pdf(batch, owner))[0]
