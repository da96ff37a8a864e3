"""What a file is by its first bytes, and whether its own frame says that it is all there.

A decoder is content with less than a whole file: it draws a PNG without its last chunk and a
HEIC without its last bytes. What is kept as proof must be whole, so the frame is walked first.
"""

import os
import zlib
from typing import BinaryIO

# Photos that are taken in, under the names the decoder knows them by.
JPEG, PNG, WEBP, HEIF = "JPEG", "PNG", "WEBP", "HEIF"
TAKEN = (JPEG, PNG, WEBP, HEIF)
HEAD_BYTES = 1024
PNG_SIGNATURE = b"\x89PNG\r\n\x1a\n"

# First bytes of files that turn up instead of a photo, and what a person calls them.
OTHERS = (
    (b"GIF8", "a GIF"),
    (b"II*\x00", "a TIFF or a camera's raw file"),
    (b"MM\x00*", "a TIFF or a camera's raw file"),
    (b"II+\x00", "a TIFF or a camera's raw file"),
    (b"MM\x00+", "a TIFF or a camera's raw file"),
    (b"FUJIFILMCCD-RAW", "a camera's raw file"),
    (b"%!PS", "an EPS drawing"),
    (b"\xc5\xd0\xd3\xc6", "an EPS drawing"),
    (b"%PDF", "a PDF"),
    (b"BM", "a BMP"),
    (b"8BPS", "a PSD"),
    (b"PK\x03\x04", "a ZIP or an office document"),
    (b"\xff\x0a", "a JPEG XL"),
    (b"\x00\x00\x00\x0cJXL ", "a JPEG XL"),
    (b"\x00\x00\x00\x0cjP  ", "a JPEG 2000"),
    (b"\xff\x4f\xff\x51", "a JPEG 2000"),
    (b"\x00\x00\x01\x00", "an icon file"),
    (b"\x1aE\xdf\xa3", "a film"),
)
# ISO 23008-12 annex B: brands of pictures coded with HEVC; mif1 and msf1 say only "a picture".
HEVC_BRANDS = {b"heic", b"heix", b"heim", b"heis", b"hevc", b"hevx", b"hevm", b"hevs"}
PICTURE_BRANDS = {b"mif1", b"msf1"}
AVIF_BRANDS = {b"avif", b"avis"}


def kind_of(head: bytes) -> str:
    """One of ``TAKEN``, or what the file is in words ("a GIF"), or "" when nothing is known of it.

    The name and type the sender gives are not asked.
    """
    if head.startswith(b"\xff\xd8\xff"):
        return JPEG
    if head.startswith(PNG_SIGNATURE):
        return PNG
    if head.startswith(b"RIFF") and head[8:12] == b"WEBP":
        return WEBP
    if head[4:8] == b"ftyp":
        return _kind_of_boxes(head)
    for start, name in OTHERS:
        if head.startswith(start):
            return name
    return _kind_of_text(head)


def _kind_of_boxes(head: bytes) -> str:
    end = min(int.from_bytes(head[:4], "big"), len(head))
    major = head[8:12]
    brands = {major, *(head[at : at + 4] for at in range(16, end - 3, 4))}
    if major in HEVC_BRANDS or (major in PICTURE_BRANDS and brands & HEVC_BRANDS):
        return HEIF
    if brands & AVIF_BRANDS:
        return "an AVIF"
    if major in PICTURE_BRANDS:
        return HEIF
    return "a camera's raw file" if major == b"crx " else "a film"


def _kind_of_text(head: bytes) -> str:
    text = head.removeprefix(b"\xef\xbb\xbf").lstrip().lower()
    if b"<svg" in text:
        return "an SVG drawing"
    if text.startswith((b"<!doctype html", b"<html", b"<head", b"<body", b"<script")):
        return "a web page"
    return ""


def ends_early(file: BinaryIO, kind: str) -> bool:
    """Whether the file stops before its own frame says it does. Damage inside is not looked for.

    Of a JPEG only its last two bytes are asked (T.81 B.1.1.3: EOI), and cameras append to
    whole JPEGs: that answer counts only once decoding has failed.
    """
    size_bytes = file.seek(0, os.SEEK_END)
    if kind == JPEG:
        file.seek(max(0, size_bytes - 2))
        return file.read(2) != b"\xff\xd9"
    if kind == WEBP:
        file.seek(4)
        return size_bytes < int.from_bytes(file.read(4), "little") + 8
    if kind == PNG:
        return _png_ends_early(file, size_bytes)
    return _boxes_end_early(file, size_bytes)


def _png_ends_early(file: BinaryIO, size_bytes: int) -> bool:
    at = len(PNG_SIGNATURE)
    while at + 12 <= size_bytes:
        file.seek(at)
        length, name = int.from_bytes(file.read(4), "big"), file.read(4)
        at += length + 12
        if name == b"IEND":
            return at > size_bytes
    return True


def _boxes_end_early(file: BinaryIO, size_bytes: int) -> bool:
    """ISO 14496-12 4.2: size and type; a size of 1 means 64 bits follow, 0 means to the end."""
    at, seen = 0, set()
    while at + 8 <= size_bytes:
        file.seek(at)
        length, name = int.from_bytes(file.read(4), "big"), file.read(4)
        if length == 1:
            length = int.from_bytes(file.read(8), "big")
        if length == 0:
            return False
        whole = b"meta" in seen and b"mdat" in seen
        if length < 8 or at + length > size_bytes:
            # Behind the picture some phones append bytes that are no box.
            return not whole
        seen.add(name)
        at += length
    return b"meta" not in seen


def png_is_sound(file: BinaryIO) -> bool:
    """Whether the check sum of every chunk up to IEND fits (PNG 3rd edition 5.3).

    Pillow passes over those of the picture data. Ask only of a PNG that does not end early.
    """
    file.seek(len(PNG_SIGNATURE))
    while head := file.read(8):
        length, name = int.from_bytes(head[:4], "big"), head[4:]
        if zlib.crc32(file.read(length), zlib.crc32(name)) != int.from_bytes(file.read(4), "big"):
            return False
        if name == b"IEND":
            return True
    return False
