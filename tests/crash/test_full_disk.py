"""A full disk: refused in a sentence, notes still saved, nothing half left, well with new room."""

import json
import os
import subprocess
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import pytest

from tests.crash import programs
from tests.figures import not_measured, tell

DISK_MB, ROOM_MB = 14, 120
HEADROOM = {"SPLITPIN_MIN_FREE_BYTES": str(4 << 20)}


@pytest.fixture
def disk(tmp_path: Path) -> Iterator[Path]:
    """A garage on a disk in memory, which then has 14 MB."""
    if os.geteuid() != 0 or programs.missing("mount", "umount"):
        not_measured("F4", "a full disk", "it takes root to make a small disk")
    mount = tmp_path / "disk"
    mount.mkdir()
    subprocess.run(["mount", "-t", "tmpfs", "-o", f"size={ROOM_MB}m", "tmpfs", mount], check=True)
    programs.lay_out(mount / "data")
    make_size(mount, DISK_MB)
    yield mount
    subprocess.run(["umount", "-l", mount], check=True)


def do(data: Path, how: str, **more: str) -> dict[str, Any]:
    return json.loads(programs.run(data, "-m", "tests.crash.full_disk", how, **more))


def answers(found: dict[str, Any], what: str) -> list[dict[str, Any]]:
    return [one for one in found["answers"] if one["what"] == what]


def make_size(disk: Path, megabytes: int) -> None:
    subprocess.run(["mount", "-o", f"remount,size={megabytes}m", disk], check=True)


def test_with_headroom_photos_are_refused_in_a_sentence_and_notes_are_saved(disk: Path) -> None:
    data = disk / "data"

    full = do(data, "fill", **HEADROOM)
    make_size(disk, ROOM_MB)
    after = do(data, "recover", **HEADROOM)

    photos = answers(full, "photo")
    refused = [one for one in photos if one["code"] != 201]
    told = sum(one["code"] == 507 and one["says"] for one in refused)
    tell(
        "F4",
        f"refusals of a full disk without their sentence, of {len(refused)}",
        len(refused) - told,
        target="0",
        holds=told == len(refused),
    )
    assert 0 < len(refused) < len(photos)
    assert told == len(refused)
    assert {one["code"] for one in answers(full, "note")} == {302}
    assert {one["code"] for one in answers(full, "page")} == {200}
    assert full["notes"] == len(answers(full, "note"))
    assert full["wrong"] == [] and after["wrong"] == []
    assert [one["code"] for one in answers(after, "photo")] == [201] * 20


def test_without_headroom_nothing_is_half_saved_and_every_refusal_says_why(disk: Path) -> None:
    data = disk / "data"

    full = do(data, "fill")
    make_size(disk, ROOM_MB)
    after = do(data, "recover")

    refused = [one for one in full["answers"] if one["code"] not in (200, 201, 302)]
    assert refused
    assert [one for one in refused if one["code"] != 507 or not one["says"]] == []
    assert {one["code"] for one in answers(full, "page")} == {200}
    assert full["wrong"] == [] and after["wrong"] == []
    assert [one["code"] for one in answers(after, "photo")] == [201] * 20


def test_a_file_that_may_not_grow_is_refused_and_leaves_nothing(tmp_path: Path) -> None:
    data = tmp_path / "data"
    programs.lay_out(data)

    found = do(data, "small-files")

    assert all(one["code"] != 201 for one in found["answers"])
    assert all(one["code"] < 500 or one["code"] in (503, 507) for one in found["answers"])
    assert found["wrong"] == []
