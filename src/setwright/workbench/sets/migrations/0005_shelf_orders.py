from django.db import migrations, models
from django.db.models.functions import Coalesce, Lower, NullIf


class Migration(migrations.Migration):
    dependencies = [("sets", "0004_shelf")]

    operations = [
        migrations.AddIndex(
            "setrecord",
            models.Index(Lower(Coalesce(NullIf("name", models.Value("")), "key")), "key", name="shelf_by_name"),
        ),
        migrations.AddIndex("setrecord", models.Index(fields=["-changed_at", "key"], name="shelf_by_change")),
    ]
