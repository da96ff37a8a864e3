"""Reading a photo: what is taken, what is refused and why, and what is shown of it.

Expectations come from outside: the segment layout of ITU-T T.81, the orientation table of
EXIF 2.32 (4.6.4.A, tag 0x0112), and Pillow as the reader of what was written.
"""

import subprocess
import sys
from collections.abc import Iterator
from datetime import UTC, datetime, timedelta, timezone
from pathlib import Path

import pytest
from PIL import Image

from garage.photos import reader
from garage.photos.limits import (
    READER_STOPPED,
    TOO_HUNGRY,
    TOO_SLOW,
    NoRoomForPhotos,
    PhotoRefused,
)
from tests.garage.photos import corpus
from tests.garage.photos.corpus import BLUE, GREEN, RED, YELLOW

ROOT = Path(__file__).resolve().parents[3]
SIZES = (1600, 320)


def read(content: bytes, folder: Path) -> tuple[reader.Seen, dict[int, Path]]:
    source = folder / "photo.part"
    source.write_bytes(content)
    renditions = {size: folder / f"{size}.jpg" for size in SIZES}
    return reader.read(source, renditions=renditions), renditions


def segments(jpeg: bytes) -> Iterator[tuple[int, bytes]]:
    """Marker and content of every segment before the picture data (T.81 B.1.1)."""
    at = 2
    while jpeg[at + 1] != 0xDA:
        length = int.from_bytes(jpeg[at + 2 : at + 4], "big")
        yield jpeg[at + 1], jpeg[at + 4 : at + 2 + length]
        at += 2 + length


def quarters(path: Path) -> dict[frozenset[str], tuple[int, int, int]]:
    """The colour in the middle of each quarter, by the corner it lies in."""
    with Image.open(path) as picture:
        width, height = picture.size
        rgb = picture.convert("RGB")
    places = {
        frozenset({"top", "left"}): (width // 4, height // 4),
        frozenset({"top", "right"}): (width * 3 // 4, height // 4),
        frozenset({"bottom", "left"}): (width // 4, height * 3 // 4),
        frozenset({"bottom", "right"}): (width * 3 // 4, height * 3 // 4),
    }
    return {corner: colour_at(rgb, *place) for corner, place in places.items()}


def colour_at(rgb: Image.Image, x: int, y: int) -> tuple[int, int, int]:
    red, green, blue = rgb.crop((x, y, x + 1, y + 1)).tobytes()
    return red, green, blue


def is_near(seen: tuple[int, int, int], wanted: tuple[int, int, int]) -> bool:
    return all(abs(one - other) < 40 for one, other in zip(seen, wanted, strict=True))


def test_the_corpus_has_at_least_sixty_files() -> None:
    # The figure is that of the project's own test plan.
    assert len(corpus.bad()) >= 60
    assert len(corpus.good()) >= 30


@pytest.mark.parametrize("photo", corpus.good(), ids=lambda photo: photo.name)
def test_a_sound_photo_is_read_and_shown_bare(photo: corpus.Good, tmp_path: Path) -> None:
    seen, renditions = read(photo.content, tmp_path)

    assert (seen.format, seen.width_px, seen.height_px) == (photo.format, *photo.upright)
    for longest_px, path in renditions.items():
        shown = path.read_bytes()
        with Image.open(path) as picture:
            picture.load()
            assert (picture.format, picture.mode) == ("JPEG", "RGB")
            assert max(picture.size) == min(longest_px, max(photo.upright))
        # JFIF's own header is all that may stand beside tables and frame: APP0 0xE0.
        extra = [m for m, _ in segments(shown) if 0xE1 <= m <= 0xEF or m == 0xFE]
        assert extra == []
        assert b"CANARY" not in shown
        assert "CANARY".encode("utf-16-be") not in shown
        assert path.stat().st_mode & 0o777 == 0o600


def test_the_canaries_were_in_the_photo() -> None:
    # Without this the test above could pass on photos that never had any.
    assert corpus.jpeg().count(b"CANARY") >= 7
    assert "CANARY".encode("utf-16-be") in corpus.jpeg()
    assert corpus.heic().count(b"CANARY") >= 3


# EXIF 2.32, tag 0x0112: which side of the upright picture the stored row 0 and column 0 are.
ROW_0_AND_COLUMN_0 = {
    1: ("top", "left"),
    2: ("top", "right"),
    3: ("bottom", "right"),
    4: ("bottom", "left"),
    5: ("left", "top"),
    6: ("right", "top"),
    7: ("right", "bottom"),
    8: ("left", "bottom"),
}
ACROSS = {"top": "bottom", "bottom": "top", "left": "right", "right": "left"}


@pytest.mark.parametrize("orientation", ROW_0_AND_COLUMN_0)
@pytest.mark.parametrize("format", ["JPEG", "PNG", "WEBP"])
def test_a_photo_is_shown_upright(orientation: int, format: str, tmp_path: Path) -> None:
    row_0, column_0 = ROW_0_AND_COLUMN_0[orientation]
    exif = corpus.exif_with_canaries(orientation)

    seen, renditions = read(corpus.saved(corpus.picture(), format, exif=exif), tmp_path)

    turned = row_0 in ("left", "right")
    assert (seen.width_px, seen.height_px) == ((480, 640) if turned else (640, 480))
    for path in renditions.values():
        shown = quarters(path)
        assert is_near(shown[frozenset({row_0, column_0})], RED)
        assert is_near(shown[frozenset({row_0, ACROSS[column_0]})], BLUE)
        assert is_near(shown[frozenset({ACROSS[row_0], column_0})], GREEN)
        assert is_near(shown[frozenset({ACROSS[row_0], ACROSS[column_0]})], YELLOW)


@pytest.mark.parametrize("orientation", [0, 9, 65_535])
def test_an_orientation_that_means_nothing_turns_nothing(orientation: int, tmp_path: Path) -> None:
    exif = corpus.exif_with_canaries(orientation)

    seen, renditions = read(corpus.saved(corpus.picture(), exif=exif), tmp_path)

    assert (seen.width_px, seen.height_px) == (640, 480)
    assert is_near(quarters(renditions[320])[frozenset({"top", "left"})], RED)


def test_a_heic_is_shown_upright(tmp_path: Path) -> None:
    _, renditions = read(corpus.heic(), tmp_path)

    # Stored with EXIF orientation 6: row 0 is the right side, column 0 the top.
    shown = quarters(renditions[320])
    assert is_near(shown[frozenset({"right", "top"})], RED)
    assert is_near(shown[frozenset({"right", "bottom"})], BLUE)
    assert is_near(shown[frozenset({"left", "top"})], GREEN)
    assert is_near(shown[frozenset({"left", "bottom"})], YELLOW)


def test_a_large_photo_is_shrunk_to_both_sizes_and_keeps_its_shape(tmp_path: Path) -> None:
    large = corpus.saved(corpus.picture(size=(2600, 1950)), exif=corpus.exif_with_canaries(6))

    seen, renditions = read(large, tmp_path)

    assert (seen.width_px, seen.height_px) == (1950, 2600)
    with Image.open(renditions[1600]) as picture:
        assert picture.size == (1200, 1600)
    with Image.open(renditions[320]) as picture:
        assert picture.size == (240, 320)
    assert is_near(quarters(renditions[1600])[frozenset({"right", "top"})], RED)


def test_a_large_clear_png_is_put_together_from_its_bands(tmp_path: Path) -> None:
    clear = corpus.picture("RGBA", size=(6500, 1300))

    _, renditions = read(corpus.saved(clear, "PNG", compress_level=1), tmp_path)

    shown = quarters(renditions[1600])
    assert is_near(shown[frozenset({"left", "top"})], RED)
    assert is_near(shown[frozenset({"right", "bottom"})], YELLOW)


def middle_of(content: bytes, tmp_path: Path) -> tuple[int, int, int]:
    _, renditions = read(content, tmp_path)
    with Image.open(renditions[1600]) as picture:
        return colour_at(picture.convert("RGB"), picture.width // 2, picture.height // 2)


def test_what_is_clear_is_shown_on_white(tmp_path: Path) -> None:
    clear = Image.new("RGBA", (40, 40), (200, 30, 30, 0))

    assert is_near(middle_of(corpus.saved(clear, "PNG"), tmp_path), (255, 255, 255))


def test_what_is_half_clear_is_half_as_strong_on_white(tmp_path: Path) -> None:
    clear = Image.new("RGBA", (40, 40), (255, 0, 0, 128))

    # PNG 3rd edition 13.16: output = alpha * foreground + (1 - alpha) * background.
    red, green, blue = middle_of(corpus.saved(clear, "PNG"), tmp_path)
    assert (red, green, blue) == pytest.approx((255, 127, 127), abs=4)


def test_sixteen_bit_grey_is_scaled_and_not_clipped(tmp_path: Path) -> None:
    grey = Image.new("I;16", (40, 40), 32_768)

    # PNG 3rd edition 13.12: output = input * 255 / 65535, here 127.5.
    assert middle_of(corpus.saved(grey, "PNG"), tmp_path) == pytest.approx((128,) * 3, abs=2)


def test_a_cmyk_jpeg_is_not_shown_as_its_negative(tmp_path: Path) -> None:
    ink = Image.new("CMYK", (40, 40), (0, 255, 255, 0))

    red, green, blue = middle_of(corpus.saved(ink), tmp_path)

    # Full magenta and yellow ink without cyan is red.
    assert red > 200
    assert max(green, blue) < 60


def test_a_colour_profile_is_turned_into_srgb(tmp_path: Path) -> None:
    red = Image.new("RGB", (40, 40), (255, 0, 0))
    swapped = corpus.profile_with_red_and_blue_swapped()

    # Under this profile (ICC.1: rXYZ and bXYZ exchanged) stored red means the blue of sRGB.
    assert is_near(middle_of(corpus.saved(red, icc_profile=swapped), tmp_path), (0, 0, 255))


def taken_at(tmp_path: Path, **tags: str) -> datetime | None:
    exif = Image.Exif()
    names = {"moment": 0x9003, "offset": 0x9011}
    exif.get_ifd(0x8769).update({names[name]: text for name, text in tags.items()})
    seen, _ = read(corpus.saved(corpus.picture(size=(64, 48)), exif=exif), tmp_path)
    return seen.taken_at


# EXIF 2.32 4.6.5.F: DateTimeOriginal "YYYY:MM:DD HH:MM:SS", OffsetTimeOriginal "+HH:MM"; a date
# that is not known is written as blanks with colons.
def test_the_time_of_a_photo_is_taken_as_utc_without_an_offset(tmp_path: Path) -> None:
    moment = taken_at(tmp_path, moment="2026:03:29 01:30:00")

    assert moment == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


def test_the_offset_of_a_photo_is_kept(tmp_path: Path) -> None:
    moment = taken_at(tmp_path, moment="2026:03:29 01:30:00", offset="+05:45")

    assert moment == datetime(2026, 3, 29, 1, 30, tzinfo=timezone(timedelta(hours=5, minutes=45)))


def test_an_offset_of_blanks_is_no_offset(tmp_path: Path) -> None:
    moment = taken_at(tmp_path, moment="2026:03:29 01:30:00", offset="   :  ")

    assert moment == datetime(2026, 3, 29, 1, 30, tzinfo=UTC)


@pytest.mark.parametrize(
    "moment", ["    :  :     :  :  ", "0000:00:00 00:00:00", "2026:02:30 01:00:00", "yesterday"]
)
def test_a_time_that_is_none_is_left_out(moment: str, tmp_path: Path) -> None:
    assert taken_at(tmp_path, moment=moment) is None


def stand_in(folder: Path, script: str) -> str:
    """A program in place of the interpreter that the decoder would run in."""
    program = folder / "interpreter"
    program.write_text(f"#!/bin/sh\n{script}\n")
    program.chmod(0o700)
    return str(program)


@pytest.mark.parametrize(
    ("ending", "reason"),
    [
        ("kill -KILL $$", READER_STOPPED),
        ("kill -SEGV $$", READER_STOPPED),
        ("kill -XCPU $$", TOO_SLOW),
        ("exit 1", READER_STOPPED),
        ("exit 0", READER_STOPPED),
        ("echo not json", READER_STOPPED),
        ("echo '[]'", READER_STOPPED),
    ],
)
def test_a_decoder_that_dies_refuses_the_photo(
    ending: str, reason: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(sys, "executable", stand_in(tmp_path, ending))

    with pytest.raises(PhotoRefused) as refusal:
        read(corpus.jpeg(), tmp_path)

    assert refusal.value.reason == reason


def test_a_decoder_that_takes_too_long_is_ended(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(reader, "DECODER_WALL_S", 0.01)

    with pytest.raises(PhotoRefused) as refusal:
        read(corpus.jpeg(), tmp_path)

    assert refusal.value.reason == TOO_SLOW


def test_a_photo_that_needs_too_much_memory_is_refused(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # 62 MP take 248 MB as Pillow holds them (4 bytes a pixel).
    monkeypatch.setattr(reader, "DECODER_MEMORY_BYTES", 200 << 20)
    large = corpus.png(size=(10_000, 6_200), colour=2, data=bytes(30_001 * 6_200))

    with pytest.raises(PhotoRefused) as refusal:
        read(large, tmp_path)

    assert refusal.value.reason == TOO_HUNGRY


def run(code: str, *arguments: str) -> subprocess.CompletedProcess[str]:
    return subprocess.run(
        [sys.executable, "-c", code, *arguments],
        env={"PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=False,
    )


def test_the_limits_hold_in_the_decoder_itself() -> None:
    limited = (
        "from garage.photos import decode\n"
        "decode._limit_this_process(memory_bytes=1 << 30, cpu_s=1)\n"
    )

    hungry = run(limited + "bytearray(1 << 30)")
    busy = run(limited + "while True: pass")

    assert "MemoryError" in hungry.stderr
    assert busy.returncode == -24  # SIGXCPU, signal(7)


def test_the_decoder_starts_without_django() -> None:
    loaded = run("import sys, garage.photos.decode; print('django' in sys.modules)")

    assert loaded.stdout == "False\n"


def test_a_disk_that_fills_up_under_the_renditions_is_told_from_a_bad_photo(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # Every new file of the decoder is the device that is always full: full(4).
    (tmp_path / "sitecustomize.py").write_text(
        "import os\n"
        "opened = os.open\n"
        "def full(path, flags, mode=0o777, **more):\n"
        "    new = flags & os.O_CREAT\n"
        "    return opened('/dev/full' if new else path, os.O_WRONLY if new else flags, mode)\n"
        "os.open = full\n"
    )
    monkeypatch.setenv("PYTHONPATH", str(tmp_path))

    with pytest.raises(NoRoomForPhotos):
        read(corpus.jpeg(), tmp_path)


PEAK = """
import sys
from garage.photos import decode
decode.main(sys.argv[1:])
peak = next(line for line in open("/proc/self/status") if line.startswith("VmHWM"))
print(peak.split()[1])
"""


def test_twelve_megapixels_are_shrunk_while_they_are_read(tmp_path: Path) -> None:
    source = tmp_path / "photo.part"
    source.write_bytes(corpus.saved(corpus.picture(size=(4000, 3000)), quality=80))

    ended = run(PEAK, str(source), str(1 << 30), "10", f"1600={tmp_path / 'large.jpg'}")

    # 12 million pixels at Pillow's 4 bytes are 48 MB; read at half size they are 12, and the
    # decoder without a photo takes about 30.
    assert int(ended.stdout.split()[-1]) < 70 << 10
