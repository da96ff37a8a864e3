"""A data folder of its own for every test of the photo store."""

from pathlib import Path

import pytest
from pytest_django import Settings


@pytest.fixture
def data(tmp_path: Path, settings: Settings) -> Path:
    settings.SPLITPIN_DATA = tmp_path
    settings.SPLITPIN_MIN_FREE_BYTES = 0
    return tmp_path
