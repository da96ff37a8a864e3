"""How large a photo may be, and the three ways of saying no. No Django: the decoder reads this."""

LARGE_PX = 1600
SMALL_PX = 320
# 320 px is 150 dpi at 54 mm and serves printed sheets too, so there is no third size.
RENDITIONS_PX = (LARGE_PX, SMALL_PX)
RENDITION_QUALITY = 80

PHOTO_LIMIT_BYTES = 25 << 20
PIXEL_LIMIT = 64_000_000
SIDE_LIMIT_PX = 12_000

DECODER_MEMORY_BYTES = 1 << 30
DECODER_CPU_S = 10
DECODER_WALL_S = 20
# A rendition is well below 1 MB; a decoder that writes more than this is out of hand.
DECODER_FILE_BYTES = 16 << 20

WANTED = "Send a JPEG, PNG, WebP or HEIC photo."
EMPTY = "The file is empty. Send the photo again."
CUT_OFF = "The photo is cut off: the file ends too early. Send it again."
DAMAGED = "The photo is damaged and cannot be read in full. Send it again."
TOO_SLOW = "The photo takes too long to read. Send it again, or a smaller copy of it."
TOO_MANY_PIXELS = (
    f"Too many pixels: the limit is {PIXEL_LIMIT // 10**6} million. Send a smaller copy."
)
TOO_HUNGRY = "The photo needs too much memory to read. Send a smaller copy of it."
READER_STOPPED = "The photo stopped the reader, so it is not kept. Send it again, or another copy."


class PhotoRefused(Exception):
    """This file is not taken in; ``reason`` is the sentence for the person who sent it."""

    def __init__(self, reason: str) -> None:
        super().__init__(reason)
        self.reason = reason


class NoRoomForPhotos(Exception):
    """The disk has no room to spare (507). Nothing was kept of the photo."""

    def __init__(self) -> None:
        super().__init__("The disk is too full to take in photos. Make room, then send it again.")


class KeyUsedForOtherPhoto(Exception):
    """The key came with another photo before (422). The first one stays as it is."""

    def __init__(self) -> None:
        super().__init__("Another photo was sent under this key. Send this one as a new photo.")


def too_large(size_bytes: int) -> PhotoRefused:
    """The refusal of a file over the limit, in megabytes rounded up to a tenth."""
    tenths = -(-size_bytes * 10 // (1 << 20))
    size = f"{tenths / 10:.1f}".removesuffix(".0")
    return PhotoRefused(f"Too large: {size} MB, the limit is {PHOTO_LIMIT_BYTES >> 20} MB.")
