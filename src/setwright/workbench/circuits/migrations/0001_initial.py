from __future__ import annotations

from typing import Any

import django.db.models.deletion
import django.utils.timezone
from django.conf import settings
from django.db import migrations, models


def _document() -> list[tuple[str, models.Field[Any, Any]]]:
    return [
        ("id", models.BigAutoField(auto_created=True, primary_key=True, serialize=False, verbose_name="ID")),
        ("key", models.CharField(max_length=200, unique=True)),
        ("text", models.TextField()),
        ("digest", models.CharField(max_length=64)),
        ("file_name", models.CharField(max_length=500)),
        ("revision", models.PositiveIntegerField(default=1)),
        ("changed_at", models.DateTimeField(default=django.utils.timezone.now)),
        ("removed_at", models.DateTimeField(blank=True, null=True)),
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
    ]


class Migration(migrations.Migration):
    initial = True

    dependencies = [
        ("families", "0003_first_entries"),
        ("records", "0001_initial"),
        migrations.swappable_dependency(settings.AUTH_USER_MODEL),
    ]

    operations = [
        migrations.CreateModel(
            name="CircuitRecord",
            fields=[
                *_document(),
                ("title", models.CharField(max_length=500)),
                ("part_count", models.PositiveIntegerField()),
                ("tube_count", models.PositiveIntegerField()),
                (
                    "family",
                    models.ForeignKey(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="circuits",
                        to="families.familyrecord",
                    ),
                ),
            ],
            options={"ordering": ["title", "key"]},
        ),
        migrations.CreateModel(
            name="PrintedChart",
            fields=[
                *_document(),
                ("count", models.PositiveIntegerField()),
                (
                    "circuit",
                    models.OneToOneField(
                        on_delete=django.db.models.deletion.CASCADE,
                        related_name="chart",
                        to="circuits.circuitrecord",
                    ),
                ),
            ],
            options={"abstract": False},
        ),
    ]
