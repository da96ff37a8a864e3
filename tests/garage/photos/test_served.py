"""What of a photo leaves the garage: a bare picture to look at, and to the owner the file itself.

Where a photo was taken, by whom, and with what words on it stays in the original. Searched for are
the canaries of the corpus, and any segment of a JPEG that is not needed to draw it. What a JPEG
may carry is from ITU-T T.81 (B.1.1.3 markers, B.2.4.5 comment, B.2.4.6 application data) and from
JFIF (ITU-T T.871, 10.1); headers from RFC 9110 (5.6) and RFC 6266 (4.1).
"""

import re
import struct
import zlib
from collections.abc import Iterator
from email.message import Message
from io import BytesIO
from pathlib import Path
from uuid import uuid4

import pypdfium2
import pytest
from django.http import HttpResponseBase
from django.test import Client
from django.urls import reverse
from PIL import Image

from garage.models import Car, Person, Photo
from garage.photos.limits import RENDITIONS_PX
from parts import sheets
from parts.models import DropOff
from tests.factories import NOW
from tests.garage.photos import corpus
from tests.garage.photos.uploads import upload
from tests.parts.batches import make_building, make_waiting

# The place in the corpus, 51 degrees 30' 12.5" north: as EXIF has it (EXIF 2.32
# 4.6.6, tag 2: three fractions, in either order of bytes), and as a text would.
FRACTIONS = (51, 1, 30, 1, 25, 2)
PLACE = (struct.pack("<6I", *FRACTIONS), struct.pack(">6I", *FRACTIONS), b"51.5034")
WORDS = ("CANARY", "2026:03:29", "alert(")
MARKERS_TO_DRAW = {0xC4, 0xDA, 0xDB, 0xDD, 0xE0} | set(range(0xC0, 0xC4))


def sent() -> dict[str, bytes]:
    """A photo of each kind that is taken, with all on it that must not come out."""
    of_kind = {photo.name: photo.content for photo in corpus.good()}
    return {
        "jpeg": corpus.jpeg(),
        "jpeg with a page behind it": of_kind["jpeg, web page behind it"],
        "jpeg of two pictures": of_kind["jpeg, two pictures"],
        "png with its place": of_kind["png, place"],
        "png with text": of_kind["png, text"],
        "png with a profile": of_kind["png, profile"],
        "webp": of_kind["webp, clear and lossless"],
        "heic": corpus.heic(),
    }


# ---- the searches -----------------------------------------------------------------------------


def canaries(content: bytes) -> list[str]:
    """The canaries in some bytes, in the letters of a text, of EXIF and of a colour profile."""
    return [
        f"{word} in {letters}"
        for word in WORDS
        for letters in ("ascii", "utf-16-be", "utf-16-le")
        if word.encode(letters) in content
    ] + [f"place {place!r}" for place in PLACE if place in content]


def segments(jpeg: bytes) -> Iterator[int]:
    """The marker of each segment before the first scan (T.81 B.1.1.4: marker, length, data)."""
    at = 2
    while jpeg[at] == 0xFF:
        marker, (length,) = jpeg[at + 1], struct.unpack_from(">H", jpeg, at + 2)
        yield marker
        if marker == 0xDA:
            return
        at += 2 + length


def traces(jpeg: bytes) -> list[str]:
    """Whatever a served picture carries beside the picture."""
    found = canaries(jpeg)
    found += [f"segment FF{mark:02X}" for mark in segments(jpeg) if mark not in MARKERS_TO_DRAW]
    if not jpeg.endswith(b"\xff\xd9"):
        found.append("bytes behind it")
    with Image.open(BytesIO(jpeg)) as picture:
        told = {*picture.info} - {"jfif", "jfif_version", "jfif_unit", "jfif_density"}
        found += [f"{name} of the picture" for name in sorted(told)]
        found += ["EXIF"] if dict(picture.getexif()) else []
    return found


def unpacked(pdf: bytes) -> bytes:
    """The file and every stream of it that unpacks, one behind the other."""
    found = pdf
    for part in pdf.split(b"stream\n")[1:]:
        try:
            found += zlib.decompressobj().decompress(part)
        except zlib.error:
            continue
    return found


def body(response: HttpResponseBase) -> bytes:
    return response.getvalue()  # type: ignore[attr-defined,no-any-return]


def take_in(client: Client, content: bytes, name: str = "pulley.jpg") -> Photo:
    key = uuid4()
    answer = client.post("/photos/", {"key": str(key), "photo": upload(content, name)})
    assert answer.status_code == 201, answer.content
    return Photo.objects.get(key=key)


def rendition(client: Client, photo: Photo, size: int) -> HttpResponseBase:
    return client.get(reverse("photo", args=[photo.key, size]))


# ---- renditions -------------------------------------------------------------------------------


@pytest.mark.parametrize("kind", sent())
def test_a_picture_is_served_bare_under_its_own_type(
    data: Path, client_of_helper: Client, kind: str
) -> None:
    photo = take_in(client_of_helper, sent()[kind])

    for size in RENDITIONS_PX:
        answer = rendition(client_of_helper, photo, size)

        assert traces(body(answer)) == [], size
        assert answer.headers["Content-Type"] == "image/jpeg"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"
        assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
        assert answer.headers.get("Content-Disposition", "inline").startswith("inline")


def test_what_is_kept_of_a_photo_in_words_tells_no_place(
    data: Path, client_of_helper: Client
) -> None:
    photo = take_in(client_of_helper, corpus.jpeg(), name="CANARY-NAME 51.50 N.jpg")

    row = Photo.objects.filter(pk=photo.pk).values().get()

    assert canaries(repr(row).encode()) == []


def test_a_picture_that_is_not_there_is_plain_text_that_nobody_runs(
    data: Path, client_of_owner: Client
) -> None:
    photo = take_in(client_of_owner, corpus.jpeg())

    for url in (reverse("photo", args=[photo.key, 640]), reverse("photo", args=[photo.key, 32])):
        answer = client_of_owner.get(url)
        assert answer.status_code == 404
        assert answer.headers["Content-Type"] == "text/plain"
        assert answer.headers["X-Content-Type-Options"] == "nosniff"


# ---- originals --------------------------------------------------------------------------------


def told_name(response: HttpResponseBase) -> str:
    """The name of an attachment as a general parser of such headers reads it."""
    header = response.headers["Content-Disposition"]
    # RFC 6266 4.1 with RFC 9110 5.6.4: one parameter, a quoted string of letters nobody escapes.
    assert re.fullmatch(r'attachment; filename="[A-Za-z0-9._-]+"', header)
    message = Message()
    message["Content-Disposition"] = header
    assert message.get_content_disposition() == "attachment"
    return message.get_filename() or ""


@pytest.mark.parametrize(("kind", "ending"), [("jpeg", "jpg"), ("webp", "webp"), ("heic", "heic")])
def test_the_file_itself_is_the_owners_to_save_and_no_browsers_to_show(
    data: Path, client_of_owner: Client, kind: str, ending: str
) -> None:
    photo = take_in(client_of_owner, sent()[kind])

    answer = client_of_owner.get(reverse("photo_original", args=[photo.key]))

    assert body(answer) == sent()[kind]
    assert answer.headers["Content-Type"] == "application/octet-stream"
    assert answer.headers["X-Content-Type-Options"] == "nosniff"
    assert answer.headers["Content-Security-Policy"] == "default-src 'none'; sandbox"
    assert answer.headers["Cache-Control"] == "no-store"
    assert told_name(answer).endswith(f".{ending}")


@pytest.mark.parametrize(
    "name",
    ['x"; filename="evil.html', "a\r\nSet-Cookie: b=1.jpg", "Kühler.svg", "../../x.php", "a;b.jpg"],
)
def test_the_senders_name_for_a_photo_comes_back_nowhere(
    data: Path, client_of_owner: Client, name: str
) -> None:
    photo = take_in(client_of_owner, corpus.jpeg(), name=name)

    answer = client_of_owner.get(reverse("photo_original", args=[photo.key]))

    answer.close()
    assert re.fullmatch(r"photo-\d{4}-\d\d-\d\d-[0-9a-f]{8}\.jpg", told_name(answer))
    assert "Set-Cookie" not in answer.headers


@pytest.mark.parametrize("name", ['Weir"; filename="x.html', "Rößler & Söhne", "a\nb: c", "<b>"])
def test_a_finishers_name_makes_no_second_header(
    data: Path, client_of_owner: Client, car: Car, owner: Person, name: str
) -> None:
    batch = batch_with_photo(car, owner, take_in(client_of_owner, corpus.jpeg()))
    batch.finisher.name = name
    batch.finisher.save()

    answer = client_of_owner.get(reverse("dropoff_sheet", args=[batch.number]))

    assert answer.headers["Content-Type"] == "application/pdf"
    header = answer.headers["Content-Disposition"]
    assert re.fullmatch(r'inline; filename="drop-off-\d+-[a-z0-9-]+\.pdf"', header)


# ---- paper ------------------------------------------------------------------------------------


def batch_with_photo(car: Car, by: Person, photo: Photo) -> DropOff:
    piece = make_waiting(car=car, by=by, name="Radiator bracket", photos=[photo])
    return make_building(car=car, by=by, pieces=[piece])


def pictures_on(pdf: bytes) -> int:
    """How many pictures of pixels the pages show."""
    kind = pypdfium2.raw.FPDF_PAGEOBJ_IMAGE
    return sum(len(list(page.get_objects(filter=[kind]))) for page in pypdfium2.PdfDocument(pdf))


@pytest.mark.parametrize("kind", ["jpeg", "png with its place", "heic"])
def test_no_canary_gets_onto_the_drop_off_sheet(
    data: Path, client_of_owner: Client, car: Car, owner: Person, kind: str
) -> None:
    batch = batch_with_photo(car, owner, take_in(client_of_owner, sent()[kind]))
    batch.laid_out = take_in(client_of_owner, sent()["jpeg with a page behind it"])
    batch.save()

    pdf = sheets.dropoff_sheet(batch, count_url="http://splitpin.test/", by=owner, now=NOW)

    assert pictures_on(pdf) == 2
    assert canaries(unpacked(pdf)) == []


def test_the_pages_that_show_a_photo_tell_no_place(
    data: Path, client_of_owner: Client, car: Car, owner: Person
) -> None:
    photo = take_in(client_of_owner, corpus.jpeg())
    batch = batch_with_photo(car, owner, photo)
    part = batch.lines.get().piece.part

    for url in (part.get_absolute_url(), batch.get_absolute_url(), reverse("parts"), "/"):
        page = client_of_owner.get(url, follow=True).content
        assert canaries(page) == [], url
        assert b"data:image" not in page


# ---- the searches are no blind ones -----------------------------------------------------------

# Pillow writes back what it read where the picture still knows it: no clearing of ``info``.
NOTHING_IS_CLEARED = """
from PIL import Image

def kept(self):
    return self.__dict__.setdefault("_all_info", {})

def add(self, more):
    kept(self).update(more)

Image.Image.info = property(kept, add)
"""
# Without a colour profile: the turn into sRGB would leave the comment behind by itself.
WITH_COMMENT = corpus.saved(corpus.picture(), comment=b"CANARY-COMMENT")


@pytest.fixture
def careless_decoder(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """A decoder that saves renditions with all the picture still knows."""
    (tmp_path / "sitecustomize.py").write_text(NOTHING_IS_CLEARED)
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))


def test_a_picture_saved_without_clearing_its_info_is_seen(
    data: Path, careless_decoder: None, client_of_owner: Client
) -> None:
    photo = take_in(client_of_owner, WITH_COMMENT)

    for size in RENDITIONS_PX:
        found = {*traces(body(rendition(client_of_owner, photo, size)))}

        assert {"CANARY in ascii", "segment FFFE", "comment of the picture"} <= found, size


def test_such_a_picture_is_seen_on_the_drop_off_sheet(
    data: Path, careless_decoder: None, client_of_owner: Client, car: Car, owner: Person
) -> None:
    batch = batch_with_photo(car, owner, take_in(client_of_owner, WITH_COMMENT))

    pdf = sheets.dropoff_sheet(batch, count_url="http://splitpin.test/", by=owner, now=NOW)

    assert "CANARY in ascii" in canaries(unpacked(pdf))


def test_a_canary_in_a_packed_stream_is_seen() -> None:
    pdf = b"1 0 obj\nstream\n" + zlib.compress(b"/Author (CANARY-GPS)") + b"\nendstream"

    assert canaries(pdf) == []
    assert canaries(unpacked(pdf)) == ["CANARY in ascii"]


def test_the_originals_sent_here_do_carry_what_is_searched_for() -> None:
    found = traces(corpus.jpeg())

    assert {"CANARY in ascii", "CANARY in utf-16-be", "2026:03:29 in ascii"} <= {*found}
    assert {"segment FFE1", "segment FFE2", "segment FFFE", "EXIF"} <= {*found}
    assert any(line.startswith("place") for line in found)
    # A PNG packs its profile, and two pictures carry no words: only an index of the second.
    silent = {kind for kind, content in sent().items() if not canaries(content)}
    assert silent == {"png with a profile", "jpeg of two pictures"}
    assert "segment FFE2" in traces(sent()["jpeg of two pictures"])
