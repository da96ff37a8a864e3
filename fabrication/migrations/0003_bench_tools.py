from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fabrication", "0002_starter_tube")]

    operations = []
