"""Writes data/schema-VERSION.zip.gz, the archive of a release that later ones must still restore.

Run once with each release: python -m tests.garage.backup.keep_archive
"""

import gzip
import tempfile
from pathlib import Path

from django.conf import settings

from garage.backup import archive
from tests.garage.backup.conftest import MADE_AT
from tests.garage.backup.store import DATABASE, make_store

KEPT = Path(__file__).parent / "data"


def main() -> None:
    with tempfile.TemporaryDirectory() as folder:
        data = Path(folder) / "data"
        data.mkdir()
        make_store(data)
        path, _ = archive.make(data=data, live=data / DATABASE, to=Path(folder), now=MADE_AT)
        kept = KEPT / f"schema-{settings.VERSION}.zip.gz"
        kept.write_bytes(gzip.compress(path.read_bytes(), mtime=0))


if __name__ == "__main__":
    main()
