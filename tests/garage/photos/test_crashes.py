"""Whatever step a crash comes at: the photo is wholly there or wholly not, and the sweep is clean.

The method is SQLite's (sqlite.org/testing.html, crash tests): die at the first step, the second,
and so on until the deed gets through.
"""

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parents[3]


@pytest.mark.parametrize(
    ("deed", "least_points"),
    [
        # Three files written or settled, renamed, and their folders settled.
        ("take in", 12),
        # Three files renamed, the quarantine made and settled.
        ("throw away", 6),
        # One part removed, three strays moved twice, one old day emptied, renditions remade.
        ("sweep", 20),
    ],
)
def test_a_crash_at_any_step_leaves_whole_photos_only(
    deed: str, least_points: int, tmp_path: Path
) -> None:
    environment = os.environ | {
        "SPLITPIN_DATA": str(tmp_path),
        "SPLITPIN_MIN_FREE_BYTES": "0",
        "DJANGO_SETTINGS_MODULE": "garage.settings",
        "PYTHONPATH": str(ROOT),
    }
    ended = subprocess.run(
        [sys.executable, "-m", "tests.garage.photos.crash_run", deed],
        env=environment,
        cwd=ROOT,
        capture_output=True,
        text=True,
        check=False,
    )
    assert ended.returncode == 0, ended.stderr[-2000:]

    points = [json.loads(line) for line in ended.stdout.splitlines()]

    assert [point for point in points if point["wrong"]] == []
    assert len([point for point in points if point["killed"]]) >= least_points
    assert not points[-1]["killed"]
