import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fabrication", "0004_pipe_ways"),
        ("parts", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Making',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('revision', models.PositiveIntegerField()),
                ('inputs', models.JSONField()),
                ('figures', models.JSONField()),
                ('marks', models.JSONField()),
                ('begun_at', models.DateTimeField()),
                ('ended_at', models.DateTimeField(blank=True, null=True)),
                ('outcome', models.CharField(blank=True, choices=[('made', 'Made'), ('scrapped', 'Scrapped')], default='', max_length=8)),
                ('because', models.CharField(blank=True, default='', max_length=200, verbose_name='Because')),
                ('begun_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('ended_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('piece', models.OneToOneField(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='made_by', to='parts.piece')),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='makings', to='fabrication.pipesheet')),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('ended_at', None)), fields=('sheet',), name='one_pipe_at_a_time_from_a_sheet')],
            },
        ),
        migrations.CreateModel(
            name='DoneStep',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('code', models.CharField(max_length=16)),
                ('at', models.DateTimeField()),
                ('out_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('making', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='done_steps', to='fabrication.making')),
            ],
            options={
                'constraints': [models.UniqueConstraint(condition=models.Q(('out_at', None)), fields=('making', 'code'), name='a_bench_step_is_done_once')],
            },
        ),
        migrations.CreateModel(
            name='Comparison',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('revision', models.PositiveIntegerField()),
                ('inputs', models.JSONField()),
                ('figures', models.JSONField()),
                ('measured', models.JSONField()),
                ('at', models.DateTimeField()),
                ('out_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='comparisons', to='fabrication.pipesheet')),
                ('making', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.CASCADE, related_name='comparisons', to='fabrication.making')),
            ],
        ),
        migrations.CreateModel(
            name='Reading',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('bend', models.PositiveSmallIntegerField(verbose_name='Bend')),
                ('pull', models.PositiveSmallIntegerField(verbose_name='Pull')),
                ('pulled_to_deg', models.FloatField(verbose_name='Pulled to')),
                ('came_to_deg', models.FloatField(verbose_name='Came to')),
                ('at', models.DateTimeField()),
                ('out_at', models.DateTimeField(blank=True, null=True)),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('making', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='readings', to='fabrication.making')),
            ],
            options={
                'constraints': [models.CheckConstraint(condition=models.Q(('came_to_deg__gte', 0), ('pulled_to_deg__gt', 0)), name='a_pull_bends_and_never_opens')],
            },
        ),
        migrations.CreateModel(
            name='SheetFreeze',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('revision', models.PositiveIntegerField()),
                ('figures', models.JSONField()),
                ('why', models.CharField(choices=[('print', 'print'), ('bend', 'bend'), ('taken', 'new figures')], max_length=6)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('former', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fabrication.former')),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='freezes', to='fabrication.pipesheet')),
                ('stock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fabrication.tubestock')),
            ],
        ),
    ]
