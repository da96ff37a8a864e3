from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fabrication", "0003_bench_tools")]

    operations = []
