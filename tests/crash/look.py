"""Looks at a garage that was killed, or whose disk was cut off: what was promised and is gone.

    python -m tests.crash.look ACKS

sweeps first, as every start does, and prints one JSON object.
"""

import json
import sys
from pathlib import Path
from uuid import UUID

import django

django.setup()

from garage.models import Photo  # noqa: E402
from parts.models import Part  # noqa: E402
from tests.crash import job  # noqa: E402


def look(acks: Path) -> dict[str, object]:
    # The last line may be cut off: it was then not said to the end.
    said = [line.split() for line in acks.read_text().splitlines(keepends=True) if "\n" in line]
    tables = {"photo": Photo, "part": Part}
    lost = [
        f"{what} {key}"
        for what, table in tables.items()
        for key in {UUID(key) for kind, key in said if kind == what}
        - set(table.objects.values_list("key", flat=True))
    ]
    without_photo = list(job.rows_without_photo())
    return {
        "acked": len(said),
        "lost": lost,
        "rows": Photo.objects.count(),
        "without_photo": without_photo,
        "wrong": [one for one in job.wrong_anyway() if one not in without_photo],
    }


if __name__ == "__main__":
    print(json.dumps(look(Path(sys.argv[1]))))
