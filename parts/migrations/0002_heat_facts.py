from django.db import migrations


class Migration(migrations.Migration):
    dependencies = [("parts", "0001_initial")]

    operations = []
