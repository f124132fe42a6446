import django.db.models.deletion
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [migrations.swappable_dependency(settings.AUTH_USER_MODEL)]

    operations = [
        migrations.CreateModel(
            name="Revision",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("kind", models.CharField(max_length=20)),
                ("key", models.CharField(max_length=200)),
                ("number", models.PositiveIntegerField()),
                ("text_zip", models.BinaryField()),
                ("digest", models.CharField(max_length=64)),
                ("by_name", models.CharField(max_length=200)),
                ("at", models.DateTimeField()),
                ("what", models.TextField()),
                ("undoes", models.PositiveIntegerField(blank=True, null=True)),
                ("removed", models.BooleanField(default=False)),
                (
                    "by",
                    models.ForeignKey(
                        blank=True,
                        null=True,
                        on_delete=django.db.models.deletion.SET_NULL,
                        related_name="+",
                        to=settings.AUTH_USER_MODEL,
                    ),
                ),
            ],
            options={
                "ordering": ["kind", "key", "-number"],
                "constraints": [models.UniqueConstraint(fields=("kind", "key", "number"), name="one_entry_a_number")],
            },
        ),
    ]
