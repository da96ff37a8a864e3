import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models

from parts import heat_seeds


def sow(apps, schema_editor):
    heat_seeds.sow(
        adhesives=apps.get_model("parts", "Adhesive").objects,
        alloys=apps.get_model("parts", "Alloy").objects,
        limits=apps.get_model("parts", "Limit").objects,
    )


class Migration(migrations.Migration):

    dependencies = [
        ('parts', '0001_initial'),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name='Adhesive',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('code', models.CharField(choices=[('steel_epoxy', 'Two-part epoxy, steel-filled, slow'), ('general_epoxy', 'Two-part epoxy, general'), ('fast_epoxy', 'Two-part epoxy, fast (“5 minute”)'), ('acrylic', 'Toughened acrylic'), ('anaerobic', 'Retaining compound (anaerobic)'), ('hot_epoxy', 'Two-part epoxy, high temperature'), ('other', 'Other')], max_length=14, verbose_name='Sort')),
                ('name', models.CharField(max_length=80, unique=True, verbose_name='Name')),
                ('working_minutes', models.FloatField(blank=True, null=True, verbose_name='Working time')),
                ('working_at_c', models.FloatField(blank=True, null=True, verbose_name='Working time is at')),
                ('schedule', models.JSONField(blank=True, default=list, verbose_name='Curing times')),
                ('lower_limit_c', models.FloatField(blank=True, null=True, verbose_name='No cure below')),
                ('upper_cap_c', models.FloatField(blank=True, null=True, verbose_name='No faster above')),
                ('service_max_dry_c', models.FloatField(blank=True, null=True, verbose_name='Hottest in use, dry')),
                ('service_max_wet_c', models.FloatField(blank=True, null=True, verbose_name='Hottest in use, wet')),
                ('short_peak_c', models.FloatField(blank=True, null=True, verbose_name='Stands for a short time')),
                ('short_peak_minutes', models.FloatField(blank=True, null=True, verbose_name='Minutes at that')),
                ('fit_for_heat_h', models.FloatField(blank=True, null=True, verbose_name='Fit for heat after')),
                ('lap_shear_mpa', models.FloatField(blank=True, null=True, verbose_name='Lap shear on steel')),
                ('gap_max_mm', models.FloatField(blank=True, null=True, verbose_name='Widest gap')),
                ('source', models.CharField(max_length=300, verbose_name='Where the figures come from')),
                ('is_ours', models.BooleanField(default=False, verbose_name='Our figure')),
                ('thrown_out_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['name'],
            },
        ),
        migrations.CreateModel(
            name='Alloy',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('family', models.CharField(choices=[('soft', 'Soft solder'), ('silver', 'Silver braze'), ('brass', 'Brass braze'), ('copper_p', 'Copper-phosphorus braze')], max_length=8, verbose_name='Sort')),
                ('name', models.CharField(max_length=80, unique=True, verbose_name='Name')),
                ('solidus_c', models.FloatField(verbose_name='Begins to melt')),
                ('liquidus_c', models.FloatField(blank=True, null=True, verbose_name='All melted')),
                ('source', models.CharField(max_length=300, verbose_name='Where the figures come from')),
                ('is_ours', models.BooleanField(default=False, verbose_name='Our figure')),
                ('thrown_out_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['solidus_c', 'name'],
            },
        ),
        migrations.CreateModel(
            name='Limit',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('sort', models.CharField(choices=[('left_on', 'Rubber, plastic, filler or sealer'), ('bearing', 'Bearing'), ('magnet', 'Magnet'), ('lining', 'Tin coating or white metal')], max_length=8, verbose_name='Sort')),
                ('name', models.CharField(max_length=80, unique=True, verbose_name='Name')),
                ('limit_c', models.FloatField(verbose_name='Stands')),
                ('source', models.CharField(max_length=300, verbose_name='Where the figure comes from')),
                ('is_ours', models.BooleanField(default=False, verbose_name='Our figure')),
                ('thrown_out_at', models.DateTimeField(blank=True, null=True)),
            ],
            options={
                'ordering': ['sort', 'name'],
            },
        ),
        migrations.AddField(
            model_name='line',
            name='strongest',
            field=models.CharField(blank=True, choices=[('8.8', '8.8 or softer'), ('10.9', '10.9'), ('12.9', '12.9, circlips or springs'), ('unknown', "Don't know")], max_length=7, verbose_name='Strongest bolt in it'),
        ),
        migrations.AlterField(
            model_name='piece',
            name='material',
            field=models.CharField(blank=True, choices=[('steel', 'Steel'), ('spring_steel', 'Spring steel'), ('cast_iron', 'Cast iron'), ('stainless', 'Stainless steel'), ('cast_aluminium', 'Cast aluminium'), ('aluminium', 'Wrought aluminium'), ('magnesium', 'Magnesium'), ('zinc_cast', 'Zinc die-cast'), ('brass', 'Brass or bronze'), ('copper', 'Copper'), ('rubber', 'Rubber'), ('plastic', 'Plastic'), ('glass', 'Glass'), ('wood', 'Wood'), ('textile', 'Cloth or leather'), ('mixed', 'Several')], max_length=16, verbose_name='Material'),
        ),
        migrations.CreateModel(
            name='SentAnyway',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('reason', models.CharField(max_length=300, verbose_name='Send anyway, because')),
                ('covers', models.JSONField(default=list)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('line', models.OneToOneField(on_delete=django.db.models.deletion.CASCADE, related_name='sent_anyway', to='parts.line')),
            ],
        ),
        migrations.CreateModel(
            name='Joint',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('key', models.UUIDField(unique=True)),
                ('how', models.CharField(choices=[('solder', 'Soldered'), ('braze', 'Brazed'), ('weld', 'Welded'), ('glue', 'Glued'), ('press', 'Pressed or crimped'), ('filler', 'Filled')], max_length=6, verbose_name='How')),
                ('note', models.CharField(blank=True, max_length=200, verbose_name='What is joined, where')),
                ('state', models.CharField(choices=[('curing', 'Curing'), ('hard', 'Hard')], default='hard', max_length=6)),
                ('hard_from', models.DateTimeField(blank=True, null=True)),
                ('last_reading_at', models.DateTimeField(blank=True, null=True)),
                ('looked_at', models.DateTimeField(blank=True, null=True)),
                ('made_at', models.DateTimeField()),
                ('parted_at', models.DateTimeField(blank=True, null=True)),
                ('adhesive', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='joints', to='parts.adhesive', verbose_name='With')),
                ('alloy', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.PROTECT, related_name='joints', to='parts.alloy', verbose_name='With')),
                ('looked_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('made_by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('piece', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='joints', to='parts.piece')),
            ],
            options={
                'ordering': ['made_at', 'pk'],
                'constraints': [models.CheckConstraint(condition=models.Q(('state', 'hard'), ('how__in', ('glue', 'filler')), _connector='OR'), name='only_glue_and_filler_cure'), models.CheckConstraint(condition=models.Q(('alloy', None), ('how__in', ('solder', 'braze')), _connector='OR'), name='only_solder_and_braze_have_an_alloy'), models.CheckConstraint(condition=models.Q(('adhesive', None), ('how', 'glue'), _connector='OR'), name='only_glue_has_an_adhesive')],
            },
        ),
        migrations.CreateModel(
            name='Answer',
            fields=[
                ('id', models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name='ID')),
                ('question', models.CharField(max_length=16)),
                ('says', models.CharField(choices=[('yes', 'Yes'), ('no', 'No'), ('unknown', "Don't know")], max_length=7)),
                ('size_mm', models.FloatField(blank=True, null=True)),
                ('size_typed', models.CharField(blank=True, max_length=24)),
                ('at', models.DateTimeField()),
                ('by', models.ForeignKey(blank=True, null=True, on_delete=django.db.models.deletion.SET_NULL, related_name='+', to=settings.AUTH_USER_MODEL)),
                ('piece', models.ForeignKey(on_delete=django.db.models.deletion.CASCADE, related_name='answers', to='parts.piece')),
                ('things', models.ManyToManyField(blank=True, related_name='+', to='parts.limit')),
            ],
            options={
                'ordering': ['pk'],
                'constraints': [models.UniqueConstraint(fields=('piece', 'question'), name='one_answer_to_a_question_about_a_piece')],
            },
        ),
        migrations.RunPython(sow, migrations.RunPython.noop),
    ]
