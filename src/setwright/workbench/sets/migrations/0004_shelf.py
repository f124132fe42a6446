import django.db.models.deletion
from django.db import migrations, models


class Migration(migrations.Migration):
    dependencies = [("sets", "0003_first_entries")]

    operations = [
        migrations.AddField("setrecord", "name", models.CharField(blank=True, max_length=500, default=""), False),
        migrations.CreateModel(
            name="ShelfLine",
            fields=[
                (
                    "record",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        primary_key=True,
                        related_name="shelf_line",
                        serialize=False,
                        to="sets.setrecord",
                    ),
                ),
                ("state", models.CharField(max_length=64)),
                ("verdict", models.CharField(max_length=1000)),
                ("probability", models.FloatField(null=True)),
                ("step", models.CharField(blank=True, max_length=1000)),
                ("quick", models.BooleanField()),
            ],
        ),
    ]
