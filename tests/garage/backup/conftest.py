"""One garage and one archive of it for all tests here; whoever changes it takes a copy."""

import shutil
from datetime import UTC, datetime
from pathlib import Path

import pytest

from garage.backup import archive
from tests.garage.backup.store import DATABASE, make_store

MADE_AT = datetime(2026, 11, 25, 7, 2, 30, tzinfo=UTC)


@pytest.fixture(scope="session")
def made_store(tmp_path_factory: pytest.TempPathFactory) -> Path:
    data = tmp_path_factory.mktemp("store") / "data"
    data.mkdir()
    make_store(data)
    return data


@pytest.fixture(scope="session")
def made_archive(made_store: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    to = tmp_path_factory.mktemp("archives")
    return archive.make(data=made_store, live=made_store / DATABASE, to=to, now=MADE_AT)[0]


@pytest.fixture
def data(made_store: Path, tmp_path: Path) -> Path:
    return Path(shutil.copytree(made_store, tmp_path / "data"))
