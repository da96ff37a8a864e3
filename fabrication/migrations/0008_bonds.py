import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):

    dependencies = [
        ("fabrication", "0007_brackets"),
        ("garage", "0001_initial"),
        ("parts", "0002_heat_facts"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Bond',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('duty', models.CharField(blank=True, choices=[('coolant', 'Coolant'), ('fuel', 'Fuel'), ('brake', 'Brake'), ('clutch', 'Clutch'), ('steering', 'Power steering'), ('other', 'Something else')], max_length=8, verbose_name='What runs in it')),
                ('is_only_fixing', models.BooleanField(default=False, verbose_name='Glue alone holds it')),
                ('holds_safety', models.BooleanField(default=False, verbose_name='It holds a part of brakes, fuel, steering or seats')),
                ('is_overhead', models.BooleanField(default=False, verbose_name='It hangs over somebody or over the road')),
                ('found', models.CharField(choices=[('as_found', 'As found: paint, plating, rust or oil'), ('hand', 'Bright metal, abraded by hand, degreased'), ('blasted', 'Blasted, glued within the hour')], max_length=8, verbose_name='How the metal is')),
                ('checks', models.JSONField(default=list)),
                ('trial_piece', models.CharField(blank=True, max_length=200, verbose_name='Test piece')),
                ('trial', models.CharField(blank=True, choices=[('', 'Not tried yet'), ('held', 'It held: the metal bent or the pull gave up first'), ('let_go', 'It let go')], max_length=6, verbose_name='What it did')),
                ('trial_note', models.CharField(blank=True, max_length=300, verbose_name='What it looked like')),
                ('where', models.CharField(choices=[('house', 'In the house'), ('garage', 'In the garage'), ('other', 'Somewhere else')], max_length=6, verbose_name='Where it lies while it cures')),
                ('wet', models.CharField(choices=[('dry', 'Dry'), ('wet', 'Wet, salt or coolant')], default='wet', max_length=3, verbose_name='In use')),
                ('od_mm', models.FloatField(blank=True, null=True, verbose_name='Tube, outside')),
                ('wrap_deg', models.FloatField(blank=True, null=True, verbose_name='How far it wraps')),
                ('width_mm', models.FloatField(blank=True, null=True, verbose_name='Width')),
                ('load_g', models.FloatField(blank=True, null=True, verbose_name='What it carries')),
                ('shake_ratio', models.FloatField(blank=True, null=True, verbose_name='Shaken by, times its weight')),
                ('arm_mm', models.FloatField(blank=True, null=True, verbose_name='Load stands off by')),
                ('gap_mm', models.FloatField(blank=True, null=True, verbose_name='Gap to fill')),
                ('service_c', models.FloatField(blank=True, null=True, verbose_name='Hottest in use')),
                ('typed', models.JSONField(default=dict)),
                ('clamp_note', models.CharField(blank=True, max_length=300, verbose_name='How it is clamped')),
                ('mixed_at', models.DateTimeField(blank=True, null=True)),
                ('parted_at', models.DateTimeField(blank=True, null=True)),
                ('version', models.PositiveIntegerField(default=1)),
                ('created_at', models.DateTimeField()),
                ('changed_at', models.DateTimeField()),
                ('adhesive', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='bonds', to='parts.adhesive', verbose_name='Glue')),
                ('changed_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('joint', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='bond', to='parts.joint')),
                ('mixed_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('onto', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='bonds_onto', to='parts.piece', verbose_name='Glued onto')),
                ('piece', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='bonds', to='parts.piece')),
            ],
        ),
        migrations.CreateModel(
            name='CalendarFeed',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('nonce', models.CharField(max_length=64)),
                ('made_at', models.DateTimeField()),
                ('person', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='calendar_feed', to=settings.AUTH_USER_MODEL)),
            ],
        ),
        migrations.CreateModel(
            name='Coat',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('number', models.PositiveSmallIntegerField()),
                ('what', models.CharField(choices=[('primer', 'Primer'), ('filler', 'Filler primer'), ('colour', 'Colour'), ('clear', 'Clear coat'), ('other', 'Other')], max_length=6, verbose_name='Coat')),
                ('product', models.CharField(blank=True, max_length=80, verbose_name='Paint')),
                ('has_isocyanate', models.BooleanField(default=False, verbose_name='Two-part paint with isocyanate')),
                ('times', models.JSONField(default=list)),
                ('lower_limit_c', models.FloatField(blank=True, null=True, verbose_name='No coat below')),
                ('window_h', models.FloatField(blank=True, null=True, verbose_name='Next coat not later than')),
                ('put_on_at', models.DateTimeField(blank=True, null=True)),
                ('piece', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='coats', to='parts.piece')),
            ],
            options={
                'ordering': ['number', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='Clock',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('kind', models.CharField(choices=[('bond', 'Bond'), ('coat', 'Coat')], max_length=4)),
                ('words', models.CharField(max_length=200)),
                ('model', models.JSONField()),
                ('started_at', models.DateTimeField()),
                ('stopped_at', models.DateTimeField(blank=True, null=True)),
                ('stopped_because', models.CharField(blank=True, max_length=120)),
                ('bond', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='clocks', to='fabrication.bond')),
                ('car', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='clocks', to='garage.car')),
                ('started_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('coat', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='clocks', to='fabrication.coat')),
            ],
        ),
        migrations.CreateModel(
            name='TemperatureReading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('at', models.DateTimeField()),
                ('temp_c', models.FloatField()),
                ('is_lowest', models.BooleanField(default=False)),
                ('lowest_before_c', models.FloatField(blank=True, null=True)),
                ('written_at', models.DateTimeField()),
                ('struck_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('clock', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='readings', to='fabrication.clock')),
            ],
            options={
                'ordering': ['at', 'pk'],
            },
        ),
        migrations.CreateModel(
            name='TimeMark',
            fields=[
                ('id', models.PositiveSmallIntegerField(default=1, editable=False, primary_key=True, serialize=False)),
                ('at', models.DateTimeField()),
                ('boot', models.CharField(blank=True, max_length=40)),
                ('up_s', models.FloatField(blank=True, null=True)),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('id', 1)), name='one_time_mark')],
            },
        ),
        migrations.AddConstraint(
            model_name='bond',
            constraint=models.CheckConstraint(condition=models.Q(('piece', models.F('onto')), _negated=True), name='a_bond_joins_two_pieces'),
        ),
        migrations.AddConstraint(
            model_name='coat',
            constraint=models.UniqueConstraint(fields=('piece', 'number'), name='one_coat_of_a_number'),
        ),
        migrations.AddIndex(
            model_name='clock',
            index=models.Index(fields=['car', 'stopped_at'], name='clock_running'),
        ),
        migrations.AddConstraint(
            model_name='clock',
            constraint=models.CheckConstraint(condition=models.Q(models.Q(('bond__isnull', False), ('coat', None), ('kind', 'bond')), models.Q(('bond', None), ('coat__isnull', False), ('kind', 'coat')), _connector='OR'), name='a_clock_has_one_subject'),
        ),
        migrations.AddConstraint(
            model_name='temperaturereading',
            constraint=models.UniqueConstraint(condition=models.Q(('struck_at', None)), fields=('clock', 'at'), name='one_reading_at_a_time'),
        ),
    ]
