"""Brackets, and the sheet a garage starts with, each row with its source."""

import csv
from pathlib import Path

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

ROWS = Path(__file__).resolve().parent.parent / "data" / "sheet_stock.csv"


def bring_in(apps, schema_editor):
    stock = apps.get_model("fabrication", "SheetStock")
    with ROWS.open(encoding="utf-8", newline="") as file:
        for row in csv.DictReader(file):
            thickness = float(row.pop("thickness_mm"))
            stock.objects.get_or_create(
                key=row.pop("key"), defaults={**row, "thickness_mm": thickness}
            )


class Migration(migrations.Migration):
    dependencies = [
        ("fabrication", "0006_papers"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='SheetStock',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('material', models.CharField(choices=[('steel', 'Steel'), ('stainless', 'Stainless steel'), ('aluminium', 'Aluminium'), ('copper', 'Copper'), ('brass', 'Brass')], max_length=9, verbose_name='Material')),
                ('grade', models.CharField(blank=True, choices=[('', 'Not known'), ('DC01', 'DC01, cold-rolled mild steel'), ('DC04', 'DC04, mild steel for deep drawing'), ('DX51D +Z', 'DX51D +Z, zinc-coated steel'), ('S235', 'S235, structural steel'), ('S355', 'S355, structural steel'), ('1.4301', '1.4301 (304), stainless'), ('5251 H22', '5251 H22, aluminium'), ('5083 O', '5083 O, aluminium'), ('6082 T6', '6082 T6, aluminium'), ('Cu soft', 'Copper, soft'), ('Cu half hard', 'Copper, half hard'), ('CuZn37 half hard', 'CuZn37, half-hard brass')], max_length=20, verbose_name='Grade')),
                ('thickness_mm', models.FloatField(verbose_name='Thickness')),
                ('coating', models.CharField(choices=[('bare', 'Bare'), ('oiled', 'Bare, oiled'), ('zinc', 'Zinc'), ('paint', 'Paint or primer'), ('foil', 'Protective foil'), ('unknown', 'Not known')], default='unknown', max_length=8, verbose_name='Coating')),
                ('offcuts', models.JSONField(default=list)),
                ('price', models.DecimalField(blank=True, decimal_places=2, max_digits=9, null=True, verbose_name='Price')),
                ('supplier', models.CharField(blank=True, max_length=80, verbose_name='Supplier')),
                ('source', models.CharField(blank=True, max_length=120, verbose_name='Where the figures are from')),
                ('typed', models.JSONField(default=dict)),
            ],
            options={
                'ordering': ['material', 'thickness_mm', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='TestStrip',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('tool', models.CharField(max_length=60, verbose_name='Bent on')),
                ('blank_mm', models.FloatField(verbose_name='Strip before bending')),
                ('leg_a_mm', models.FloatField(verbose_name='One leg, over the outside')),
                ('leg_b_mm', models.FloatField(verbose_name='Other leg, over the outside')),
                ('radius_mm', models.FloatField(verbose_name='Inside radius, measured')),
                ('angle_deg', models.FloatField(default=90.0, verbose_name='How far it was bent')),
                ('typed', models.JSONField(default=dict)),
                ('made_at', models.DateTimeField()),
                ('made_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('stock', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='strips', to='fabrication.sheetstock', verbose_name='Sheet')),
            ],
            options={
                'ordering': ['stock', '-made_at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='BracketSheet',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('title', models.CharField(max_length=80, verbose_name='What the bracket is')),
                ('inputs', models.JSONField()),
                ('version', models.PositiveIntegerField(default=1)),
                ('thrown_out_at', models.DateTimeField(blank=True, db_index=True, null=True)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('car', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='bracket_sheets', to='garage.car')),
                ('changed_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('created_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('thrown_out_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('part', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='bracket_sheets', to='parts.part')),
                ('pipe', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='bracket_sheets', to='fabrication.pipesheet')),
                ('stock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bracket_sheets', to='fabrication.sheetstock', verbose_name='Sheet')),
                ('strip', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='bracket_sheets', to='fabrication.teststrip', verbose_name='Test strip')),
            ],
        ),
        # Backwards they stay: a bracket sheet may stand on them.
        migrations.RunPython(bring_in, migrations.RunPython.noop),
    ]
