from typing import Any

from django.db import migrations

from setwright.workbench.records.carrying import make_first_entries


def first_entries(apps: Any, schema_editor: Any) -> None:
    for register in apps.get_model("survivors", "SurvivorRegister").objects.select_related("family").defer("text"):
        register.key = register.family.key
        register.save(update_fields=["key"])
    make_first_entries(apps, "survivors", "SurvivorRegister", "survivors")


class Migration(migrations.Migration):
    dependencies = [
        ("survivors", "0002_document"),
        ("records", "0001_initial"),
    ]

    operations = [migrations.RunPython(first_entries, migrations.RunPython.noop)]
