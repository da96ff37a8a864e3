"""Reads one photo in full and writes what is shown of it; runs as a process of its own.

``python -m garage.photos.decode PHOTO MEMORY_BYTES CPU_S 1600=FILE 320=FILE`` prints one JSON
line: what the photo is, {"refused": sentence}, or {"no_room": true}. Any other end of the process
is a photo that broke the decoder. No Django here: the start takes a tenth of a second as it is.
"""

import errno
import json
import math
import os
import resource
import sys
import warnings
from datetime import UTC, datetime
from io import BytesIO
from typing import BinaryIO

from PIL import Image, JpegImagePlugin

from garage.photos import kinds
from garage.photos.limits import (
    CUT_OFF,
    DAMAGED,
    DECODER_FILE_BYTES,
    LARGE_PX,
    PIXEL_LIMIT,
    RENDITION_QUALITY,
    SIDE_LIMIT_PX,
    TOO_HUNGRY,
    TOO_MANY_PIXELS,
    WANTED,
    PhotoRefused,
)

# EXIF 2.32 4.6.4.A, tag 0x0112: where row 0 and column 0 of the stored picture belong.
UPRIGHT = {
    2: Image.Transpose.FLIP_LEFT_RIGHT,
    3: Image.Transpose.ROTATE_180,
    4: Image.Transpose.FLIP_TOP_BOTTOM,
    5: Image.Transpose.TRANSPOSE,
    6: Image.Transpose.ROTATE_270,
    7: Image.Transpose.TRANSVERSE,
    8: Image.Transpose.ROTATE_90,
}
ORIENTATION, EXIF_FOLDER, TAKEN_AT, TAKEN_AT_OFFSET = 0x0112, 0x8769, 0x9003, 0x9011
PLAIN_MODES = ("L", "RGB", "CMYK")
BAND_PX = 256


def main(arguments: list[str]) -> int:
    """0, with one JSON line printed."""
    source, memory_bytes, cpu_s, *renditions = arguments
    _limit_this_process(memory_bytes=int(memory_bytes), cpu_s=int(cpu_s))
    targets = {int(size): path for size, _, path in (word.partition("=") for word in renditions)}
    try:
        answer: dict[str, object] = read_photo(source, targets)
    except PhotoRefused as refusal:
        answer = {"refused": refusal.reason}
    except MemoryError:
        answer = {"refused": TOO_HUNGRY}
    except OSError as error:
        if error.errno not in (errno.ENOSPC, errno.EDQUOT):
            raise
        answer = {"no_room": True}
    print(json.dumps(answer))
    return 0


def _limit_this_process(*, memory_bytes: int, cpu_s: int) -> None:
    os.umask(0o077)
    resource.setrlimit(resource.RLIMIT_CORE, (0, 0))
    resource.setrlimit(resource.RLIMIT_FSIZE, (DECODER_FILE_BYTES, DECODER_FILE_BYTES))
    resource.setrlimit(resource.RLIMIT_AS, (memory_bytes, memory_bytes))
    resource.setrlimit(resource.RLIMIT_CPU, (cpu_s, cpu_s + 1))
    # Pillow only warns between one and two times its limit.
    Image.MAX_IMAGE_PIXELS = PIXEL_LIMIT
    warnings.simplefilter("ignore")
    warnings.simplefilter("error", Image.DecompressionBombWarning)


def read_photo(source: str, targets: dict[int, str]) -> dict[str, object]:
    """Format, upright size and time of the photo; its renditions are written to ``targets``.

    Raises
    ------
    PhotoRefused
        If it is no photo of a kind that is taken, not whole, or too large to read.
    """
    with open(source, "rb") as file:
        kind = _accepted_kind(file)
        picture, size_px = _decoded(file, kind)
    orientation, taken_at = _from_exif(picture)
    width_px, height_px = size_px[::-1] if orientation >= 5 else size_px
    shown = _shown(picture, orientation)
    for longest_px in sorted(targets, reverse=True):
        shown = _at_most(shown, longest_px)
        _write(shown, targets[longest_px])
    return {
        "format": "HEIC" if kind == kinds.HEIF else kind,
        "width_px": width_px,
        "height_px": height_px,
        "taken_at": taken_at and taken_at.isoformat(),
    }


def _accepted_kind(file: BinaryIO) -> str:
    kind = kinds.kind_of(file.read(kinds.HEAD_BYTES))
    if kind not in kinds.TAKEN:
        raise PhotoRefused(f"This is {kind or 'not a photo'}. {WANTED}")
    if kind != kinds.JPEG and kinds.ends_early(file, kind):
        raise PhotoRefused(CUT_OFF)
    if kind == kinds.PNG and not kinds.png_is_sound(file):
        raise PhotoRefused(DAMAGED)
    return kind


def _decoded(file: BinaryIO, kind: str) -> tuple[Image.Image, tuple[int, int]]:
    """The picture with every pixel read, and its stored size; a JPEG is shrunk on the way."""
    _register(kind)
    try:
        picture = Image.open(file, formats=(kind,))
        size_px = picture.size
        _refuse_unfit(picture, kind)
        _shrink_on_load(picture)
        picture.load()
        if kind == kinds.HEIF:
            size_px = picture.size  # known for certain only now
    except (PhotoRefused, MemoryError):
        raise
    except (Image.DecompressionBombWarning, Image.DecompressionBombError) as error:
        raise PhotoRefused(TOO_MANY_PIXELS) from error
    except Exception as error:
        # Decoders raise whatever comes first on a broken file. An errno is the disk's, not theirs.
        if getattr(error, "errno", None):
            raise
        cut = kind == kinds.JPEG and kinds.ends_early(file, kind)
        raise PhotoRefused(CUT_OFF if cut else DAMAGED) from error
    return picture, size_px


def _register(kind: str) -> None:
    if kind == kinds.JPEG:
        # Without Pillow's factory, which follows the index of further pictures in a phone's
        # MPO file and gives up the photo when that index is stale.
        Image.register_open(
            kind, JpegImagePlugin.JpegImageFile, lambda prefix: prefix.startswith(b"\xff\xd8\xff")
        )
    elif kind == kinds.WEBP:
        from PIL import WebPImagePlugin  # noqa: F401, PLC0415  registers itself
    elif kind == kinds.HEIF:
        from pi_heif import register_heif_opener  # noqa: PLC0415  most photos are not HEIC

        register_heif_opener(
            thumbnails=False, depth_images=False, aux_images=False, decode_threads=2
        )


def _refuse_unfit(picture: Image.Image, kind: str) -> None:
    longest_px = max(picture.size)
    if longest_px > SIDE_LIMIT_PX:
        raise PhotoRefused(
            f"Too long a side: {longest_px:,} pixels, the limit is {SIDE_LIMIT_PX:,}. "
            "Send a smaller copy."
        )
    # A HEIC may carry more than one picture: the one it names as its main one is the photo.
    if kind != kinds.HEIF and getattr(picture, "n_frames", 1) > 1:
        raise PhotoRefused("This file holds more than one picture. Send one still photo.")


def _shrink_on_load(picture: Image.Image) -> None:
    share = LARGE_PX / max(picture.size)
    if share < 1 and isinstance(picture, JpegImagePlugin.JpegImageFile):
        # The box must have the picture's own shape, or draft() shrinks by less than it could.
        width_px, height_px = picture.size
        picture.draft(None, (math.ceil(width_px * share), math.ceil(height_px * share)))


def _from_exif(picture: Image.Image) -> tuple[int, datetime | None]:
    """Orientation 1 to 8, and when the photo was taken; broken EXIF spoils no photo."""
    try:
        exif = picture.getexif()
        details = exif.get_ifd(EXIF_FOLDER)
        orientation = exif.get(ORIENTATION)
    except Exception as error:  # whatever a parser meets in bytes from anywhere
        print(f"EXIF not read: {error!r}", file=sys.stderr)
        return 1, None
    # Of a HEIC this is 1: its own boxes say how it stands, and its plugin has turned it by them.
    return orientation if orientation in UPRIGHT else 1, _taken_at(
        details.get(TAKEN_AT), details.get(TAKEN_AT_OFFSET)
    )


def _taken_at(moment: object, offset: object) -> datetime | None:
    """EXIF 2.32 4.6.5.F: "YYYY:MM:DD HH:MM:SS", offset "+01:00"; without an offset taken as UTC."""
    try:
        taken_at = datetime.strptime(str(moment).strip(" \0"), "%Y:%m:%d %H:%M:%S")
    except ValueError:
        return None
    try:
        zone = datetime.strptime(str(offset).strip(" \0"), "%z").tzinfo
    except ValueError:
        zone = UTC
    return taken_at.replace(tzinfo=zone)


def _shown(picture: Image.Image, orientation: int) -> Image.Image:
    """The picture as it is shown: at most 1600 px, sRGB, on white, upright, nothing attached."""
    profile = picture.info.get("icc_profile")
    small = _at_most(_flattened(picture), LARGE_PX)
    coloured = _in_srgb(small, profile)
    if orientation in UPRIGHT:
        coloured = coloured.transpose(UPRIGHT[orientation])
    # Pillow writes a JPEG comment back from here, even into a rendition.
    coloured.info = {}
    return coloured


def _flattened(picture: Image.Image) -> Image.Image:
    """The picture as grey, RGB or CMYK, by bands so that no second one of its size is held."""
    if picture.mode in PLAIN_MODES and not picture.has_transparency_data:
        return picture
    width_px, height_px = picture.size
    times = max(1, max(picture.size) // (2 * LARGE_PX))
    flat = Image.new("RGB", (math.ceil(width_px / times), math.ceil(height_px / times)))
    for top in range(0, height_px, BAND_PX * times):
        band = picture.crop((0, top, width_px, min(top + BAND_PX * times, height_px)))
        flat.paste(_on_white(band).reduce(times), (0, top // times))
    return flat


def _on_white(band: Image.Image) -> Image.Image:
    if band.mode.startswith("I"):
        # convert() would clip at 255 what runs to 65,535.
        return band.convert("I").point(lambda value: value * (1 / 257)).convert("RGB")
    if not band.has_transparency_data:
        return band.convert("RGB")
    clear = band.convert("RGBA")
    white = Image.new("RGB", band.size, "white")
    white.paste(clear, mask=clear.getchannel("A"))
    return white


def _at_most(picture: Image.Image, longest_px: int) -> Image.Image:
    share = longest_px / max(picture.size)
    if share >= 1:
        return picture
    width_px, height_px = (max(1, round(side * share)) for side in picture.size)
    return picture.resize((width_px, height_px), Image.Resampling.LANCZOS, reducing_gap=2.0)


def _in_srgb(picture: Image.Image, profile: bytes | None) -> Image.Image:
    if profile:
        from PIL import ImageCms  # noqa: PLC0415  many photos carry no profile

        try:
            source = ImageCms.ImageCmsProfile(BytesIO(profile))
            target = ImageCms.createProfile("sRGB")
            turned = ImageCms.profileToProfile(picture, source, target, outputMode="RGB")
            if turned is not None:
                return turned
        except (ImageCms.PyCMSError, OSError, ValueError) as error:
            print(f"colour profile not used: {error!r}", file=sys.stderr)
    return picture.convert("RGB")


def _write(picture: Image.Image, target: str) -> None:
    with os.fdopen(os.open(target, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "wb") as file:
        picture.save(file, "JPEG", quality=RENDITION_QUALITY)


if __name__ == "__main__":
    sys.exit(main(sys.argv[1:]))
