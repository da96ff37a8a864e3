"""The power goes at any moment: what was said saved is on the disk, and every row has its photo.

The data folder lies on an ext4 of its own, whose device is a file on XFS. A clone of that file
(``cp --reflink``) is what the device held at one moment: all that was not yet written back is gone,
as it is when the plug is pulled. Each clone is mounted, which replays its journal, and looked at.
A drive that says "written" and lies is worse than this; see docs/trust.md.

Two faults can be planted and must be found: files that are never settled, as Django's own storage
has it, and the journal settings that are advised everywhere.
"""

import os
import random
import shutil
import subprocess
import time
from collections.abc import Iterator
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path

import pytest

from tests.crash import programs
from tests.figures import not_measured, tell
from tests.thorough import often

TOOLS = ("losetup", "mount", "umount", "mkfs.ext4", "mkfs.xfs")
OUTER_MB, INNER_MB = 1_500, 300


@dataclass(frozen=True, slots=True)
class Disk:
    """A disk that can be cut off: where it is mounted, and the file that its device is."""

    mount: Path
    device: Path


def mounted(what: Path, at: Path, *options: str) -> None:
    at.mkdir(exist_ok=True)
    subprocess.run(["mount", "-o", ",".join(["loop", *options]), what, at], check=True)


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Disk]:
    """An empty ext4, its device a file on an XFS that can clone it at once."""
    if os.geteuid() != 0 or programs.missing(*TOOLS) or not Path("/dev/loop-control").exists():
        not_measured("F1", "parts lost over power cuts", "it takes root, loop devices and XFS")
    outer, under = tmp_path / "outer.img", tmp_path / "under"
    subprocess.run(["truncate", "-s", f"{OUTER_MB}M", outer], check=True)
    subprocess.run(["mkfs.xfs", "-q", "-m", "reflink=1", outer], check=True)
    mounted(outer, under)
    device, mount = under / "device.img", tmp_path / "disk"
    subprocess.run(["truncate", "-s", f"{INNER_MB}M", device], check=True)
    subprocess.run(["mkfs.ext4", "-q", device], check=True)
    mounted(device, mount)
    yield Disk(mount, device)
    for folder in (mount, under):
        subprocess.run(["umount", "-l", folder], check=True)


@contextmanager
def as_it_was(clone: Path, at: Path) -> Iterator[Path]:
    mounted(clone, at)
    try:
        yield at
    finally:
        subprocess.run(["umount", at], check=True)


def cut_off(disk: Disk, tmp_path: Path, *, cuts: int, fault: str) -> list[dict]:
    """What a look finds on the disk as it was at each of the cuts."""
    data, acks = disk.mount / "data", tmp_path / "acks"
    programs.lay_out(data)
    subprocess.run(["sync"], check=True)
    chance, clones = random.Random(1), []
    writers = programs.Writers(data, acks, "--fault", fault)
    with writers.at_work():
        for number in range(cuts):
            time.sleep(chance.uniform(0.2, 0.6))
            # What is acked by now must be on the clone; what is acked later may be.
            said = tmp_path / f"acks-{number}"
            shutil.copy(acks, said)
            clone = disk.device.with_name(f"cut-{number}.img")
            subprocess.run(["cp", "--reflink=always", disk.device, clone], check=True)
            clones.append((clone, said))
    writers.go_home()
    found = []
    for clone, said in clones:
        with as_it_was(clone, tmp_path / "after") as there:
            found.append(programs.look(there / "data", said))
        clone.unlink()
    return found


def test_the_power_goes_and_nothing_that_was_said_saved_is_lost(disk: Disk, tmp_path: Path) -> None:
    cuts = often(25, release=40)

    found = cut_off(disk, tmp_path, cuts=cuts, fault="none")

    lost = sum(len(one["lost"]) for one in found)
    bad = sum(len(one["without_photo"]) for one in found)
    tell("F1", f"saved records lost over {cuts} power cuts", lost, target="0", holds=not lost)
    tell("F2", f"photos unreadable after {cuts} power cuts", bad, target="0", holds=not bad)
    assert (lost, bad) == (0, 0)
    assert [one["wrong"] for one in found if one["wrong"]] == []
    assert found[-1]["acked"] > cuts


@pytest.mark.parametrize(
    ("fault", "shows_in"), [("unsettled files", "without_photo"), ("unsettled rows", "lost")]
)
def test_a_planted_fault_is_found(disk: Disk, tmp_path: Path, fault: str, shows_in: str) -> None:
    found = cut_off(disk, tmp_path, cuts=4, fault=fault)

    assert sum(len(one[shows_in]) for one in found) > 0
