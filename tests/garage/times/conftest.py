"""A data folder for every test, and a server whose machine stands in some zone of the world."""

import os
import time
from collections.abc import Iterator
from pathlib import Path

import pytest
from pytest_django import Settings

from tests.garage.times.walls import SERVERS


@pytest.fixture(autouse=True)
def data(tmp_path: Path, settings: Settings) -> Path:
    # The garage keeps in its folder how late it was; a test may come from another year.
    settings.SPLITPIN_DATA = tmp_path
    settings.SPLITPIN_MIN_FREE_BYTES = 0
    return tmp_path


@pytest.fixture(params=SERVERS)
def server(request: pytest.FixtureRequest) -> Iterator[str]:
    """The machine the garage runs on stands in this zone."""
    before = os.environ.get("TZ")
    os.environ["TZ"] = request.param
    time.tzset()
    yield request.param
    if before is None:
        del os.environ["TZ"]
    else:
        os.environ["TZ"] = before
    time.tzset()
