import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("records", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="LiteratureRecord",
            fields=[
                ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
                ("key", models.CharField(max_length=200, unique=True)),
                ("text", models.TextField()),
                ("digest", models.CharField(max_length=64)),
                ("file_name", models.CharField(max_length=500)),
                ("revision", models.PositiveIntegerField(default=1)),
                ("changed_at", models.DateTimeField(default=django.utils.timezone.now)),
                ("removed_at", models.DateTimeField(blank=True, null=True)),
                ("title", models.CharField(max_length=500)),
                ("kind", models.CharField(max_length=50)),
                ("maker", models.CharField(blank=True, max_length=500)),
                ("model", models.CharField(blank=True, max_length=500)),
                ("chassis", models.CharField(blank=True, max_length=500)),
                ("place", models.CharField(blank=True, max_length=1100)),
                ("year", models.PositiveIntegerField(blank=True, null=True)),
                ("owned", models.BooleanField()),
                ("where_kept", models.TextField(blank=True)),
                ("scan_count", models.PositiveIntegerField()),
                (
                    "changed_by",
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
                "ordering": ["maker", "model", "title", "key"],
            },
        ),
    ]
