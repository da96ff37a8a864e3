import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [
        ("fabrication", "0003_bench_tools"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.AddField(
            model_name='pipesheet',
            name='bead_tool',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='pipe_sheets', to='fabrication.beadtool', verbose_name='Bead tool'),
        ),
        migrations.AddField(
            model_name='pipesheet',
            name='thrown_out_at',
            field=models.DateTimeField(blank=True, db_index=True, null=True),
        ),
        migrations.AddField(
            model_name='pipesheet',
            name='thrown_out_by',
            field=models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL),
        ),
        migrations.CreateModel(
            name='PipeRevision',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('version', models.PositiveIntegerField()),
                ('title', models.CharField(max_length=80)),
                ('duty', models.CharField(choices=[('coolant', 'Coolant'), ('fuel', 'Fuel'), ('brake', 'Brake'), ('clutch', 'Clutch'), ('steering', 'Power steering'), ('other', 'Something else')], max_length=8)),
                ('inputs', models.JSONField()),
                ('at', models.DateTimeField()),
                ('bead_tool', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fabrication.beadtool')),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('former', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fabrication.former')),
                ('sheet', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='revisions', to='fabrication.pipesheet')),
                ('stock', models.ForeignKey(on_delete=django.db.models.deletion.PROTECT, related_name='+', to='fabrication.tubestock')),
            ],
            options={
                'constraints': [models.UniqueConstraint(fields=('sheet', 'version'), name='one_row_a_pipe_revision')],
            },
        ),
    ]
