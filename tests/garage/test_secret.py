"""The signing key: made once, by one process, for its owner's eyes only."""

import fcntl
import multiprocessing
import os
import stat
from concurrent.futures import ThreadPoolExecutor
from pathlib import Path

import pytest

from garage.secret import signing_key


def test_the_key_is_made_once_and_then_read(tmp_path: Path) -> None:
    data = tmp_path / "new" / "data"

    first, second = signing_key(data), signing_key(data)

    assert first == second == (data / "secret.key").read_text()


def test_a_key_is_512_random_bits(tmp_path: Path) -> None:
    keys = {signing_key(tmp_path / str(number)) for number in range(20)}

    # 64 bytes are 86 characters of base64 without padding (RFC 4648 section 5).
    assert len(keys) == 20
    assert {len(key) for key in keys} == {86}


def test_nobody_else_can_read_it(tmp_path: Path) -> None:
    data = tmp_path / "data"
    before = os.umask(0)
    try:
        signing_key(data)
    finally:
        os.umask(before)

    assert stat.S_IMODE((data / "secret.key").stat().st_mode) == 0o600
    assert stat.S_IMODE(data.stat().st_mode) == 0o700


def test_a_key_of_ones_own_is_kept(tmp_path: Path) -> None:
    (tmp_path / "secret.key").write_text("brought along from the old machine\n")

    assert signing_key(tmp_path) == "brought along from the old machine"


@pytest.mark.parametrize("left", ["", "\n"])
def test_a_file_left_empty_by_a_crash_is_filled(tmp_path: Path, left: str) -> None:
    (tmp_path / "secret.key").write_text(left)

    key = signing_key(tmp_path)

    assert len(key) == 86
    assert signing_key(tmp_path) == key


def test_processes_that_start_at_once_share_one_key(tmp_path: Path) -> None:
    for number in range(10):
        with multiprocessing.get_context("fork").Pool(8) as pool:
            keys = pool.map(signing_key, [tmp_path / str(number)] * 8, chunksize=1)

        assert len(set(keys)) == 1
        assert keys[0] == signing_key(tmp_path / str(number))
        assert len(keys[0]) == 86


def test_a_process_that_comes_second_waits_for_the_key_to_be_written(tmp_path: Path) -> None:
    with open(tmp_path / "secret.key", "w") as first, ThreadPoolExecutor() as pool:
        fcntl.flock(first, fcntl.LOCK_EX)
        second = pool.submit(signing_key, tmp_path)
        with pytest.raises(TimeoutError):
            second.result(timeout=0.3)
        first.write("the key of the first")
        first.flush()
        fcntl.flock(first, fcntl.LOCK_UN)

        assert second.result(timeout=10) == "the key of the first"


def test_a_folder_that_cannot_be_written_is_told(tmp_path: Path) -> None:
    (tmp_path / "data").write_text("a file where the folder should be")

    with pytest.raises(OSError, match="data"):
        signing_key(tmp_path / "data")
