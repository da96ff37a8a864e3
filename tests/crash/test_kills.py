"""Killed at any moment while six people log parts: all that was said saved is there, and no more.

Fifty kills a commit, two hundred before a release. A kill alone proves little (the kernel keeps
what was written); it is the other half of ``test_power_cuts``.
"""

import random
import time
from pathlib import Path

from tests.crash import programs
from tests.figures import tell
from tests.thorough import often

KILLS_A_LOOK = 10


def test_nothing_that_was_said_saved_is_lost_by_a_kill(tmp_path: Path) -> None:
    data, acks = tmp_path / "data", tmp_path / "acks"
    programs.lay_out(data)
    chance, seen = random.Random(1), {}
    kills = often(50, release=200)

    writers = programs.Writers(data, acks)
    for number in range(kills):
        with writers.at_work():
            time.sleep(chance.uniform(0.1, 0.7))
        if (number + 1) % KILLS_A_LOOK == 0:
            seen = programs.look(data, acks)
            assert seen["lost"] == []
            assert seen["without_photo"] == []
            assert seen["wrong"] == []

    writers.go_home()
    tell(
        "F3",
        f"files left over after {kills} kills and a sweep",
        len(seen["wrong"]),
        target="0",
        holds=not seen["wrong"],
    )
    assert seen["acked"] > kills
