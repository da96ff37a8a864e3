"""Runs the decoder as a process of its own, so that a bad photo takes down nothing else."""

import json
import logging
import os
import signal
import subprocess
import sys
import threading
from dataclasses import dataclass
from datetime import datetime
from pathlib import Path

from garage.photos.limits import (
    DECODER_CPU_S,
    DECODER_MEMORY_BYTES,
    DECODER_WALL_S,
    READER_STOPPED,
    TOO_SLOW,
    NoRoomForPhotos,
    PhotoRefused,
)

log = logging.getLogger("splitpin.photos")
ROOT = Path(__file__).resolve().parents[2]
# One decoder at a time in each worker: a home server has two cores, and each may take 1 GiB.
TURN = threading.BoundedSemaphore(1)


@dataclass(frozen=True, slots=True)
class Seen:
    """What the decoder found: format, upright size, and the time the camera noted."""

    format: str
    width_px: int
    height_px: int
    taken_at: datetime | None


def read(source: Path, *, renditions: dict[int, Path]) -> Seen:
    """What the photo is; its renditions lie in ``renditions`` (longest side in pixels: new file).

    Raises
    ------
    PhotoRefused
        If it is no whole photo, or the decoder did not live through it.
    NoRoomForPhotos
        If the disk filled up under the renditions.
    """
    with TURN:
        answer = _answer(source, renditions)
    if refused := answer.get("refused"):
        raise PhotoRefused(refused)
    if answer.get("no_room"):
        raise NoRoomForPhotos
    taken_at = answer["taken_at"]
    return Seen(
        format=answer["format"],
        width_px=answer["width_px"],
        height_px=answer["height_px"],
        taken_at=datetime.fromisoformat(taken_at) if taken_at else None,
    )


def _answer(source: Path, renditions: dict[int, Path]) -> dict:
    command = [sys.executable, "-m", "garage.photos.decode", str(source)]
    command += [str(DECODER_MEMORY_BYTES), str(DECODER_CPU_S)]
    command += [f"{size}={path}" for size, path in renditions.items()]
    try:
        child = subprocess.run(
            command,
            env=_environment(),
            stdin=subprocess.DEVNULL,
            capture_output=True,
            timeout=DECODER_WALL_S,
            check=False,
        )
    except subprocess.TimeoutExpired:
        log.warning("decoder stopped after %s s", DECODER_WALL_S)
        raise PhotoRefused(TOO_SLOW) from None
    if child.stderr:
        log.warning("decoder says: %s", child.stderr[-1000:].decode(errors="replace"))
    if child.returncode == -signal.SIGXCPU:
        raise PhotoRefused(TOO_SLOW)
    try:
        answer = json.loads(child.stdout) if child.returncode == 0 else None
    except ValueError:
        answer = None
    if not isinstance(answer, dict):
        log.error("decoder ended with %s and no answer", child.returncode)
        raise PhotoRefused(READER_STOPPED)
    return answer


def _environment() -> dict[str, str]:
    """What the decoder needs to start, and nothing the garage keeps to itself."""
    kept = {name: text for name, text in os.environ.items() if not name.startswith("SPLITPIN_")}
    return kept | {"PYTHONPATH": os.pathsep.join(filter(None, [str(ROOT), kept.get("PYTHONPATH")]))}
