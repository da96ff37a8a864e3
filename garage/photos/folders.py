"""Where photos lie in the data folder, and how much room must stay beside them.

::

    data/tmp/                          uploads on their way in (Django's own)
    data/photos/tmp/                   a photo being looked at
    data/photos/originals/3f/3fa9.jpg  as it came, byte for byte
    data/photos/shown/3f/3fa9-320.jpg  what the pages show
    data/photos/quarantine/2026-11-25/ taken out of use that day, kept 30 days
"""

import shutil
from pathlib import Path

from django.conf import settings

from garage.photos.durable import make_folder
from garage.photos.limits import NoRoomForPhotos

FREE_SHARE = 0.05


def uploads() -> Path:
    """Where Django puts an upload while it comes in."""
    return Path(settings.SPLITPIN_DATA) / "tmp"


def photos() -> Path:
    """The folder that ``Photo.file`` starts from."""
    return Path(settings.SPLITPIN_DATA) / "photos"


def prints() -> Path:
    """Where sheets lie that were handed over; one on its way there ends in .part."""
    return Path(settings.SPLITPIN_DATA) / "prints"


def incoming() -> Path:
    """Where a photo lies until it is known to be one: same disk, so that a rename moves it."""
    return photos() / "tmp"


def originals() -> Path:
    return photos() / "originals"


def shown() -> Path:
    return photos() / "shown"


def quarantine() -> Path:
    return photos() / "quarantine"


def rendition(file: str, size_px: int) -> Path:
    """Where the rendition of the original ``file`` lies, whether it is there or not."""
    name = Path(file).stem
    return shown() / name[:2] / f"{name}-{size_px}.jpg"


def refuse_when_full(coming_bytes: int) -> None:
    """Nothing, while the disk keeps its headroom with ``coming_bytes`` more on it.

    The headroom is ``SPLITPIN_MIN_FREE_BYTES`` or a twentieth of the disk, whichever is more;
    a setting of 0 keeps none. Notes are saved from it long after photos are refused.

    Raises
    ------
    NoRoomForPhotos
        If it would not.
    """
    make_folder(incoming())
    disk = shutil.disk_usage(incoming())
    least = settings.SPLITPIN_MIN_FREE_BYTES
    headroom = max(least, FREE_SHARE * disk.total) if least else 0
    if disk.free - coming_bytes < headroom:
        raise NoRoomForPhotos
