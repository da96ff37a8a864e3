from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("fabrication", "0006_papers")]

    operations = []
