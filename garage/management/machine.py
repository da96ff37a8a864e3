"""What this computer must bring besides Python: Debian's package names, and a look for each.

The look is at the thing itself and not at the package, so that other systems are judged fairly.
"""

from __future__ import annotations

import platform
import shutil
from collections.abc import Callable, Mapping
from ctypes import CDLL
from pathlib import Path

Look = Callable[[], bool]


def loads(*libraries: str) -> bool:
    """True when one of these names, for different systems, is a library that loads."""
    for library in libraries:
        try:
            CDLL(library)
        except OSError:
            continue
        return True
    return False


def on_linux() -> bool:
    return platform.system() == "Linux"


def has_program(*names: str) -> bool:
    return any(shutil.which(name) for name in names)


def has_file(folder: str, pattern: str) -> bool:
    return any(Path(folder).glob(pattern))


# Without these there are no PDFs; everything else works.
FOR_PDF: Mapping[str, Look] = {
    "libpango-1.0-0": lambda: loads("libpango-1.0.so.0", "libpango-1.0.dylib"),
    "libpangoft2-1.0-0": lambda: loads("libpangoft2-1.0.so.0", "libpangoft2-1.0.dylib"),
    "libharfbuzz-subset0": lambda: loads("libharfbuzz-subset.so.0", "libharfbuzz-subset.0.dylib"),
}
FOR_FAST_TESTS: Mapping[str, Look] = {
    **FOR_PDF,
    "fonts-dejavu-core": lambda: has_file("/usr/share/fonts", "**/DejaVuSans.ttf"),
    # The solid modeller that checks the pipes' geometry is linked against it.
    "libgl1": lambda: loads("libGL.so.1", "/System/Library/Frameworks/OpenGL.framework/OpenGL"),
    "poppler-utils": lambda: has_program("pdftotext"),
}
FOR_TESTS: Mapping[str, Look] = {
    **FOR_FAST_TESTS,
    "chromium": lambda: has_program("chromium", "chromium-browser"),
    "postgresql": lambda: has_program("initdb") or has_file("/usr/lib/postgresql", "*/bin/initdb"),
    # What fails the disk on purpose, and the one file system that can be cloned at a moment.
    "strace": lambda: not on_linux() or has_program("strace"),
    "xfsprogs": lambda: not on_linux() or has_program("mkfs.xfs"),
}


def missing(wanted: Mapping[str, Look]) -> list[str]:
    """Names of the Debian and Ubuntu packages whose content is not on this computer."""
    return [package for package, is_there in wanted.items() if not is_there()]


def how_to_install(packages: list[str]) -> str:
    """The line a person types, as root, on Debian or Ubuntu."""
    return f"apt-get install --no-install-recommends {' '.join(packages)}"
