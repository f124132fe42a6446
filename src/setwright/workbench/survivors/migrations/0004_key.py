from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("survivors", "0003_first_entries")]

    operations = [
        migrations.AlterField("survivorregister", "key", models.CharField(max_length=200, unique=True)),
    ]
