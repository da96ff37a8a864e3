from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fabrication", "0007_brackets")]

    operations = []
