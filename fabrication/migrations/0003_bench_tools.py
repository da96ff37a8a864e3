from importlib import import_module

import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

# Brings in the brake-tube sizes that came later; rows that are there already stay.
bring_in = import_module("fabrication.migrations.0002_starter_tube").bring_in


class Migration(migrations.Migration):
    dependencies = [
        ("fabrication", "0002_starter_tube"),
        ("parts", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='BeadTool',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('name', models.CharField(max_length=40, verbose_name='Name')),
                ('tube_od_least_mm', models.FloatField(verbose_name='Tube it takes, outside, from')),
                ('tube_od_most_mm', models.FloatField(verbose_name='Tube it takes, outside, to')),
                ('bore_least_mm', models.FloatField(blank=True, null=True, verbose_name='Narrowest bore it enters')),
                ('stop_offset_mm', models.FloatField(default=0.0, verbose_name="Bead centre beyond the stop's reading")),
                ('shallowest_mm', models.FloatField(default=0.0, verbose_name='Shallowest bead')),
                ('deepest_mm', models.FloatField(verbose_name='Deepest bead')),
                ('straight_mm', models.FloatField(verbose_name='Straight it needs')),
                ('needs_reaming', models.BooleanField(default=False, verbose_name='Needs a reamed bore')),
                ('after_bend', models.BooleanField(default=True, verbose_name='Goes on after a bend')),
                ('price', models.DecimalField(blank=True, decimal_places=2, max_digits=9, null=True, verbose_name='Price')),
                ('supplier', models.CharField(blank=True, max_length=80, verbose_name='Supplier')),
                ('bought_on', models.DateField(blank=True, null=True, verbose_name='Bought on')),
                ('note', models.TextField(blank=True, max_length=1000, verbose_name='Note')),
                ('typed', models.JSONField(default=dict)),
            ],
            options={
                'ordering': ['tube_od_least_mm', 'name', 'pk'],
            },
        ),
        migrations.AddField(
            model_name='former',
            name='bought_on',
            field=models.DateField(blank=True, null=True, verbose_name='Bought on'),
        ),
        migrations.AddField(
            model_name='former',
            name='measured_from',
            field=models.JSONField(blank=True, default=dict),
        ),
        migrations.AddField(
            model_name='former',
            name='price',
            field=models.DecimalField(blank=True, decimal_places=2, max_digits=9, null=True, verbose_name='Price'),
        ),
        migrations.AddField(
            model_name='former',
            name='scale_rim_mm',
            field=models.FloatField(blank=True, null=True, verbose_name='Scale, from the pivot'),
        ),
        migrations.AddField(
            model_name='former',
            name='scale_step_deg',
            field=models.FloatField(blank=True, null=True, verbose_name='Scale, between marks'),
        ),
        migrations.AddField(
            model_name='former',
            name='scale_zero_deg',
            field=models.FloatField(default=0.0, verbose_name='Scale, before the pull'),
        ),
        migrations.AddField(
            model_name='former',
            name='supplier',
            field=models.CharField(blank=True, max_length=80, verbose_name='Supplier'),
        ),
        migrations.CreateModel(
            name='BeadTest',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('stop_mm', models.FloatField(verbose_name='Stop read')),
                ('centre_mm', models.FloatField(verbose_name='End to bead centre')),
                ('height_mm', models.FloatField(verbose_name='Height')),
                ('width_mm', models.FloatField(verbose_name='Width')),
                ('eaten_mm', models.FloatField(blank=True, null=True, verbose_name='Length eaten')),
                ('note', models.CharField(blank=True, max_length=200, verbose_name='Note')),
                ('typed', models.JSONField(default=dict)),
                ('at', models.DateTimeField()),
                ('out_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('stock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bead_tests', to='fabrication.tubestock', verbose_name='Tube')),
                ('tool', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='tests', to='fabrication.beadtool')),
            ],
        ),
        migrations.CreateModel(
            name='Tool',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('name', models.CharField(max_length=60, verbose_name='Name')),
                ('what_for', models.CharField(blank=True, max_length=120, verbose_name='What it is for')),
                ('price', models.DecimalField(blank=True, decimal_places=2, max_digits=9, null=True, verbose_name='Price')),
                ('supplier', models.CharField(blank=True, max_length=80, verbose_name='Supplier')),
                ('bought_on', models.DateField(blank=True, null=True, verbose_name='Bought on')),
                ('note', models.TextField(blank=True, max_length=1000, verbose_name='Note')),
                ('parts', models.ManyToManyField(related_name='bench_tools', to='parts.part')),
                ('pipe_sheets', models.ManyToManyField(related_name='tools', to='fabrication.pipesheet')),
            ],
            options={
                'ordering': ['name', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='PracticeBend',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('pulled_deg', models.FloatField(verbose_name='Pulled to')),
                ('came_to_deg', models.FloatField(verbose_name='Came to')),
                ('from_straight', models.BooleanField(default=True, verbose_name='Pulled in one go')),
                ('mark_mm', models.FloatField(blank=True, null=True, verbose_name='Mark')),
                ('piece_mm', models.FloatField(blank=True, null=True, verbose_name='Length of the piece')),
                ('centre_a_mm', models.FloatField(blank=True, null=True, verbose_name='Hooked end to centre')),
                ('centre_b_mm', models.FloatField(blank=True, null=True, verbose_name='Other end to centre')),
                ('width_mm', models.FloatField(blank=True, null=True, verbose_name='Width over both legs')),
                ('back_mm', models.FloatField(blank=True, null=True, verbose_name='Hooked end to the back')),
                ('note', models.CharField(blank=True, max_length=200, verbose_name='Note')),
                ('typed', models.JSONField(default=dict)),
                ('at', models.DateTimeField()),
                ('out_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('former', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='practice_bends', to='fabrication.former')),
                ('stock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='practice_bends', to='fabrication.tubestock', verbose_name='Tube')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('came_to_deg__gt', 0), ('pulled_deg__gt', 0)), name='practice_bend_is_a_bend')],
            },
        ),
        migrations.RunPython(bring_in, migrations.RunPython.noop),
    ]
