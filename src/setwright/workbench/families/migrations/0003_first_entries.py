from typing import Any

from django.db import migrations

from setwright.workbench.records.carrying import make_first_entries


def first_entries(apps: Any, schema_editor: Any) -> None:
    make_first_entries(apps, "families", "FamilyRecord", "family")


class Migration(migrations.Migration):
    dependencies = [
        ("families", "0002_document"),
        ("records", "0001_initial"),
    ]

    operations = [migrations.RunPython(first_entries, migrations.RunPython.noop)]
