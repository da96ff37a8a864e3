"""Photos good and bad, made by code: what a phone, a memory card or a stranger may send.

Pillow writes the sound ones; the rest is cut, patched or put together byte by byte from the
published formats (T.81 for JPEG, PNG 3rd edition, RIFF, ISO 14496-12), which are named where used.
"""

import io
import random
import struct
import zipfile
import zlib
from dataclasses import dataclass
from functools import cache
from pathlib import Path
from typing import Any

from PIL import Image, ImageCms

DATA = Path(__file__).parent / "data"
SIZE = (640, 480)
RED, BLUE, GREEN, YELLOW = (200, 30, 30), (30, 30, 200), (30, 160, 30), (230, 230, 30)
SCRIPT = b"<script>alert('CANARY-SCRIPT')</script>"


@dataclass(frozen=True)
class Good:
    """A photo to be taken in, and what must be known of it then."""

    name: str
    content: bytes
    format: str
    upright: tuple[int, int]


@dataclass(frozen=True)
class Bad:
    """A file to be refused, and the words that must be in the reason."""

    name: str
    content: bytes
    says: str


def picture(mode: str = "RGB", size: tuple[int, int] = SIZE) -> Image.Image:
    """Four quarters, red, blue, green, yellow, with a grain that keeps a JPEG from being tiny."""
    width, height = size
    drawn = Image.new("RGB", size, RED)
    drawn.paste(BLUE, (width // 2, 0, width, height))
    drawn.paste(GREEN, (0, height // 2, width // 2, height))
    drawn.paste(YELLOW, (width // 2, height // 2, width, height))
    grain = Image.frombytes("L", size, random.Random(7).randbytes(width * height))
    grainy = Image.merge("RGB", [grain] * 3)
    return Image.blend(drawn, grainy, 0.05).convert(mode)


def saved(drawn: Image.Image, format: str = "JPEG", **options: Any) -> bytes:
    file = io.BytesIO()
    drawn.save(file, format, **options)
    return file.getvalue()


def exif_with_canaries(orientation: int = 1) -> Image.Exif:
    exif = Image.Exif()
    exif[0x010E], exif[0x0112], exif[0x013B] = "CANARY-TITLE", orientation, "CANARY-OWNER"
    exif.get_ifd(0x8769).update({0x9003: "2026:03:29 01:30:00", 0x9286: b"ASCII\0\0\0CANARY-NOTE"})
    exif.get_ifd(0x8825).update(
        {1: "N", 2: (51.0, 30.0, 12.5), 3: "W", 4: (0.0, 7.0, 30.25), 29: "CANARY-GPS"}
    )
    return exif


@cache
def jpeg() -> bytes:
    """A JPEG with everything on it that must not come out again."""
    return saved(
        picture(),
        quality=88,
        exif=exif_with_canaries(),
        comment=b"CANARY-COMMENT" + SCRIPT,
        xmp=b"<x:xmpmeta xmlns:x='adobe:ns:meta/'>CANARY-XMP</x:xmpmeta>",
        icc_profile=profile(),
    )


@cache
def heic() -> bytes:
    return (DATA / "quarters.heic").read_bytes()


@cache
def profile() -> bytes:
    """The sRGB profile with a canary in its description."""
    made = ImageCms.ImageCmsProfile(ImageCms.createProfile("sRGB")).tobytes()
    return made.replace("sRGB built-in".encode("utf-16-be"), "CANARY-BUILT!".encode("utf-16-be"))


def profile_with_red_and_blue_swapped() -> bytes:
    """A profile under which stored red is blue: the tag table (ICC.1 7.3) names the other one."""
    return profile().replace(b"rXYZ", b"????").replace(b"bXYZ", b"rXYZ").replace(b"????", b"bXYZ")


def chunk(name: bytes, data: bytes) -> bytes:
    """One PNG chunk: length, name, data, check sum (PNG 3rd edition 5.3)."""
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def png(*, size: tuple[int, int], depth: int = 8, colour: int = 0, data: bytes) -> bytes:
    """A PNG with any header over any picture data (5.2, 11.2.1: IHDR, IDAT, IEND)."""
    header = struct.pack(">IIBBBBB", *size, depth, colour, 0, 0, 0)
    chunks = [chunk(b"IHDR", header), chunk(b"IDAT", zlib.compress(data)), chunk(b"IEND", b"")]
    return b"\x89PNG\r\n\x1a\n" + b"".join(chunks)


def png_with(name: bytes, data: bytes) -> bytes:
    """A sound PNG with one more chunk behind its header."""
    sound = saved(picture(), "PNG")
    return sound[:33] + chunk(name, data) + sound[33:]


def jpeg_of_claimed_size(width_px: int, height_px: int) -> bytes:
    """A JPEG whose frame header (T.81 B.2.2: marker, length, depth, lines, samples) was patched."""
    sound = saved(picture())
    at = sound.index(b"\xff\xc0")
    return sound[: at + 5] + struct.pack(">HH", height_px, width_px) + sound[at + 9 :]


def two_pictures_in_one() -> bytes:
    """What phones send for a portrait or a wide view: an MPO, a JPEG with a second one behind."""
    second = picture(size=(320, 240))
    return saved(picture(), "MPO", save_all=True, append_images=[second])


def without_its_second_picture() -> bytes:
    """The same after a messenger has cut off the second picture and left the index."""
    whole = two_pictures_in_one()
    return whole[: whole.index(b"\xff\xd9\xff\xd8") + 2]


def zip_file() -> bytes:
    file = io.BytesIO()
    with zipfile.ZipFile(file, "w") as archive:
        archive.writestr("CANARY-ZIP.html", SCRIPT)
    return file.getvalue()


def moving(format: str) -> bytes:
    frames = [picture(size=(64, 48)), Image.new("RGB", (64, 48), BLUE)]
    return saved(frames[0], format, save_all=True, append_images=frames[1:], duration=100)


def cut(content: bytes, percent: int) -> bytes:
    return content[: len(content) * percent // 100]


def with_a_bit_turned(content: bytes, at: int) -> bytes:
    return content[:at] + bytes([content[at] ^ 0x10]) + content[at + 1 :]


@cache
def good() -> tuple[Good, ...]:
    """Every file that must be taken in."""
    return (*_good_jpegs(), *_good_pngs(), *_good_others())


def _good_jpegs() -> list[Good]:
    plain = saved(picture())
    big_exif = exif_with_canaries()
    big_exif[0x010E] = "CANARY-" + "x" * 60_000
    made = {
        "with everything on it": jpeg(),
        "plain": plain,
        "progressive": saved(picture(), progressive=True),
        "grey": saved(picture("L")),
        "CMYK": saved(picture("CMYK")),
        "full colour resolution": saved(picture(), subsampling=0),
        "60 kB of EXIF": saved(picture(), exif=big_exif),
        "EXIF of noise": saved(picture(), exif=b"Exif\0\0II*\0" + random.Random(1).randbytes(500)),
        "profile of noise": saved(picture(), icc_profile=random.Random(2).randbytes(500)),
        "profile of another kind": saved(picture("CMYK"), icc_profile=profile()),
        "web page behind it": plain + b"<html>CANARY" + SCRIPT,
        "ZIP behind it": plain + zip_file(),
        "PDF behind it": plain + b"%PDF-1.4 CANARY",
        "web page in the comment": saved(picture(), comment=b"<html>CANARY" + SCRIPT),
        "two pictures": two_pictures_in_one(),
        "second picture cut off": without_its_second_picture(),
    }
    return [Good(f"jpeg, {name}", content, "JPEG", SIZE) for name, content in made.items()]


def _good_pngs() -> list[Good]:
    clear = picture("RGBA")
    clear.putalpha(128)
    deep = png(size=(16, 8), depth=16, colour=2, data=(b"\0" + b"\x80\0" * 3 * 16) * 8)
    wide = png(size=(12_000, 1), data=b"\0" + b"\x80" * 12_000)
    made = {
        "plain": (saved(picture(), "PNG"), SIZE),
        "clear": (saved(clear, "PNG"), SIZE),
        "grey and clear": (saved(picture("LA"), "PNG"), SIZE),
        "palette": (saved(picture("P"), "PNG"), SIZE),
        "palette, one clear": (saved(picture("P"), "PNG", transparency=0), SIZE),
        "black and white": (saved(picture("1"), "PNG"), SIZE),
        "16 bit grey": (saved(Image.new("I;16", SIZE, 32_768), "PNG"), SIZE),
        "16 bit colour": (deep, (16, 8)),
        "one pixel": (png(size=(1, 1), data=b"\0\x80"), (1, 1)),
        "longest side there may be": (wide, (12_000, 1)),
        "text": (png_with(b"tEXt", b"Comment\0CANARY-TEXT" + SCRIPT), SIZE),
        "place": (png_with(b"eXIf", exif_with_canaries().tobytes()[6:]), SIZE),
        "profile": (saved(picture(), "PNG", icc_profile=profile()), SIZE),
    }
    return [Good(f"png, {name}", content, "PNG", size) for name, (content, size) in made.items()]


def _good_others() -> list[Good]:
    exif = exif_with_canaries()
    clear = saved(picture("RGBA"), "WEBP", lossless=True, exif=exif)
    return [
        Good("webp, plain", saved(picture(), "WEBP"), "WEBP", SIZE),
        Good("webp, clear and lossless", clear, "WEBP", SIZE),
        Good("webp, profile", saved(picture(), "WEBP", icc_profile=profile()), "WEBP", SIZE),
        Good("heic", heic(), "HEIC", (48, 64)),
        Good("heic, bytes behind it", heic() + b"\xff" * 40, "HEIC", (48, 64)),
    ]


@cache
def bad() -> tuple[Bad, ...]:
    """Every file that must be refused."""
    return (*_cut_off(), *_damaged(), *_of_another_kind(), *_too_much())


def _cut_off() -> list[Bad]:
    whole = {
        "jpeg": jpeg(),
        "plain jpeg": saved(picture()),
        "progressive jpeg": saved(picture(), progressive=True),
        "png": saved(picture(), "PNG"),
        "webp": saved(picture(), "WEBP"),
        "heic": heic(),
    }
    cuts = [
        Bad(f"{name}, {percent} % of it", cut(content, percent), "cut off")
        for name, content in whole.items()
        for percent in (1, 10, 50, 90, 99)
        if len(cut(content, percent)) >= 24
    ]
    ends = [
        Bad(f"{name}, last two bytes gone", content[:-2], "cut off")
        for name, content in whole.items()
    ]
    half = saved(picture())
    zeros = cut(half, 50).ljust(len(half), b"\0")
    return [*cuts, *ends, Bad("jpeg, second half zeros", zeros, "cut off")]


def _damaged() -> list[Bad]:
    noise = random.Random(3).randbytes(4096)
    sound = saved(picture(), "PNG")
    flat = saved(Image.new("RGB", SIZE, RED), "PNG")
    return [
        Bad("nothing", b"", "empty"),
        Bad("one byte", b"\xff", "not a photo"),
        Bad("two bytes of a jpeg", b"\xff\xd8", "not a photo"),
        Bad("three bytes of a jpeg", b"\xff\xd8\xff", "cut off"),
        Bad("noise", noise, "not a photo"),
        Bad("noise with a jpeg's beginning", b"\xff\xd8\xff" + noise + b"\xff\xd9", "damaged"),
        Bad("noise with a png's beginning", b"\x89PNG\r\n\x1a\n" + noise, "cut off"),
        Bad("png, one bit turned", with_a_bit_turned(sound, len(sound) // 2), "damaged"),
        # Near the end of the picture data, where Pillow by itself takes no notice.
        Bad("png, one late bit turned", with_a_bit_turned(flat, len(flat) - 30), "damaged"),
        Bad("png, end chunk gone", sound[:-12], "cut off"),
        Bad("png, too little in it", png(size=SIZE, data=b"\0" * 1000), "damaged"),
        Bad("png, text that unfolds to 80 MB", png_with(b"zTXt", _unfolding(80)), "damaged"),
        Bad("webp, noise in it", b"RIFF" + struct.pack("<I", 4100) + b"WEBP" + noise, "damaged"),
        Bad("heic, noise in its index", heic()[:200] + noise[:200] + heic()[400:], "damaged"),
    ]


def _unfolding(megabytes: int) -> bytes:
    return b"Comment\0\0" + zlib.compress(b"\0" * (megabytes << 20))


def _of_another_kind() -> list[Bad]:
    small = picture(size=(64, 48))
    svg = b"<svg xmlns='http://www.w3.org/2000/svg'>" + SCRIPT + b"</svg>"
    made = {
        "This is a GIF": saved(small, "GIF"),
        "This is a TIFF": saved(small, "TIFF"),
        "This is a BMP": saved(small, "BMP"),
        "This is an EPS": saved(small, "EPS"),
        "This is a PDF": saved(small, "PDF"),
        "This is an icon": saved(small, "ICO"),
        "This is a JPEG 2000": saved(small, "JPEG2000"),
        "This is an AVIF": saved(small, "AVIF"),
        "This is an SVG": svg,
        "This is a web page": b"\xef\xbb\xbf\n <!DOCTYPE html><html>" + SCRIPT,
        "This is a ZIP": zip_file(),
        "This is a PSD": b"8BPS\0\x01" + bytes(40),
        "This is a film": b"\0\0\0\x18ftypmp42" + bytes(40),
        "This is a camera's raw": b"\0\0\0\x18ftypcrx " + bytes(40),
        "This is not a photo": b"Torque the pulley bolt last.",
    }
    again = [
        Bad("moving gif", moving("GIF"), "This is a GIF"),
        Bad("svg behind its declaration", b"<?xml version='1.0'?>\n" + svg, "This is an SVG"),
        Bad("jpeg behind a web page", b"<html>" + jpeg(), "This is a web page"),
        Bad("script alone", SCRIPT, "This is a web page"),
        Bad("moving png", moving("PNG"), "more than one picture"),
        Bad("moving webp", moving("WEBP"), "more than one picture"),
    ]
    return [*(Bad(f"{says[8:]}", content, says) for says, content in made.items()), *again]


def _too_much() -> list[Bad]:
    # ISO 23008-12 6.5.3: ispe holds version and flags, then width and height.
    at = heic().index(b"ispe") + 8
    heic_claim = heic()[:at] + struct.pack(">II", 60_000, 60_000) + heic()[at + 8 :]
    real = png(size=(12_000, 5_400), data=bytes(12_001 * 5_400))
    return [
        Bad("png of 400 MP, claimed", png(size=(20_000, 20_000), data=b""), "Too many pixels"),
        Bad("png of 3600 MP, claimed", png(size=(60_000, 60_000), data=b""), "Too many pixels"),
        # Between one and two times its limit Pillow would only warn.
        Bad("png of 65 MP, whole", real, "Too many pixels"),
        Bad("jpeg of 179 MP, claimed", jpeg_of_claimed_size(13_377, 13_377), "Too many pixels"),
        Bad("jpeg of 4290 MP, claimed", jpeg_of_claimed_size(65_500, 65_500), "Too many pixels"),
        Bad("jpeg of one line", jpeg_of_claimed_size(65_500, 1), "Too long a side"),
        Bad("png a pixel too long", png(size=(12_001, 1), data=bytes(12_002)), "Too long a side"),
        Bad("heic of 3600 MP, claimed", heic_claim, "damaged"),
    ]
