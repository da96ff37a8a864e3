"""The tube sizes a garage starts with, each with its source. Rows that are there already stay."""

import csv
from pathlib import Path

from django.db import migrations

ROWS = Path(__file__).resolve().parent.parent / "data" / "tube_stock.csv"


def bring_in(apps, schema_editor):
    stock = apps.get_model("fabrication", "TubeStock")
    with ROWS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            bar = row.pop("bar_length_mm")
            stock.objects.get_or_create(
                key=row.pop("key"),
                defaults={
                    **row,
                    "od_mm": float(row["od_mm"]),
                    "wall_mm": float(row["wall_mm"]),
                    "bar_length_mm": float(bar) if bar else None,
                },
            )


class Migration(migrations.Migration):
    dependencies = [("fabrication", "0001_initial")]

    # Backwards they stay: a pipe sheet may stand on them.
    operations = [migrations.RunPython(bring_in, migrations.RunPython.noop)]
