from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fabrication", "0004_pipe_ways")]

    operations = []
